//! Parts that were changed: wires on the wrong terminals and motors wound for other volts, against units that are written
//! down that way. Every figure is invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::newly_fitted::{Blame, HOOK_UP_ODDS, NEW_PART, WRONG_PART, blame};
use bench::wiring::{severity_unknown, unknown_count};
use bench::{FaultSet, Job, Measure, Meter, observe};
use common::{Bench, ONE_FAN, doubtful_job, job, terminal};

/// The fan of the other tests with a new motor.
fn with_new(part: &str) -> Job {
    let heading = format!("[parts.{part}]\n");
    job(&ONE_FAN.replace(&heading, &format!("{heading}fitted = \"new\"\n")))
}

fn odds(job: &Job, label: &str) -> f64 {
    job.unit.faults()[job.unit.find_fault(label).unwrap_or_else(|| panic!("no {label}"))].mode.odds
}

#[test]
fn a_new_part_is_seldom_bad_and_more_often_the_wrong_one() {
    let (old, new) = (job(ONE_FAN), with_new("C1"));
    for (label, factor) in
        [("C1 open", NEW_PART), ("C1 low", NEW_PART), ("C1 wrong-value", WRONG_PART), ("M1 main-open", 1.0)]
    {
        let ratio = odds(&new, label) / odds(&old, label);
        assert!((ratio - factor).abs() < 1e-12, "{label}: {ratio}");
    }
    // Of two terminals it makes no difference which wire is on which.
    assert!(!new.unit.faults().iter().any(|fault| fault.mode.name.contains("wires-interchanged")));
    // Nothing was done at a part that nobody changed.
    assert!(old.unit.find_fault("M1 wrong-winding").is_none());
}

#[test]
fn all_pairs_of_wires_together_have_the_odds_of_a_wrong_hook_up() {
    let job = with_new("M1");
    let of_wires = |fault: &&bench::Fault| fault.mode.name.ends_with("wires-interchanged");
    let all: Vec<&bench::Fault> = job.unit.faults().iter().filter(of_wires).collect();
    assert_eq!(all.len(), 3, "common, run, start: three pairs");
    let sum: f64 = all.iter().map(|fault| fault.mode.odds).sum();
    assert!((sum - HOOK_UP_ODDS).abs() < 1e-12);
    assert!(all.iter().all(|fault| blame(&job.unit, fault) == Blame::HookUp && !fault.repair().contains(';')));
    let of = |label: &str| blame(&job.unit, &job.unit.faults()[job.unit.find_fault(label).unwrap()]);
    assert_eq!(of("M1 wrong-winding"), Blame::WrongPart);
    assert_eq!(of("supply low-volts"), Blame::Supply);
    assert_eq!(of("M1 main-open"), Blame::Unit);
}

/// The fault against the same unit with these wires written down the other way round.
#[test]
fn interchanged_wires_are_those_of_a_unit_that_is_wired_so() {
    let new = with_new("M1");
    for (a, b) in [("common", "run"), ("common", "start"), ("run", "start")] {
        let (a, b) = (format!("M1.{a}\""), format!("M1.{b}\""));
        // Only wires change: readings and setups of the fan name terminals, which stay where they are.
        let (wires, rest) = ONE_FAN.split_at(ONE_FAN.find("[unit]").unwrap());
        let wires = wires.replace(&a, "M1.\u{1}").replace(&b, &a).replace("M1.\u{1}", &b);
        let rewired = job(&format!("{wires}{rest}"));
        let label = format!("M1 {}-{}-wires-interchanged", &a[3..a.len() - 1], &b[3..b.len() - 1]);
        let (faulty, written) = (Bench::with(&new, &[&label]), Bench::sound(&rewired));
        let close = |x: f64, y: f64, what: &str| {
            // Which side of a joint counts the microamperes of stray capacitance depends on the order of wires.
            assert!((x - y).abs() <= 1e-9 * y.abs() + 3e-6, "{label}, {what}: {x} and {y}");
        };
        for at in ["M1.common", "M1.run", "M1.start", "C1.a", "cord.hot"] {
            close(faulty.amps("on", at), written.amps("on", at), at);
        }
        close(faulty.rpm("on", "M1"), written.rpm("on", "M1"), "rpm");
        for (x, y) in [("M1.run", "M1.common"), ("M1.start", "cord.neutral"), ("C1.a", "C1.b")] {
            close(faulty.volts("on", x, y), written.volts("on", x, y), x);
        }
    }
}

/// Similar motors: with all ohms `k` times, the volts `sqrt(k)` times and the capacitor a `k`-th, flux and torque are the
/// same and the amps a `sqrt(k)`-th. So such a motor on such a supply runs as the sound one does.
#[test]
fn a_motor_for_other_volts_runs_as_it_should_on_those() {
    let sound = Bench::sound(&job(ONE_FAN)).rpm_and_amps();
    // What stands in series with the motor has its ohms times `k` too: by default 0.4 ohm and 0.75 mm2.
    let in_series = |times: f64, text: &str| {
        let supply = format!("breaker_amps = 15\nsource_ohms = {}", 0.4 * times);
        let cord = format!("kind = \"cord\"\nsquare_millimetres = {}", 0.75 / times);
        text.replace("breaker_amps = 15", &supply).replace("kind = \"cord\"", &cord)
    };
    for times in [0.25, 3.7] {
        let scaled = |key: &str, by: f64, text: &str| -> String {
            let at = text.find(key).unwrap() + key.len();
            let end = at + text[at..].find(['\n', ' ', ',']).unwrap();
            let value: f64 = text[at..end].parse().unwrap();
            format!("{}{}{}", &text[..at], value * by, &text[end..])
        };
        let text = in_series(times, ONE_FAN).replace("[parts.M1]\n", "[parts.M1]\nfitted = \"new\"\n");
        let supply = text.find("[parts.supply]").unwrap();
        let text = format!("{}{}", &text[..supply], scaled("volts = ", f64::sqrt(times), &text[supply..]));
        let capacitor = text.find("[parts.C1]").unwrap();
        let text = format!("{}{}", &text[..capacitor], scaled("microfarads = ", 1.0 / times, &text[capacitor..]));
        let job = doubtful_job(&text);
        let (rpm, amps) = Bench::with(&job, &["M1 wrong-winding"]).sized(times).rpm_and_amps();
        // Stray capacitance is what is left of a difference.
        assert!((rpm / sound.0 - 1.0).abs() < 1e-5, "{times}: {rpm} rpm, sound {}", sound.0);
        assert!((amps * times.sqrt() / sound.1 - 1.0).abs() < 1e-4, "{times}: {amps} A, sound {}", sound.1);
    }
}

impl Bench<'_> {
    fn rpm_and_amps(&self) -> (f64, f64) {
        (self.rpm("on", "M1"), self.amps("on", "M1.common"))
    }
}

/// A motor for 230 V on 120 V has a quarter of the torque and hardly turns; one for 120 V on 230 V draws far too much.
#[test]
fn the_right_power_for_the_wrong_volts_shows() {
    let job = with_new("M1");
    let (sound, _) = Bench::sound(&job).rpm_and_amps();
    let (slow, little) = Bench::with(&job, &["M1 wrong-winding"]).sized(3.7).rpm_and_amps();
    let (_, much) = Bench::with(&job, &["M1 wrong-winding"]).sized(0.27).rpm_and_amps();
    let (_, usual) = Bench::sound(&job).rpm_and_amps();
    assert!(
        slow < 0.9 * sound && little < 0.85 * usual && much > 1.5 * usual,
        "{slow} of {sound}; {little}, {much} of {usual}"
    );
}

/// A motor of the same power with other poles, against the unit with that motor written down. Its plate speed is that of its
/// own field, and at the same power its plate torque is larger by as much as it is slower; what is driven asks for its
/// torque at the speed that belongs there, which a fan puts at the square of the speed.
#[test]
fn a_motor_with_other_poles_is_the_one_written_down_so() {
    for other in [2, 6, 8] {
        let new = with_new("M1");
        let speed = 4.0 / f64::from(other);
        let plate = format!("rpm = {}, poles = {other}", 1600.0 * speed);
        let written = job(&ONE_FAN.replace("rpm = 1600, poles = 4", &plate));
        let (faulty, mut as_written) =
            (Bench::with(&new, &[&format!("M1 wrong-poles-{other}")]), Bench::sound(&written));
        // At its own plate speed the fan asks for `speed^2` of the torque that belongs there, its plate says `1 / speed`.
        as_written.deviate("M1", "fan torque", f64::ln(speed.powi(2) * speed));
        as_written.deviate("M1", "bearing friction", f64::ln(speed));
        as_written.deviate("M1", "inertia", f64::ln(speed.powi(2)));
        let ((rpm, amps), (expected_rpm, expected_amps)) = (faulty.rpm_and_amps(), as_written.rpm_and_amps());
        assert!((rpm / expected_rpm - 1.0).abs() < 1e-6, "{other} poles: {rpm} rpm, written {expected_rpm}");
        assert!((amps / expected_amps - 1.0).abs() < 1e-6, "{other} poles: {amps} A, written {expected_amps}");
        let [seconds, expected] = [&faulty, &as_written].map(|bench| bench.run_down("on", "M1"));
        assert!((seconds / expected - 1.0).abs() < 1e-6, "{other} poles: {seconds} s, written {expected}");
    }
}

/// A fan's power goes with the cube of its speed (affinity laws; Bleier, Fan Handbook, from memory), and a motor's field
/// turns at 120 f / p (any textbook of machines). So with more poles the motor has little to do and runs close below
/// its field; with fewer it is overloaded, and never comes near its field.
#[test]
fn other_poles_show_in_speed_and_current() {
    let job = with_new("M1");
    let plate_amps = 1.1;
    let (right, _) = Bench::sound(&job).rpm_and_amps();
    assert!((right / 1600.0 - 1.0).abs() < 0.02, "{right}");
    let (eight, _) = Bench::with(&job, &["M1 wrong-poles-8"]).rpm_and_amps();
    assert!((850.0..900.0).contains(&eight), "{eight}");
    let (six, _) = Bench::with(&job, &["M1 wrong-poles-6"]).rpm_and_amps();
    assert!((1100.0..1200.0).contains(&six), "{six}");
    let (two, amps) = Bench::with(&job, &["M1 wrong-poles-2"]).rpm_and_amps();
    assert!(two < 0.9 * 3600.0 && amps > 1.3 * plate_amps, "{two} rpm, {amps} A");
}

/// Nobody can say that poles are other ones than belong there where the plate does not tell how many do.
#[test]
fn other_poles_are_looked_for_where_the_plate_tells_them() {
    let poles = |plate: &str| -> Vec<String> {
        let text =
            ONE_FAN.replace("rpm = 1600, poles = 4, ", plate).replace("[parts.M1]\n", "[parts.M1]\nfitted = \"new\"\n");
        let job = job(&text);
        let faults = job.unit.faults().iter().filter(|fault| fault.mode.name.starts_with("wrong-poles"));
        faults.map(|fault| fault.label()).collect()
    };
    assert_eq!(poles("rpm = 1600, "), ["M1 wrong-poles-2", "M1 wrong-poles-6", "M1 wrong-poles-8"]);
    assert_eq!(poles("poles = 2, "), ["M1 wrong-poles-4"]);
    assert_eq!(poles("rpm = 1080, "), ["M1 wrong-poles-4", "M1 wrong-poles-8", "M1 wrong-poles-12"]);
    assert_eq!(poles(""), [] as [&str; 0]);
    let job = with_new("M1");
    let of_poles = job.unit.faults().iter().filter(|fault| fault.mode.name.starts_with("wrong-poles"));
    let sum: f64 = of_poles.map(|fault| fault.mode.odds).sum();
    assert!((sum - odds(&job, "M1 wrong-winding")).abs() < 1e-12, "{sum}");
    let of = |label: &str| blame(&job.unit, &job.unit.faults()[job.unit.find_fault(label).unwrap()]);
    assert_eq!(of("M1 wrong-poles-8"), Blame::WrongPart);
}

#[test]
fn the_size_of_a_wrong_winding_has_its_derivative() {
    let job = with_new("M1");
    let faults = common::faults(&job.unit, &["M1 wrong-winding"]);
    let unknown = severity_unknown(&job.unit, &faults, 0).unwrap();
    let mut deviations = vec![0.05; unknown_count(&job.unit, &faults)];
    let amps = Measure::AmpsAtTerminal(terminal(&job.unit, "cord.hot"));
    let at = |faults: &FaultSet, deviations: &[f64]| {
        observe(&job.unit, common::setup(&job, "on"), faults, deviations, |observed| {
            observed.measure(amps, &Meter::handheld()).unwrap()
        })
        .unwrap()
    };
    let slope = at(&faults, &deviations).gradient[unknown];
    let step = 1e-4;
    deviations[unknown] += step;
    let above = at(&faults, &deviations).value;
    deviations[unknown] -= 2.0 * step;
    let below = at(&faults, &deviations).value;
    let difference = (above - below) / (2.0 * step);
    assert!(
        (slope - difference).abs() < 1e-5 * difference.abs() && difference.abs() > 0.01,
        "{slope} and {difference}"
    );
}

#[test]
fn the_speed_with_other_poles_has_its_derivatives() {
    let job = with_new("M1");
    let mut bench = Bench::with(&job, &["M1 wrong-poles-8"]);
    let rpm = Measure::Rpm(common::part(&job.unit, "M1"));
    let slopes = bench.look("on", |observed| observed.measure(rpm, &Meter::handheld()).unwrap().gradient);
    for words in ["fan torque", "rotor resistance"] {
        let is_it = |unknown: &bench::Unknown| unknown.words == words;
        let unknown = job.unit.unknowns().iter().position(is_it).unwrap();
        let mut at = |by: f64| {
            bench.deviate("M1", words, by);
            bench.rpm("on", "M1")
        };
        let difference = (at(1e-3) - at(-1e-3)) / 2e-3;
        at(0.0);
        assert!(
            (slopes[unknown] - difference).abs() < 1e-4 * difference.abs(),
            "{words}: {} {difference}",
            slopes[unknown]
        );
    }
}
