//! Published ohms of sound parts against what is expected of a part before anything is measured.
//!
//! Each row puts a plate like that of the published part into its kind, takes the 95 % band of an ohm reading from the
//! medians and spreads of the part's unknown values, and holds the published figure to it. Addresses stand as they were
//! read; makers' and models' names in them are left out.
//!
//! # Published rows that are not held here
//! - Low-speed windings of two-speed washer motors: no kind has two main windings of different poles.
//! - Draft inducer 55.6 to 65.2 ohm (daxos.org, weak): the page gives neither make-up nor size.
//! - Oil-filled three-phase pumps 21.4, 17.8, 14.03 and 10.52 ohm: neither volts nor power are given.
//! - Electronically commutated blowers: there is no such kind here.
//! - "70 to 90 ohm" for furnace elements: a 5 kW element has 11.5 ohm by arithmetic, so the figure is of no 5 kW element.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Measure, Meter, TerminalId, observe};
use proptest::prelude::*;

/// Standard deviations to either side that hold 95 % of a normal distribution.
const SIDES: f64 = 1.96;

/// A job with one part on its own, unplugged.
fn alone(part: &str) -> Job {
    let volts = if part.contains("three-phase-motor") { "three-phase-supply" } else { "supply" };
    let hertz = if part.contains("hertz = 50") { 50 } else { 60 };
    let text = format!(
        "[unit]\nname = \"x\"\n[parts.mains]\nkind = \"{volts}\"\nvolts = 230\nhertz = {hertz}\n[parts.X]\n{part}\n\
         [setups.cold]\nsupply = \"off\"\n"
    );
    bench::job::read("job.toml", &text).unwrap_or_else(|problems| panic!("{problems}\n{text}"))
}

fn end(job: &Job, name: &str) -> TerminalId {
    job.unit.find_terminal(&format!("X.{name}")).unwrap_or_else(|| panic!("no terminal {name}"))
}

/// Ohms at given deviations, and their derivatives by them.
fn ohms(job: &Job, ends: (&str, &str), deviations: &[f64]) -> (f64, Vec<f64>) {
    let measure = Measure::Ohms(end(job, ends.0), end(job, ends.1));
    let none = FaultSet::default();
    let found = observe(&job.unit, &job.setups[0], &none, deviations, |observed| {
        observed.measure(measure, &Meter::handheld()).unwrap()
    });
    let found = found.unwrap();
    (found.value, found.gradient)
}

fn medians(job: &Job) -> Vec<f64> {
    vec![0.0; unknown_count(&job.unit, &FaultSet::default())]
}

/// Median ohms between two terminals, and the standard deviation of their logarithm.
fn expected(job: &Job, ends: (&str, &str)) -> (f64, f64) {
    let (median, gradient) = ohms(job, ends, &medians(job));
    let unknowns = job.unit.unknowns().iter().zip(&gradient);
    let variance: f64 = unknowns.map(|(unknown, slope)| (unknown.log_spread * slope / median).powi(2)).sum();
    (median, variance.sqrt())
}

/// How a published figure or range must lie in the band.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Holds {
    /// The geometric middle of the range: what a page gives for many motors.
    Middle,
    /// Both ends of it: the tolerance of one model, or a range that the kind is meant to cover.
    Range,
}

struct Row {
    words: &'static str,
    part: &'static str,
    ends: (&'static str, &'static str),
    published: (f64, f64),
    holds: Holds,
}

const fn row(
    words: &'static str,
    part: &'static str,
    ends: (&'static str, &'static str),
    published: (f64, f64),
    holds: Holds,
) -> Row {
    Row { words, part, ends, published, holds }
}

const RUN: (&str, &str) = ("common", "run");
const START: (&str, &str) = ("common", "start");

// Plates. Where a page gives horsepower, the amps are those of the United States electrical code, table 430.248 (from
// memory: 230 V: 1/2 hp 4.9, 1 hp 8, 1 1/2 hp 10, 2 hp 12, 3 hp 17; 115 V: 1/3 hp 7.2). Where it gives no size, the main
// ohms are typed in and only what follows from them is held to the page.
const PUMP_HALF_RUN: &str = "kind = \"split-phase-motor\"\n\
    plate = { volts = 230, hertz = 60, amps = 4.9, rpm = 3450, run_microfarads = 15 }";
const PUMP_HALF_START: &str =
    "kind = \"split-phase-motor\"\nplate = { volts = 230, hertz = 60, amps = 4.9, rpm = 3450, microfarads = 60 }";
const PUMP_1: &str =
    "kind = \"split-phase-motor\"\nplate = { volts = 230, hertz = 60, amps = 8, rpm = 3450, run_microfarads = 20 }";
const PUMP_1_5: &str =
    "kind = \"split-phase-motor\"\nplate = { volts = 230, hertz = 60, amps = 10, rpm = 3450, run_microfarads = 20 }";
const PUMP_2: &str =
    "kind = \"split-phase-motor\"\nplate = { volts = 230, hertz = 60, amps = 12, rpm = 3450, run_microfarads = 25 }";
const PUMP_3: &str =
    "kind = \"split-phase-motor\"\nplate = { volts = 230, hertz = 60, amps = 17, rpm = 3450, run_microfarads = 40 }";
const OIL_A: &str = "kind = \"split-phase-motor\"\n\
    plate = { volts = 230, hertz = 60, rpm = 3450, microfarads = 60, main_ohms = 2.92 }";
const OIL_B: &str = "kind = \"split-phase-motor\"\n\
    plate = { volts = 230, hertz = 60, rpm = 3450, microfarads = 60, main_ohms = 2.38 }";
const OIL_C: &str = "kind = \"split-phase-motor\"\n\
    plate = { volts = 230, hertz = 60, rpm = 3450, microfarads = 60, main_ohms = 1.82 }";
const OIL_D: &str = "kind = \"split-phase-motor\"\n\
    plate = { volts = 230, hertz = 60, rpm = 3450, run_microfarads = 40, main_ohms = 1.42 }";
const TRAINING_COMPRESSOR: &str =
    "kind = \"compressor\"\nplate = { volts = 115, hertz = 60, rpm = 3450, main_ohms = 4 }";
const CIRCULATOR_115: &str = "kind = \"capacitor-run-motor\"\ntaps = [\"fast\", \"medium\", \"slow\"]\nload = \"pump\"\n\
    plate = { volts = 115, hertz = 60, main_ohms = 7.3 }";
const CIRCULATOR_230: &str = "kind = \"capacitor-run-motor\"\ntaps = [\"fast\", \"medium\", \"slow\"]\nload = \"pump\"\n\
    plate = { volts = 230, hertz = 60, main_ohms = 33 }";
const FAN_MOTOR: &str =
    "kind = \"capacitor-run-motor\"\ntaps = [\"fast\", \"slow\"]\nplate = { volts = 120, hertz = 60 }";
const THIRD_HP: &str = "kind = \"split-phase-motor\"\nplate = { volts = 115, hertz = 60, amps = 7.2, rpm = 1725 }";
const THIRD_HP_CAPACITOR: &str =
    "kind = \"split-phase-motor\"\nplate = { volts = 115, hertz = 60, amps = 7.2, rpm = 1725, microfarads = 150 }";
// Shaft watts over an efficiency of 0.6 and 0.55 (engineering judgement).
const REVERSING_THIRD: &str =
    "kind = \"reversible-motor\"\nplate = { volts = 120, hertz = 60, watts = 415, rpm = 1650 }";
const REVERSING_QUARTER: &str =
    "kind = \"reversible-motor\"\nplate = { volts = 120, hertz = 60, watts = 340, rpm = 1650 }";
const CENTRE_TAPPED: &str = "kind = \"transformer\"\nvolt_amperes = 10\nwinding_ohms = { primary = 268 }\n\
    windings.primary = [\"a\", 200, \"centre\", 200, \"b\"]\nwindings.secondary = [\"c\", 8, \"d\"]";
const CONTACTOR_24: &str = "kind = \"relay\"\nvolts = 24\ncontacts.pulled-in = [[\"in\", \"out\"]]";

const CONTROL_BOX: &str = "1/2 hp well pump (homeownershub.com, 3-wire submersible pump controller specs, box labels)";
const SUBMERSIBLE: &str = "3-wire submersible, 25 C (maker's single-phase motor winding resistance chart)";
const OIL_FILLED: &str = "oil-filled submersible pump, start from main ohms (manualslib.fr/manual/456259, p. 6)";
const CIRCULATOR: &str = "three-speed wet-rotor circulator, +-8 % (manualslib.es/manual/153426, p. 14)";
const WASHER: &str = "direct-drive washer (applianceaid.com, direct-drive washer motor help)";
const REVERSING: &str = "reversing washer motor, each winding (manualshive.com/ru/manual, cae2743b, p. 15)";

const ROWS: &[Row] = &[
    row(CONTROL_BOX, PUMP_HALF_RUN, RUN, (4.0, 4.0), Holds::Range),
    row(CONTROL_BOX, PUMP_HALF_RUN, START, (5.2, 5.2), Holds::Range),
    row(CONTROL_BOX, PUMP_HALF_START, RUN, (4.7, 4.7), Holds::Range),
    row(CONTROL_BOX, PUMP_HALF_START, START, (18.5, 18.5), Holds::Range),
    row(SUBMERSIBLE, PUMP_1, RUN, (2.7, 2.7), Holds::Range),
    row(SUBMERSIBLE, PUMP_1, START, (5.1, 5.1), Holds::Range),
    row(SUBMERSIBLE, PUMP_1_5, RUN, (2.2, 2.2), Holds::Range),
    row(SUBMERSIBLE, PUMP_1_5, START, (3.6, 3.6), Holds::Range),
    row(SUBMERSIBLE, PUMP_2, RUN, (1.5, 1.5), Holds::Range),
    row(SUBMERSIBLE, PUMP_2, START, (2.6, 2.6), Holds::Range),
    row(SUBMERSIBLE, PUMP_3, RUN, (1.1, 1.1), Holds::Range),
    row(SUBMERSIBLE, PUMP_3, START, (2.1, 2.1), Holds::Range),
    // Two-wire motors have their start gear inside; only the main winding is met.
    row("2-wire submersible 1 hp, same chart", PUMP_1, RUN, (2.5, 2.7), Holds::Range),
    row("2-wire submersible 1 1/2 hp, same chart", PUMP_1_5, RUN, (2.0, 2.1), Holds::Range),
    row(OIL_FILLED, OIL_A, START, (15.1, 15.1), Holds::Range),
    row(OIL_FILLED, OIL_B, START, (12.15, 12.15), Holds::Range),
    row(OIL_FILLED, OIL_C, START, (9.12, 9.12), Holds::Range),
    row(OIL_FILLED, OIL_D, START, (1.93, 1.93), Holds::Range),
    row("training compressor 4 and 11 ohm", TRAINING_COMPRESSOR, START, (11.0, 11.0), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_115, ("common", "fast"), (6.9, 8.01), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_115, ("common", "medium"), (9.7, 11.38), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_115, ("common", "slow"), (12.97, 15.23), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_115, ("fast", "medium"), (3.0, 3.6), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_115, ("medium", "slow"), (3.0, 3.6), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_230, ("common", "fast"), (34.63, 40.66), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_230, ("common", "medium"), (41.57, 48.81), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_230, ("common", "slow"), (56.67, 66.53), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_230, ("fast", "medium"), (12.0, 14.0), Holds::Range),
    row(CIRCULATOR, CIRCULATOR_230, ("medium", "slow"), (12.0, 14.0), Holds::Range),
    row("multi-speed fan motor (hvacspecialists.info)", FAN_MOTOR, ("common", "fast"), (10.0, 15.0), Holds::Range),
    row("single-speed motor, same page; taken as 1/3 hp", THIRD_HP, RUN, (1.0, 2.0), Holds::Middle),
    row(WASHER, THIRD_HP, RUN, (0.75, 2.0), Holds::Middle),
    row(WASHER, THIRD_HP, START, (4.0, 7.0), Holds::Range),
    row("belt washer (manualshive.com/ru/manual, slw570raw, p. 4)", THIRD_HP, RUN, (1.0, 2.0), Holds::Middle),
    row("belt washer, same", THIRD_HP, START, (4.0, 5.0), Holds::Range),
    row(REVERSING, REVERSING_THIRD, ("common", "forward"), (3.5, 6.0), Holds::Range),
    row(REVERSING, REVERSING_THIRD, ("common", "backward"), (3.5, 6.0), Holds::Range),
    row(REVERSING, REVERSING_QUARTER, ("common", "forward"), (5.0, 9.5), Holds::Range),
    row(REVERSING, REVERSING_QUARTER, ("common", "backward"), (5.0, 9.5), Holds::Range),
    row("appliance motor (ts.ifixit.com/Guide/diff/step/161976)", THIRD_HP, START, (2.0, 5.0), Holds::Middle),
    row("capacitor-start motor (ehow.co.uk/how_7950441)", THIRD_HP_CAPACITOR, START, (1.5, 7.0), Holds::Middle),
    row("PTC starter (errorcodefixes.com, weak)", "kind = \"ptc-starter\"", ("a", "b"), (3.0, 12.0), Holds::Range),
    row(
        "24 V contactor coil (riunitedformarriage.org, weak)",
        CONTACTOR_24,
        ("coil-a", "coil-b"),
        (10.0, 100.0),
        Holds::Range,
    ),
    // The size that is usual for the kind was taken from this figure.
    row(
        "sequencer heater (homesteady.com, weak)",
        "kind = \"sequencer\"\nvolts = 24",
        ("heater-a", "heater-b"),
        (20.0, 20.0),
        Holds::Range,
    ),
    row("contactor coil (coastguardexams.com)", CONTACTOR_24, ("coil-a", "coil-b"), (22.0, 22.0), Holds::Range),
    row(
        "small timer motor (acmehowto.com, icemaker motor)",
        "kind = \"timer-motor\"\nvolts = 120",
        ("a", "b"),
        (600.0, 600.0),
        Holds::Range,
    ),
    // Arithmetic: 240 V squared over 5 kW.
    row(
        "5 kW element at 240 V",
        "kind = \"heater\"\nvolts = 240\nwatts = 5000",
        ("a", "b"),
        (11.52, 11.52),
        Holds::Range,
    ),
    row(
        "push-pull transformer (forum.pedalpcb.com, thread 20411)",
        CENTRE_TAPPED,
        ("a", "centre"),
        (150.0, 150.0),
        Holds::Range,
    ),
    row("the other half of the same", CENTRE_TAPPED, ("centre", "b"), (116.0, 116.0), Holds::Range),
    row("end to end of the same", CENTRE_TAPPED, ("a", "b"), (266.0, 268.0), Holds::Range),
];

#[test]
fn published_ohms_lie_in_the_band_that_is_expected() {
    let (mut outside, mut squares) = (Vec::new(), 0.0);
    for Row { words, part, ends, published: (low, high), holds } in ROWS {
        let (median, spread) = expected(&alone(part), *ends);
        let band = (median * (-SIDES * spread).exp(), median * (SIDES * spread).exp());
        let middle = (low * high).sqrt();
        let (from, to) = match holds {
            Holds::Middle => (middle, middle),
            Holds::Range => (*low, *high),
        };
        if from < band.0 || to > band.1 {
            let (a, b) = ends;
            outside.push(format!("{words}, {a} to {b}: {low} to {high}, expected {:.3} to {:.3}", band.0, band.1));
        }
        squares += ((middle / median).ln() / spread).powi(2);
    }
    assert!(outside.is_empty(), "{}", outside.join("\n"));
    // Medians that were far off, or spreads so wide that anything falls inside, would show here.
    let deviation = (squares / ROWS.len() as f64).sqrt();
    eprintln!("{} rows, {deviation} standard deviations from their medians", ROWS.len());
    assert!((0.25..1.2).contains(&deviation), "{deviation} standard deviations from the medians on the whole");
}

/// The delta method against draws from the unknown values themselves.
#[test]
fn bands_are_those_of_draws() {
    for (part, ends) in [(CIRCULATOR_115, ("common", "slow")), (PUMP_1, ("run", "start")), (CENTRE_TAPPED, ("a", "b"))]
    {
        let job = alone(part);
        let (median, spread) = expected(&job, ends);
        // A sum of twelve uniform draws is near enough to a normal one.
        let mut state = 7u64;
        let mut uniform = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        let mut draws: Vec<f64> = (0..1500)
            .map(|_| {
                let mut deviations = medians(&job);
                for (deviation, unknown) in deviations.iter_mut().zip(job.unit.unknowns()) {
                    *deviation = unknown.log_spread * ((0..12).map(|_| uniform()).sum::<f64>() - 6.0);
                }
                ohms(&job, ends, &deviations).0
            })
            .collect();
        draws.sort_by(f64::total_cmp);
        let quantile = |share: f64| draws[(share * draws.len() as f64) as usize];
        for (share, sides) in [(0.025, -SIDES), (0.5, 0.0), (0.975, SIDES)] {
            let off = (quantile(share) / (median * (sides * spread).exp())).ln();
            // A sum of log-normal values leans a little, by the square of the spread, which the delta method leaves out.
            assert!(off.abs() < 0.3 * spread, "{ends:?} at {share}: {off}, spread {spread}");
        }
    }
}

/// A textbook (g-wonlinetextbooks.com, Heating and Cooling Essentials 2022, p. 531): any two leads of a three-phase motor read
/// 1 to 50 ohm, larger motors less.
#[test]
fn three_phase_motors_read_one_to_fifty_ohms_and_less_the_larger_they_are() {
    // Amps of the United States electrical code, table 430.250 at 230 V (from memory): 1/2, 1, 3 and 5 hp.
    let mut before = f64::INFINITY;
    for amps in [2.2, 4.2, 9.6, 15.2] {
        let job = alone(&format!(
            "kind = \"three-phase-motor\"\nconnection = \"star\"\n\
             plate = {{ volts = 230, hertz = 60, amps = {amps}, rpm = 1725 }}"
        ));
        let (median, _) = expected(&job, ("u", "v"));
        assert!((1.0..50.0).contains(&median), "{amps} A: {median} ohm");
        assert!(median < before);
        before = median;
    }
}

/// Lead to lead within 2 % of the average (ecmweb.com, "Unbalanced current"): sound motors are expected to keep it.
#[test]
fn three_phase_leads_are_expected_to_balance_within_two_per_cent() {
    for connection in ["star", "delta"] {
        let job = alone(&format!(
            "kind = \"three-phase-motor\"\nconnection = \"{connection}\"\n\
             plate = {{ volts = 230, hertz = 60, amps = 4.2, rpm = 1725 }}"
        ));
        let pairs = [("u", "v"), ("v", "w"), ("w", "u")].map(|ends| ohms(&job, ends, &medians(&job)));
        let mean = pairs.iter().map(|pair| pair.0).sum::<f64>() / 3.0;
        for (value, gradient) in &pairs {
            assert!((value / mean - 1.0).abs() < 1e-12);
            let variance: f64 = job
                .unit
                .unknowns()
                .iter()
                .enumerate()
                .map(|(index, unknown)| {
                    let average = pairs.iter().map(|pair| pair.1[index]).sum::<f64>() / 3.0;
                    (unknown.log_spread * (gradient[index] - average) / mean).powi(2)
                })
                .sum();
            let spread = variance.sqrt();
            assert!(SIDES * spread < 0.02 && spread > 1e-3, "{connection}: {spread}");
        }
    }
}

const THREE_TERMINALS: [&str; 5] = [
    TRAINING_COMPRESSOR,
    PUMP_HALF_RUN,
    PUMP_HALF_START,
    THIRD_HP,
    "kind = \"compressor\"\n\
     plate = { volts = 230, hertz = 50, amps = 4.6, rpm = 2850, microfarads = 60, run_microfarads = 20 }",
];

proptest! {
    /// C-R + C-S = R-S of a cool motor (aircold service blog, "Compressor common, run, start"; the same in the textbook
    /// above): so the highest reading leaves out common, whatever the windings have.
    #[test]
    fn common_to_run_and_common_to_start_add_up_to_run_to_start(
        which in 0..THREE_TERMINALS.len(),
        deviations in proptest::collection::vec(-1.5f64..1.5, 40),
    ) {
        let job = alone(THREE_TERMINALS[which]);
        let count = unknown_count(&job.unit, &FaultSet::default());
        let deviations: Vec<f64> = deviations.into_iter().cycle().take(count).collect();
        let read = |a, b| ohms(&job, (a, b), &deviations).0;
        let (run, start, both) = (read("common", "run"), read("common", "start"), read("run", "start"));
        prop_assert!((run + start - both).abs() < 1e-9 * both, "{run} + {start} is not {both}");
        prop_assert!(both > run && both > start);
    }
}

/// An open overload inside leaves only run to start (same sources): tripped, not burnt.
#[test]
fn an_open_overload_leaves_run_to_start() {
    let mut text =
        String::from("[unit]\nname = \"x\"\n[parts.mains]\nkind = \"supply\"\nvolts = 115\nhertz = 60\n[parts.X]\n");
    text += TRAINING_COMPRESSOR;
    text += "\n[setups.cold]\nsupply = \"off\"\npositions = { X = \"open\" }\n";
    let job = bench::job::read("job.toml", &text).unwrap();
    let read = |a, b| ohms(&job, (a, b), &medians(&job)).0;
    // Only by way of the insulation to the frame and back, which an ohmmeter calls open.
    let open = Meter::handheld().ohms_limit;
    assert!(read("common", "run") > open && read("common", "start") > open);
    assert!((read("run", "start") - 20.0).abs() < 1e-6, "{}", read("run", "start"));
}
