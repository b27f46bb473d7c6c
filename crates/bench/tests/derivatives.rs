//! Every predicted reading's gradient against central differences of the same reading, by every unknown.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
#[path = "common/series.rs"]
mod series;
#[path = "common/stages.rs"]
mod stages;
#[path = "common/starting.rs"]
mod starting;

use bench::wiring::{severity_unknown, stray_unknown, unknown_count};
use bench::{BarPair, FaultSet, Job, Measure, Meter, Setup, observe};
use common::{
    CONTROL_BOX, ONE_FAN, POLISHER, RANGE, STEAM, THREE_PHASE_FAN, TWO_BLOWERS, WARM_AIR, faults, job, part, setup,
    terminal,
};

/// Step in the natural logarithm. Speeds are settled to about 1e-12, so a difference is good to about 1e-8.
const STEP: f64 = 1e-4;
/// Allowed error, relative to the value or to its gradient; truncation leaves about the square of the step.
const TOLERANCE: f64 = 3e-6;
/// Milliamps of leakage that are lost where amperes cancel: some 1e-11 A of 1 A, found by steps of other sizes.
const CANCELLED: f64 = 1e-8;

/// `measure` leaves a voltmeter out that loads the circuit by less than a millionth; `value` never does.
const SAME: f64 = 1e-6;

/// A unit with faults at some deviations in a setup, and a meter.
struct Case<'j> {
    job: &'j Job,
    setup: &'j Setup,
    faults: FaultSet,
    deviations: Vec<f64>,
    meter: Meter,
    step: f64,
}

impl<'j> Case<'j> {
    fn new(job: &'j Job, in_setup: &str, labels: &[&str]) -> Self {
        let faults = faults(&job.unit, labels);
        // Off the medians, each unknown by another amount, so that none of them hides behind a symmetry.
        // Insulation and angles of windings are counted apart, so that what stands behind them has the values it was chosen
        // with; a tenth of a right angle would be beyond all that is built.
        let apart = |index: usize| {
            let words = &job.unit.unknowns().get(index)?.words;
            if words.starts_with("angle") { Some(0.01) } else { words.starts_with("insulation").then_some(0.1) }
        };
        let mut place = 0;
        let deviation = |index: usize| {
            if let Some(most) = apart(index) {
                return most * (index as f64).cos();
            }
            place += 1;
            0.1 * (1.7 * (place - 1) as f64).sin()
        };
        let deviations = (0..unknown_count(&job.unit, &faults)).map(deviation).collect();
        Case { job, setup: setup(job, in_setup), faults, deviations, meter: Meter::handheld(), step: STEP }
    }

    fn value_at(&self, measure: Measure, deviations: &[f64]) -> f64 {
        observe(&self.job.unit, self.setup, &self.faults, deviations, |observed| {
            assert!(observed.steady().is_none_or(|steady| steady.settled()));
            observed.value(measure, &self.meter).unwrap()
        })
        .unwrap()
    }

    /// Compares the gradient with differences; returns it for a closer look.
    fn check(&self, measure: Measure) -> Vec<f64> {
        let prediction = observe(&self.job.unit, self.setup, &self.faults, &self.deviations, |observed| {
            observed.measure(measure, &self.meter).unwrap()
        })
        .unwrap();
        let value = self.value_at(measure, &self.deviations);
        assert!(value.is_finite() && value > 1e-6, "{measure:?} is {value}: nothing to compare");
        assert!((prediction.value - value).abs() <= SAME * value, "{measure:?}: {} and {value}", prediction.value);
        assert_eq!(prediction.gradient.len(), self.deviations.len());
        let largest = prediction.gradient.iter().fold(value, |largest, slope| largest.max(slope.abs()));
        for (unknown, &slope) in prediction.gradient.iter().enumerate() {
            let at = |step: f64| {
                let mut deviations = self.deviations.clone();
                deviations[unknown] += step;
                self.value_at(measure, &deviations)
            };
            let central = |step: f64| (at(step) - at(-step)) / (2.0 * step);
            let mut difference = central(self.step);
            if self.step > STEP {
                // Richardson: the error that goes with the square of a larger step is taken off.
                difference += (difference - central(2.0 * self.step)) / 3.0;
            }
            let lost = if matches!(measure, Measure::LeakageMilliamps(_)) { CANCELLED / self.step } else { 0.0 };
            assert!(
                (slope - difference).abs() <= TOLERANCE * largest + lost,
                "{measure:?} by {}: {slope}, by differences {difference}, value {value}",
                self.name_of(unknown)
            );
        }
        prediction.gradient
    }

    fn name_of(&self, unknown: usize) -> String {
        let unknowns = self.job.unit.unknowns();
        match unknowns.get(unknown) {
            Some(found) => format!("{} {}", self.job.unit.parts()[found.part].name, found.words),
            None if unknown == stray_unknown(&self.job.unit) => "stray capacitance".into(),
            None => "the size of a fault".into(),
        }
    }

    fn severity(&self, position: usize) -> usize {
        severity_unknown(&self.job.unit, &self.faults, position).expect("a fault with a size")
    }

    fn unknown(&self, of: &str, words: &str) -> usize {
        let part = part(&self.job.unit, of);
        let found = self.job.unit.unknowns().iter().position(|unknown| unknown.part == part && unknown.words == words);
        found.unwrap_or_else(|| panic!("{of} has no {words}"))
    }

    fn volts(&self, a: &str, b: &str) -> Measure {
        Measure::Volts(terminal(&self.job.unit, a), terminal(&self.job.unit, b))
    }

    fn ohms(&self, a: &str, b: &str) -> Measure {
        Measure::Ohms(terminal(&self.job.unit, a), terminal(&self.job.unit, b))
    }

    fn amps(&self, at: &str) -> Measure {
        Measure::AmpsAtTerminal(terminal(&self.job.unit, at))
    }

    fn amps_in(&self, wire: &str) -> Measure {
        Measure::AmpsInWire(self.job.unit.find_wire(wire).expect("a wire of this name"))
    }

    fn watts(&self, of: &str) -> Measure {
        Measure::Watts(part(&self.job.unit, of))
    }

    fn touch(&self, at: &str) -> Measure {
        Measure::TouchMilliamps(terminal(&self.job.unit, at))
    }

    fn leakage(&self, of: &str) -> Measure {
        Measure::LeakageMilliamps(part(&self.job.unit, of))
    }

    fn rpm(&self, of: &str) -> Measure {
        Measure::Rpm(part(&self.job.unit, of))
    }
}

/// A slope that must be there: a gradient of nothing but zeros would agree with a value that never moves.
#[track_caller]
fn assert_moves(slope: f64, value_scale: f64) {
    assert!(slope.abs() > 1e-3 * value_scale, "slope {slope}");
}

#[test]
fn every_live_measure_of_two_coupled_motors() {
    let job = job(TWO_BLOWERS);
    for labels in [&[][..], &["M2 common-bad-joint"], &["M2 main-shorted-turns"], &["M1 bearing-drag"], &["C2 low"]] {
        let case = Case::new(&job, "high", labels);
        for measure in [
            case.volts("M1.low", "cord.neutral"),
            case.volts("M2.start", "M2.high"),
            case.amps("cord.hot"),
            case.amps("M1.common"),
            case.amps_in("feed 2"),
            case.watts("supply"),
            case.watts("cord"),
            case.watts("M1"),
            case.watts("M2"),
            case.rpm("M1"),
            case.rpm("M2"),
        ] {
            let gradient = case.check(measure);
            let largest = gradient.iter().fold(0.0f64, |largest, slope| largest.max(slope.abs()));
            assert!(largest > 0.0, "{measure:?} moves with nothing");
        }
    }
}

#[test]
fn back_feed_moves_with_the_values_of_both_motors() {
    let job = job(TWO_BLOWERS);
    let case = Case::new(&job, "low", &["M2 common-open"]);
    let gradient = case.check(case.amps("M1.common"));
    assert_moves(gradient[case.unknown("M1", "main winding ohms")], 0.1);
    assert_moves(gradient[case.unknown("M2", "section high-medium ohms")], 0.1);
    case.check(case.volts("M2.high", "M2.start"));
    case.check(case.watts("M1"));
    case.check(case.rpm("M1"));
}

#[test]
fn sizes_of_two_faults_at_once() {
    let job = job(TWO_BLOWERS);
    // A fault without a size between them must not shift the places of the sizes.
    let labels = ["M2 common-bad-joint", "C1 open", "M1 bearing-drag"];
    let case = Case::new(&job, "medium", &labels);
    assert_eq!(case.deviations.len(), job.unit.unknowns().len() + 3);
    let gradient = case.check(case.amps("M2.common"));
    assert_moves(gradient[case.severity(0)], 0.1);
    case.check(case.rpm("M2"));
    case.check(case.watts("supply"));
}

#[test]
fn every_fault_that_has_a_size() {
    for (text, in_setup) in
        [(TWO_BLOWERS, "low"), (WARM_AIR, "on"), (ONE_FAN, "on"), (CONTROL_BOX, "on"), (STEAM, "on"), (POLISHER, "low")]
    {
        let job = job(text);
        let (mut sized, mut moving) = (0, 0);
        for fault in job.unit.faults().iter().filter(|fault| fault.mode.severity.is_some()) {
            let case = Case::new(&job, in_setup, &[&fault.label()]);
            let severity = case.severity(0);
            let slopes = [case.amps("cord.hot"), case.watts("supply")].map(|measure| case.check(measure)[severity]);
            sized += 1;
            moving += usize::from(slopes.iter().any(|&slope| slope != 0.0));
        }
        // Contacts that are not closed in this setup, and joints that carry nothing, move nothing.
        assert!(sized >= 8 && 2 * moving > sized, "{moving} of {sized} sizes move the line current or the watts");
    }
}

#[test]
fn a_motor_at_rest() {
    let job = job(ONE_FAN);
    let case = Case::new(&job, "on", &["C1 open"]);
    case.check(case.amps("cord.hot"));
    case.check(case.watts("M1"));
    case.check(case.volts("M1.start", "M1.common"));
}

#[test]
fn a_heater_unit() {
    let job = job(WARM_AIR);
    for labels in [
        &["H1 to-frame"][..],
        &["H1 broken-a-to-frame"],
        &["heater return bad-joint"],
        &["K1 burnt"],
        &["supply low-volts"],
        &["joint d-bad-joint"],
    ] {
        let case = Case::new(&job, "on", labels);
        for measure in [
            case.volts("H1.a", "H1.b"),
            case.volts("H1.b", "supply.neutral"),
            case.amps("H1.a"),
            case.amps_in("neutral"),
            case.watts("H1"),
            case.watts("supply"),
            case.rpm("M1"),
        ] {
            let gradient = case.check(measure);
            assert!(gradient.iter().all(|slope| slope.is_finite()));
        }
        let gradient = case.check(case.volts("H1.a", "H1.b"));
        assert!(gradient[case.severity(0)] != 0.0, "{labels:?} does not move the volts across the element");
    }
}

#[test]
fn a_transformer_and_what_hangs_on_it() {
    let job = job(CONTROL_BOX);
    for labels in [&[][..], &["T1 120-240-shorted-turns"], &["T1 primary-to-secondary"], &["centre bad-joint"]] {
        let case = Case::new(&job, "on", labels);
        for measure in [
            case.volts("T1.a", "T1.b"),
            case.volts("T1.120", "cord.neutral"),
            case.amps("T1.0"),
            case.amps("T1.centre"),
            case.amps_in("return"),
            case.watts("T1"),
            case.watts("supply"),
        ] {
            case.check(measure);
        }
        let gradient = case.check(case.watts("T1"));
        for words in ["core loss", "section 0-120 ohms", "section a-centre ohms"] {
            assert_moves(gradient[case.unknown("T1", words)], 1.0);
        }
        let gradient = case.check(case.amps("T1.0"));
        for words in ["magnetising reactance", "leakage reactance", "turns for 12 V"] {
            assert_moves(gradient[case.unknown("T1", words)], 1e-3);
        }
    }
}

#[test]
fn a_filter_and_a_valve() {
    let job = job(STEAM);
    for labels in [&["earth broken"][..], &["Z1 hot-earth-shorted", "earth broken"], &["Y1 shorted-turns"]] {
        let case = Case::new(&job, "on", labels);
        for measure in [case.volts("frame", "cord.neutral"), case.amps("Y1.a"), case.watts("Y1"), case.amps("Z1.hot")] {
            case.check(measure);
        }
        let gradient = case.check(case.watts("Y1"));
        for words in ["coil ohms", "magnetising reactance", "core loss"] {
            assert_moves(gradient[case.unknown("Y1", words)], 0.1);
        }
        let gradient = case.check(case.volts("frame", "cord.neutral"));
        let moves = if labels == ["earth broken"] { 10.0 } else { 0.0 };
        assert!(gradient[case.unknown("Z1", "nanofarads hot to earth")].abs() >= moves);
    }
    let case = Case::new(&job, "on", &[]);
    let gradient = case.check(case.amps_in("filter earth"));
    assert_moves(gradient[case.unknown("Z1", "nanofarads hot to earth")], 1e-4);
    let case = Case::new(&job, "unplugged", &[]);
    let gradient = case.check(case.ohms("cord.hot", "cord.neutral"));
    assert_moves(gradient[case.unknown("Y1", "coil ohms")], 1.0);
}

#[test]
fn two_legs_with_their_loads() {
    let job = job(RANGE);
    for labels in [&[][..], &["supply neutral-open"], &["supply leg-1-low"], &["supply leg-2-neutral-interchanged"]] {
        let case = Case::new(&job, "on", labels);
        for measure in [
            case.volts("H1.a", "H1.b"),
            case.volts("cord.leg-1", "cord.leg-2"),
            case.amps("cord.neutral"),
            case.amps_in("neutral"),
            case.watts("supply"),
        ] {
            case.check(measure);
        }
    }
    let case = Case::new(&job, "on", &["supply neutral-open"]);
    let gradient = case.check(case.volts("H1.a", "H1.b"));
    assert_moves(gradient[case.unknown("H1", "element ohms")], 10.0);
    let case = Case::new(&job, "on", &["supply leg-1-low"]);
    let gradient = case.check(case.volts("cord.leg-1", "cord.neutral"));
    assert_moves(gradient[case.severity(0)], 10.0);
    assert_moves(gradient[case.unknown("supply", "share of leg-1 in the supply volts")], 100.0);
}

#[test]
fn a_three_phase_motor_running_and_on_two_lines() {
    let job = job(THREE_PHASE_FAN);
    for (setup, labels) in [
        ("on", &[][..]),
        ("on", &["M1 u-shorted-turns"]),
        ("on", &["M1 w-to-frame"]),
        ("on", &["M1 v-reversed"]),
        ("on", &["supply line-2-low", "M1 bearing-drag"]),
        ("pushed", &["U broken"]),
        ("on", &["supply lines-interchanged"]),
    ] {
        let case = Case::new(&job, setup, labels);
        for measure in [
            case.amps("M1.u"),
            case.amps("M1.v"),
            case.volts("M1.u", "M1.v"),
            case.volts("M1.u", "supply.neutral"),
            case.watts("M1"),
            case.watts("supply"),
            case.rpm("M1"),
        ] {
            case.check(measure);
        }
        let gradient = case.check(case.amps("M1.v"));
        for words in [
            "leakage reactance",
            "magnetising reactance",
            "rotor resistance",
            "fan torque",
            "ohms of phase v over the other phases'",
        ] {
            // What a motor draws at rest does not depend on its fan, and on its magnetising reactance but little.
            let still = case.value_at(case.rpm("M1"), &case.deviations) == 0.0;
            assert!(still || gradient[case.unknown("M1", words)] != 0.0, "{labels:?}, {words}");
        }
    }
    let case = Case::new(&job, "bare", &[]);
    let gradient = case.check(case.ohms("M1.u", "M1.w"));
    assert_moves(gradient[case.unknown("M1", "ohms of a phase")], 10.0);
    assert!(gradient[case.unknown("M1", "ohms of phase v over the other phases'")].abs() < 1e-12);
}

#[test]
fn a_universal_motor_and_a_timer() {
    let job = job(POLISHER);
    for labels in [
        &[][..],
        &["M1 armature-coil-open"],
        &["M1 armature-coil-shorted"],
        &["M1 field-2-shorted-turns", "M1 bearing-drag"],
        &["M1 brush-2-worn"],
        &["M1 brush-leads-interchanged"],
        &["M1 armature-to-frame", "earth broken"],
    ] {
        for in_setup in ["high", "low", "held"] {
            let case = Case::new(&job, in_setup, labels);
            for measure in [
                case.volts("M1.brush-1", "M1.brush-2"),
                case.volts("M1.field-2-a", "M1.field-2-b"),
                case.amps("cord.hot"),
                case.amps_in("return"),
                case.watts("M1"),
                case.watts("supply"),
            ] {
                case.check(measure);
            }
            if in_setup != "held" {
                let gradient = case.check(case.rpm("M1"));
                for words in ["torque of what it drives", "speed volts for each field amp"] {
                    assert_moves(gradient[case.unknown("M1", words)], 500.0);
                }
            }
        }
    }
    let case = Case::new(&job, "high", &[]);
    let gradient = case.check(case.watts("W1"));
    for words in ["coil ohms", "magnetising reactance", "load"] {
        assert_moves(gradient[case.unknown("W1", words)], 1.0);
    }
    for in_setup in ["unplugged", "lowest", "highest"] {
        for label in ["M1 armature-coil-open", "M1 armature-coil-shorted", "M1 bad-bar", "M1 wrong-brushes"] {
            let case = Case::new(&job, in_setup, &[label]);
            let gradient = case.check(case.ohms("M1.brush-1", "M1.brush-2"));
            assert_moves(gradient[case.unknown("M1", "armature ohms")], 1.0);
            case.check(case.ohms("M1.high", "M1.low"));
            case.check(case.ohms("M1.field-2-a", "M1.field-2-b"));
        }
    }
}

#[test]
fn a_leak_to_the_frame_moves_the_earth_current() {
    let job = job(WARM_AIR);
    let case = Case::new(&job, "on", &["H1 to-frame"]);
    let gradient = case.check(case.amps_in("earth"));
    assert_moves(gradient[case.severity(0)], 0.03);
}

#[test]
fn ohms_cold_through_everything() {
    let job = job(TWO_BLOWERS);
    let case = Case::new(&job, "unplugged", &["M2 common-bad-joint", "M1 main-shorted-turns"]);
    let gradient = case.check(case.ohms("M1.common", "M1.high"));
    assert_moves(gradient[case.unknown("M1", "main winding ohms")], 0.1);
    case.check(case.ohms("M1.low", "M2.start"));
    case.check(case.ohms("M1.start", "M2.common"));
    let job = common::job(WARM_AIR);
    let case = Case::new(&job, "unplugged", &["K1 burnt"]);
    case.check(case.ohms("cord.hot", "H1.a"));
    let gradient = case.check(case.ohms("K1.a", "cord.neutral"));
    assert_moves(gradient[case.unknown("H1", "element ohms")], 0.1);
    case.check(case.ohms("cord.plug-hot", "cord.plug-neutral"));
}

#[test]
fn ghost_volts_of_a_floating_net_on_both_kinds_of_meter() {
    let job = job(WARM_AIR);
    let mut case = Case::new(&job, "not calling", &["cutout to thermostat broken"]);
    for ohms in [10e6, 3e3] {
        case.meter.volts_input_ohms = ohms;
        let measure = case.volts("T1.a", "cord.neutral");
        let gradient = case.check(measure);
        let value = case.value_at(measure, &case.deviations);
        // The unknown stray capacitance is what moves it most.
        let stray = gradient[stray_unknown(&job.unit)];
        assert!(stray.abs() > 0.1 * value, "{stray} of {value}");
    }
}

#[test]
fn value_and_measure_agree_where_there_is_nothing_to_read() {
    let job = job(WARM_AIR);
    let unit = &job.unit;
    let (hot, neutral) = (terminal(unit, "cord.hot"), terminal(unit, "cord.neutral"));
    let case = Case::new(&job, "unplugged", &[]);
    let answers = |setup: &Setup, measure: Measure| {
        observe(unit, setup, &case.faults, &case.deviations, |observed| {
            (observed.value(measure, &case.meter), observed.measure(measure, &case.meter))
        })
        .unwrap()
    };
    // Unplugged: no volts, no current, no power, no motion.
    for measure in [
        Measure::Volts(hot, neutral),
        Measure::AmpsAtTerminal(hot),
        Measure::AmpsInWire(0),
        Measure::Watts(part(unit, "H1")),
        Measure::Rpm(part(unit, "M1")),
    ] {
        let (value, measured) = answers(case.setup, measure);
        let measured = measured.unwrap();
        assert_eq!((value.unwrap(), measured.value), (0.0, 0.0));
        assert!(measured.gradient.iter().all(|&slope| slope == 0.0));
    }
    // No path from an unplugged unit to the outlet: infinite, and nothing moves it.
    let (value, measured) = answers(case.setup, Measure::Ohms(hot, terminal(unit, "supply.hot")));
    let measured = measured.unwrap();
    assert_eq!((value.unwrap(), measured.value), (f64::INFINITY, f64::INFINITY));
    assert!(measured.gradient.iter().all(|&slope| slope == 0.0));
    // Live: no ohms.
    let (value, measured) = answers(setup(&job, "on"), Measure::Ohms(hot, neutral));
    assert_eq!(value.unwrap_err(), measured.unwrap_err());
}

#[test]
fn what_leaks_moves_with_insulation_capacitors_and_the_size_of_a_leak() {
    for (text, in_setup, labels) in [
        (STEAM, "on", &[][..]),
        (STEAM, "on", &["earth broken"]),
        (STEAM, "on", &["H1 insulation-low", "earth broken"]),
        (STEAM, "on", &["supply high-volts"]),
        (TWO_BLOWERS, "high", &["M1 insulation-low"]),
        (TWO_BLOWERS, "high", &["M1 main-to-frame"]),
        (TWO_BLOWERS, "high", &["M1 main-shorted-turns", "M1 main-to-frame"]),
        (THREE_PHASE_FAN, "on", &["M1 insulation-low"]),
        (RANGE, "on", &["H1 insulation-low"]),
        (POLISHER, "high", &["M1 insulation-low"]),
    ] {
        let job = job(text);
        // Leakage is what is left of amperes, so a difference of it has less digits: a larger step.
        let case = Case { step: 1e-3, ..Case::new(&job, in_setup, labels) };
        for measure in [case.leakage("supply"), case.leakage("cord")] {
            // Of balanced leaks there is nothing left but rounding.
            if case.value_at(measure, &case.deviations) > 1e-3 {
                case.check(measure);
            }
        }
        if labels.contains(&"earth broken") {
            let gradient = case.check(case.touch("frame"));
            if labels.len() == 1 {
                assert_moves(gradient[case.unknown("Z1", "nanofarads hot to earth")], 0.1);
            } else {
                assert_moves(gradient[case.severity(0)], 0.01);
            }
        }
        if labels == ["M1 main-to-frame"] {
            assert_moves(case.check(case.leakage("cord"))[case.severity(0)], 1.0);
        }
    }
    let job = job(WARM_AIR);
    let case = Case::new(&job, "unplugged", &[]);
    let gradient = case.check(case.ohms("H1.a", "frame"));
    assert_moves(gradient[case.unknown("H1", "insulation ohms to the frame")], 1e6);
}

#[test]
fn motors_that_start_with_a_switch() {
    // Each in the state that its own contacts have reached, with faults that change that state and with some that do not.
    for (text, setups, labels) in [
        (
            starting::GRINDER,
            &["on", "held"][..],
            &[&[][..], &["M1 centrifugal-welded"], &["M1 start-shorted-turns"]][..],
        ),
        (
            starting::TWO_CAPACITORS,
            &["on", "held"],
            &[&[], &["C2 low"], &["M1 centrifugal-burnt"], &["M1 bearing-drag"]],
        ),
        (starting::COMPRESSOR, &["on", "held"], &[&[], &["K1 coil-open"], &["C1 low"], &["M1 overload-burnt"]]),
        (starting::CURRENT_RELAY, &["on"], &[&[], &["K1 burnt"], &["K1 welded"], &["C1 open"]]),
        (starting::PTC, &["on", "held"], &[&[], &["R1 shorted"], &["R1 bad-contact"]]),
        (starting::DRUM, &["forward", "backward"], &[&[], &["M1 backward-shorted-turns"], &["M1 leads-interchanged"]]),
        (
            starting::CONTACTOR,
            &["on"],
            &[&[], &["K1 in-out-burnt"], &["K1 coil-shorted-turns"], &["K1 does-not-pull-in"]],
        ),
        (stages::STAGE, &["calling"], &[&[], &["E1 burnt"], &["E1 insulation-low"]]),
        (stages::WALL_FAN, &["high", "medium", "low"], &[&[], &["M1 auxiliary-shorted-turns"], &["C1 low"]]),
    ] {
        let job = job(text);
        for in_setup in setups {
            for labels in labels {
                let case = Case::new(&job, in_setup, labels);
                let mut measures = vec![case.amps("cord.hot"), case.watts("supply")];
                if let Some(motor) = job.unit.find_part("M1") {
                    measures.extend([case.watts("M1"), case.volts("M1.common", "cord.hot")]);
                    let at_rest = *in_setup == "held" || labels.contains(&"C1 open");
                    if !at_rest {
                        measures.push(Measure::Rpm(motor));
                    }
                }
                for measure in measures {
                    let gradient = case.check(measure);
                    assert!(gradient.iter().any(|&slope| slope != 0.0), "{measure:?} moves with nothing");
                }
            }
        }
        let case = Case::new(&job, "unplugged", &[]);
        let other = if job.unit.find_part("M1").is_some() {
            case.ohms("M1.common", "cord.hot")
        } else {
            case.ohms("H1.a", "H1.b")
        };
        if case.value_at(other, &case.deviations).is_finite() {
            case.check(other);
        }
    }
}

#[test]
fn every_size_of_a_fault_in_starting_gear() {
    for (text, in_setup) in
        [(starting::COMPRESSOR, "on"), (starting::TWO_CAPACITORS, "held"), (starting::DRUM, "forward")]
    {
        let job = job(text);
        for fault in job.unit.faults().iter().filter(|fault| fault.mode.severity.is_some()) {
            let case = Case::new(&job, in_setup, &[&fault.label()]);
            case.check(case.amps("cord.hot"));
            case.check(case.watts("supply"));
        }
    }
}

#[test]
fn a_capacitance_by_all_that_it_can_be() {
    let lifted = "\n[setups.\"off its wires\"]\nsupply = \"off\"\nlifted = [\"C1.a\", \"C2.a\"]\n";
    let job = job(&format!("{}{lifted}", starting::TWO_CAPACITORS));
    for capacitor in ["C1", "C2"] {
        let [a, b] = ["a", "b"].map(|end| terminal(&job.unit, &format!("{capacitor}.{end}")));
        for fault in [None, Some("low"), Some("wrong-value"), Some("leaky")] {
            let label = fault.map(|fault| format!("{capacitor} {fault}"));
            let labels: Vec<&str> = label.iter().map(String::as_str).collect();
            let case = Case::new(&job, "off its wires", &labels);
            let slopes = case.check(Measure::Microfarads(a, b));
            assert_moves(slopes[case.unknown(capacitor, "microfarads")], 1.0);
            if let Some(fault) = fault {
                assert_eq!(slopes[case.severity(0)] == 0.0, fault == "leaky", "{fault}");
            }
        }
    }
}

#[test]
fn a_disc_in_series_with_a_heater() {
    let job = job(series::INRUSH);
    for labels in [&[][..], &["N1 bad-joint"], &["N1 shorted"]] {
        let case = Case::new(&job, "on", labels);
        for measure in [case.amps("H1.a"), case.watts("N1"), case.volts("N1.a", "N1.b"), case.volts("N2.a", "N2.b")] {
            case.check(measure);
        }
        Case::new(&job, "off its wires", labels).check(case.ohms("N1.a", "N1.b"));
    }
    let case = Case::new(&job, "on", &[]);
    assert_moves(case.check(case.watts("N1"))[case.unknown("N1", "hot ohms")], 1.0);
    assert_moves(case.check(case.volts("N2.a", "N2.b"))[case.unknown("N2", "cold ohms")], 0.05);
}

#[test]
fn a_round_from_bar_to_bar() {
    let job = job(POLISHER);
    let motor = part(&job.unit, "M1");
    for labels in [&[][..], &["M1 armature-coil-open"], &["M1 armature-coil-shorted"], &["M1 bad-bar"]] {
        let case = Case::new(&job, "unplugged", labels);
        for pair in BarPair::ALL {
            case.check(Measure::Bars(motor, pair));
        }
        let gradient = case.check(Measure::Bars(motor, BarPair::Typical));
        assert_moves(gradient[case.unknown("M1", "armature ohms")], 0.1);
        if labels.len() == 1 && labels[0] != "M1 armature-coil-open" {
            assert_moves(case.check(Measure::Bars(motor, BarPair::Odd))[case.severity(0)], 0.1);
        }
    }
}

#[test]
fn a_diode_before_a_heater_and_a_motor() {
    let job = job(series::DRYER);
    for (in_setup, labels) in
        [("low", &[][..]), ("low", &["D1 leaky"]), ("low", &["M1 bearing-drag"]), ("high", &[]), ("held", &[])]
    {
        let case = Case::new(&job, in_setup, labels);
        for measure in [
            case.amps("cord.hot"),
            case.amps("M1.field-a"),
            case.amps_in("heater return"),
            case.volts("H1.a", "H1.b"),
            case.volts("D1.a", "D1.b"),
            case.watts("M1"),
            case.watts("H2"),
            case.watts("supply"),
        ] {
            if in_setup == "high" && measure == case.volts("D1.a", "D1.b") {
                continue;
            }
            case.check(measure);
        }
        if in_setup != "held" {
            case.check(case.rpm("M1"));
        }
    }
    let case = Case::new(&job, "low", &[]);
    assert_moves(case.check(case.amps("H1.a"))[case.unknown("D1", "how much direct current meters leave out")], 0.1);
    assert_moves(case.check(case.rpm("M1"))[case.unknown("H1", "element ohms")], 1e-3);
    assert_moves(case.check(case.rpm("M1"))[case.unknown("M1", "speed volts for each field amp")], 1000.0);
}

#[test]
fn a_motor_whose_iron_saturates() {
    let job = job(series::SATURATING);
    for (in_setup, labels) in [("on", &[][..]), ("on", &["M1 main-shorted-turns"]), ("pushed", &["C1 low"])] {
        let case = Case::new(&job, in_setup, labels);
        let volts = case.volts("C1.a", "C1.b");
        for measure in [case.amps("M1.common"), case.amps("M1.start"), case.watts("M1"), case.rpm("M1"), volts] {
            case.check(measure);
        }
        let gradient = case.check(case.amps("M1.common"));
        for words in ["magnetising reactance", "ampere-turns of the iron over the air gap's"] {
            assert_moves(gradient[case.unknown("M1", words)], 0.01);
        }
    }
}
