//! Everything that could be checked, with what every leading suspect says of it.

use super::apart::{Apart, Inseparable};
use super::candidates::candidate_setups;
use super::cost::{self, Cost};
use super::forecast::{Players, setup_checks};
use super::warmth::Warmth;
use super::{Action, Check, Hazard, outcomes, questions};
use crate::information::Forecast;
use crate::suspects::Diagnosis;
use bench::{Job, Measure, Reach, Setup, Unit};
use rayon::prelude::*;

/// What the suspects say that a check shows.
#[derive(Debug, Clone)]
pub(crate) enum Told {
    /// Values, by number of the player; a player that may show a number or 'open' has two.
    Values(Vec<(usize, Forecast)>),
    /// For each player, the probability that the answer is yes.
    Chances(Vec<f64>),
}

/// A check with all that is known of it.
#[derive(Debug, Clone)]
pub(crate) struct Candidate {
    pub(crate) check: Check,
    pub(crate) told: Told,
    /// Minutes it would wait if the windings were warm.
    pub(crate) cooling: f64,
    /// Housings ahead of it, open or not.
    pub(crate) ahead: Vec<usize>,
    /// Whether the technician refuses it.
    pub(crate) is_refused: bool,
}

impl Candidate {
    /// The check with what it may show.
    pub(crate) fn with_outcomes(self, unit: &Unit, players: &Players<'_>) -> Check {
        let mut check = self.check;
        check.outcomes = match &self.told {
            Told::Values(told) => outcomes::of_reading(told, players, greatest(unit, check.action)),
            Told::Chances(chances) => outcomes::of_question(chances, players),
        };
        check.outcomes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        check
    }
}

/// What a check cannot show more than: no induction motor turns faster than its field.
pub(crate) fn greatest(unit: &Unit, action: Action) -> f64 {
    let (Action::Read(Measure::Rpm(part)) | Action::Swap(_, _, Measure::Rpm(part))) = action else {
        return f64::INFINITY;
    };
    let kind = &unit.parts()[part].kind;
    let of_field = kind.synchronous_rpm(unit.hertz()).filter(|_| kind.commutator_bars().is_none());
    of_field.unwrap_or(f64::INFINITY)
}

/// All candidates, and who would be told apart by those that are not refused.
pub(crate) struct Survey<'d> {
    pub(crate) players: Players<'d>,
    pub(crate) candidates: Vec<Candidate>,
    pub(crate) warmth: Warmth,
    apart: Apart,
}

impl Survey<'_> {
    /// Groups of suspects that ask for different repairs and that nothing tells apart.
    pub(crate) fn inseparable(&self, diagnosis: &Diagnosis<'_>) -> Vec<Inseparable> {
        self.apart.inseparable(&self.players, diagnosis)
    }
}

/// Where the bench stands: what was used last, what is warm, what is open, what is refused.
pub(crate) struct Stand<'j> {
    pub(super) job: &'j Job,
    last: Setup,
    pub(super) warmth: Warmth,
}

impl<'j> Stand<'j> {
    pub(crate) fn of(job: &'j Job) -> Self {
        Stand { job, last: cost::last_used(job), warmth: Warmth::of(job) }
    }

    /// What something done in a setup costs; it has to wait so long if the windings are warm.
    pub(super) fn cost(&self, setup: &Setup, reach: &Reach, (own, cooling): (f64, f64)) -> Cost {
        let cooling = if self.warmth.is_warm { cooling } else { 0.0 };
        cost::cost(self.job, &self.last, setup, reach, (own, cooling))
    }

    /// Housings ahead of it, and whether it is refused.
    pub(crate) fn access(&self, setup: &Setup, reach: &Reach) -> (Vec<usize>, bool) {
        let ahead = self.job.housings_ahead(reach);
        let closed: Vec<usize> = ahead.iter().copied().filter(|&housing| !self.job.housings[housing].is_open).collect();
        let is_refused = self.job.refused.iter().any(|refusal| refusal.forbids(&self.job.unit, setup, reach, &closed));
        (ahead, is_refused)
    }

    /// What a reading in a setup touches.
    pub(crate) fn reach(&self, setup: &Setup, measure: Measure) -> Reach {
        Reach::of_setup(setup).with_reading(&self.job.unit, measure)
    }

    /// A candidate without outcomes.
    pub(super) fn candidate(
        &self,
        (setup, reach, (own, cooling)): (Setup, &Reach, (f64, f64)),
        (action, hazard): (Action, Hazard),
        (told, bits): (Told, f64),
    ) -> Candidate {
        let cost = self.cost(&setup, reach, (own, cooling));
        let (ahead, is_refused) = self.access(&setup, reach);
        let (minutes, cautions, outcomes) = (cost.minutes(), Vec::new(), Vec::new());
        let check = Check { setup, action, bits, minutes, cost, hazard, cautions, outcomes };
        Candidate { check, told, cooling, ahead, is_refused }
    }
}

/// Looks at everything; of no use if the diagnosis was cancelled meanwhile.
pub(crate) fn survey<'d>(diagnosis: &'d Diagnosis<'_>) -> Survey<'d> {
    let stand = Stand::of(diagnosis.evidence.job);
    let players = Players::new(diagnosis);
    let watch = &diagnosis.evidence.watch;
    let setups = candidate_setups(stand.job, stand.warmth.is_warm);
    watch.plan(setups.len());
    let by_setup: Vec<(Vec<Candidate>, Apart)> = setups
        .into_par_iter()
        .filter(|_| watch.step())
        .map(|candidate| setup_checks(&stand, &candidate, &players))
        .collect();
    let mut apart = Apart::default();
    let mut candidates = Vec::new();
    for (of_setup, told) in by_setup {
        candidates.extend(of_setup);
        apart = apart.with(told);
    }
    candidates.extend(questions::checks(&stand, &players, &mut apart));
    Survey { players, candidates, warmth: stand.warmth, apart }
}
