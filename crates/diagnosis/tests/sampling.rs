//! Holds evidence by draws, and the error that it says it has, to brute-force quadrature by `reference/inference.py`; and
//! what the ranking makes of tops that no sound unit ever stood on.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{TWO_LEG_CABINET, WORKSHOP_COMPRESSOR, case, faults, job, labels, list, number, reference, text};
use diagnosis::evidence::Evidence;
use diagnosis::sampling::sample;
use diagnosis::wrong_readings::summed;
use diagnosis::{Suspect, diagnose};

/// Every suspect of every case: its evidence by draws, its error, and its evidence by quadrature.
fn rows() -> Vec<(String, f64, f64, f64)> {
    let mut rows = Vec::new();
    for entry in list(&reference(), "evidence") {
        let job = case(text(entry, "case"));
        let evidence = Evidence::new(&job).unwrap();
        for row in list(entry, "suspects") {
            let Some(names) = row["faults"].as_array() else { continue };
            let names: Vec<&str> = names.iter().map(|name| name.as_str().unwrap()).collect();
            let set = faults(&job, &names);
            let fit = summed(&evidence, evidence.fit(&set, None).unwrap());
            let drawn = sample(&evidence, &fit, 0.02).unwrap();
            let name = format!("{}, {}", text(entry, "case"), labels(&job, &set));
            rows.push((name, drawn.log_evidence, drawn.error, number(row, "log_evidence")));
        }
    }
    rows
}

#[test]
fn evidence_by_draws_is_that_of_quadrature_within_the_error_it_says() {
    let rows = rows();
    assert_eq!(rows.len(), 38);
    let mut within_two = 0;
    for (name, drawn, error, exact) in &rows {
        let off = (drawn - exact).abs();
        assert!(off < 4.0 * error + 0.02, "{name}: {drawn} +- {error}, exactly {exact}");
        within_two += usize::from(off < 2.0 * error + 0.005);
    }
    assert!(within_two >= 34, "only {within_two} of {} within two of their errors", rows.len());
}

#[test]
fn the_same_job_has_the_same_figures() {
    let job = job(WORKSHOP_COMPRESSOR);
    let figures = |suspects: &[Suspect]| suspects.iter().map(|suspect| suspect.probability).collect::<Vec<f64>>();
    let (once, again) = (diagnose(&job).unwrap(), diagnose(&job).unwrap());
    assert_eq!(figures(&once.suspects), figures(&again.suspects));
}

#[test]
fn chance_drops_out_of_the_difference_of_two_suspects() {
    // A motor close to its pull-out torque: few draws carry most of the weight. A bad joint in the earth wire moves nothing
    // that was read, so by Bayes' rule the readings weigh the same with it as without.
    let job = job(TWO_LEG_CABINET);
    let evidence = Evidence::new(&job).unwrap();
    let drawn = |names: &[&str]| {
        let fit = summed(&evidence, evidence.fit(&faults(&job, names), None).unwrap());
        sample(&evidence, &fit, 0.02).unwrap()
    };
    let (alone, both) = (drawn(&["S1 1-2-stuck-open"]), drawn(&["S1 1-2-stuck-open", "cord earth-bad-joint"]));
    assert!(alone.error > 0.1 && both.error > 0.1, "{} {}: another case is needed", alone.error, both.error);
    let off = (alone.log_evidence - both.log_evidence).abs();
    assert!(off < 0.03, "{off}, each by itself off by {} and {}", alone.error, both.error);
}

#[test]
fn leaders_say_how_sure_their_evidence_is() {
    let job = job(WORKSHOP_COMPRESSOR);
    let diagnosis = diagnose(&job).unwrap();
    for suspect in diagnosis.suspects.iter().filter(|suspect| suspect.probability > 0.02 && suspect.fit.is_some()) {
        let error = suspect.error.unwrap();
        assert!(error > 0.0 && error < 0.3, "{error}");
    }
}

#[test]
fn a_sound_relay_that_would_never_have_dropped_out_explains_nothing() {
    // A compressor whose start winding stays in: with a relay that asks for more volts than its motor ever makes the
    // live readings would fit, but such a unit would never have worked.
    let mut job = job(WORKSHOP_COMPRESSOR);
    let live: Vec<bool> = job.setups.iter().map(|setup| setup.energised).collect();
    job.readings.retain(|reading| live[reading.setup]);
    let diagnosis = diagnose(&job).unwrap();
    let nothing = diagnosis.suspects.iter().find(|suspect| suspect.faults.as_ref().is_some_and(|set| set.0.is_empty()));
    assert!(nothing.unwrap().probability < 0.01, "{}", nothing.unwrap().probability);
}
