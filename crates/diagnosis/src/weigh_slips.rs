//! Slips weighed: for each that could matter, the suspects' evidence with every figure where it was really taken.
//!
//! ```text
//! p(readings | suspect) = (1 - sum s_i) p(readings as written | suspect) + sum s_i p(readings as meant by slip i | suspect)
//! ```
//!
//! with `s_i` the odds of slip `i`. Most slips matter for nobody: those are told by a bound, by a glance at the suspects that
//! lead and at the sound unit, and by fits of these. What is left is weighed for every single fault, so that a sound unit
//! gains nothing that others would not. Of several faults together only the leaders are weighed with a slip.

use crate::evidence::{Evidence, Outlook};
use crate::fit::Fit;
use crate::log_weights::LogSum;
use crate::screen::{Reach, Sway};
use crate::singles::{Group, estimate, same_looks, weigh_singles};
use crate::slips::{Slip, possible};
use crate::suspects::{Weighed, Work};
use crate::wrong_readings::summed;
use bench::{FaultSet, Measure, Reading};
use rayon::prelude::*;
use std::sync::Arc;

/// Leaders that are looked at with every slip, beside the sound unit.
const LEADERS: usize = 6;
/// A slip with which no suspect comes to within this many nats of all weight together, by a glance, is out.
const GLANCE_DEPTH: f64 = 7.0;
/// The same by a fit: a share of about a hundredth.
const FIT_DEPTH: f64 = 4.5;
/// At most this many fits tell which slips matter.
const MOST_FITS: usize = 24;
/// At most this many slips are weighed with every single fault.
const MOST_WEIGHED: usize = 3;
/// A suspect with this share in one slip is shown as it is with it.
const LEADS: f64 = 0.5;

/// What slips do to a hypothesis.
#[derive(Debug, Clone, Default)]
pub(crate) struct SlipShares {
    /// By how much, nats, they raise its evidence.
    pub(crate) gain: f64,
    /// Its slips, by place in the list, with the share of its weight that each has.
    pub(crate) shares: Vec<(usize, f64)>,
    /// With a slip that has most of it: what each figure should be where it was really taken.
    pub(crate) as_meant: Option<Vec<f64>>,
}

/// A suspect on which slips are tried.
struct Base {
    faults: FaultSet,
    log_odds: f64,
    /// Of those fitted: the weight if values need not be where readings moved them, and what each reading could add if it
    /// fitted as well as can be.
    bound: Option<(f64, Vec<Gain>)>,
}

/// What a reading could add to a suspect's weight.
struct Gain {
    nats: f64,
    /// Whether it is taken for wrong now: it may be right if another one was taken elsewhere.
    is_doubted: bool,
}

/// A suspect with a slip.
struct Slipped {
    faults: FaultSet,
    log_evidence: f64,
    /// With the predictions of where figures are written.
    fit: Option<Fit>,
    as_meant: Vec<f64>,
}

/// Adds to every hypothesis what slips would make of it; answers with the slips that matter.
///
/// `shift` is what draws have taken off hypotheses that were not drawn, nats.
pub(crate) fn weigh_slips(evidence: &Evidence<'_>, weighed: &mut [Weighed], shift: f64, work: &mut Work) -> Vec<Slip> {
    let slips = possible(evidence);
    work.slips = slips.len();
    if slips.is_empty() {
        return Vec::new();
    }
    let total = log_total(weighed);
    let bases = bases(evidence, weighed);
    let mattering = mattering(evidence, slips, &bases, total, shift, work);
    let mut list = Vec::new();
    let mut all: Vec<Vec<Slipped>> = Vec::new();
    for (slip, of_bases) in mattering {
        let slipped = evidence.with_measures(&slip.meant);
        let Some(singles) = singles(evidence, &slipped, &slip, &of_bases, work) else { continue };
        all.push(of_bases.into_iter().chain(singles).collect());
        list.push(slip);
    }
    let none = (1.0 - list.iter().map(Slip::odds).sum::<f64>()).ln();
    for entry in weighed.iter_mut().filter(|_| !list.is_empty()) {
        mix(entry, &list, &all, none, shift);
    }
    list
}

fn log_total(weighed: &[Weighed]) -> f64 {
    let mut total = LogSum::default();
    weighed.iter().for_each(|entry| total.add(entry.log_weight_with_hidden()));
    total.log()
}

/// The sound unit, the leaders, and each fault of a leader by itself.
fn bases(evidence: &Evidence<'_>, weighed: &[Weighed]) -> Vec<Base> {
    let mut order: Vec<&Weighed> = weighed.iter().filter(|entry| entry.fit.is_some()).collect();
    order.sort_by(|a, b| b.log_weight_with_hidden().total_cmp(&a.log_weight_with_hidden()));
    let mut kins = vec![0];
    let mut leaders: Vec<&Weighed> = weighed.iter().filter(|entry| entry.faults.0.is_empty()).collect();
    for entry in order {
        if kins.len() <= LEADERS && !kins.contains(&entry.kin) {
            kins.push(entry.kin);
            leaders.push(entry);
        }
    }
    let alone = |fault: usize| weighed.iter().find(move |entry| entry.faults.0 == [fault]);
    let parts = leaders.iter().filter(|entry| entry.faults.0.len() > 1).flat_map(|entry| entry.faults.0.clone());
    let parts: Vec<&Weighed> = parts.filter_map(alone).filter(|entry| !kins.contains(&entry.kin)).collect();
    let mut seen: Vec<&FaultSet> = Vec::new();
    leaders.extend(parts.into_iter().filter(|entry| {
        let is_new = !seen.contains(&&entry.faults);
        seen.push(&entry.faults);
        is_new
    }));
    leaders.into_iter().map(|entry| Base::new(evidence, entry)).collect()
}

impl Base {
    fn new(evidence: &Evidence<'_>, entry: &Weighed) -> Base {
        let gain = |fit: &Fit, reading: usize| {
            let now = evidence.data[reading].log_likelihood(fit.outlook.predictions[reading].value, 0.0);
            Gain { nats: evidence.data[reading].best() - now.value, is_doubted: now.sound < 0.5 }
        };
        let gains = |fit: &Fit| (0..evidence.data.len()).map(|reading| gain(fit, reading)).collect();
        let log_odds = entry.log_odds + entry.hidden_odds().ln_1p();
        let bound = |fit: &Fit| (log_odds + entry.log_evidence + 0.5 * fit.z.norm_squared(), gains(fit));
        Base { faults: entry.faults.clone(), log_odds, bound: entry.fit.as_ref().map(bound) }
    }

    fn may_reach(&self, slip: &Slip, needed: f64) -> bool {
        self.bound.as_ref().is_none_or(|(weight, gains)| {
            let may_gain = |(reading, gain): &(usize, &Gain)| gain.is_doubted || slip.touched.contains(reading);
            let gained: f64 = gains.iter().enumerate().filter(may_gain).map(|(_, gain)| gain.nats).sum();
            slip.odds().ln() + weight + gained > needed
        })
    }
}

/// What is seen of the bases without any slip.
struct Looks {
    sound: Outlook,
    /// Per base; `None` if it cannot be solved.
    reaches: Vec<Option<Reach>>,
}

impl Looks {
    fn new(evidence: &Evidence<'_>, bases: &[Base]) -> Option<Looks> {
        let medians = vec![0.0; evidence.prior.count()];
        let sound = evidence.outlook(&FaultSet::none(), &medians).ok()?;
        Some(Looks { sound, reaches: bases.par_iter().map(|base| Reach::new(evidence, &base.faults)).collect() })
    }
}

/// About what some of the bases weigh with a slip; `None` if the sound unit shows the same with it as without.
fn glance(
    evidence: &Evidence<'_>,
    slip: &Slip,
    bases: &[Base],
    near: &[usize],
    looks: &Looks,
) -> Option<Vec<(usize, f64)>> {
    let slipped = evidence.with_measures(&slip.meant);
    let sources = sources(evidence, slip);
    let rearranged = |look: &Outlook, sources: &[usize]| Outlook {
        predictions: sources.iter().map(|&source| look.predictions[source].clone()).collect(),
        symptoms: look.symptoms,
    };
    let look = match &sources {
        Some(sources) => rearranged(&looks.sound, sources),
        None => slipped.outlook(&FaultSet::none(), &vec![0.0; evidence.prior.count()]).ok()?,
    };
    if same_looks(&evidence.data, &look, &looks.sound) {
        return None;
    }
    let sway = Sway::new(&slipped.prior, &look);
    let of_base = |&base: &usize| {
        let reach = match &sources {
            Some(sources) => {
                let known = looks.reaches[base].as_ref()?;
                let ends = known.ends.iter().map(|end| rearranged(end, sources)).collect();
                Reach { median: rearranged(&known.median, sources), ends }
            }
            None => Reach::new(&slipped, &bases[base].faults)?,
        };
        let log_evidence = estimate(&slipped, &reach, &sway, &[&reach]);
        Some((base, slip.odds().ln() + bases[base].log_odds + log_evidence))
    };
    Some(near.iter().filter_map(of_base).collect())
}

/// Of each reading, one that was written where its figure was really taken, if there is one of each: then nothing need be
/// solved anew.
fn sources(evidence: &Evidence<'_>, slip: &Slip) -> Option<Vec<usize>> {
    let taken = &evidence.taken;
    let source = |reading: usize| {
        let own = &taken[reading];
        let is_there = |other: &Reading| {
            (other.setup, other.meter) == (own.setup, own.meter) && other.measure.is_of_one_place(slip.meant[reading])
        };
        if is_there(own) { Some(reading) } else { taken.iter().position(is_there) }
    };
    (0..taken.len()).map(source).collect()
}

/// Slips that matter for some base, with all bases fitted with them, those that hold most first.
fn mattering(
    evidence: &Evidence<'_>,
    slips: Vec<Slip>,
    bases: &[Base],
    total: f64,
    shift: f64,
    work: &mut Work,
) -> Vec<(Slip, Vec<Slipped>)> {
    let Some(looks) = Looks::new(evidence, bases) else { return Vec::new() };
    let needed = total - GLANCE_DEPTH;
    let glances: Vec<(usize, usize, f64)> = slips
        .par_iter()
        .enumerate()
        .flat_map_iter(|(place, slip)| {
            let near: Vec<usize> = (0..bases.len()).filter(|&base| bases[base].may_reach(slip, needed)).collect();
            let glanced = if near.is_empty() { None } else { glance(evidence, slip, bases, &near, &looks) };
            glanced.into_iter().flatten().map(move |(base, weight)| (place, base, weight)).collect::<Vec<_>>()
        })
        .collect();
    let mut glances: Vec<(usize, usize, f64)> =
        glances.into_iter().filter(|glance| glance.2 + shift > needed).collect();
    glances.sort_by(|a, b| b.2.total_cmp(&a.2));
    glances.truncate(MOST_FITS);
    work.slip_fits += glances.len();
    let fits: Vec<(usize, f64, Slipped)> = glances
        .into_par_iter()
        .filter_map(|(place, base, _)| {
            let slipped = evidence.with_measures(&slips[place].meant);
            let fit = summed(&slipped, slipped.fit(&bases[base].faults, None).ok()?);
            let weight = slips[place].odds().ln() + bases[base].log_odds + fit.log_evidence + shift;
            Some((place, weight, Slipped::new(evidence, &slips[place], fit)?))
        })
        .collect();
    let mut found: Vec<(f64, usize)> = (0..slips.len())
        .filter_map(|place| {
            let weights = fits.iter().filter(|fit| fit.0 == place).map(|fit| fit.1);
            weights.max_by(f64::total_cmp).map(|weight| (weight, place))
        })
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut everything = LogSum::default();
    everything.add(total);
    found.iter().for_each(|(weight, _)| everything.add(*weight));
    found.retain(|(weight, _)| *weight > everything.log() - FIT_DEPTH);
    found.truncate(MOST_WEIGHED);
    let mut of_slip: Vec<Vec<Slipped>> = slips.iter().map(|_| Vec::new()).collect();
    fits.into_iter().for_each(|(place, _, slipped)| of_slip[place].push(slipped));
    let take = |(_, place): (f64, usize)| (slips[place].clone(), std::mem::take(&mut of_slip[place]));
    found.into_iter().map(take).collect()
}

/// The sound unit and every single fault with a slip, but for those that were fitted before; `None` if the sound unit cannot be
/// solved.
fn singles(
    evidence: &Evidence<'_>,
    slipped: &Evidence<'_>,
    slip: &Slip,
    fitted: &[Slipped],
    work: &mut Work,
) -> Option<Vec<Slipped>> {
    let none = FaultSet::none();
    let medians = vec![0.0; evidence.prior.count()];
    let look = slipped.outlook(&none, &medians).ok()?;
    let sway = Sway::new(&slipped.prior, &look);
    let sound_fit = summed(slipped, slipped.fit(&none, None).ok()?);
    let mut own = Work::default();
    let (groups, quiet) = weigh_singles(slipped, &look, &sway, &sound_fit, &mut own);
    work.slip_fits += 1 + own.single_fits;
    let is_open = |faults: &FaultSet| fitted.iter().all(|known| known.faults != *faults);
    let of_group = |group: &Group| -> Vec<Slipped> {
        let first = group.fit.as_ref().and_then(|fit| Slipped::new(evidence, slip, fit.clone()));
        let named = |&fault: &usize| {
            let faults = FaultSet(vec![fault]);
            let fit = first.as_ref().and_then(|first| first.fit.clone());
            let fit = fit.map(|fit| Fit { faults: faults.clone(), ..fit });
            let as_meant = first.as_ref().map(|first| first.as_meant.clone()).unwrap_or_default();
            Slipped { faults, log_evidence: group.log_evidence, fit, as_meant }
        };
        group.faults.iter().map(named).filter(|slipped| is_open(&slipped.faults)).collect()
    };
    let mut list: Vec<Slipped> = groups.par_iter().chain(&quiet).flat_map_iter(of_group).collect();
    if is_open(&none) {
        list.push(Slipped::new(evidence, slip, sound_fit)?);
    }
    Some(list)
}

impl Slipped {
    /// From a fit with a slip.
    fn new(evidence: &Evidence<'_>, slip: &Slip, fit: Fit) -> Option<Slipped> {
        let as_meant: Vec<f64> = fit.outlook.predictions.iter().map(|prediction| prediction.value).collect();
        let outlook = evidence.outlook(&fit.faults, &fit.deviations).ok()?;
        let as_written = evidence.doubts(&outlook);
        let mut doubt = fit.doubt.clone();
        for &reading in &slip.touched {
            doubt[reading] = doubt[reading].max(as_written[reading]);
        }
        let (faults, log_evidence) = (fit.faults.clone(), fit.log_evidence);
        let fit = Fit { outlook: Arc::new(outlook), doubt, other_tops: Arc::default(), ..fit };
        Some(Slipped { faults, log_evidence, fit: Some(fit), as_meant })
    }
}

/// The evidence of a hypothesis with and without slips.
fn mix(entry: &mut Weighed, slips: &[Slip], all: &[Vec<Slipped>], none: f64, shift: f64) {
    let of_entry = |list: &'_ [Slipped]| list.iter().position(|slipped| slipped.faults == entry.faults);
    let with: Vec<(usize, &Slipped, f64)> = (slips.iter().zip(all).enumerate())
        .filter_map(|(place, (slip, list))| {
            let slipped = &list[of_entry(list)?];
            Some((place, slipped, slip.odds().ln() + slipped.log_evidence + shift))
        })
        .collect();
    let mut sum = LogSum::default();
    sum.add(none + entry.log_evidence);
    with.iter().for_each(|(_, _, weight)| sum.add(*weight));
    let share = |weight: f64| (weight - sum.log()).exp();
    let shares: Vec<(usize, f64)> = with.iter().map(|&(place, _, weight)| (place, share(weight))).collect();
    let leading = with.iter().find(|(_, _, weight)| share(*weight) > LEADS).map(|(_, slipped, _)| *slipped);
    let mut doubt: Option<Vec<f64>> = entry.fit.as_ref().map(|fit| {
        let left = share(none + entry.log_evidence);
        fit.doubt.iter().map(|doubt| left * doubt).collect()
    });
    if let Some(doubt) = &mut doubt {
        for (_, slipped, weight) in &with {
            // One that was not fitted is taken to doubt what it was.
            let Some(own) = slipped.fit.as_ref().or(entry.fit.as_ref()) else { continue };
            doubt.iter_mut().zip(&own.doubt).for_each(|(sum, own)| *sum += share(*weight) * own);
        }
    }
    let gain = sum.log() - entry.log_evidence;
    let as_meant = leading.filter(|slipped| slipped.fit.is_some()).map(|slipped| slipped.as_meant.clone());
    let fit = leading.and_then(|slipped| slipped.fit.clone()).or_else(|| entry.fit.take());
    entry.fit = fit.map(|fit| Fit { doubt: doubt.unwrap_or_else(|| fit.doubt.clone()), ..fit });
    entry.log_evidence = sum.log();
    entry.slips = SlipShares { gain, shares, as_meant };
}

impl<'j> Evidence<'j> {
    /// The same with each figure taken elsewhere than it is written, in the same setup.
    fn with_measures(&self, measures: &[Measure]) -> Evidence<'j> {
        let mut other = self.clone();
        other.taken.iter_mut().zip(measures).for_each(|(taken, &measure)| taken.measure = measure);
        other
    }
}
