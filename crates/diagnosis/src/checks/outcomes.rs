//! What a check may show, and which suspects each outcome would leave.
//!
//! What may be shown is cut into ranges that do not overlap, so that whatever is read belongs to one outcome: where nothing is
//! expected between two bundles of suspects, and where another repair becomes the likeliest.

use super::forecast::Players;
use super::{Outcome, Shown};
use crate::information::Forecast;
use crate::reading_model::normal_tail;
use std::collections::BTreeMap;

/// Standard deviations over the value from which on a value reaches by factors, up to where it may as well be nothing.
const WIDE: f64 = 0.3;
const WIDEST: f64 = 3.0;
/// Cells that a stretch is looked at in, beside those about each suspect's value.
const CELLS: usize = 200;
/// A range of less than this share is no outcome of its own beside another.
const SLIVER: f64 = 1e-4;

/// A range of what may be shown, with the probability of each forecast in it.
struct Range {
    low: f64,
    high: f64,
    class: usize,
    masses: Vec<f64>,
}

impl Range {
    fn mass(&self) -> f64 {
        self.masses.iter().sum()
    }

    fn join(&mut self, other: &Range) {
        if other.mass() > self.mass() {
            self.class = other.class;
        }
        (self.low, self.high) = (self.low.min(other.low), self.high.max(other.high));
        self.masses.iter_mut().zip(&other.masses).for_each(|(mass, more)| *mass += more);
    }
}

/// The outcomes of a reading; no value above `greatest` is shown, unless a suspect says so.
pub(super) fn of_reading(told: &[(usize, Forecast)], players: &Players<'_>, greatest: f64) -> Vec<Outcome> {
    let forecasts: Vec<Forecast> = told.iter().map(|&(_, forecast)| forecast).collect();
    let total: f64 = forecasts.iter().map(|forecast| forecast.weight).sum();
    let of = |shown: Shown, masses: &[f64]| {
        let mut weights = vec![0.0; players.all.len()];
        told.iter().zip(masses).for_each(|((player, _), mass)| weights[*player] += mass);
        outcome(shown, masses.iter().sum::<f64>() / total, &weights, players)
    };
    let mut outcomes: Vec<Outcome> = ranges(&forecasts, greatest)
        .iter()
        .map(|range| {
            let heaviest =
                (0..forecasts.len()).max_by(|&a, &b| range.masses[a].total_cmp(&range.masses[b])).unwrap_or(0);
            let middle = forecasts[heaviest].mean.clamp(range.low, range.high);
            of(Shown::Number { middle, low: range.low, high: range.high }, &range.masses)
        })
        .collect();
    let open: Vec<f64> =
        forecasts.iter().map(|forecast| if forecast.mean.is_finite() { 0.0 } else { forecast.weight }).collect();
    if open.iter().any(|&weight| weight > 0.0) {
        outcomes.push(of(Shown::Open, &open));
    }
    outcomes
}

/// Ranges of numbers, lowest first.
fn ranges(forecasts: &[Forecast], greatest: f64) -> Vec<Range> {
    let reach = |forecast: &Forecast| {
        let (low, high) = within(forecast);
        (low.max(0.0), high.min(greatest.max(forecast.mean)).max(low.max(0.0)))
    };
    let finite: Vec<&Forecast> = forecasts.iter().filter(|forecast| forecast.mean.is_finite()).collect();
    let mut stretches: Vec<(f64, f64)> = finite.iter().map(|forecast| reach(forecast)).collect();
    stretches.sort_by(|a, b| a.0.total_cmp(&b.0));
    stretches.dedup_by(|next, last| {
        let joins = next.0 <= last.1;
        if joins {
            last.1 = last.1.max(next.1);
        }
        joins
    });
    let mut all = Vec::new();
    for (number, &(low, high)) in stretches.iter().enumerate() {
        // What lies between two stretches goes to the nearer one.
        let from = if number == 0 { f64::NEG_INFINITY } else { 0.5 * (stretches[number - 1].1 + low) };
        let to = stretches.get(number + 1).map_or(f64::INFINITY, |next| 0.5 * (high + next.0));
        let mut ends = ends(&finite, low, high);
        let last = ends.len() - 1;
        let shown = ends.clone();
        (ends[0], ends[last]) = (from, to);
        let cells = (0..last).map(|at| cell(forecasts, (shown[at], shown[at + 1]), (ends[at], ends[at + 1])));
        all.extend(joined(cells.collect()));
    }
    all
}

/// Ends of the cells of a stretch: even ones, by factors where it spans more than a few, and some about each value.
fn ends(finite: &[&Forecast], low: f64, high: f64) -> Vec<f64> {
    let share = |at: usize| at as f64 / CELLS as f64;
    let by_factors = low > 0.0 && high > 20.0 * low;
    let even = |at: usize| if by_factors { low * (high / low).powf(share(at)) } else { low + (high - low) * share(at) };
    let mut ends: Vec<f64> = (1..CELLS).map(even).collect();
    for forecast in finite {
        ends.extend((-8..=8).map(|step| forecast.mean + 0.25 * f64::from(step) * forecast.sigma));
    }
    ends.retain(|&end| end > low && end < high);
    ends.extend([low, high]);
    ends.sort_by(f64::total_cmp);
    ends
}

/// A cell: what each forecast has between two ends, and the repair that leads there.
fn cell(forecasts: &[Forecast], (low, high): (f64, f64), (from, to): (f64, f64)) -> Range {
    let below = |forecast: &Forecast, value: f64| match value {
        _ if value == f64::NEG_INFINITY => 0.0,
        _ if value == f64::INFINITY => 1.0,
        _ if is_by_factors(forecast) => {
            1.0 - normal_tail((value / forecast.mean).ln() * forecast.mean / forecast.sigma)
        }
        _ => 1.0 - normal_tail((value - forecast.mean) / forecast.sigma.max(f64::MIN_POSITIVE)),
    };
    let masses: Vec<f64> = forecasts
        .iter()
        .map(|forecast| match forecast.mean.is_finite() {
            true => forecast.weight * (below(forecast, to) - below(forecast, from)).max(0.0),
            false => 0.0,
        })
        .collect();
    let mut by_class: BTreeMap<usize, f64> = BTreeMap::new();
    for (forecast, mass) in forecasts.iter().zip(&masses) {
        *by_class.entry(forecast.class).or_default() += mass;
    }
    let class = by_class.into_iter().max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0, |(class, _)| class);
    Range { low, high, class, masses }
}

/// Neighbouring cells with one leader as one range; what slivers hold is counted with the larger of their neighbours.
fn joined(cells: Vec<Range>) -> Vec<Range> {
    let mut ranges: Vec<Range> = Vec::new();
    for cell in cells {
        match ranges.last_mut() {
            Some(last) if last.class == cell.class => last.join(&cell),
            _ => ranges.push(cell),
        }
    }
    let total: f64 = ranges.iter().map(Range::mass).sum();
    while ranges.len() > 1 {
        let smallest = (0..ranges.len()).min_by(|&a, &b| ranges[a].mass().total_cmp(&ranges[b].mass())).unwrap_or(0);
        if ranges[smallest].mass() >= SLIVER * total {
            break;
        }
        let sliver = ranges.remove(smallest);
        let (before, after) = (smallest.checked_sub(1), (smallest < ranges.len()).then_some(smallest));
        let larger =
            [before, after].into_iter().flatten().max_by(|&a, &b| ranges[a].mass().total_cmp(&ranges[b].mass()));
        if let Some(larger) = larger {
            // Its probability is counted, but what reaches no further is not said to.
            ranges[larger].masses.iter_mut().zip(&sliver.masses).for_each(|(mass, more)| *mass += more);
        }
    }
    // What the slivers kept apart.
    ranges.into_iter().fold(Vec::new(), |mut kept: Vec<Range>, range| {
        match kept.last_mut() {
            Some(last) if last.class == range.class => last.join(&range),
            _ => kept.push(range),
        }
        kept
    })
}

/// Whether a value reaches by factors: its spread is large beside it.
fn is_by_factors(forecast: &Forecast) -> bool {
    forecast.mean > 0.0 && (WIDE..WIDEST).contains(&(forecast.sigma / forecast.mean))
}

/// Where two standard deviations reach; by factors where they are large beside the value.
pub(crate) fn within(forecast: &Forecast) -> (f64, f64) {
    let Forecast { mean, sigma, .. } = *forecast;
    if is_by_factors(forecast) {
        let factor = (2.0 * sigma / mean).exp();
        return (mean / factor, mean * factor);
    }
    (mean - 2.0 * sigma, mean + 2.0 * sigma)
}

/// The two answers to a question, given each suspect's probability of yes.
pub(super) fn of_question(chances: &[f64], players: &Players<'_>) -> Vec<Outcome> {
    [true, false]
        .map(|answer| {
            let weights: Vec<f64> = players
                .all
                .iter()
                .zip(chances)
                .map(|(player, chance)| player.weight * if answer { *chance } else { 1.0 - chance })
                .collect();
            let probability = weights.iter().sum::<f64>() / players.total;
            outcome(Shown::Answer(answer), probability, &weights, players)
        })
        .into()
}

fn outcome(shown: Shown, probability: f64, weights: &[f64], players: &Players<'_>) -> Outcome {
    let sum: f64 = weights.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    // A suspect stands there with and without what hides behind it.
    let mut by_suspect: BTreeMap<usize, f64> = BTreeMap::new();
    for (player, weight) in players.all.iter().zip(weights) {
        *by_suspect.entry(player.index).or_default() += weight / sum;
    }
    let mut leaves: Vec<(usize, f64)> = by_suspect.into_iter().filter(|&(_, p)| p >= 0.01).collect();
    leaves.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut repairs = vec![0.0; players.classes.len()];
    for (player, weight) in players.all.iter().zip(weights) {
        repairs[player.class] += weight / sum;
    }
    let best = (0..repairs.len()).max_by(|&a, &b| repairs[a].total_cmp(&repairs[b])).unwrap_or(0);
    let repair = (players.classes.get(best).cloned().unwrap_or_default(), repairs.get(best).copied().unwrap_or(0.0));
    Outcome { shown, probability, leaves, repair }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn says(weight: f64, class: usize, mean: f64, sigma: f64) -> Forecast {
        Forecast { weight, class, mean, sigma }
    }

    #[test]
    fn ranges_do_not_overlap_and_hold_everything() {
        let told = [
            says(0.5, 0, 48.2, 1.35),
            says(0.3, 1, 53.2, 7.6),
            says(0.15, 2, 2000.0, 1500.0),
            says(0.05, 1, f64::INFINITY, 0.0),
        ];
        let ranges = ranges(&told, f64::INFINITY);
        assert!(ranges.windows(2).all(|pair| pair[0].high <= pair[1].low), "overlap");
        let mass: f64 = ranges.iter().map(Range::mass).sum();
        assert!((mass - 0.95).abs() < 1e-6, "{mass}");
        // A narrow forecast within a wide one: the wide one leads on both sides of it.
        assert_eq!(ranges.iter().map(|range| range.class).collect::<Vec<_>>(), [1, 0, 1, 2]);
    }

    #[test]
    fn what_hardly_anything_shows_widens_no_range() {
        // A hundred-thousandth of the weight lies far above: read there, nothing is said of the leader.
        let ranges = ranges(&[says(1.0, 0, 10.0, 1.0), says(1e-5, 1, 16.0, 3.0)], f64::INFINITY);
        assert_eq!(ranges.len(), 1);
        assert!(ranges[0].high < 16.0 && (ranges[0].mass() - 1.00001).abs() < 1e-6, "{}", ranges[0].high);
    }

    #[test]
    fn the_cut_is_where_two_densities_are_the_same() {
        // Equal weights, equal spreads: half way, 12. With weights 3 to 1 it moves by s^2 ln 3 / d = 1.0986 / 4 (by hand).
        for (weights, cut) in [([0.5, 0.5], 12.0), ([0.75, 0.25], 12.0 + 3f64.ln() / 4.0)] {
            let ranges = ranges(&[says(weights[0], 0, 10.0, 1.0), says(weights[1], 1, 14.0, 1.0)], f64::INFINITY);
            assert_eq!(ranges.len(), 2);
            assert!((ranges[0].high - cut).abs() < 0.05 && ranges[0].high == ranges[1].low, "{}", ranges[0].high);
        }
    }

    #[test]
    fn nothing_turns_faster_than_its_field() {
        let ranges = ranges(&[says(1.0, 0, 1480.0, 30.0)], 1500.0);
        assert_eq!(ranges[0].high, 1500.0);
        // A suspect with fewer poles may.
        let ranges = self::ranges(&[says(1.0, 0, 2900.0, 30.0)], 1500.0);
        assert_eq!(ranges[0].high, 2900.0);
    }
}
