//! Laws of probability and of calculus that every diagnosis must keep, whatever the unit: probabilities sum to one, more
//! evidence for a true fault does not lower its probability on average (Cover and Thomas, Elements of Information Theory,
//! 2.6: relative entropy is not negative), order and names do not matter, derivatives are those of the values.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Measure, Observed, Reading, Setup, Value, observe_values};
use common::{
    AIR_CURTAIN, DEMOS, DOUGH_PROOFER, DRYING_CABINET, Random, case, faults, job, labels, list, reference, shown, text,
    true_value,
};
use diagnosis::evidence::Evidence;
use diagnosis::log_weights::{LogSum, probabilities};
use diagnosis::prior::Prior;
use diagnosis::reading_model::{GROSS_SHARE, sigma};
use diagnosis::{Diagnosis, diagnose};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Every job of these tests: the demos and the small cases.
static JOBS: LazyLock<Vec<(String, Job)>> = LazyLock::new(|| {
    let reference = reference();
    let cases = list(&reference, "evidence").iter().map(|entry| text(entry, "case"));
    let cases = cases.map(|name| (name.to_owned(), case(name)));
    DEMOS.iter().map(|(name, text)| (name.to_string(), job(text))).chain(cases).collect()
});

/// Their diagnoses, made once for all tests.
static DIAGNOSES: LazyLock<Vec<(&str, Diagnosis<'_>)>> =
    LazyLock::new(|| JOBS.iter().map(|(name, job)| (&**name, diagnose(job).unwrap())).collect());

fn diagnosis_of(wanted: &str) -> &'static Diagnosis<'static> {
    &DIAGNOSES.iter().find(|(name, _)| *name == wanted).unwrap().1
}

#[test]
fn probabilities_sum_to_one() {
    for (name, diagnosis) in &*DIAGNOSES {
        let suspects: f64 = diagnosis.suspects.iter().map(|suspect| suspect.probability).sum();
        let repairs: f64 = diagnosis.repairs.iter().map(|repair| repair.probability).sum();
        assert!((suspects - 1.0).abs() < 1e-9, "{name}: suspects sum to {suspects}");
        assert!((repairs - 1.0).abs() < 1e-9, "{name}: repairs sum to {repairs}");
        let left = diagnosis.not_looked_at;
        assert!((0.0..=1.0).contains(&left.estimate), "{name}: {left:?}");
        assert!(left.at_most.is_none_or(|bound| (left.estimate..=1.0).contains(&bound)), "{name}: {left:?}");
        assert!(diagnosis.suspects.is_sorted_by(|a, b| a.probability >= b.probability), "{name}");
        assert!(diagnosis.repairs.is_sorted_by(|a, b| a.probability >= b.probability), "{name}");
        for repair in &diagnosis.repairs {
            // What hides behind another suspect may ask for it too.
            let same = diagnosis.suspects.iter().filter(|suspect| suspect.repair == repair.repair);
            let alone: f64 = same.map(|suspect| suspect.probability * (1.0 - suspect.hidden_share)).sum();
            assert!(alone < repair.probability + 1e-9, "{name}, {}: {alone}", repair.repair);
        }
        // A single repair is needed as often as whole ones contain it, what hides behind a suspect included.
        for single in &diagnosis.needed {
            let has_it =
                |whole: &&diagnosis::repairs::RepairShare| whole.repair.split("; ").any(|own| own == single.repair);
            let sum: f64 = diagnosis.repairs.iter().filter(has_it).map(|whole| whole.probability).sum();
            assert!((sum - single.probability).abs() < 1e-9, "{name}, {}: {sum}", single.repair);
        }
        let hidden: f64 =
            diagnosis.suspects.iter().map(|suspect| suspect.hidden.iter().map(|(_, s)| s).sum::<f64>()).sum();
        let shares: f64 = diagnosis.suspects.iter().map(|suspect| suspect.hidden_share).sum();
        assert!((hidden - shares).abs() < 1e-9, "{name}: {hidden} in parts, {shares} in all");
        // No suspect is listed twice.
        let mut listed: Vec<_> = diagnosis.suspects.iter().map(|suspect| &suspect.faults).collect();
        listed.sort();
        assert!(listed.windows(2).all(|pair| pair[0] != pair[1]), "{name}");
    }
}

proptest! {
    #[test]
    fn probabilities_of_log_weights_are_their_exponentials(
        logs in prop::collection::vec(prop_oneof![8 => -60.0..60.0f64, 1 => Just(f64::NEG_INFINITY)], 1..12),
        shift in -5000.0..5000.0f64,
    ) {
        prop_assume!(logs.iter().any(|log| log.is_finite()));
        let shares = probabilities(&logs.iter().map(|log| log + shift).collect::<Vec<_>>());
        let sum: f64 = logs.iter().map(|log| log.exp()).sum();
        for (share, log) in shares.iter().zip(&logs) {
            prop_assert!((share - log.exp() / sum).abs() < 1e-9, "{share}");
        }
        let mut total = LogSum::default();
        logs.iter().for_each(|&log| total.add(log));
        prop_assert!((total.log() - sum.ln()).abs() < 1e-9);
    }
}

#[test]
fn the_sum_of_nothing_is_nothing() {
    assert_eq!(LogSum::default().log(), f64::NEG_INFINITY);
    let mut total = LogSum::default();
    total.add(f64::NEG_INFINITY);
    assert_eq!(total.log(), f64::NEG_INFINITY);
}

/// Probability of each listed suspect.
fn shares(diagnosis: &Diagnosis<'_>) -> BTreeMap<Option<FaultSet>, f64> {
    diagnosis.suspects.iter().map(|suspect| (suspect.faults.clone(), suspect.probability)).collect()
}

fn assert_alike(name: &str, a: &Diagnosis<'_>, b: &Diagnosis<'_>, allowed: f64) {
    let (a, b) = (shares(a), shares(b));
    for key in a.keys().chain(b.keys()) {
        let share = |shares: &BTreeMap<Option<FaultSet>, f64>| shares.get(key).copied().unwrap_or(0.0);
        assert!((share(&a) - share(&b)).abs() < allowed, "{name}, {key:?}: {} and {}", share(&a), share(&b));
    }
}

#[test]
fn order_of_readings_does_not_matter() {
    let mut random = Random(31);
    for (name, text) in DEMOS {
        let (straight, mut shuffled) = (job(text), job(text));
        random.shuffle(&mut shuffled.readings);
        random.shuffle(&mut shuffled.symptoms);
        assert_ne!(straight.readings, shuffled.readings);
        // Sums in another order differ by rounding alone.
        assert_alike(name, diagnosis_of(name), &diagnose(&shuffled).unwrap(), 1e-7);
    }
}

#[test]
fn names_of_parts_do_not_matter() {
    // A quote or a line's end before the name, a point, quote or bracket after it: nothing else is a part's name.
    let rename = |text: &str, from: &str, to: &str| {
        let mut text = text.replace(&format!("\"{from}."), &format!("\"{to}."));
        text = text.replace(&format!("\"{from}\""), &format!("\"{to}\""));
        text.replace(&format!("parts.{from}]"), &format!("parts.{to}]"))
    };
    let mut text = DOUGH_PROOFER.to_owned();
    let names = [("M1", "zephyr"), ("C1", "A-tin"), ("H1", "bars"), ("T1", "stat"), ("K1", "guard"), ("L1", "lamp")];
    for (from, to) in names {
        text = rename(&text, from, to);
    }
    let (plain, renamed) = (job(DOUGH_PROOFER), job(&text));
    assert_eq!(renamed.unit.faults()[plain.unit.find_fault("C1 open").unwrap()].label(), "A-tin open");
    let (a, b) = (diagnosis_of("dough-proofer"), diagnose(&renamed).unwrap());
    assert_alike("dough-proofer", a, &b, 1e-12);
    for (a, b) in a.repairs.iter().zip(&b.repairs).take(3) {
        assert!((a.probability - b.probability).abs() < 1e-12);
    }
    assert!(b.repairs[0].repair.starts_with("replace the capacitor A-tin"), "{}", b.repairs[0].repair);
}

/// Log posterior of the readings alone, from values; the crate's own sum with its symptoms left out.
fn log_posterior(evidence: &Evidence<'_>, prior: &Prior, set: &FaultSet, z: &DVector<f64>) -> f64 {
    let outlook = evidence.outlook_values(set, &prior.deviations(z)).unwrap();
    let readings = evidence.data.iter().zip(&outlook.predictions);
    readings.map(|(datum, prediction)| datum.log_likelihood(prediction.value, 0.0).value).sum::<f64>()
        - 0.5 * z.norm_squared()
}

#[test]
fn slopes_of_the_log_posterior_are_those_of_its_values() {
    let mut random = Random(7);
    let sets = [
        (AIR_CURTAIN, vec![]),
        (AIR_CURTAIN, vec!["M2 common-open"]),
        (AIR_CURTAIN, vec!["M2 common-open", "M2 main-shorted-turns"]),
        (AIR_CURTAIN, vec!["M1 main-to-frame", "C2 low"]),
        (DOUGH_PROOFER, vec!["C1 low"]),
        (DOUGH_PROOFER, vec!["M1 bearing-drag", "H1 wrong-rating"]),
        (DRYING_CABINET, vec!["F1 bad-joint"]),
        (DRYING_CABINET, vec!["supply low-volts", "M1 common-bad-joint"]),
    ];
    let mut compared = 0;
    for (text, names) in sets {
        let job = job(text);
        let evidence = Evidence::new(&job).unwrap();
        let set = faults(&job, &names);
        let prior = evidence.prior.with_severities(&job.unit, &set);
        for _ in 0..3 {
            let z = DVector::from_fn(prior.count(), |_, _| 0.4 * random.normal());
            let outlook = evidence.outlook(&set, &prior.deviations(&z)).unwrap();
            let mut gradient = -&z;
            for (datum, prediction) in evidence.data.iter().zip(&outlook.predictions) {
                let slope = datum.log_likelihood(prediction.value, 0.0).slope;
                gradient.axpy(slope, &prior.whiten(&prediction.gradient), 1.0);
            }
            let h = 2e-5;
            for unknown in 0..prior.count() {
                let at = |side: f64| {
                    let mut moved = z.clone();
                    moved[unknown] += side * h;
                    log_posterior(&evidence, &prior, &set, &moved)
                };
                let numeric = (at(1.0) - at(-1.0)) / (2.0 * h);
                // Curvature of order 1e4 (readings are exact to a hundredth of the prior's spread) times h squared.
                let allowed = 2e-4 * (1.0 + gradient[unknown].abs()) + 1e-4 * gradient.amax();
                let place = format!("{}, {}, unknown {unknown}", job.unit.name, labels(&job, &set));
                assert!(
                    (gradient[unknown] - numeric).abs() < allowed,
                    "{place}: {}, numeric {numeric}",
                    gradient[unknown]
                );
                compared += usize::from(numeric.abs() > 1.0);
            }
        }
    }
    assert!(compared > 100, "only {compared} slopes were worth comparing");
}

#[test]
fn a_fit_that_arrived_is_at_a_top() {
    let mut random = Random(99);
    let sets = [
        (AIR_CURTAIN, vec!["M2 common-open"]),
        (AIR_CURTAIN, vec!["M2.common~cord.neutral broken"]),
        (DOUGH_PROOFER, vec!["C1 open"]),
        (DOUGH_PROOFER, vec!["C1 low"]),
        (DRYING_CABINET, vec!["F1 blown"]),
        (DRYING_CABINET, vec!["F1 blown", "M1 bearing-drag"]),
    ];
    for (text, names) in sets {
        let mut job = job(text);
        // Words bend the posterior and are no part of the slopes.
        job.symptoms.clear();
        let evidence = Evidence::new(&job).unwrap();
        let set = faults(&job, &names);
        let fit = evidence.fit(&set, None).unwrap();
        let prior = evidence.prior.with_severities(&job.unit, &set);
        let place = format!("{}, {}", job.unit.name, labels(&job, &set));
        assert!(fit.arrived, "{place}: not arrived after {} steps", fit.steps);
        let top = log_posterior(&evidence, &prior, &set, &fit.z);
        for _ in 0..60 {
            // A step of a posterior standard deviation or less, along a random direction.
            let pull = DVector::from_fn(prior.count(), |_, _| random.normal());
            let direction = fit.narrowing.times(&pull);
            // With direction = C pull, direction^T C^-1 direction is pull^T direction.
            let size = pull.dot(&direction).sqrt();
            let near = fit.z.as_ref() + direction * (random.uniform() / size);
            let higher = log_posterior(&evidence, &prior, &set, &near) - top;
            // A fit stops when a step gains less than 0.001 nats.
            assert!(higher < 5e-3, "{place}: {higher} nats higher nearby");
        }
    }
}

#[test]
fn sisters_covary_as_the_prior_says() {
    let job = case("two-sisters-one-open");
    let prior = Prior::new(&job.unit);
    let unknowns = job.unit.unknowns();
    let columns = (0..prior.count()).map(|column| {
        let unit = DVector::from_fn(prior.count(), |row, _| if row == column { 1.0 } else { 0.0 });
        DVector::from_vec(prior.deviations(&unit))
    });
    let factor = DMatrix::from_columns(&columns.collect::<Vec<_>>());
    let covariance = &factor * factor.transpose();
    let mut sisters = 0;
    for row in 0..unknowns.len() {
        for column in 0..unknowns.len() {
            let (a, b) = (&unknowns[row], &unknowns[column]);
            let expected = if row == column {
                a.log_spread.powi(2)
            } else if a.sisters.is_some() && a.sisters == b.sisters {
                sisters += 1;
                a.log_spread.powi(2) - a.sister_spread.powi(2)
            } else {
                0.0
            };
            assert!((covariance[(row, column)] - expected).abs() < 1e-12, "{} and {}", a.words, b.words);
        }
    }
    assert_eq!(sisters, 2);
}

/// A reading of a true value: right, with its noise, or grossly wrong.
fn noisy(job: &Job, template: &Reading, truth: f64, random: &mut Random) -> Reading {
    let volts = job.unit.parts()[job.unit.supply()].kind.supply().unwrap().volts;
    let right = shown(job, template, truth);
    let is_wrong = random.uniform() < GROSS_SHARE;
    let value = match right.value {
        // Anywhere within the decades, or the volts and speeds, that can occur.
        _ if is_wrong => match template.measure {
            Measure::Ohms(..) | Measure::Microfarads(..) if random.uniform() < 0.3 => Value::Open,
            Measure::Microfarads(..) => Value::Number(0.01 * 4e5f64.powf(random.uniform())),
            Measure::Ohms(..) => Value::Number(0.1 * 1e9f64.powf(random.uniform())),
            Measure::Volts(..) => Value::Number(1.5 * volts * random.uniform()),
            Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => Value::Number(0.01 * 3e3f64.powf(random.uniform())),
            Measure::Watts(_) => Value::Number(5e3f64.powf(random.uniform())),
            Measure::Rpm(_) => Value::Number(60.0 * job.unit.hertz() * random.uniform()),
            Measure::TouchMilliamps(_) | Measure::LeakageMilliamps(_) => {
                Value::Number(0.01 * 1e4f64.powf(random.uniform()))
            }
            Measure::RunDown(_) => Value::Number(60.0 * random.uniform()),
            Measure::Bars(..) => Value::Number(0.01 * 1e5f64.powf(random.uniform())),
        },
        Value::Number(truth) => {
            let meter = &job.meters[template.meter];
            Value::Number((truth + sigma(template.measure, meter, truth) * random.normal()).max(0.0))
        }
        Value::Open => Value::Open,
    };
    Reading { value, ..right }
}

/// Whether the motors of the sound unit come up to about the speeds that they should have: units that never did are none that
/// anybody repairs. No more than twice the slip that they have at the medians.
fn worked_once(job: &Job, deviations: &[f64]) -> bool {
    let unit = &job.unit;
    let own = unknown_count(unit, &FaultSet::none());
    let slips = |setup: &Setup, deviations: &[f64]| -> Vec<f64> {
        let motors = (0..unit.parts().len()).filter(|&part| unit.is_motor(part));
        let ratio = |observed: &Observed<'_>, part| observed.speed_ratio(part).unwrap_or_default();
        let look = |observed: &mut Observed<'_>| motors.map(|part| 1.0 - ratio(observed, part).abs()).collect();
        observe_values(unit, setup, &FaultSet::none(), deviations, look).unwrap()
    };
    let live = job.setups.iter().filter(|setup| setup.energised && setup.lifted.is_empty() && setup.held.is_empty());
    live.into_iter().all(|setup| {
        let usual = slips(setup, &vec![0.0; own]);
        slips(setup, &deviations[..own]).iter().zip(usual).all(|(slip, usual)| *slip <= 2.0 * usual)
    })
}

#[test]
fn evidence_for_a_true_fault_does_not_lower_its_probability_on_average() {
    let stories = [
        (DOUGH_PROOFER, "C1 open"),
        (DOUGH_PROOFER, "H1 open"),
        (DOUGH_PROOFER, "K1 stuck-open"),
        (DRYING_CABINET, "F1 blown"),
        (DRYING_CABINET, "H1 open"),
        (DRYING_CABINET, "M1 main-open"),
    ];
    const UNITS_EACH: usize = 10;
    const READINGS: usize = 6;
    let mut random = Random(2024);
    let mut courses: Vec<[f64; READINGS + 1]> = Vec::new();
    for (text, label) in stories {
        let mut job = job(text);
        job.symptoms.clear();
        let templates = std::mem::take(&mut job.readings);
        let set = faults(&job, &[label]);
        let prior = Prior::new(&job.unit).with_severities(&job.unit, &set);
        for _ in 0..UNITS_EACH {
            let mut drawn = || prior.deviations(&DVector::from_fn(prior.count(), |_, _| random.normal()));
            let mut deviations = drawn();
            while !worked_once(&job, &deviations) {
                deviations = drawn();
            }
            let mut order = templates.clone();
            random.shuffle(&mut order);
            job.readings.clear();
            courses.push(std::array::from_fn(|taken| {
                if taken > 0 {
                    let truth = true_value(&job, &order[taken - 1], &set, &deviations);
                    let next = noisy(&job, &order[taken - 1], truth, &mut random);
                    job.readings.push(next);
                }
                let diagnosis = diagnose(&job).unwrap();
                let own = diagnosis.suspects.iter().find(|suspect| suspect.faults.as_ref() == Some(&set));
                own.map_or(1e-12, |suspect| suspect.probability.max(1e-12)).ln()
            }));
        }
    }
    let count = courses.len() as f64;
    let mean = |value: &dyn Fn(&[f64; READINGS + 1]) -> f64| courses.iter().map(value).sum::<f64>() / count;
    let means: [f64; READINGS + 1] = std::array::from_fn(|taken| mean(&|course| course[taken]));
    for taken in 0..READINGS {
        let rise = means[taken + 1] - means[taken];
        let spread = mean(&|course| (course[taken + 1] - course[taken] - rise).powi(2)).sqrt() / count.sqrt();
        // Late readings add little, and sixty units tell the mean to no better than its own spread.
        assert!(rise > -spread, "the reading after {taken} lowers it by {} (spread {spread}): {means:.3?}", -rise);
    }
    assert!(means[READINGS] - means[0] > 2.0, "six readings tell next to nothing: {means:.3?}");
}
