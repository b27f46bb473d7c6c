//! Fits stand where the readings are: at insulation that is merely low, and where draws say that there is more to be had.
//! Units and readings are invented.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::{FaultSet, Measure};
use common::{job, labels};
use diagnosis::checks::Action;
use diagnosis::reading_model::sigma;
use diagnosis::suspects::SOUND_ODDS;
use diagnosis::{diagnose, next_checks};

const READ_OVER_AND_OVER: &str = include_str!("data/read-over-and-over.toml");

/// Ten readings of one winding say 28.5 to 29.3 ohm: who leads must say so too, and an eleventh would tell nothing.
#[test]
fn nobody_leads_against_what_was_read_over_and_over() {
    let job = job(READ_OVER_AND_OVER);
    let found = diagnose(&job).unwrap();
    let mut seen = 0;
    for suspect in found.suspects.iter().filter(|suspect| suspect.probability > 0.05) {
        let Some(fit) = &suspect.fit else { continue };
        for (entry, prediction) in found.evidence.taken.iter().zip(&fit.outlook.predictions) {
            let bench::Value::Number(shown) = entry.value else { continue };
            if !matches!(entry.measure, Measure::Ohms(..)) || shown < 20.0 {
                continue;
            }
            let distance = (shown - prediction.value) / sigma(entry.measure, &job.meters[entry.meter], shown);
            let name = labels(&job, &fit.faults);
            assert!(distance.abs() < 2.5, "{name} predicts {} where {shown} was read", prediction.value);
            seen += 1;
        }
    }
    assert!(seen > 20, "{seen}");
    let [common, forward] = ["M1.common", "M1.forward"].map(|name| job.unit.find_terminal(name).unwrap());
    let plan = next_checks(&found, 200);
    let again = plan.checks.iter().filter(|check| match check.action {
        Action::Read(Measure::Ohms(a, b)) => {
            let nets = [a, b].map(|terminal| job.unit.terminal_name(terminal));
            let of = |names: [&str; 4]| nets.iter().any(|net| names.contains(&net.as_str()));
            of([&job.unit.terminal_name(forward), "C1.a", "switch.forth", "M1.forward"])
                && of([&job.unit.terminal_name(common), "cord.neutral", "cord.plug-neutral", "M1.common"])
                && check.setup.lifted.is_empty()
        }
        _ => false,
    });
    let most = again.map(|check| check.bits).fold(0.0, f64::max);
    assert!(most < 0.15, "reading it once more is said to tell {most} bits");
}

/// An element of 50 Mohm give or take a factor of exp(1.5) reads 1.8 Mohm to its sheath: a sound one is then ahead of one
/// whose insulation has gone low (200 kohm, the same factor, odds 0.008) by the densities of two normal distributions,
/// ln(1.8 / 50) / 1.5 = -2.216 and ln(1.8 / 0.2) / 1.5 = 1.465 deviations off (worked by hand).
#[test]
fn insulation_within_what_is_usual_is_no_fault() {
    let heater = job("readings = [
  { setup = \"off\", ohms = 1.8e6, between = [\"H1.a\", \"frame\"] },
  { setup = \"off\", ohms = 1.8e6, between = [\"H1.a\", \"frame\"] },
]
wires = [ { from = \"supply.hot\", to = \"H1.a\" }, { from = \"H1.b\", to = \"supply.neutral\" } ]
[unit]
name = \"element\"
[parts.supply]
kind = \"supply\"
volts = 230
hertz = 50
[parts.H1]
kind = \"heater\"
volts = 230
watts = 1000
[setups.off]
supply = \"off\"
lifted = [\"H1.a\", \"H1.b\"]
");
    let found = diagnose(&heater).unwrap();
    let low = heater.unit.find_fault("H1 insulation-low").unwrap();
    let weight = |set: FaultSet| {
        let suspect = found.suspects.iter().find(|suspect| suspect.faults.as_ref() == Some(&set)).unwrap();
        suspect.probability * (1.0 - suspect.hidden_share)
    };
    let ratio = weight(FaultSet::none()) / weight(FaultSet(vec![low]));
    let density = |deviations: f64| (-0.5 * deviations * deviations).exp();
    let odds = heater.unit.faults()[low].mode.odds;
    let expected = SOUND_ODDS * density(-2.216) / (odds * density(1.465));
    assert!((ratio / expected).ln().abs() < 0.25, "{ratio}, by hand {expected}");
}
