//! Transformers against textbook figures, and against coupled coils written as loops with mutual impedances.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::Job;
use circuit::Complex64;
use common::{Bench, CONTROL_BOX, doubtful_job, job, part};
use nalgebra::{DMatrix, DVector};

/// A unit without a cord: `supply` and `parts` as tables, `wires` as entries.
fn unit(supply: &str, wires: &str, parts: &str) -> String {
    format!(
        "wires = [{wires}]\n[unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\n{supply}\nsource_ohms = 1e-3\n\
         breaker_amps = 10000\n{parts}\n[setups.on]\nsupply = \"on\"\n"
    )
}

fn wire(from: &str, to: &str) -> String {
    format!("{{ from = \"{from}\", to = \"{to}\" }}, ")
}

fn heater(name: &str, volts: f64, ohms: f64) -> String {
    format!("[parts.{name}]\nkind = \"heater\"\nvolts = {volts}\nwatts = {}\n", volts * volts / ohms)
}

#[track_caller]
fn assert_near(what: &str, found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance * expected.abs(), "{what}: {found}, expected {expected}");
}

/// Median of an unknown of a part.
fn median(job: &Job, of: &str, words: &str) -> f64 {
    let part = part(&job.unit, of);
    let found = job.unit.unknowns().iter().find(|unknown| unknown.part == part && unknown.words == words);
    found.unwrap_or_else(|| panic!("{of} has no {words}")).median
}

/// 400 kW at power factor 0.8 from a star-connected 550/440 V autotransformer: 656 A in the load, 525 A from the supply,
/// 131 A in the common part. Source: a B.Sc. text's Example 7.41, figures of an ideal transformer; one phase of it here.
#[test]
fn an_autotransformer_shares_its_current() {
    let (high, low) = (550.0 / 3f64.sqrt(), 440.0 / 3f64.sqrt());
    let load = 400e3 / (3f64.sqrt() * 440.0 * 0.8);
    let transformer = format!(
        "[parts.T1]\nkind = \"transformer\"\nvolt_amperes = {}\nwindings.only = [\"n\", {low}, \"tap\", {}, \"high\"]\n",
        load * low,
        high - low
    );
    let wires = wire("supply.hot", "T1.high")
        + &wire("T1.n", "supply.neutral")
        + &wire("T1.tap", "H1.a")
        + &wire("H1.b", "T1.n");
    let text = unit(&format!("volts = {high}\nhertz = 50"), &wires, &(transformer + &heater("H1", low, low / load)));
    let job = job(&text);
    let bench = Bench::sound(&job);
    let (load, supply) = (bench.amps("on", "H1.a"), bench.amps("on", "T1.high"));
    assert_near("load", load, 656.0, 0.02);
    // What is published is of an ideal transformer; ratios hold better than sizes.
    assert_near("supply share", supply / load, 525.0 / 656.0, 0.01);
    let flows = bench.look("on", |observed| observed.element_flows());
    let amps = |label: &str| flows.iter().find(|flow| flow.label == label).unwrap().amps;
    assert_near("common part", amps("section n-tap") / load, 131.0 / 656.0, 0.03);
    assert_near("series part", amps("section tap-high"), supply, 1e-6);
    // The conducted share is V_low / V_high; the rest crosses the core.
    assert_near("volts", bench.volts("on", "T1.tap", "T1.n"), low, 0.02);
}

/// A 100 VA 120/12 V transformer as step-up autotransformer: 132 V, 8.333 A out, 9.167 A in, 0.833 A in the common part,
/// 1100 VA. Source: Chapman, Electric Machinery Fundamentals, Example 2-7; figures of an ideal transformer, so ohms and
/// leakage are made small here.
#[test]
fn two_windings_joined_make_a_step_up_autotransformer() {
    let parts = "[parts.T1]\nkind = \"transformer\"\nvolt_amperes = 100\nno_load_amps = 1e-4\n\
                 windings.common = [\"n\", 120, \"p\"]\nwindings.series = [\"q\", 12, \"r\"]\n\
                 winding_ohms = { common = 1e-3, series = 1e-5 }\n";
    let wires = wire("supply.hot", "T1.p")
        + &wire("T1.p", "T1.q")
        + &wire("T1.r", "H1.a")
        + &wire("H1.b", "T1.n")
        + &wire("T1.n", "supply.neutral");
    let text = unit("volts = 120\nhertz = 60", &wires, &(parts.to_owned() + &heater("H1", 132.0, 132.0 / 8.333)));
    let job = job(&text);
    let mut bench = Bench::sound(&job);
    bench.deviations[unknown(&job, "T1", "leakage reactance")] = -8.0;
    assert_near("volts", bench.volts("on", "H1.a", "H1.b"), 132.0, 1e-3);
    assert_near("load", bench.amps("on", "H1.a"), 8.333, 1e-3);
    assert_near("source", bench.amps("on", "supply.hot"), 9.1667, 1e-3);
    let flows = bench.look("on", |observed| observed.element_flows());
    let common = flows.iter().find(|flow| flow.label == "section n-p").unwrap().amps;
    assert_near("common", common, 0.8333, 1e-3);
}

fn unknown(job: &Job, of: &str, words: &str) -> usize {
    let part = part(&job.unit, of);
    job.unit.unknowns().iter().position(|unknown| unknown.part == part && unknown.words == words).unwrap()
}

/// Secondaries of 6.3 V (0.2 ohm) and 5.0 V (0.15 ohm) of a 10 VA transformer, aiding in series and in parallel by
/// mistake: 0.885 A rated, 3.71 A circulating. Source: Kosow, Electric Machinery and Transformers, Example 14-32.
#[test]
fn secondaries_in_series_and_in_parallel_by_mistake() {
    let parts = "[parts.T1]\nkind = \"transformer\"\nvolt_amperes = 10\nwindings.primary = [\"p\", 115, \"q\"]\n\
                 windings.one = [\"a\", 6.3, \"b\"]\nwindings.two = [\"c\", 5.0, \"d\"]\n\
                 winding_ohms = { primary = 1e-2, one = 0.2, two = 0.15 }\n";
    let feed = wire("supply.hot", "T1.p") + &wire("T1.q", "supply.neutral");
    let supply = "volts = 115\nhertz = 60";

    let series = feed.clone() + &wire("T1.b", "T1.c") + &wire("T1.a", "H1.a") + &wire("T1.d", "H1.b");
    let rated = 10.0 / 11.3;
    let aiding = job(&unit(supply, &series, &(parts.to_owned() + &heater("H1", 11.3, 11.3 / rated - 0.35))));
    let mut bench = Bench::sound(&aiding);
    bench.deviations[unknown(&aiding, "T1", "leakage reactance")] = -8.0;
    assert_near("rated", bench.amps("on", "H1.a"), 0.885, 1e-3);

    let parallel = feed + &wire("T1.a", "T1.c") + &wire("T1.b", "T1.d");
    let mistake = job(&unit(supply, &parallel, parts));
    let mut bench = Bench::sound(&mistake);
    bench.deviations[unknown(&mistake, "T1", "leakage reactance")] = -8.0;
    let circulating = bench.amps("on", "T1.a");
    assert_near("circulating", circulating, 3.71, 2e-3);
    assert_near("share of rated", circulating / rated, 4.20, 2e-3);
}

#[test]
fn volts_at_no_load_follow_the_turns() {
    let job = job(CONTROL_BOX);
    let bench = Bench::with(&job, &["H1 open", "H2 open"]);
    let (primary, secondary) = (bench.volts("on", "T1.0", "T1.240"), bench.volts("on", "T1.a", "T1.b"));
    assert_near("ratio", secondary / primary, 0.1, 0.01);
    assert_near("half", bench.volts("on", "T1.a", "T1.centre"), secondary / 2.0, 1e-6);
    // Loaded, it sags by about the regulation that such a transformer has: 10 % at 100 VA, here at two thirds of it.
    let loaded = Bench::sound(&job).volts("on", "T1.a", "T1.b");
    assert!((0.03..0.12).contains(&(1.0 - loaded / secondary)), "{loaded} of {secondary}");
}

#[test]
fn a_winding_that_is_open_leaves_the_other_side_dead() {
    let job = job(CONTROL_BOX);
    for label in ["T1 0-120-open", "T1 120-240-open", "T1 thermal-link-open"] {
        let bench = Bench::with(&job, &[label]);
        assert!(bench.volts("on", "T1.a", "T1.b") < 1.0, "{label}");
        assert!(bench.ohms("unplugged", "T1.0", "T1.240").is_infinite(), "{label}");
    }
    let bench = Bench::with(&job, &["T1 a-centre-open"]);
    assert!(bench.amps("on", "H1.a") < 1e-3 && bench.amps("on", "H2.a") > 1.0);
    // The half that is left still works the core.
    assert!(bench.volts("on", "T1.b", "T1.centre") > 10.0);
}

#[test]
fn a_few_shorted_turns_draw_heavy_current_but_hardly_show_in_ohms() {
    let job = job(CONTROL_BOX);
    let sound = Bench::sound(&job);
    let shorted = Bench::with(&job, &["T1 0-120-shorted-turns"]).sized(0.03);
    let more_amps = shorted.amps("on", "T1.0") / sound.amps("on", "T1.0");
    let less_ohms = shorted.ohms("unplugged", "T1.0", "T1.240") / sound.ohms("unplugged", "T1.0", "T1.240");
    assert!(more_amps > 1.3 && less_ohms > 0.98, "{more_amps} times the amps, {less_ohms} times the ohms");
}

#[test]
fn a_breakthrough_is_met_in_the_middle_of_the_winding() {
    let job = job(CONTROL_BOX);
    let bench = Bench::with(&job, &["T1 primary-to-frame"]).sized(1000.0);
    let half = bench.ohms("unplugged", "T1.0", "T1.120");
    assert_near("ohms to frame", bench.ohms("unplugged", "T1.0", "frame"), 1000.0 + half, 1e-9);
    // A winding without a middle tap has a point within it.
    let text = CONTROL_BOX.replace(r#"["0", 120, "120", 120, "240"]"#, r#"["0", 240, "240"]"#);
    let job = common::job(&text);
    let bench = Bench::with(&job, &["T1 primary-to-secondary"]).sized(1000.0);
    let whole = bench.ohms("unplugged", "T1.0", "T1.240");
    assert_near("ohms between", bench.ohms("unplugged", "T1.0", "T1.centre"), 1000.0 + whole / 2.0, 1e-9);
}

/// Currents of the control box from loops and mutual impedances: `(B Z B' + R) i = v`, coupled coils as in any text on
/// magnetically coupled circuits. No nets, no fields, no elimination.
struct Loops {
    impedance: DMatrix<Complex64>,
    volts: DVector<Complex64>,
}

/// Coils of a loop with their direction, ohms outside the coils, volts.
type Loop<'l> = (&'l [(usize, f64)], f64, f64);

impl Loops {
    /// `coils`: turns, ohms, leakage.
    fn new(magnetising: f64, coils: &[(f64, f64, f64)], loops: &[Loop]) -> Self {
        let mutual = DMatrix::from_fn(coils.len(), coils.len(), |i, j| {
            let own = if i == j { Complex64::new(coils[i].1, coils[i].2) } else { Complex64::ZERO };
            own + Complex64::new(0.0, magnetising * coils[i].0 * coils[j].0)
        });
        let mut incidence = DMatrix::zeros(loops.len(), coils.len());
        for (row, (members, ..)) in loops.iter().enumerate() {
            for &(coil, direction) in *members {
                incidence[(row, coil)] = Complex64::from(direction);
            }
        }
        let outside = DVector::from_iterator(loops.len(), loops.iter().map(|&(_, ohms, _)| Complex64::from(ohms)));
        Loops {
            impedance: &incidence * mutual * incidence.transpose() + DMatrix::from_diagonal(&outside),
            volts: DVector::from_iterator(loops.len(), loops.iter().map(|&(.., volts)| Complex64::from(volts))),
        }
    }

    fn amps(self) -> Vec<f64> {
        self.impedance.lu().solve(&self.volts).unwrap().iter().map(|current| current.norm()).collect()
    }
}

/// Stray capacitances, which the loops leave out, carry some ten microamperes beside 0.3 A.
const STRAY: f64 = 1e-4;

#[test]
fn currents_are_those_of_coupled_loops() {
    let job = job(CONTROL_BOX);
    let value = |words: &str| median(&job, "T1", words);
    // Copper at 60 degrees: (234.5 + 60) / (234.5 + 20).
    let warm = 294.5 / 254.5;
    // Leakage as the kind documents it: each winding the same share of its rated impedance, half of it in each half.
    let leakage = value("leakage reactance");
    let primary = |section: &str| (0.5, value(section) * warm, leakage / 2.0);
    let secondary =
        |section: &str| (value("turns for 12 V"), value(section) * warm, leakage * (24.0f64 / 240.0).powi(2) / 2.0);
    let first = primary("section 0-120 ohms");
    for shorted in [None, Some(0.1)] {
        let share: f64 = shorted.unwrap_or(0.0);
        let coils = [
            (first.0 * (1.0 - share), first.1 * (1.0 - share), first.2 * (1.0 - share)),
            primary("section 120-240 ohms"),
            secondary("section a-centre ohms"),
            secondary("section centre-b ohms"),
            (1.0, value("core loss"), 0.0),
            (first.0 * share, first.1 * share, first.2 * share * share),
        ];
        let (ahead, heaters) =
            (ahead_ohms(&job), [median(&job, "H1", "element ohms"), median(&job, "H2", "element ohms")]);
        let mut loops: Vec<Loop> = vec![
            (&[(0, 1.0), (1, 1.0)], ahead, 240.0),
            (&[(2, 1.0)], heaters[0], 0.0),
            (&[(3, 1.0)], heaters[1], 0.0),
            (&[(4, 1.0)], 0.0, 0.0),
        ];
        if shorted.is_some() {
            loops.push((&[(5, 1.0)], 0.0, 0.0));
        }
        let expected = Loops::new(value("magnetising reactance"), &coils[..4 + loops.len() - 3], &loops).amps();
        let bench = match shorted {
            Some(share) => Bench::with(&job, &["T1 0-120-shorted-turns"]).sized(share),
            None => Bench::sound(&job),
        };
        assert_near("supply", bench.amps("on", "T1.0"), expected[0], STRAY);
        assert_near("left", bench.amps("on", "H1.a"), expected[1], STRAY);
        assert_near("right", bench.amps("on", "H2.a"), expected[2], STRAY);
        let flows = bench.look("on", |observed| observed.element_flows());
        let amps = |label: &str| flows.iter().find(|flow| flow.label == label).unwrap().amps;
        assert_near("core loss", amps("core loss"), expected[3], STRAY);
        if shorted.is_some() {
            assert_near("shorted turns", amps("shorted turns"), expected[4], STRAY);
        }
    }
}

/// Ohms of supply and cord, out and back.
fn ahead_ohms(job: &Job) -> f64 {
    2.0 * (median(job, "supply", "supply source ohms") + median(job, "cord", "ohms of one cord conductor"))
}

/// Volts on one winding send the same current through an ammeter at the other as the other way round.
#[test]
fn what_one_winding_does_to_the_other_goes_both_ways() {
    let transformer = "[parts.T1]\nkind = \"transformer\"\nvolt_amperes = 40\nwindings.p = [\"a\", 230, \"b\"]\n\
                       windings.s = [\"c\", 9, \"d\", 15, \"e\"]\n";
    let current = |fed: [&str; 2], metered: [&str; 2], at: &str| {
        let wires = wire("supply.hot", fed[0])
            + &wire(fed[1], "supply.neutral")
            + &wire(metered[0], "H1.a")
            + &wire(metered[1], "H1.b");
        // The ammeter's shunt is as large as the resistance of the supply loop, so that the two are alike.
        let text = unit("volts = 10\nhertz = 50", &wires, &(transformer.to_owned() + &heater("H1", 1.0, 1e-3)));
        let job = doubtful_job(&text);
        let amps = Bench::sound(&job).amps("on", at);
        assert!(amps > 1e-3);
        amps
    };
    let forward = current(["T1.a", "T1.b"], ["T1.d", "T1.e"], "T1.d");
    let backward = current(["T1.d", "T1.e"], ["T1.a", "T1.b"], "T1.a");
    assert_near("transfer", backward, forward, 1e-6);
}

#[test]
fn wrong_windings_are_refused_with_a_mend() {
    let with = |fields: &str| {
        let text = format!(
            "[unit]\nname = \"x\"\n[parts.s]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n[parts.T1]\nkind = \"transformer\"\n{fields}"
        );
        bench::job::read("job.toml", &text)
    };
    assert!(with("volt_amperes = 50\nwindings.p = [\"a\", 230, \"b\"]").is_ok());
    for (fields, words) in [
        ("volt_amperes = 50", "windings"),
        ("volt_amperes = 50\nwindings = {}", "0 windings"),
        ("volt_amperes = 50\nwindings.p = [\"a\", 230]", "no terminal after a"),
        ("volt_amperes = 50\nwindings.p = [\"a\"]", "two ends"),
        ("volt_amperes = 50\nwindings.p = []", "two ends"),
        ("volt_amperes = 50\nwindings.p = [\"a\", \"b\"]", "not a number"),
        ("volt_amperes = 50\nwindings.p = [1, 230, \"b\"]", "text in quotes"),
        ("volt_amperes = 50\nwindings.p = [\"a\", -5, \"b\"]", "above zero"),
        ("volt_amperes = 50\nwindings.p = [\"a\", 230, \"a\"]", "two terminals named 'a'"),
        ("volt_amperes = 50\nwindings.p = [\"a\", 230, \"b\"]\nwinding_ohms.q = 3", "no winding 'q'"),
        ("volt_amperes = 50\nwindings.p = [\"a\", 230, \"b\"]\nthermal_link = \"q\"", "no winding 'q'"),
        ("volt_amperes = 50\nwindings.p = [\"a\", 230, \"b\"]\nno_load_amps = 20", "above full-load amps"),
        ("volt_amperes = 50\nhertz = 60\nwindings.p = [\"a\", 230, \"b\"]", "60 Hz"),
        ("volt_amperes = 50\nwindings.a = [\"a\", 230, \"b\"]\nwindings.frame = [\"c\", 9, \"d\"]", "'a-to-frame'"),
        ("volt_amperes = 1e300\nwindings.p = [\"a\", 1e-300, \"b\"]", ""),
    ] {
        let problems = with(fields).err().unwrap_or_else(|| panic!("{fields} is read"));
        let text = problems.to_string();
        assert!(text.contains(words), "{fields}: {text}");
    }
}
