//! Checks without a meter: does its shaft turn freely, does it run when pushed, does it trip when left running.

use super::apart::Apart;
use super::forecast::Players;
use super::survey::{Candidate, Stand, Told};
use super::{Action, Hazard};
use crate::information::expected_gain_of_answers;
use crate::symptom_model::{self, SoundState, Traits};
use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Manner, Reach, Setup, Symptom, Word, observe_values};
use machine::Motion;
use std::collections::BTreeMap;

/// Probability that what is seen is not what the model says (engineering judgement).
const MISSEEN: f64 = 0.08;
/// Speed ratio from which a pushed motor is seen to run by itself (engineering judgement).
const SEEN_RUNNING: f64 = 0.3;

/// Minutes of turning a shaft by hand, of a push, and of a wait for a trip (engineering judgement).
const SPIN: f64 = 1.5;
const PUSH: f64 = 1.0;
const WAIT: f64 = 18.0;

/// Shafts turned by hand, then pushes and waits in the live setups of a job, without outcomes; notes which suspects they
/// would tell apart.
pub(super) fn checks(stand: &Stand<'_>, players: &Players<'_>, apart: &mut Apart) -> Vec<Candidate> {
    let job = stand.job;
    let unit = &job.unit;
    let mut list = Vec::new();
    for part in (0..unit.parts().len()).filter(|&part| unit.parts()[part].kind.has_open_shaft()) {
        let is_felt = |symptom: &Symptom| symptom.part == part && symptom.word.is_felt_by_hand();
        if !job.symptoms.iter().any(is_felt) {
            let unplugged = Setup::unplugged("unplugged");
            list.push(check(stand, players, apart, unplugged, (Action::Spin(part), SPIN)));
        }
    }
    for setup in job.setups.iter().filter(|setup| setup.energised && setup.pushed.is_empty()) {
        for part in
            (0..unit.parts().len()).filter(|&part| unit.parts()[part].kind.synchronous_rpm(unit.hertz()).is_some())
        {
            let name = &unit.parts()[part].name;
            let tried = job.setups.iter().any(|own| own.pushed.contains(&part) && own.positions == setup.positions);
            if !tried {
                let pushed =
                    Setup { name: format!("{}, {name} pushed", setup.name), pushed: vec![part], ..setup.clone() };
                list.push(check(stand, players, apart, pushed, (Action::Push(part), PUSH)));
            }
            list.push(check(stand, players, apart, setup.clone(), (Action::Wait(part), WAIT)));
        }
    }
    list
}

fn check(
    stand: &Stand<'_>,
    players: &Players<'_>,
    apart: &mut Apart,
    setup: Setup,
    (action, minutes): (Action, f64),
) -> Candidate {
    let chances = chances(stand.job, &setup, action, players);
    let mut reach = Reach::of_setup(&setup);
    let hazard = match action {
        Action::Spin(part) => {
            reach.parts.push(part);
            reach.manners.push(Manner::Spin);
            Hazard::Isolated
        }
        Action::Push(_) => {
            reach.manners.push(Manner::Push);
            Hazard::EnergisedMoving
        }
        _ => {
            reach.manners.push(Manner::Wait);
            Hazard::Energised
        }
    };
    if !stand.access(&setup, &reach).1 {
        apart.hear(&chances);
    }
    let answers: Vec<BTreeMap<usize, f64>> =
        chances.iter().map(|&chance| BTreeMap::from([(1, chance), (0, 1.0 - chance)])).collect();
    let weights: Vec<(f64, usize)> = players.all.iter().map(|player| (player.weight, player.class)).collect();
    let bits = players.total * expected_gain_of_answers(&weights, &answers) / std::f64::consts::LN_2;
    stand.candidate((setup, &reach, (minutes, 0.0)), (action, hazard), (Told::Chances(chances), bits))
}

/// Probability, per suspect, that the answer is yes.
fn chances(job: &Job, setup: &Setup, action: Action, players: &Players<'_>) -> Vec<f64> {
    match action {
        Action::Wait(part) => word_chances(job, setup, part, Word::Trips, players),
        Action::Spin(part) => word_chances(job, setup, part, Word::TurnsFreely, players),
        Action::Push(part) => players
            .all
            .iter()
            .map(|player| {
                let (faults, deviations) = player.world(&job.unit, None);
                let runs = observe_values(&job.unit, setup, &faults, &deviations, |observed| {
                    let ratio = observed.speed_ratio(part).unwrap_or(0.0);
                    observed.motion(part) == Some(Motion::Running) && ratio > SEEN_RUNNING
                });
                if runs.unwrap_or(false) { 1.0 - MISSEEN } else { MISSEEN }
            })
            .collect(),
        Action::Read(_) | Action::Swap(..) => Vec::new(),
    }
}

/// Probability, per suspect, that a word would be said of a part.
///
/// Steady heat stands for what a wait would show, until heat over time is modelled.
fn word_chances(job: &Job, setup: &Setup, part: usize, word: Word, players: &Players<'_>) -> Vec<f64> {
    let none = FaultSet::none();
    let medians = vec![0.0; unknown_count(&job.unit, &none)];
    let sound = observe_values(&job.unit, setup, &none, &medians, |observed| SoundState::of(observed, part))
        .unwrap_or_default();
    let symptom = Symptom { setup: 0, part, word, line: 0 };
    players
        .all
        .iter()
        .map(|player| {
            let (faults, deviations) = player.world(&job.unit, None);
            let traits = Traits::of(&job.unit, &faults, part);
            let ask = |observed: &mut bench::Observed<'_>| {
                symptom_model::log_probability(&symptom, observed, sound, traits).exp()
            };
            observe_values(&job.unit, setup, &faults, &deviations, ask).unwrap_or(0.5)
        })
        .collect()
}
