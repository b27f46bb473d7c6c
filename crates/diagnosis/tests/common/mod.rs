//! What the tests share: the demo jobs, the cases and figures of `reference/inference.py`, and seeded random numbers.

// Every test file compiles this module for itself and uses its own part of it.
#![allow(dead_code)]

use bench::{FaultSet, Job, Measure, Reading, observe_values};
use diagnosis::{Diagnosis, Suspect};
use serde_json::Value;

pub const AIR_CURTAIN: &str = include_str!("../../../../demos/air-curtain.toml");
pub const DOUGH_PROOFER: &str = include_str!("../../../../demos/dough-proofer.toml");
pub const DRYING_CABINET: &str = include_str!("../../../../demos/drying-cabinet.toml");
pub const GREENHOUSE_HEATER: &str = include_str!("../../../../demos/greenhouse-heater.toml");
pub const BENCH_GRINDER: &str = include_str!("../../../../demos/bench-grinder.toml");
pub const WORKSHOP_COMPRESSOR: &str = include_str!("../../../../demos/workshop-compressor.toml");
pub const TWO_LEG_CABINET: &str = include_str!("../../../../demos/two-leg-cabinet.toml");
pub const EXTRACTOR: &str = include_str!("../../../../demos/extractor.toml");
pub const POLISHER: &str = include_str!("../../../../demos/polisher.toml");
pub const HEAT_SEALER: &str = include_str!("../../../../demos/heat-sealer.toml");

pub const DEMOS: &[(&str, &str)] = &[
    ("air-curtain", AIR_CURTAIN),
    ("dough-proofer", DOUGH_PROOFER),
    ("drying-cabinet", DRYING_CABINET),
    ("greenhouse-heater", GREENHOUSE_HEATER),
    ("bench-grinder", BENCH_GRINDER),
    ("workshop-compressor", WORKSHOP_COMPRESSOR),
    ("two-leg-cabinet", TWO_LEG_CABINET),
    ("extractor", EXTRACTOR),
    ("polisher", POLISHER),
    ("heat-sealer", HEAT_SEALER),
];

pub fn job(text: &str) -> Job {
    bench::job::read("test", text).unwrap_or_else(|problems| panic!("{problems}"))
}

/// A job file that `reference/inference.py` reads as well.
pub fn case(name: &str) -> Job {
    job(match name {
        "one-heater-sound" => include_str!("../data/cases/one-heater-sound.toml"),
        "one-heater-too-many-ohms" => include_str!("../data/cases/one-heater-too-many-ohms.toml"),
        "one-heater-open" => include_str!("../data/cases/one-heater-open.toml"),
        "one-heater-low-volts" => include_str!("../data/cases/one-heater-low-volts.toml"),
        "two-sisters-one-misread" => include_str!("../data/cases/two-sisters-one-misread.toml"),
        "two-sisters-one-open" => include_str!("../data/cases/two-sisters-one-open.toml"),
        other => panic!("no case {other}"),
    })
}

/// Figures computed by `reference/inference.py`.
pub fn reference() -> Value {
    serde_json::from_str(include_str!("../data/inference.json")).unwrap()
}

pub fn list<'v>(value: &'v Value, key: &str) -> &'v [Value] {
    value[key].as_array().unwrap_or_else(|| panic!("no list {key}"))
}

pub fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("no number {key}"))
}

pub fn text<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap_or_else(|| panic!("no text {key}"))
}

/// Faults by their labels, in the order of the unit's list.
pub fn faults(job: &Job, labels: &[&str]) -> FaultSet {
    let find = |label: &&str| job.unit.find_fault(label).unwrap_or_else(|| panic!("no fault {label}"));
    let mut found: Vec<usize> = labels.iter().map(find).collect();
    found.sort_unstable();
    FaultSet(found)
}

/// Labels of faults, joined by ` + `.
pub fn labels(job: &Job, faults: &FaultSet) -> String {
    let labels: Vec<String> = faults.0.iter().map(|&fault| job.unit.faults()[fault].label()).collect();
    if labels.is_empty() { "nothing".into() } else { labels.join(" + ") }
}

/// Random numbers from a seed.
///
/// Source: Steele, Lea and Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014 (SplitMix64).
pub struct Random(pub u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Between 0 and 1.
    pub fn uniform(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Standard normal (Box and Muller, Annals of Mathematical Statistics 29, 1958).
    pub fn normal(&mut self) -> f64 {
        let (radius, turn) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * radius.ln()).sqrt() * (2.0 * std::f64::consts::PI * turn).cos()
    }

    /// One of `count`.
    pub fn below(&mut self, count: usize) -> usize {
        (self.uniform() * count as f64) as usize
    }

    /// Puts a list in random order (Durstenfeld, Communications of the ACM 7, 1964).
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for last in (1..list.len()).rev() {
            list.swap(last, self.below(last + 1));
        }
    }
}

/// What is there to be measured in a unit with these faults at these values.
pub fn true_value(job: &Job, template: &Reading, set: &FaultSet, deviations: &[f64]) -> f64 {
    let meter = &job.meters[template.meter];
    let look = |observed: &mut bench::Observed<'_>| observed.value(template.measure, meter).unwrap();
    observe_values(&job.unit, &job.setups[template.setup], set, deviations, look).unwrap()
}

/// A reading that shows a true value, or over range.
pub fn shown(job: &Job, template: &Reading, truth: f64) -> Reading {
    let is_ohms = matches!(template.measure, Measure::Ohms(..));
    let over_range = is_ohms && truth > job.meters[template.meter].ohms_limit;
    Reading { value: if over_range { bench::Value::Open } else { bench::Value::Number(truth) }, ..template.clone() }
}

/// Probability of all suspects with a fault, by its label.
pub fn probability_of(found: &Diagnosis<'_>, label: &str) -> f64 {
    let fault = found.evidence.job.unit.find_fault(label).unwrap_or_else(|| panic!("no fault {label}"));
    let has_it = |suspect: &&Suspect| suspect.faults.as_ref().is_some_and(|set| set.0.contains(&fault));
    found.suspects.iter().filter(has_it).map(|suspect| suspect.probability).sum()
}
