//! A small slice of the trials, as the page has them in full.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use diagnosis::repairs::NO_REPAIR;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use trials::kept::{Kept, KeptError};
use trials::report::{Run, page};
use trials::score::{Figures, Scored, bins, calibration_error};
use trials::trials::{Plan, many, one};

const PLAN: Plan = Plan { cases: 26, seed: 1, compared: 0, sound_share: 0.0 };

fn scored() -> &'static [Scored] {
    static SCORED: OnceLock<Vec<Scored>> = OnceLock::new();
    SCORED.get_or_init(|| {
        let (run, scored) = Run::of(PLAN, many(&PLAN, BTreeMap::new(), |_, _| {}));
        assert_eq!((run.done, run.failed), (PLAN.cases as usize, 0), "every unit can be laid out and solved");
        scored
    })
}

#[test]
fn every_family_is_worked_on_and_probabilities_add_up() {
    assert_eq!(scored().len(), PLAN.cases as usize);
    for scored in scored() {
        let total = scored.outcome.total;
        assert!((total - 1.0).abs() < 1e-9, "case {}: probabilities add up to {total}", scored.number);
        assert!(scored.outcome.repairs.iter().all(|(_, share)| (0.0..=1.0 + 1e-12).contains(share)));
    }
}

#[test]
fn the_true_repair_leads_far_more_often_than_by_chance() {
    // A unit of these has about twenty repairs. In the run of `docs/trials.md` seven in ten lead; half is the alarm.
    let singles = Figures::of(scored().iter().filter(|scored| !scored.is_double));
    assert!(singles.first > 0.5, "the true repair leads in {} of {} cases", singles.first, singles.cases);
}

#[test]
fn the_lead_with_nothing_to_repair_left_aside() {
    for scored in scored() {
        let asks = |(repair, _): &&(String, f64)| repair != NO_REPAIR;
        let leading = scored.outcome.repairs.iter().find(asks).map(|(repair, _)| repair);
        let truth = scored.rank.map(|rank| &scored.outcome.repairs[rank - 1].0);
        assert_eq!(scored.leads_if_faulty(), truth.is_some() && leading == truth, "case {}", scored.number);
    }
    // One that leads, behind 'nothing to repair' and behind another.
    let leads = scored().iter().find(|scored| scored.rank == Some(1)).unwrap();
    for (ahead, still_leads) in [(NO_REPAIR, true), ("replace something else", false)] {
        let mut behind = leads.clone();
        behind.rank = Some(2);
        behind.outcome.repairs.insert(0, (ahead.to_owned(), 0.9));
        assert_eq!(behind.leads_if_faulty(), still_leads, "behind '{ahead}'");
    }
}

#[test]
fn the_same_seed_gives_the_same_case() {
    let first = &scored()[4];
    let again = &one(&PLAN, 4, false).unwrap()[0];
    assert_eq!(first.outcome.job_text, again.outcome.job_text);
    assert_eq!(first.probability.to_bits(), again.probability.to_bits());
    let other = &one(&Plan { seed: 2, ..PLAN }, 4, false).unwrap()[0];
    assert_ne!(first.outcome.job_text, other.outcome.job_text);
}

#[test]
fn what_was_noted_is_a_job_file() {
    for scored in scored() {
        let job = bench::job::read("kept", &scored.outcome.job_text).unwrap_or_else(|problems| panic!("{problems}"));
        assert_eq!(job.readings.len(), scored.outcome.doubts.len());
    }
}

/// A run that was stopped, in the middle of a line, and gone on with gives the page of one that was not.
#[test]
fn a_run_may_be_stopped_and_gone_on_with() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cases.jsonl");
    let plan = Plan { cases: 3, ..PLAN };
    let whole = many(&plan, BTreeMap::new(), |_, _| {});
    let (kept, known) = Kept::open(&path, &plan).unwrap();
    assert!(known.is_empty());
    kept.add(1, &whole[&1]).unwrap();
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, format!("{text}[2,{{\"seconds\":1")).unwrap();
    let (kept, known) = Kept::open(&path, &plan).unwrap();
    assert_eq!(known.keys().collect::<Vec<_>>(), [&1]);
    let joined = many(&plan, known, |number, worked| kept.add(number, worked).unwrap());
    let page_of = |worked: BTreeMap<u64, trials::trials::Worked>| {
        let (run, scored) = Run::of(plan, worked);
        page(&Run { seconds: 1.0, ..run }, &scored)
    };
    assert_eq!(page_of(joined), page_of(whole));
    let (_, known) = Kept::open(&path, &plan).unwrap();
    assert_eq!(known.len(), 3);
    let other = Plan { seed: 2, ..plan };
    assert!(matches!(Kept::open(&path, &other), Err(KeptError::OtherPlan { .. })));
    std::fs::write(&path, "a shopping list\n").unwrap();
    assert!(matches!(Kept::open(&path, &plan), Err(KeptError::NoPlan { .. })));
}

#[test]
fn calibration_error_by_hand() {
    // Four at 0.9 of which three are right, and one at 0.3 that is wrong: (4 * 0.15 + 1 * 0.3) / 5 = 0.18.
    let needed = [(0.9, true), (0.9, true), (0.9, true), (0.9, false), (0.3, false)];
    assert!((calibration_error(&bins(&needed)) - 0.18).abs() < 1e-12);
}
