//! What a check costs from where the bench stands now: its own minutes, the change of arrangement, housings to open, windings
//! to cool.
//!
//! All minutes here are engineering judgement, but those of housings, which the job file gives, and those of cooling, which
//! follow from the unit (`warmth`).

use super::Hazard;
use super::warmth::Warmth;
use bench::{Job, Measure, Reach, Setup};

/// Switching off, unplugging, proving dead, discharging.
const MAKE_DEAD: f64 = 1.0;
/// Placing leads on the dead unit, plugging in, standing clear: once for each live arrangement.
const MAKE_LIVE: f64 = 2.0;
/// Moving a switch, thermostat or shaft by hand.
const MOVE: f64 = 0.2;
/// Finding the tools to take wires off or put them back, and each wire.
const SCREWDRIVER: f64 = 1.0;
const WIRE: f64 = 0.5;
/// Fitting a jumper safely, and taking it away.
const JUMPER: f64 = 3.0;
const JUMPER_OFF: f64 = 0.5;
/// Blocking a shaft.
const HOLD: f64 = 1.0;
/// What a minute of waiting counts: other work can be done meanwhile.
pub(crate) const WAITING: f64 = 0.25;

/// Minutes of a check, from where the bench stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cost {
    /// Minutes of the check itself.
    pub own: f64,
    /// Minutes of changing the arrangement with the supply off.
    pub change: f64,
    /// Minutes of putting the supply on.
    pub live: f64,
    /// Minutes of opening what is not open.
    pub opening: f64,
    /// Minutes of waiting until windings are cold.
    pub cooling: f64,
    /// Housings to be opened first, in the order of the job.
    pub housings: Vec<usize>,
}

impl Cost {
    /// All minutes.
    pub fn minutes(&self) -> f64 {
        self.own + self.change + self.live + self.opening + self.cooling
    }

    /// Minutes with danger counted: those with the supply on are dearer, those of waiting cheaper.
    pub fn weighted(&self, hazard: Hazard) -> f64 {
        (self.own + self.live) * hazard.weight() + self.change + self.opening + WAITING * self.cooling
    }
}

/// Minutes of going from one arrangement to another: with the supply off, and of putting it on. Nothing if they are the
/// same.
pub(crate) fn change(from: &Setup, to: &Setup) -> (f64, f64) {
    if is_same(from, to) {
        return (0.0, 0.0);
    }
    let moved_wires = from.lifted.iter().filter(|terminal| !to.lifted.contains(terminal)).count()
        + to.lifted.iter().filter(|terminal| !from.lifted.contains(terminal)).count();
    let fitted = to.jumpers.iter().filter(|jumper| !from.jumpers.contains(jumper)).count();
    let taken_away = from.jumpers.iter().filter(|jumper| !to.jumpers.contains(jumper)).count();
    let held = to.held.iter().filter(|part| !from.held.contains(part)).count();
    let moved = to.positions.iter().filter(|(part, at)| from.positions.get(*part) != Some(*at)).count()
        + from.positions.keys().filter(|part| !to.positions.contains_key(*part)).count();
    let mut minutes = WIRE * moved_wires as f64
        + JUMPER * fitted as f64
        + JUMPER_OFF * taken_away as f64
        + HOLD * held as f64
        + MOVE * moved as f64;
    if moved_wires > 0 {
        minutes += SCREWDRIVER;
    }
    if from.energised {
        minutes += MAKE_DEAD;
    }
    (minutes, if to.energised { MAKE_LIVE } else { 0.0 })
}

/// Whether two setups are one arrangement, whatever they are called and however warm they are.
pub(crate) fn is_same(a: &Setup, b: &Setup) -> bool {
    *a == Setup { name: a.name.clone(), winding_celsius: a.winding_celsius, ..b.clone() }
}

/// The arrangement that was used last, as far as the job tells: that of its last reading, else unplugged.
pub(crate) fn last_used(job: &Job) -> Setup {
    let last = job.readings.last().map(|reading| job.setups[reading.setup].clone());
    last.unwrap_or_else(|| Setup::unplugged("unplugged"))
}

/// What a check costs from an arrangement; `reach` is what it touches, `cooling` how long it has to wait now.
pub(super) fn cost(job: &Job, from: &Setup, to: &Setup, reach: &Reach, (own, cooling): (f64, f64)) -> Cost {
    let housings: Vec<usize> =
        job.housings_ahead(reach).into_iter().filter(|&housing| !job.housings[housing].is_open).collect();
    let opening: f64 = housings.iter().map(|&housing| job.housings[housing].minutes).sum();
    let (change, live) = if housings.is_empty() { change(from, to) } else { change_opening(from, to) };
    Cost { own, change, live, opening, cooling, housings }
}

/// What a reading costs from where the bench stands, whoever chose it; `own` are the minutes of the reading itself.
pub fn of_reading(job: &Job, setup: &Setup, measure: Measure, own: f64) -> Cost {
    let reach = Reach::of_setup(setup).with_reading(&job.unit, measure);
    let warmth = Warmth::of(job);
    let cooling = if warmth.is_warm { warmth.waits(job, setup, &[measure])[0] } else { 0.0 };
    cost(job, &last_used(job), setup, &reach, (own, cooling))
}

/// As [`change`] where something is opened on the way: nothing is opened with the supply on.
pub(crate) fn change_opening(from: &Setup, to: &Setup) -> (f64, f64) {
    if !from.energised {
        return change(from, to);
    }
    let dead = Setup { energised: false, ..from.clone() };
    let ((off, _), (on, live)) = (change(from, &dead), change(&dead, to));
    (off + on, live)
}

#[cfg(test)]
mod tests {
    use super::*;
    use bench::TerminalId;

    #[test]
    fn the_arrangement_last_used_is_free_and_every_other_is_not() {
        let unplugged = Setup::unplugged("unplugged");
        let live = Setup { energised: true, ..Setup::unplugged("high") };
        let warm = Setup { name: "warm".into(), winding_celsius: 80.0, ..live.clone() };
        assert_eq!(change(&live, &warm), (0.0, 0.0));
        assert_eq!(change(&unplugged, &live), (0.0, MAKE_LIVE));
        assert_eq!(change(&live, &unplugged), (MAKE_DEAD, 0.0));
        let lifted = Setup { lifted: vec![TerminalId(3), TerminalId(4)], ..unplugged.clone() };
        // By hand: a screwdriver and two wires; back again the same.
        assert_eq!(change(&unplugged, &lifted), (2.0, 0.0));
        assert_eq!(change(&lifted, &unplugged), (2.0, 0.0));
    }
}
