//! The plan and what could still be seen, made ready for a page.

use bench::Job;
use bench::experience::Moved;
use diagnosis::foresight::{foresight_lines, foresights};
use diagnosis::plan::words::{end_words, isolated_cautions, summary_lines};
use diagnosis::plan::{Limits, Next, Node};
use diagnosis::words as findings;
use diagnosis::{Diagnosis, DiagnosisError, Watch, diagnose_watched, plan};

/// Everything the page of the plan shows.
#[derive(Debug, Clone)]
pub struct PlanView {
    /// What it is expected to take; empty if no suspect could be worked out.
    pub summary: Vec<String>,
    /// What to heed in every check with the supply off.
    pub cautions: Vec<String>,
    /// The first check.
    pub root: Option<PointView>,
    /// Whether the tree goes further than is shown.
    pub is_cut: bool,
    /// What the readings taken, and the best check still available, would see of faults that have a size.
    pub sight: Vec<String>,
}

/// A point of the plan.
#[derive(Debug, Clone)]
pub enum PointView {
    /// A check.
    Check(Box<StepView>),
    /// Where the plan ends, in words.
    End(String),
}

/// A check of the plan with its outcomes.
#[derive(Debug, Clone)]
pub struct StepView {
    pub words: String,
    pub setup: String,
    /// How long it takes, in words.
    pub cost: String,
    pub hazard: &'static str,
    /// What to heed; those with the supply off stand before the plan.
    pub cautions: Vec<String>,
    /// Minutes to the end from here, this check included.
    pub minutes: f64,
    pub branches: Vec<BranchView>,
}

/// An outcome.
#[derive(Debug, Clone)]
pub struct BranchView {
    pub shown: String,
    pub probability: f64,
    pub then: PointView,
}

impl PlanView {
    /// Works the whole way out; takes a while.
    ///
    /// # Errors
    /// If the sound unit cannot be solved, or nobody waits any more.
    pub fn new(job: &Job, _: Option<&[Moved]>, watch: &Watch) -> Result<Self, DiagnosisError> {
        let found = diagnose_watched(job, watch)?;
        let made = plan(&found, Limits::default());
        let sight = foresight_lines(&found, &foresights(&found));
        if watch.is_cancelled() {
            return Err(DiagnosisError::Cancelled);
        }
        let Some(plan) = made else {
            return Ok(PlanView { summary: Vec::new(), cautions: Vec::new(), root: None, is_cut: false, sight });
        };
        Ok(PlanView {
            summary: summary_lines(&found, &plan),
            cautions: isolated_cautions(&plan).into_iter().map(str::to_owned).collect(),
            root: Some(point(&found, &plan.root)),
            is_cut: plan.is_cut,
            sight,
        })
    }
}

fn point(found: &Diagnosis<'_>, node: &Node) -> PointView {
    let Next::Check(check, branches) = &node.next else {
        return PointView::End(end_words(node).unwrap_or_default());
    };
    let branches = branches.iter().map(|branch| BranchView {
        shown: findings::shown_words(check, &branch.shown),
        probability: branch.probability,
        then: point(found, &branch.node),
    });
    PointView::Check(Box::new(StepView {
        words: findings::action_words(found, check),
        setup: check.setup.name.clone(),
        cost: findings::cost_words(found.evidence.job, check),
        hazard: check.hazard.words(),
        cautions: if check.setup.energised { check.cautions.clone() } else { Vec::new() },
        minutes: node.expected.minutes,
        branches: branches.collect(),
    }))
}
