//! Many heat runs, watched as a technician would, and what came of them.

use super::run::{Run, draw};
use crate::random::Random;
use proof::heat_run::equilibrium::{Rule, first_satisfied};
use proof::heat_run::forecast::forecast;
use proof::heat_run::forecast::prior::ThermalPrior;
use proof::heat_run::limit::Limit;
use proof::heat_run::verdict::{Verdict, judge};
use rayon::prelude::*;

/// Moments at which the interval is held against the truth, minutes.
pub const MOMENTS: [f64; 8] = [10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0];

/// The interval at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Whether the true final temperature was above the lower end.
    pub above_low: bool,
    /// Whether it was below the upper end.
    pub below_high: bool,
    /// Median less the truth, kelvins.
    pub error: f64,
    /// Width of the interval, kelvins.
    pub width: f64,
}

/// What came of one run.
#[derive(Debug, Clone)]
pub struct Scored {
    /// One for each of [`MOMENTS`].
    pub looks: Vec<Look>,
    /// Minute at which 'not more than 1 K in half an hour' was first satisfied.
    pub half_hour_minutes: f64,
    /// The verdict that was given, and when; none before the rule was satisfied.
    pub verdict: Option<(Verdict, f64)>,
    /// The limit less the true final temperature at the time of the verdict, kelvins.
    pub margin: f64,
    /// The true final temperature less that at the moment when the rule was satisfied, kelvins.
    pub left_by_rule: f64,
}

/// A look every five minutes for two hours, then every ten.
fn watch_times() -> impl Iterator<Item = f64> {
    (1..=24).map(|n| 5.0 * f64::from(n)).chain((13..).map(|n| 10.0 * f64::from(n)))
}

fn watch(run: &Run) -> Scored {
    let prior = ThermalPrior::default();
    let looks = MOMENTS.iter().filter_map(|&minutes| {
        let known = forecast(&run.until(minutes), &prior).ok()?;
        let (low, high) = known.interval(0.95);
        let truth = run.true_final(minutes);
        let error = known.final_celsius() - truth;
        Some(Look { above_low: truth >= low, below_high: truth <= high, error, width: high - low })
    });
    let looks = looks.collect();
    let half_hour =
        first_satisfied(Rule::HalfHour, &run.log).unwrap_or(run.log.minutes.last().copied().unwrap_or_default());
    let limit =
        Limit { celsius: run.limit_celsius, words: "drawn".into(), source: "invented".into(), room_celsius: None };
    let verdict = watch_times().take_while(|&minutes| minutes < half_hour).find_map(|minutes| {
        let verdict = judge(&run.until(minutes), Some(&limit), None, &prior).verdict;
        (verdict != Verdict::NotYet).then_some((verdict, minutes))
    });
    let at = verdict.map_or(half_hour, |(_, minutes)| minutes);
    let count = run.log.minutes.partition_point(|&t| t <= half_hour);
    let shown = &run.log.celsius[count.saturating_sub(5)..count];
    Scored {
        looks,
        half_hour_minutes: half_hour,
        verdict,
        margin: run.limit_celsius - run.true_final(at),
        left_by_rule: run.true_final(half_hour) - shown.iter().sum::<f64>() / shown.len().max(1) as f64,
    }
}

/// Runs of a seed.
pub fn many(runs: u64, seed: u64) -> Vec<Scored> {
    (0..runs).into_par_iter().map(|number| watch(&draw(&mut Random::new(seed, number)))).collect()
}

/// Figures over many runs.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    /// Runs.
    pub runs: usize,
    /// Per moment: share inside the interval, share above it, median width, median error and its root mean square.
    pub moments: Vec<[f64; 5]>,
    /// Share of all intervals of all moments that hold the truth.
    pub coverage: f64,
    /// Median over runs of the share of the run that was saved against waiting for the rule.
    pub median_shortening: f64,
    /// Passes, of which false.
    pub passes: (usize, usize),
    /// Fails, of which false.
    pub fails: (usize, usize),
    /// False passes by more than 1 K.
    pub false_by_a_kelvin: usize,
    /// Median of the minutes that the rule needs.
    pub rule_minutes: f64,
    /// 95 % of the runs have less than this still to come when the rule is satisfied, kelvins.
    pub left_by_rule: f64,
}

/// Median of some figures.
fn quantile(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values
        .get(((values.len() as f64 * share) as usize).min(values.len().saturating_sub(1)))
        .copied()
        .unwrap_or(f64::NAN)
}

impl Figures {
    /// Over all runs.
    pub fn of(scored: &[Scored]) -> Self {
        let share = |count: usize, of: usize| count as f64 / of.max(1) as f64;
        let at_moment = |moment: usize| {
            let looks: Vec<&Look> = scored.iter().filter_map(|run| run.looks.get(moment)).collect();
            let inside = looks.iter().filter(|look| look.above_low && look.below_high).count();
            let above = looks.iter().filter(|look| !look.below_high).count();
            [
                share(inside, looks.len()),
                share(above, looks.len()),
                quantile(looks.iter().map(|look| look.width).collect(), 0.5),
                quantile(looks.iter().map(|look| look.error).collect(), 0.5),
                (looks.iter().map(|look| look.error * look.error).sum::<f64>() / looks.len().max(1) as f64).sqrt(),
            ]
        };
        let all: Vec<&Look> = scored.iter().flat_map(|run| &run.looks).collect();
        let given = |verdict: Verdict| -> Vec<&Scored> {
            scored.iter().filter(|run| run.verdict.is_some_and(|(given, _)| given == verdict)).collect()
        };
        let (passes, fails) = (given(Verdict::Pass), given(Verdict::Fail));
        let saved = |run: &Scored| run.verdict.map_or(0.0, |(_, minutes)| 1.0 - minutes / run.half_hour_minutes);
        Figures {
            runs: scored.len(),
            moments: (0..MOMENTS.len()).map(at_moment).collect(),
            coverage: share(all.iter().filter(|look| look.above_low && look.below_high).count(), all.len()),
            median_shortening: quantile(scored.iter().map(saved).collect(), 0.5),
            passes: (passes.len(), passes.iter().filter(|run| run.margin < 0.0).count()),
            fails: (fails.len(), fails.iter().filter(|run| run.margin > 0.0).count()),
            false_by_a_kelvin: passes.iter().filter(|run| run.margin < -1.0).count(),
            rule_minutes: quantile(scored.iter().map(|run| run.half_hour_minutes).collect(), 0.5),
            left_by_rule: quantile(scored.iter().map(|run| run.left_by_rule).collect(), 0.95),
        }
    }
}
