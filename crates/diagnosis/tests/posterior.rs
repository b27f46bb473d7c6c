//! Checks evidence and posterior probabilities of small heater circuits against brute-force quadrature and an
//! independent Laplace approximation, both by `reference/inference.py` (NumPy and SciPy).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{FaultSet, Job};
use common::{case, faults, labels, list, number, reference, text};
use diagnosis::evidence::Evidence;
use diagnosis::log_weights::probabilities;
use diagnosis::reading_model::{Datum, normal_density};
use diagnosis::suspects::SOUND_ODDS;
use diagnosis::wrong_readings::summed;
use diagnosis::{Diagnosis, diagnose};
use nalgebra::{Cholesky, DMatrix, DVector};
use serde_json::Value;

/// Largest difference between a fit and SciPy's Laplace approximation at the same top, nats: a fit stops when a step
/// gains less than 0.001, and where the top is flat its matrix still moves a little.
const SAME_TOP: f64 = 0.05;

/// One suspect of one case: what the reference says, and what this crate says.
struct Row {
    case: String,
    name: String,
    exact: f64,
    /// Laplace's approximation at each top, best first.
    tops: Vec<f64>,
    probability: f64,
    fitted: f64,
    /// The same with wrong readings summed over.
    summed: f64,
}

impl Row {
    fn error(&self) -> f64 {
        self.fitted - self.exact
    }
}

fn suspect_of(job: &Job, row: &Value) -> Option<FaultSet> {
    let names = row["faults"].as_array()?;
    let names: Vec<&str> = names.iter().map(|name| name.as_str().unwrap()).collect();
    Some(faults(job, &names))
}

fn rows() -> Vec<Row> {
    let mut rows = Vec::new();
    for entry in list(&reference(), "evidence") {
        let job = case(text(entry, "case"));
        let evidence = Evidence::new(&job).unwrap();
        for row in list(entry, "suspects") {
            let Some(set) = suspect_of(&job, row) else { continue };
            let fit = evidence.fit(&set, None).unwrap();
            rows.push(Row {
                case: text(entry, "case").into(),
                name: labels(&job, &set),
                exact: number(row, "log_evidence"),
                tops: list(row, "laplace_log_evidences").iter().map(|top| top.as_f64().unwrap()).collect(),
                probability: number(row, "probability"),
                fitted: fit.log_evidence,
                summed: summed(&evidence, fit).log_evidence,
            });
        }
    }
    rows
}

#[test]
fn every_fit_is_laplace_at_a_top_of_the_posterior() {
    let rows = rows();
    assert_eq!(rows.len(), 38);
    for row in &rows {
        let off = row.tops.iter().map(|top| (row.fitted - top).abs()).fold(f64::INFINITY, f64::min);
        assert!(off < SAME_TOP, "{}, {}: {} is none of {:?}", row.case, row.name, row.fitted, row.tops);
    }
}

#[test]
fn suspects_that_matter_have_the_evidence_of_quadrature_undrawn() {
    // With all tops and along curves. The tops by themselves, straight lines about each, are off by up to 0.2 nats: the size of
    // a bad joint is skewed, and the damp insulation that would not have read open lies far from a top.
    let mattering: Vec<Row> = rows().into_iter().filter(|row| row.probability > 2e-3).collect();
    assert!(mattering.len() >= 10, "only {} suspects left to look at", mattering.len());
    for row in mattering {
        let off = row.summed - row.exact;
        assert!(off.abs() < 0.02, "{}, {}: {} for {}", row.case, row.name, row.summed, row.exact);
    }
}

#[test]
fn evidence_of_the_leading_suspect_is_that_of_quadrature() {
    // Laplace's own error there, by SciPy at the same tops, is 0.063 at most: the size of a bad joint is log-normal and
    // its posterior skewed. Elsewhere predictions are all but straight lines in the unknowns and it is below 0.03. But
    // across an open element Laplace misses the damp insulation that would not have read open: 0.15 and 0.2 nats. Leaders
    // are drawn, and the ranking has it right.
    for entry in list(&reference(), "evidence") {
        let name = text(entry, "case");
        let rows = rows();
        let leader = rows
            .iter()
            .filter(|row| row.case == name)
            .max_by(|a, b| a.probability.total_cmp(&b.probability))
            .unwrap_or_else(|| panic!("no suspects in {name}"));
        let allowed = if name.ends_with("-open") { 0.22 } else { 0.08 };
        assert!(leader.error().abs() < allowed, "{name}, {}: off by {} nats", leader.name, leader.error());
    }
}

#[test]
fn evidence_errs_no_further_than_laplace_must() {
    // Upward, Laplace errs where a size is bounded on one side only, as that of a bad joint is in a sound circuit: the
    // normal curve about the top reaches into values that the readings rule out. With half the curve beyond the wall
    // that is ln 2; found here are 0.29 nats. Downward, it errs by what the other tops hold, of which a fit finds one.
    // SciPy's sum over all tops shows that nothing else is missing: it comes as close as one top does where there is
    // only one.
    for row in rows() {
        let place = format!("{}, {}", row.case, row.name);
        assert!(row.error() < 0.35, "{place}: {} nats too much", row.error());
        let all_tops = row.tops.iter().map(|top| top.exp()).sum::<f64>().ln();
        assert!((all_tops - row.exact).abs() < 0.35, "{place}: even the sum {all_tops} misses {}", row.exact);
    }
}

/// Weights of a case's suspects as the ranking has them, without what hides beside each; `None` where one was left out.
fn ranked_log_weights(diagnosis: &Diagnosis<'_>, entry: &Value) -> Vec<Option<f64>> {
    let job = diagnosis.evidence.job;
    list(entry, "suspects")
        .iter()
        .map(|row| {
            let set = suspect_of(job, row);
            let suspect = diagnosis.suspects.iter().find(|suspect| suspect.faults == set)?;
            // The reference takes a sound unit to have odds of one.
            let odds = if set == Some(FaultSet::none()) { SOUND_ODDS } else { 1.0 };
            Some((suspect.probability * (1.0 - suspect.hidden_share) / odds).ln())
        })
        .collect()
}

#[test]
fn ranked_probabilities_are_those_of_quadrature() {
    for entry in list(&reference(), "evidence") {
        let name = text(entry, "case");
        let job = case(name);
        let diagnosis = diagnose(&job).unwrap();
        let weights: Vec<f64> =
            ranked_log_weights(&diagnosis, entry).iter().map(|weight| weight.unwrap_or(f64::NEG_INFINITY)).collect();
        let mut covered = 0.0;
        for (row, found) in list(entry, "suspects").iter().zip(probabilities(&weights)) {
            let exact = number(row, "probability");
            covered += exact;
            // With one reading midway between two stories, the sound unit has two tops of equal weight (it was misread,
            // or the element is out by 3.5 deviations) and the fit counts one: 0.09 becomes 0.05.
            let allowed = if name == "one-heater-too-many-ohms" { 0.06 } else { 0.005 };
            assert!((found - exact).abs() < allowed, "{name}, {}: {found}, exactly {exact}", row["faults"]);
        }
        assert!((covered - 1.0).abs() < 1e-9);
    }
}

#[test]
fn what_nothing_explains_has_the_weight_of_its_definition() {
    for entry in list(&reference(), "evidence") {
        let job = case(text(entry, "case"));
        let diagnosis = diagnose(&job).unwrap();
        let unknown = diagnosis.suspects.iter().find(|suspect| suspect.faults.is_none()).unwrap();
        let exact = list(entry, "suspects").iter().find(|row| row["faults"].is_null()).unwrap();
        assert!((unknown.log_evidence - number(exact, "log_evidence")).abs() < 1e-9);
    }
}

/// Log evidence by Laplace's approximation when no reading is ever grossly wrong; sizes are scanned first.
fn log_evidence_without_gross_errors(evidence: &Evidence<'_>, set: &FaultSet) -> f64 {
    let prior = evidence.prior.with_severities(&evidence.job.unit, set);
    let height = |z: &DVector<f64>| {
        let outlook = evidence.outlook(set, &prior.deviations(z)).unwrap();
        let mut sum = -0.5 * z.norm_squared();
        let (mut gradient, mut matrix) = (-z, DMatrix::identity(z.len(), z.len()));
        for (datum, prediction) in evidence.data.iter().zip(&outlook.predictions) {
            let Datum::Shown { value, sigma, .. } = *datum else { panic!("only numbers here") };
            let distance = value - prediction.value;
            sum += -0.5 * (distance / sigma).powi(2) + normal_density(0.0, sigma).ln();
            let white = prior.whiten(&prediction.gradient);
            gradient += &white * (distance / (sigma * sigma));
            matrix.ger(1.0 / (sigma * sigma), &white, &white, 1.0);
        }
        (sum, gradient, matrix)
    };
    let mut starts = vec![DVector::zeros(prior.count())];
    for size in evidence.prior.count()..prior.count() {
        starts.extend(
            [-2.0, -1.0, 1.0, 2.0, 3.0]
                .map(|z| DVector::from_fn(prior.count(), |i, _| if i == size { z } else { 0.0 })),
        );
    }
    let mut z = starts.into_iter().max_by(|a, b| height(a).0.total_cmp(&height(b).0)).unwrap();
    for _ in 0..200 {
        let (now, gradient, matrix) = height(&z);
        let step = Cholesky::new(matrix).unwrap().solve(&gradient);
        let Some(next) = (0..20).map(|halvings| &z + &step * 0.5f64.powi(halvings)).find(|next| height(next).0 > now)
        else {
            break;
        };
        z = next;
    }
    let (top, _, matrix) = height(&z);
    let log_determinant = 2.0 * Cholesky::new(matrix).unwrap().l().diagonal().iter().map(|d| d.ln()).sum::<f64>();
    top - 0.5 * log_determinant
}

#[test]
fn one_misread_value_does_not_convict_and_is_named() {
    let job = case("two-sisters-one-misread");
    let diagnosis = diagnose(&job).unwrap();
    let sound = &diagnosis.suspects[0];
    assert_eq!(sound.faults, Some(FaultSet::none()), "convicted: {}", sound.repair);
    // With odds of one for a sound unit, as the other cases here have them.
    let weight = sound.probability / SOUND_ODDS;
    let share = weight / (weight + 1.0 - sound.probability);
    assert!(share > 0.85, "{share}");
    let named = diagnosis.questionable_readings();
    assert_eq!(named.len(), 1);
    assert_eq!(named[0].0, 2);
    assert!(named[0].1 > 0.95);
}

#[test]
fn without_gross_errors_the_misread_value_would_convict() {
    let reference = reference();
    let entry =
        list(&reference, "evidence").iter().find(|entry| text(entry, "case") == "two-sisters-one-misread").unwrap();
    let job = case("two-sisters-one-misread");
    let evidence = Evidence::new(&job).unwrap();
    let mut weighed = Vec::new();
    for row in list(entry, "suspects") {
        let Some(set) = suspect_of(&job, row) else { continue };
        // Suspects without a figure would have to lie many deviations out.
        let Some(exact) = row["log_evidence_without_gross_errors"].as_f64() else { continue };
        let found = log_evidence_without_gross_errors(&evidence, &set);
        // A joint of H1 cannot help to explain the ohms of H2, so its size lies against a wall: ln 2.
        assert!((found - exact).abs() < 1.1 * std::f64::consts::LN_2, "{}: {found}, exactly {exact}", row["faults"]);
        weighed.push((labels(&job, &set), number(row, "log_odds") + found));
    }
    assert_eq!(weighed.len(), 6);
    let shares = probabilities(&weighed.iter().map(|(_, weight)| *weight).collect::<Vec<_>>());
    let share = |part: &str| -> f64 {
        weighed.iter().zip(&shares).filter(|((name, _), _)| name.starts_with(part)).map(|(_, share)| share).sum()
    };
    assert!(share("H2 ") > 0.999, "H2 is innocent and would be convicted: {}", share("H2 "));
    assert!(share("nothing") < 1e-6, "{}", share("nothing"));
}

#[test]
fn an_open_reading_convicts_the_open_heater_of_two() {
    let job = case("two-sisters-one-open");
    let diagnosis = diagnose(&job).unwrap();
    let leader = diagnosis.suspects[0].faults.as_ref().unwrap();
    assert_eq!(labels(&job, leader), "H1 open");
    assert_eq!(diagnosis.repairs[0].repair, "replace the heater H1");
    assert!(diagnosis.questionable_readings().is_empty());
}
