//! What is warm on the bench, and how long it takes to cool where ohms need it.
//!
//! After work in a live setup the windings are as warm as the job says of that setup, of the warmest one where there are
//! several. Ohms through copper in a setup that is colder wait until the copper is; ohms of anything else do not. A setup
//! that says how warm the windings are by then needs no wait.

use bench::heat::cooling::{COLD_WITHIN_KELVIN, seconds_of_cooling};
use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Measure, Setup, TerminalId, observe_values};

/// Ohms that change by more than this share from cold to warm follow heat: what the model is allowed to be off by.
const FOLLOWS_HEAT: f64 = 0.02;
/// Minutes until a coil cools whose heat is not modelled: a relay, a valve (engineering judgement).
const SMALL_COIL_MINUTES: f64 = 20.0;

/// How warm windings get, and how long they take to cool.
#[derive(Debug, Clone)]
pub(crate) struct Warmth {
    /// Temperature of the windings in the warmest live setup; `None` if none is warm.
    warmest: Option<f64>,
    /// Whether the windings are warm now.
    pub(crate) is_warm: bool,
    /// By temperature of a cold setup, minutes that the windings of each part take to it.
    minutes: Vec<(f64, Vec<Option<f64>>)>,
}

impl Warmth {
    pub(crate) fn of(job: &Job) -> Self {
        let off = job.setups.iter().filter(|setup| !setup.energised).map(|setup| setup.winding_celsius);
        let mut temperatures: Vec<f64> = off.chain([Setup::unplugged("").winding_celsius]).collect();
        temperatures.sort_by(f64::total_cmp);
        temperatures.dedup();
        let live = job.setups.iter().filter(|setup| setup.energised).map(|setup| setup.winding_celsius);
        let warmest = live.max_by(f64::total_cmp).filter(|warmest| *warmest > temperatures[0] + COLD_WITHIN_KELVIN);
        let minutes = |cold: f64, warmest: f64| {
            seconds_of_cooling(&job.unit, warmest, cold).into_iter().map(|part| part.map(|part| part / 60.0)).collect()
        };
        let minutes = warmest
            .map_or(Vec::new(), |warmest| temperatures.iter().map(|&cold| (cold, minutes(cold, warmest))).collect());
        let mut warmth = Warmth { warmest, is_warm: false, minutes };
        warmth.is_warm = warmth.is_left_warm(job);
        warmth
    }

    /// Whether the last live reading was in a warm setup, and nothing has been read cold since.
    fn is_left_warm(&self, job: &Job) -> bool {
        for reading in job.readings.iter().rev() {
            let setup = &job.setups[reading.setup];
            if setup.energised {
                return self.warms(setup);
            }
            if self.waits(job, setup, &[reading.measure])[0] > 0.0 {
                return false;
            }
        }
        false
    }

    /// Whether work in a setup leaves the windings warm.
    pub(crate) fn warms(&self, setup: &Setup) -> bool {
        let coldest = self.minutes.first().map_or(f64::INFINITY, |entry| entry.0);
        setup.energised && setup.winding_celsius > coldest + COLD_WITHIN_KELVIN
    }

    /// Minutes that each reading in a setup would wait if the windings were warm.
    pub(crate) fn waits(&self, job: &Job, setup: &Setup, measures: &[Measure]) -> Vec<f64> {
        let none = vec![0.0; measures.len()];
        let Some(warmest) = self.warmest else { return none };
        if setup.energised || warmest <= setup.winding_celsius + COLD_WITHIN_KELVIN {
            return none;
        }
        let warm = Setup { winding_celsius: warmest, ..setup.clone() };
        let (Some(cold), Some(hot)) = (sound(job, setup, measures), sound(job, &warm, measures)) else { return none };
        let wait = |((measure, cold), hot): ((&Measure, &Option<f64>), &Option<f64>)| match (measure, cold, hot) {
            (&Measure::Ohms(a, b), Some(cold), Some(hot)) if (hot / cold - 1.0).abs() > FOLLOWS_HEAT => {
                self.cooling(job, setup, [a, b])
            }
            _ => 0.0,
        };
        measures.iter().zip(&cold).zip(&hot).map(wait).collect()
    }

    /// Minutes until the parts at two terminals are cold, or, where none of them has windings, all parts.
    fn cooling(&self, job: &Job, setup: &Setup, ends: [TerminalId; 2]) -> f64 {
        let Some((_, minutes)) = self.minutes.iter().find(|entry| entry.0 == setup.winding_celsius) else { return 0.0 };
        let longest = |parts: &mut dyn Iterator<Item = Option<f64>>| parts.flatten().max_by(f64::total_cmp);
        let there = longest(&mut ends.iter().map(|&end| minutes[job.unit.part_of(end)]));
        there.or_else(|| longest(&mut minutes.iter().copied())).unwrap_or(SMALL_COIL_MINUTES)
    }
}

/// What a sound unit shows; `None` if it cannot be solved, and for a reading without a finite value.
fn sound(job: &Job, setup: &Setup, measures: &[Measure]) -> Option<Vec<Option<f64>>> {
    let none = FaultSet::none();
    let medians = vec![0.0; unknown_count(&job.unit, &none)];
    let look = |observed: &mut bench::Observed<'_>| {
        let value = |&measure: &Measure| observed.value(measure, job.meter_for(measure)).ok();
        measures.iter().map(|measure| value(measure).filter(|value| value.is_finite())).collect()
    };
    observe_values(&job.unit, setup, &none, &medians, look).ok()
}
