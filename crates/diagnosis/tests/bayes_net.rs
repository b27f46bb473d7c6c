//! Holds the posterior over what is broken to that of a Bayes net, solved by the general library pyAgrum and by
//! enumeration (`reference/bayes_net.py`): two heaters in parallel of which any and any wire may be broken, three readings.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::Job;
use common::{faults, job, list, number};
use diagnosis::diagnose;
use diagnosis::evidence::Evidence;
use diagnosis::sampling::sample;
use diagnosis::suspects::SOUND_ODDS;
use diagnosis::wrong_readings::summed;
use serde_json::Value;

const JOB: &str = r#"
wires = [
  { from = "supply.hot", to = "H1.a" },
  { from = "H1.b", to = "supply.neutral" },
  { from = "supply.hot", to = "H2.a" },
  { from = "H2.b", to = "supply.neutral" },
]
readings = [
  { setup = "off", ohms = 53.1, between = ["supply.hot", "supply.neutral"] },
  { setup = "off", ohms = 0.1, between = ["supply.hot", "H1.a"] },
  { setup = "H1 off", ohms = "open", between = ["H1.a", "H1.b"] },
]
[unit]
name = "Two heaters of which one may be broken"
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
watts = 1000
[setups.off]
supply = "off"
[setups."H1 off"]
supply = "off"
lifted = ["H1.a"]
"#;

/// Sets of breaks with what the net gives them.
fn net() -> Vec<(Vec<String>, f64)> {
    let rows: Vec<Value> = serde_json::from_str(include_str!("data/bayes-net.json")).unwrap();
    let names = |row: &Value| list(row, "faults").iter().map(|name| name.as_str().unwrap().to_string()).collect();
    rows.iter().map(|row| (names(row), number(row, "probability"))).collect()
}

fn odds(job: &Job, names: &[String]) -> f64 {
    names.iter().map(|name| job.unit.faults()[job.unit.find_fault(name).unwrap()].mode.odds).product()
}

#[test]
fn every_set_of_breaks_weighs_what_the_net_says() {
    let job = job(JOB);
    let evidence = Evidence::new(&job).unwrap();
    let net = net();
    assert_eq!(net.len(), 64);
    let weights: Vec<f64> = net
        .iter()
        .map(|(names, _)| {
            let names_of: Vec<&str> = names.iter().map(String::as_str).collect();
            let fit = summed(&evidence, evidence.fit(&faults(&job, &names_of), None).unwrap());
            odds(&job, names).ln() + sample(&evidence, &fit, 0.01).unwrap().log_evidence
        })
        .collect();
    let total: f64 = weights.iter().map(|weight| weight.exp()).sum();
    for ((names, exact), weight) in net.iter().zip(weights) {
        let share = weight.exp() / total;
        assert!((share - exact).abs() < 2e-3, "{names:?}: {share}, by the net {exact}");
        assert!((share / exact).ln().abs() < 0.1, "{names:?}: {share}, by the net {exact}");
    }
}

#[test]
fn the_ranking_gives_breaks_the_shares_of_the_net() {
    let job = job(JOB);
    let diagnosis = diagnose(&job).unwrap();
    // The ranking knows other faults too and stops at pairs, so that shares are those among the breaks that it lists.
    let listed: Vec<(Vec<String>, f64, f64)> = net()
        .into_iter()
        .filter_map(|(names, exact)| {
            let set = faults(&job, &names.iter().map(String::as_str).collect::<Vec<_>>());
            let suspect = diagnosis.suspects.iter().find(|suspect| suspect.faults.as_ref() == Some(&set))?;
            let odds = if names.is_empty() { SOUND_ODDS } else { 1.0 };
            Some((names, exact, suspect.probability * (1.0 - suspect.hidden_share) / odds))
        })
        .collect();
    let exact_total: f64 = listed.iter().map(|(_, exact, _)| exact).sum();
    let total: f64 = listed.iter().map(|(_, _, found)| found).sum();
    assert!(exact_total > 0.99, "the breaks listed hold {exact_total}");
    for (names, exact, found) in &listed {
        let (exact, found) = (exact / exact_total, found / total);
        assert!((found - exact).abs() < 0.01, "{names:?}: {found}, by the net {exact}");
    }
}
