//! From what every suspect says of every check to a problem of worlds, tests and prices.

use super::MOST_EXACT;
use super::tree::Range;
use crate::checks::cost;
use crate::checks::outcomes::within;
use crate::checks::survey::{Candidate, Survey, Told};
use crate::checks::{Action, Check, Hazard, WORTH_DOING_BITS};
use crate::information::Forecast;
use crate::reading_model::normal_tail;
use crate::repairs::SETTLED;
use crate::sequencing::{Price, Problem, State, Test};
use crate::suspects::Diagnosis;
use bench::Setup;

/// Suspects below this share are left out of a plan.
const LIVE: f64 = 0.005;
/// An outcome that a suspect shows less often than this is left out for it.
const REMOTE: f64 = 0.1;
/// Checks in play, at most.
const MOST_TESTS: usize = 40;

/// The problem, and what its numbers stand for.
pub(super) struct Worlds {
    pub(super) problem: Problem,
    /// The suspects of each world, by index in the diagnosis, with their shares of its weight.
    pub(super) suspects: Vec<Vec<(usize, f64)>>,
    /// Repairs of the classes.
    pub(super) classes: Vec<String>,
    /// Single repairs, by the bits of the classes' needs.
    pub(super) singles: Vec<String>,
    /// The check of each test.
    pub(super) checks: Vec<Check>,
    /// For each test what suspects show, with the cell.
    pub(super) ranges: Vec<Vec<(usize, usize, Range)>>,
    pub(super) arrangements: Vec<Setup>,
    /// Number of the arrangement used last, and housings open, bits.
    pub(super) last: usize,
    pub(super) open: u64,
    /// Whether the unit is warm now.
    pub(super) is_warm: bool,
    pub(super) left_out: f64,
}

/// What the players show in one check: for each the cells with their probabilities; and the ranges in the cells.
struct Sorted {
    cells: Vec<Vec<(usize, f64)>>,
    ranges: Vec<(usize, usize, Range)>,
}

/// A check in play with what players show in it.
type Kept<'c> = (&'c Candidate, Vec<(usize, usize, Range)>);

/// A world on its way: a player, its share, the cell in every check so far.
#[derive(Clone)]
struct World {
    player: usize,
    weight: f64,
    cells: Vec<usize>,
}

impl Worlds {
    pub(super) fn new(diagnosis: &Diagnosis<'_>, survey: &Survey<'_>) -> Option<Self> {
        let job = diagnosis.evidence.job;
        let players = &survey.players;
        let live: Vec<usize> =
            (0..players.all.len()).filter(|&player| players.all[player].weight >= LIVE * players.total).collect();
        let total: f64 = live.iter().map(|&player| players.all[player].weight).sum();
        if live.is_empty() {
            return None;
        }
        let mut candidates: Vec<&Candidate> = survey.candidates.iter().filter(|entry| may_be_planned(entry)).collect();
        let rate = |entry: &Candidate| entry.check.bits / entry.check.weighted_minutes();
        candidates.sort_by(|a, b| rate(b).total_cmp(&rate(a)));
        let mut worlds: Vec<World> = live
            .iter()
            .map(|&player| World { player, weight: players.all[player].weight / total, cells: Vec::new() })
            .collect();
        let mut kept: Vec<Kept<'_>> = Vec::new();
        for candidate in candidates {
            let Some(mut sorted) = sorted(&candidate.told, &live) else { continue };
            assign(&mut worlds, &mut sorted, &live);
            kept.push((candidate, sorted.ranges));
        }
        let class = |player: usize| players.all[player].class;
        let chosen = choose(&kept, &worlds, &class);
        let worlds = grouped(&worlds, &chosen, &class);
        let last = cost::last_used(job);
        let mut arrangements = vec![last];
        let mut tests = Vec::new();
        for (number, &at) in chosen.iter().enumerate() {
            let (candidate, _) = &kept[at];
            let check = &candidate.check;
            let arrangement =
                arrangements.iter().position(|known| cost::is_same(known, &check.setup)).unwrap_or_else(|| {
                    arrangements.push(check.setup.clone());
                    arrangements.len() - 1
                });
            let own = Price { minutes: check.cost.own, weighted: check.cost.own * check.hazard.weight() };
            tests.push(Test {
                cells: worlds.iter().map(|world| world.cells[number]).collect(),
                own,
                arrangement,
                housings: candidate.ahead.iter().fold(0, |set, &housing| set | 1 << housing),
                is_isolated: check.hazard == Hazard::Isolated,
                cooling: Price { minutes: candidate.cooling, weighted: cost::WAITING * candidate.cooling },
                warms: survey.warmth.warms(&check.setup),
            });
        }
        let prices = |way: fn(&Setup, &Setup) -> (f64, f64)| {
            let price = |from: &Setup, to: &Setup| {
                let (off, live) = way(from, to);
                Price { minutes: off + live, weighted: off + live * hazard(to).weight() }
            };
            arrangements.iter().map(|from| arrangements.iter().map(|to| price(from, to)).collect()).collect()
        };
        let needs = Needs::of(&players.classes);
        let problem = Problem {
            weights: worlds.iter().map(|world| world.weight).collect(),
            classes: worlds.iter().map(|world| world.class).collect(),
            needs: needs.bits,
            tests,
            change: prices(cost::change),
            change_opening: prices(cost::change_opening),
            housings: job.housings.iter().map(|housing| housing.minutes).collect(),
            settled: SETTLED,
            // What is too small to be a world counts for the verdict, which alone says whether all is found.
            is_open: diagnosis.settled().is_none(),
            worth_bits: WORTH_DOING_BITS,
        };
        let suspect = |&(player, share): &(usize, f64)| (players.all[player].index, share);
        Some(Worlds {
            problem,
            suspects: worlds.iter().map(|world| world.members.iter().map(suspect).collect()).collect(),
            classes: players.classes.clone(),
            singles: needs.names,
            checks: chosen.iter().map(|&at| kept[at].0.check.clone()).collect(),
            ranges: chosen
                .iter()
                .map(|&at| kept[at].1.iter().map(|&(p, cell, range)| (players.all[p].index, cell, range)).collect())
                .collect(),
            arrangements,
            last: 0,
            open: job.housings.iter().enumerate().filter(|(_, h)| h.is_open).fold(0, |set, (at, _)| set | 1 << at),
            is_warm: survey.warmth.is_warm,
            left_out: (1.0 - total).max(0.0),
        })
    }
}

impl Worlds {
    /// Where the search begins.
    pub(super) fn start(&self) -> State {
        State { is_warm: self.is_warm, ..self.problem.start(self.open, self.last) }
    }
}

/// What is not refused. Exchanged parts make another unit, of which the checks that follow would have to be worked out anew.
fn may_be_planned(candidate: &Candidate) -> bool {
    !candidate.is_refused && !matches!(candidate.check.action, Action::Swap(..))
}

/// The single repairs of whole ones.
struct Needs {
    names: Vec<String>,
    bits: Vec<u64>,
}

impl Needs {
    fn of(classes: &[String]) -> Self {
        let mut needs = Needs { names: Vec::new(), bits: Vec::new() };
        for class in classes {
            let mut bits = 0;
            for single in class.split("; ") {
                let known = needs.names.iter().position(|name| name == single).unwrap_or_else(|| {
                    needs.names.push(single.to_owned());
                    needs.names.len() - 1
                });
                // More than 64 do not happen with 20 suspects of two faults each.
                bits |= 1u64.checked_shl(known as u32).unwrap_or(0);
            }
            needs.bits.push(bits);
        }
        needs
    }
}

fn hazard(setup: &Setup) -> Hazard {
    match (setup.energised, setup.pushed.is_empty()) {
        (false, _) => Hazard::Isolated,
        (true, true) => Hazard::Energised,
        (true, false) => Hazard::EnergisedMoving,
    }
}

/// What live players show, in cells; `None` if one of them says nothing.
fn sorted(told: &Told, live: &[usize]) -> Option<Sorted> {
    match told {
        Told::Chances(chances) => {
            let both = |chance: f64| [(1, chance), (0, 1.0 - chance)];
            let cells = live.iter().map(|&player| likely(both(chances[player]).to_vec())).collect::<Vec<_>>();
            let ranges = live.iter().zip(&cells).flat_map(|(&player, cells)| {
                cells.iter().map(move |&(cell, _)| (player, cell, Range::Answer(cell == 1)))
            });
            Some(Sorted { ranges: ranges.collect(), cells })
        }
        Told::Values(told) => {
            let says = |player: &usize| told.iter().any(|(other, _)| other == player);
            live.iter().all(says).then(|| by_value(told, live))
        }
    }
}

/// Outcomes that are not remote, their probabilities made one.
fn likely(mut cells: Vec<(usize, f64)>) -> Vec<(usize, f64)> {
    let total: f64 = cells.iter().map(|(_, chance)| chance).sum();
    let best = cells.iter().map(|(_, chance)| *chance).fold(0.0, f64::max);
    cells.retain(|(_, chance)| *chance >= REMOTE * total || *chance == best);
    let kept: f64 = cells.iter().map(|(_, chance)| chance).sum();
    cells.iter_mut().for_each(|(_, chance)| *chance /= kept.max(f64::MIN_POSITIVE));
    cells
}

/// Cells of values: ranges of two standard deviations that overlap are one cell, narrow ones first; a wide range that
/// reaches over several is shared out among them.
fn by_value(told: &[(usize, Forecast)], live: &[usize]) -> Sorted {
    let told: Vec<&(usize, Forecast)> = told.iter().filter(|(player, _)| live.contains(player)).collect();
    let mut finite: Vec<&(usize, Forecast)> = told.iter().copied().filter(|(_, f)| f.mean.is_finite()).collect();
    finite.sort_by(|(_, a), (_, b)| a.sigma.total_cmp(&b.sigma));
    let mut clusters: Vec<(f64, f64)> = Vec::new();
    let overlapped = |clusters: &[(f64, f64)], (low, high): (f64, f64)| -> Vec<usize> {
        (0..clusters.len()).filter(|&at| clusters[at].0 <= high && low <= clusters[at].1).collect()
    };
    for (_, forecast) in &finite {
        let (low, high) = within(forecast);
        match overlapped(&clusters, (low, high))[..] {
            [] => clusters.push((low, high)),
            [at] => clusters[at] = (clusters[at].0.min(low), clusters[at].1.max(high)),
            _ => {}
        }
    }
    // Clusters that have grown into each other are one.
    clusters.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut joined: Vec<(f64, f64)> = Vec::new();
    for (low, high) in clusters {
        match joined.last_mut() {
            Some(last) if low <= last.1 => last.1 = last.1.max(high),
            _ => joined.push((low, high)),
        }
    }
    let open = joined.len();
    let border = |at: usize| 0.5 * (joined[at].1 + joined[at + 1].0);
    let mut cells: Vec<Vec<(usize, f64)>> = vec![Vec::new(); live.len()];
    let mut ranges = Vec::new();
    for (player, forecast) in told {
        let Some(place) = live.iter().position(|other| other == player) else { continue };
        if !forecast.mean.is_finite() {
            cells[place].push((open, forecast.weight));
            ranges.push((*player, open, Range::Open));
            continue;
        }
        let (low, high) = within(forecast);
        let below = |value: f64| 1.0 - normal_tail((value - forecast.mean) / forecast.sigma.max(f64::MIN_POSITIVE));
        for at in overlapped(&joined, (low, high)) {
            let from = if at == 0 { 0.0 } else { below(border(at - 1)) };
            let to = if at + 1 == joined.len() { 1.0 } else { below(border(at)) };
            let (low, high) = (low.max(joined[at].0).max(0.0), high.min(joined[at].1));
            cells[place].push((at, forecast.weight * (to - from).max(0.0)));
            ranges.push((*player, at, Range::Number { middle: forecast.mean.max(low).min(high), low, high }));
        }
    }
    let cells: Vec<Vec<(usize, f64)>> = cells.into_iter().map(likely).collect();
    // Ranges of remote outcomes are left out.
    ranges.retain(|(player, cell, _)| {
        let place = live.iter().position(|other| other == player);
        place.is_some_and(|place| cells[place].iter().any(|(other, _)| other == cell))
    });
    Sorted { cells, ranges }
}

impl Sorted {
    /// Makes several cells one.
    fn join(&mut self, own: &[usize]) {
        let joined = |cell: usize| if own.contains(&cell) { own[0] } else { cell };
        for cells in &mut self.cells {
            let mut sums: Vec<(usize, f64)> = Vec::new();
            for &(cell, chance) in cells.iter() {
                match sums.iter_mut().find(|(other, _)| *other == joined(cell)) {
                    Some((_, sum)) => *sum += chance,
                    None => sums.push((joined(cell), chance)),
                }
            }
            *cells = sums;
        }
        self.ranges.iter_mut().for_each(|(_, cell, _)| *cell = joined(*cell));
    }
}

/// Puts every world into its cell; a world that may show several is split, or the cells become one where there would be too
/// many worlds.
fn assign(worlds: &mut Vec<World>, sorted: &mut Sorted, live: &[usize]) {
    let mut count = worlds.len();
    for (place, &player) in live.iter().enumerate() {
        let own: Vec<usize> = sorted.cells[place].iter().map(|&(cell, _)| cell).collect();
        let more = (own.len().max(1) - 1) * worlds.iter().filter(|world| world.player == player).count();
        if more > 0 && count + more > MOST_EXACT {
            sorted.join(&own);
        } else {
            count += more;
        }
    }
    let split = |world: World| {
        let place = live.iter().position(|&player| player == world.player).unwrap_or(0);
        let into = |&(cell, chance): &(usize, f64)| {
            let cells = world.cells.iter().copied().chain([cell]).collect();
            World { player: world.player, weight: world.weight * chance, cells }
        };
        sorted.cells[place].iter().map(into).collect::<Vec<_>>()
    };
    *worlds = worlds.drain(..).flat_map(split).collect();
}

/// Checks worth having in play, best first: of those that sort the worlds alike in one arrangement behind the same housings
/// the best; first those that tell two repairs apart that no better one does.
fn choose(kept: &[Kept<'_>], worlds: &[World], class: &dyn Fn(usize) -> usize) -> Vec<usize> {
    let cells = |at: usize| worlds.iter().map(|world| world.cells[at]).collect::<Vec<usize>>();
    // The same sorting whatever its cells are called.
    let pattern = |at: usize| {
        let cells = cells(at);
        cells.iter().map(|cell| cells.iter().position(|other| other == cell).unwrap_or(0)).collect::<Vec<usize>>()
    };
    let mut useful: Vec<(usize, Vec<usize>)> = Vec::new();
    for at in 0..kept.len() {
        let sorting = pattern(at);
        let is_same = |&(other, ref known): &(usize, Vec<usize>)| {
            let (a, b) = (kept[other].0, kept[at].0);
            *known == sorting && a.ahead == b.ahead && cost::is_same(&a.check.setup, &b.check.setup)
        };
        if sorting.iter().any(|&first| first > 0) && !useful.iter().any(is_same) {
            useful.push((at, sorting));
        }
    }
    let mut told: Vec<(usize, usize)> = Vec::new();
    let (mut first, mut others) = (Vec::new(), Vec::new());
    for (at, sorting) in useful {
        let before = told.len();
        for a in 0..worlds.len() {
            for b in 0..a {
                let differ = sorting[a] != sorting[b] && class(worlds[a].player) != class(worlds[b].player);
                if differ && !told.contains(&(a, b)) {
                    told.push((a, b));
                }
            }
        }
        if told.len() > before { first.push(at) } else { others.push(at) }
    }
    first.extend(others);
    first.truncate(MOST_TESTS);
    first
}

/// Worlds that the chosen checks sort alike and that ask for one repair.
struct Grouped {
    members: Vec<(usize, f64)>,
    weight: f64,
    class: usize,
    cells: Vec<usize>,
}

fn grouped(worlds: &[World], chosen: &[usize], class: &dyn Fn(usize) -> usize) -> Vec<Grouped> {
    let mut groups: Vec<Grouped> = Vec::new();
    for world in worlds {
        let cells: Vec<usize> = chosen.iter().map(|&at| world.cells[at]).collect();
        let class = class(world.player);
        let entry = (world.player, world.weight);
        match groups.iter_mut().find(|group| group.class == class && group.cells == cells) {
            Some(group) => {
                group.weight += world.weight;
                group.members.push(entry);
            }
            None => groups.push(Grouped { members: vec![entry], weight: world.weight, class, cells }),
        }
    }
    for group in &mut groups {
        group.members.iter_mut().for_each(|(_, weight)| *weight /= group.weight.max(f64::MIN_POSITIVE));
    }
    groups
}
