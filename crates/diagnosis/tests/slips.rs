//! Names taken for each other and figures in each other's line. Units are invented; figures are those of the sound unit, or
//! of one with a fault, each written where a slip puts it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Measure, Meter, observe_values};
use common::job;
use diagnosis::misreadings::{Misreading, misreadings};
use diagnosis::reading_model::{GROSS_SHARE, sigma};
use diagnosis::slip_words::{alike, slip_lines};
use diagnosis::slips::{Slip, Way};
use diagnosis::verdict::verdict;
use diagnosis::words::{doubt_words, verdict_lines};
use diagnosis::{Diagnosis, diagnose};

/// A reading: setup, what, where it is taken and where it is written.
type Row = (&'static str, &'static str, &'static [&'static str], &'static [&'static str]);

/// Figures of a unit with these faults, to four digits.
fn taken(unit: &str, rows: &[Row], faults: &[&str]) -> Job {
    let line = |(setup, what, place, value): (&str, &str, &[&str], f64)| match (what, place) {
        ("rpm", [part]) => format!("{{ setup = \"{setup}\", rpm = {value}, of = \"{part}\" }}"),
        ("amps", [terminal]) => format!("{{ setup = \"{setup}\", amps = {value}, through = \"{terminal}\" }}"),
        (_, [a, b]) => format!("{{ setup = \"{setup}\", {what} = {value}, between = [\"{a}\", \"{b}\"] }}"),
        _ => panic!("{what} at {place:?}"),
    };
    let with = |lines: Vec<String>| job(&unit.replace("READINGS", &lines.join(",\n")));
    let bare = with(rows.iter().map(|&(setup, what, at, _)| line((setup, what, at, 1.0))).collect());
    let number = |name: &&str| bare.unit.faults().iter().position(|fault| fault.label() == *name).unwrap();
    let faults = FaultSet(faults.iter().map(number).collect());
    let deviations = vec![0.0; unknown_count(&bare.unit, &faults)];
    let figure = |reading: &bench::Reading| {
        let ask = |seen: &mut bench::Observed<'_>| seen.value(reading.measure, &Meter::handheld()).unwrap();
        let value = observe_values(&bare.unit, &bare.setups[reading.setup], &faults, &deviations, ask).unwrap();
        let scale = 10f64.powf(3.0 - value.log10().floor());
        (value * scale).round() / scale
    };
    let figures: Vec<f64> = bare.readings.iter().map(figure).collect();
    let rows = rows.iter().zip(figures);
    with(rows.map(|(&(setup, what, _, written), value)| line((setup, what, written, value))).collect())
}

/// A reading that is written where it is taken.
const fn plain(setup: &'static str, what: &'static str, at: &'static [&'static str]) -> Row {
    (setup, what, at, at)
}

/// A fan with two speeds; READINGS stands for its readings.
const TWO_SPEEDS: &str = r#"
wires = [
  { from = "cord.hot", to = "switch.line" },
  { from = "switch.high", to = "M1.high" },
  { from = "switch.low", to = "M1.low" },
  { from = "M1.start", to = "C1.a" },
  { from = "C1.b", to = "M1.high" },
  { from = "M1.common", to = "cord.neutral" },
]
readings = [READINGS]
[unit]
name = "Roof fan"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 120
hertz = 60
[parts.cord]
kind = "cord"
[parts.switch]
kind = "switch"
positions.off = []
positions.low = [["line", "low"]]
positions.high = [["line", "high"]]
[parts.M1]
kind = "capacitor-run-motor"
taps = ["high", "low"]
plate = { volts = 120, hertz = 60, amps = 1.1, rpm = 1590, poles = 4, microfarads = 7 }
[parts.C1]
kind = "run-capacitor"
microfarads = 7
[setups.high]
supply = "on"
positions = { switch = "high" }
[setups.low]
supply = "on"
positions = { switch = "low" }
[setups.cold]
supply = "off"
lifted = ["C1.a"]
"#;

const HIGH_RPM: Row = plain("high", "rpm", &["M1"]);
/// Ohms of the two speeds, the names high and low exchanged.
const EXCHANGED_TAPS: [Row; 3] = [
    ("cold", "ohms", &["M1.common", "M1.high"], &["M1.common", "M1.low"]),
    ("cold", "ohms", &["M1.common", "M1.low"], &["M1.common", "M1.high"]),
    plain("cold", "ohms", &["M1.high", "M1.low"]),
];
const RUNNING: [Row; 4] = [
    HIGH_RPM,
    plain("low", "rpm", &["M1"]),
    plain("high", "amps", &["cord.hot"]),
    plain("high", "volts", &["M1.low", "cord.neutral"]),
];

fn is_names(found: &Diagnosis<'_>, slip: &Slip, a: &str, b: &str) -> bool {
    let unit = &found.evidence.job.unit;
    let [a, b] = [a, b].map(|name| unit.find_terminal(name).unwrap());
    slip.ways
        .iter()
        .any(|(way, _)| matches!(*way, Way::Names { a: x, b: y, .. } if [x, y] == [a, b] || [x, y] == [b, a]))
}

/// The slip that leads, its probability at least this.
fn leading<'d>(found: &'d Diagnosis<'_>, least: f64) -> &'d Slip {
    let slips = found.likely_slips();
    let first = slips.first().unwrap_or_else(|| panic!("no slip: {:?}", found.reading_doubt));
    assert!(first.probability > least, "{:?} {}", first.ways, first.probability);
    first
}

fn probability_of(found: &Diagnosis<'_>, fault: &str) -> f64 {
    let unit = &found.evidence.job.unit;
    let is_it = |faults: &FaultSet| matches!(faults.0[..], [only] if unit.faults()[only].label() == fault);
    found.suspects.iter().find(|suspect| suspect.faults.as_ref().is_some_and(is_it)).map_or(0.0, |s| s.probability)
}

fn is_sound_first(found: &Diagnosis<'_>) -> bool {
    found.suspects[0].faults.as_ref().is_some_and(|faults| faults.0.is_empty())
}

#[test]
fn names_exchanged_in_the_ohms_read_like_leads_interchanged() {
    let rows: Vec<Row> = [HIGH_RPM].into_iter().chain(EXCHANGED_TAPS).collect();
    let job = taken(TWO_SPEEDS, &rows, &[]);
    let found = diagnose(&job).unwrap();
    let slip = leading(&found, 0.1);
    assert!(is_names(&found, slip, "M1.high", "M1.low"), "{:?}", slip.ways);
    assert_eq!(slip.touched, [1, 2]);
    // Neither is convicted, and what tells is not at the names in doubt.
    assert!(found.settled().is_none());
    assert!(probability_of(&found, "M1 high-low-interchanged") > 0.2);
    let alike = alike(&found, slip).unwrap();
    assert_eq!(
        alike.suspect.faults.as_ref().map(|faults| found.evidence.job.unit.faults()[faults.0[0]].label()).as_deref(),
        Some("M1 high-low-interchanged")
    );
    // From switch to cord, whatever the leads are called: 'low' has all of the winding in it, unless it is on 'high'.
    let telling = alike.telling.unwrap();
    let Measure::Ohms(a, b) = telling.measure else { panic!("{telling:?}") };
    assert!(!job.setups[telling.setup].energised);
    assert!([a, b].iter().all(|&end| !job.unit.terminal_name(end).starts_with("M1")));
    assert!((telling.with_slip - telling.as_written).abs() > 0.2 * telling.with_slip, "{telling:?}");
    let text = verdict_lines(&found, &verdict(&found), None).join("\n");
    assert!(text.contains("The names high and low of M1 may have been taken for each other"), "{text}");
    assert!(text.contains("reads like M1 high-low-interchanged") && text.contains("what tells: the"), "{text}");
}

#[test]
fn readings_of_the_running_unit_leave_the_slip() {
    let rows: Vec<Row> = RUNNING.into_iter().chain(EXCHANGED_TAPS).collect();
    let job = taken(TWO_SPEEDS, &rows, &[]);
    let found = diagnose(&job).unwrap();
    let slip = leading(&found, 0.9);
    assert!(is_names(&found, slip, "M1.high", "M1.low"), "{:?}", slip.ways);
    // The volts at the same terminals fit: in the ohms alone.
    assert!(slip.ways.iter().any(|(way, _)| matches!(way, Way::Names { only_ohms: true, .. })), "{:?}", slip.ways);
    assert!(is_sound_first(&found) && probability_of(&found, "M1 high-low-interchanged") < 0.01);
    let mut doubted: Vec<usize> = found.questionable_readings().into_iter().map(|(reading, _)| reading).collect();
    doubted.sort_unstable();
    assert_eq!(doubted, [4, 5]);
    assert!(matches!(misreadings(&found, 4)[0], Misreading::TerminalsExchanged(..)));
    let words = doubt_words(&found, 4, found.reading_doubt[4]);
    assert!(words.contains("M1.high and M1.low were taken for each other"), "{words}");
}

/// Readings of a unit whose leads really are interchanged, the ohms from the switch among them.
#[test]
fn leads_that_really_are_interchanged_stay_found() {
    let ohms: Vec<Row> = EXCHANGED_TAPS.iter().map(|&(setup, what, _, written)| plain(setup, what, written)).collect();
    let rows: Vec<Row> = [plain("cold", "ohms", &["switch.low", "cord.neutral"]), plain("low", "amps", &["cord.hot"])]
        .into_iter()
        .chain(RUNNING)
        .chain(ohms)
        .collect();
    let job = taken(TWO_SPEEDS, &rows, &["M1 high-low-interchanged"]);
    let found = diagnose(&job).unwrap();
    assert!(slip_lines(&found).is_empty(), "{:?}", slip_lines(&found));
    let repair = &found.settled().expect("settled").repair;
    assert_eq!(repair, "put the leads of M1 on the right terminals");
}

const THREE_SPEEDS: &str = r#"
wires = [
  { from = "supply.hot", to = "switch.line" },
  { from = "switch.high", to = "M1.high" },
  { from = "switch.medium", to = "M1.medium" },
  { from = "switch.low", to = "M1.low" },
  { from = "M1.start", to = "C1.a" },
  { from = "C1.b", to = "M1.high" },
  { from = "M1.common", to = "supply.neutral" },
]
readings = [READINGS]
[unit]
name = "Cabin blower"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 240
hertz = 50
[parts.switch]
kind = "switch"
positions.off = []
positions.low = [["line", "low"]]
positions.medium = [["line", "medium"]]
positions.high = [["line", "high"]]
[parts.M1]
kind = "capacitor-run-motor"
taps = ["high", "medium", "low"]
plate = { volts = 240, hertz = 50, amps = 0.7, rpm = 900, poles = 6, microfarads = 4 }
[parts.C1]
kind = "run-capacitor"
microfarads = 4
[setups.high]
supply = "on"
positions = { switch = "high" }
[setups.cold]
supply = "off"
lifted = ["C1.a"]
"#;

#[test]
fn a_tap_and_the_start_lead_are_taken_for_each_other() {
    let rows = [
        HIGH_RPM,
        plain("high", "amps", &["M1.common"]),
        ("cold", "ohms", &["M1.common", "M1.start"], &["M1.common", "M1.high"]),
        ("cold", "ohms", &["M1.common", "M1.high"], &["M1.common", "M1.start"]),
        plain("cold", "ohms", &["M1.common", "M1.medium"]),
        plain("cold", "ohms", &["M1.common", "M1.low"]),
        plain("cold", "ohms", &["M1.medium", "M1.low"]),
    ];
    let job = taken(THREE_SPEEDS, &rows, &[]);
    let found = diagnose(&job).unwrap();
    // A tap's ohms may be one figure that is wrong, too.
    let slip = leading(&found, 0.5);
    assert!(is_names(&found, slip, "M1.high", "M1.start"), "{:?}", slip.ways);
    assert!(is_sound_first(&found) && found.settled().is_none());
}

#[test]
fn figures_in_each_others_line_are_found() {
    // From high to low stands where the names are: no exchange of names explains it.
    let rows = [
        HIGH_RPM,
        plain("high", "amps", &["M1.common"]),
        ("cold", "ohms", &["M1.common", "M1.start"], &["M1.common", "M1.high"]),
        ("cold", "ohms", &["M1.common", "M1.high"], &["M1.common", "M1.start"]),
        plain("cold", "ohms", &["M1.high", "M1.start"]),
        plain("cold", "ohms", &["M1.common", "M1.low"]),
        plain("cold", "ohms", &["M1.high", "M1.low"]),
    ];
    let job = taken(THREE_SPEEDS, &rows, &[]);
    let found = diagnose(&job).unwrap();
    let slip = leading(&found, 0.8);
    assert!(matches!(slip.ways[..], [(Way::Lines(2, 3), _)]), "{:?}", slip.ways);
    let mut doubted: Vec<usize> = found.questionable_readings().into_iter().map(|(reading, _)| reading).collect();
    doubted.sort_unstable();
    assert_eq!(doubted, [2, 3]);
    assert_eq!(misreadings(&found, 3)[0], Misreading::Exchanged(2));
    let text = slip_lines(&found).join("\n");
    assert!(text.contains("may stand in each other's line"), "{text}");
}

const SPLIT_PHASE: &str = r#"
wires = [
  { from = "supply.hot", to = "M1.run" },
  { from = "supply.hot", to = "M1.start" },
  { from = "M1.common", to = "supply.neutral" },
]
readings = [READINGS]
[unit]
name = "Pillar polisher"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.M1]
kind = "split-phase-motor"
plate = { volts = 230, hertz = 50, amps = 2.6, rpm = 1420, watts = 250 }
[setups.on]
supply = "on"
[setups.cold]
supply = "off"
lifted = ["M1.run", "M1.start", "M1.common"]
"#;

#[test]
fn common_and_start_of_a_split_phase_motor() {
    let rows = [
        plain("on", "rpm", &["M1"]),
        plain("on", "amps", &["M1.common"]),
        ("cold", "ohms", &["M1.start", "M1.run"], &["M1.common", "M1.run"]),
        ("cold", "ohms", &["M1.common", "M1.start"], &["M1.start", "M1.common"]),
        ("cold", "ohms", &["M1.common", "M1.run"], &["M1.start", "M1.run"]),
    ];
    let job = taken(SPLIT_PHASE, &rows, &[]);
    let found = diagnose(&job).unwrap();
    let slip = leading(&found, 0.8);
    assert!(is_names(&found, slip, "M1.common", "M1.start"), "{:?}", slip.ways);
    assert!(is_sound_first(&found));
}

/// A fault of its own beside a slip: neither hides the other.
#[test]
fn a_fault_beside_a_slip_is_still_found() {
    let start = plain("high", "amps", &["C1.a"]);
    let rows: Vec<Row> = RUNNING.into_iter().chain(EXCHANGED_TAPS).chain([start]).collect();
    let job = taken(TWO_SPEEDS, &rows, &["C1 low"]);
    let found = diagnose(&job).unwrap();
    let slip = leading(&found, 0.5);
    assert!(is_names(&found, slip, "M1.high", "M1.low"), "{:?}", slip.ways);
    assert_eq!(found.suspects[0].fit.as_ref().unwrap().faults.0.len(), 1);
    assert!(probability_of(&found, "C1 low") > 0.5);
    // The capacitor is what fails, and still the names come first.
    assert!(found.settled().is_none());
}

#[test]
fn ends_of_a_transformer_taken_for_each_other() {
    const BELL: &str = r#"
wires = [{ from = "supply.hot", to = "T1.p" }, { from = "T1.q", to = "supply.neutral" }]
readings = [READINGS]
[unit]
name = "Chime transformer"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.T1]
kind = "transformer"
volt_amperes = 16
windings.primary = ["p", 230, "q"]
windings.secondary = ["a", 8, "tap", 16, "b"]
[setups.on]
supply = "on"
"#;
    let rows = [
        ("on", "volts", &["T1.a", "T1.b"] as &[_], &["T1.a", "T1.tap"] as &[_]),
        ("on", "volts", &["T1.a", "T1.tap"], &["T1.a", "T1.b"]),
        plain("on", "volts", &["T1.tap", "T1.b"]),
        plain("on", "volts", &["T1.p", "T1.q"]),
    ];
    let job = taken(BELL, &rows, &[]);
    let found = diagnose(&job).unwrap();
    let slip = leading(&found, 0.8);
    assert!(is_names(&found, slip, "T1.tap", "T1.b"), "{:?}", slip.ways);
    assert!(is_sound_first(&found));
}

#[test]
fn the_demos_know_of_no_slip() {
    for (name, text) in common::DEMOS {
        let job = job(text);
        let found = diagnose(&job).unwrap();
        assert!(found.likely_slips().is_empty(), "{name}: {:?}", slip_lines(&found));
    }
}

/// Two heaters whose figures stand in each other's line, by hand: both right and exchanged, against both wrong.
///
/// Ohms are log-normal about their medians, so that a figure's density is about normal with both spreads; the odds of an
/// exchange are 0.5 % (engineering judgement).
#[test]
fn the_odds_of_exchanged_figures_by_hand() {
    let heaters = r#"
wires = [
  { from = "supply.hot", to = "H1.a" }, { from = "H1.b", to = "supply.neutral" },
  { from = "supply.hot", to = "H2.a" }, { from = "H2.b", to = "supply.neutral" },
]
readings = [READINGS]
[unit]
name = "Two elements"
note = "Invented data."
[parts.supply]
kind = "supply"
volts = 230
hertz = 50
[parts.H1]
kind = "heater"
volts = 230
watts = 1000
[parts.H2]
kind = "heater"
volts = 230
watts = 50
[setups.cold]
supply = "off"
lifted = ["H1.a", "H1.b", "H2.a", "H2.b"]
"#;
    let (first, second): (&[&str], &[&str]) = (&["H1.a", "H1.b"], &["H2.a", "H2.b"]);
    let job = taken(heaters, &[("cold", "ohms", first, second), ("cold", "ohms", second, first)], &[]);
    let found = diagnose(&job).unwrap();
    let sound = found.suspects.iter().find(|s| s.faults.as_ref().is_some_and(|faults| faults.0.is_empty())).unwrap();
    let share: f64 = sound.slips.iter().map(|(_, share)| share).sum();
    let own = |part: usize| {
        let is_ohms = move |unknown: &&bench::Unknown| unknown.part == part && !unknown.words.contains("insulation");
        job.unit.unknowns().iter().filter(is_ohms)
    };
    // 230 V squared over 1000 and 50 W.
    let by_hand: f64 = [52.9f64, 1058.0]
        .into_iter()
        .zip([0, 1])
        .map(|(ohms, heater)| {
            let name = ["H1", "H2"][heater];
            let part = job.unit.parts().iter().position(|part| part.name == name).unwrap();
            let tolerance: f64 = own(part).map(|unknown| unknown.log_spread.powi(2)).sum();
            let spread = sigma(job.readings[0].measure, &job.meters[0], ohms).hypot(tolerance.sqrt() * ohms);
            let density = 1.0 / (spread * (2.0 * std::f64::consts::PI).sqrt());
            // Three in ten wrong readings are slips of the decimal point, which would show other figures, and three in ten
            // are over range.
            let any = 0.4 / (ohms * (1.0 + 1e9f64.ln()));
            ((1.0 - GROSS_SHARE) * density / (GROSS_SHARE * any)).ln()
        })
        .sum::<f64>()
        + (0.005f64 / 0.995).ln();
    let found = (share / (1.0 - share)).ln();
    assert!((found - by_hand).abs() < 0.5, "{found} by the engine, {by_hand} by hand");
}
