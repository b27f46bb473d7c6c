//! Whether a temperature can be one: sensors fall off, spike, and are put back on; what cools after a stop is none of these.

use crate::heat_run::cooling::{is_at_once, room_or_usual};

/// No sensor on a small machine shows less or more than this, degrees Celsius; open circuits often do.
pub const POSSIBLE: std::ops::RangeInclusive<f64> = -60.0..=500.0;
/// A jump that lasts for so many readings is no spike.
const LASTING: usize = 4;
/// So many readings that fall one after another are no spike, if they fall as something does that cools.
const COOLING: usize = 3;
/// Smallest jump that is one, kelvins, and the fastest change that is none, kelvins per second. Engineering judgement:
/// stalled windings warm by about 0.5 K a second.
const JUMP_KELVIN: f64 = 10.0;
const FASTEST_RISE: f64 = 0.7;
const FASTEST_FALL: f64 = 0.25;

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Read {
    /// Seconds.
    pub seconds: f64,
    /// Degrees Celsius.
    pub celsius: f64,
    /// Line of the file.
    pub row: u64,
}

/// What became of a reading, and of those held back before it.
#[derive(Debug, Clone, PartialEq)]
pub enum Passed {
    /// It counts. Those held back were spikes.
    Counts {
        /// The spikes.
        spikes: Vec<Read>,
    },
    /// What it is on cools: all of these count.
    Cooled(Vec<Read>),
    /// It is held back until the next ones show what it is.
    Held,
    /// The sensor fell off at the first of these.
    Lost(Vec<Read>, f64),
    /// The temperature jumped up at the first of these and stayed: the sensor was put on.
    PutOn(Vec<Read>, f64),
    /// The sensor had fallen off already.
    StillLost,
    /// It shows a possible temperature again, after so many readings that were lost.
    Back(u64),
}

/// Watches one sensor.
#[derive(Debug, Clone, Default)]
pub struct Guard {
    first: Option<f64>,
    last: Option<Read>,
    held: Vec<Read>,
    lost: u64,
    back: usize,
}

impl Guard {
    /// Looks at a reading; while the current is off, cooling may be as fast as it likes. The room is said if it is known.
    pub fn look(&mut self, read: Read, is_off: bool, room: Option<f64>) -> Passed {
        let Some(last) = self.last else {
            if !POSSIBLE.contains(&read.celsius) {
                return Passed::StillLost;
            }
            self.first = Some(read.celsius);
            self.last = Some(read);
            return Passed::Counts { spikes: vec![] };
        };
        let jumps = self.jumps(last, read, is_off);
        if self.lost > 0 {
            self.back = if jumps { 0 } else { self.back + 1 };
            if self.back < LASTING {
                self.lost += 1;
                return Passed::StillLost;
            }
            self.last = Some(read);
            self.back = 0;
            return Passed::Back(std::mem::take(&mut self.lost) - (LASTING as u64 - 1));
        }
        if !jumps && (self.is_back(last, read) || self.held.len() >= COOLING && self.cools(last, room)) {
            let held = std::mem::take(&mut self.held);
            self.last = Some(read);
            return match held.len() >= COOLING {
                true => Passed::Cooled(held.into_iter().chain([read]).collect()),
                false => Passed::Counts { spikes: held },
            };
        }
        self.held.push(read);
        if !jumps && self.cools(last, room) {
            self.last = Some(read);
            return Passed::Cooled(std::mem::take(&mut self.held));
        }
        if self.held.len() < LASTING {
            return Passed::Held;
        }
        let cools = self.cools(last, room);
        let held = std::mem::take(&mut self.held);
        if cools {
            self.last = Some(read);
            return Passed::Cooled(held);
        }
        if held.iter().all(|held| held.celsius > last.celsius && POSSIBLE.contains(&held.celsius)) {
            self.first = held.first().map(|held| held.celsius);
            self.last = Some(read);
            return Passed::PutOn(held, last.celsius);
        }
        self.lost = held.len() as u64;
        Passed::Lost(held, last.celsius)
    }

    /// At the end of the log: readings still held back, which nothing has shown to be spikes.
    pub fn end(&mut self, room: Option<f64>) -> Option<Passed> {
        let last = self.last.filter(|_| !self.held.is_empty())?;
        let cools = self.held.len() > 1 && self.cools(last, room);
        let held = std::mem::take(&mut self.held);
        Some(if cools { Passed::Cooled(held) } else { Passed::Lost(held, last.celsius) })
    }

    /// Whether a reading is where the last one was, seen from those held back.
    fn is_back(&self, last: Read, read: Read) -> bool {
        let lowest = self.held.iter().map(|held| held.celsius).fold(f64::MAX, f64::min);
        lowest >= last.celsius || read.celsius > 0.5 * (last.celsius + lowest)
    }

    /// Whether those held back fall from the last reading as something does that cools.
    fn cools(&self, last: Read, room: Option<f64>) -> bool {
        let (Some(first), Some(latest)) = (self.held.first(), self.held.last()) else { return false };
        let lowest = self.held.iter().map(|held| held.celsius).fold(f64::MAX, f64::min);
        let room = room_or_usual(room, self.first.unwrap_or(last.celsius));
        let at = |read: &Read| (read.seconds, read.celsius);
        let turn = self.held.iter().position(|held| held.celsius <= lowest).unwrap_or_default();
        let rises = |held: &[Read]| held.windows(2).all(|pair| pair[1].celsius >= pair[0].celsius);
        let falls = self.held[..=turn].windows(2).all(|pair| pair[1].celsius <= pair[0].celsius);
        falls
            && rises(&self.held[turn..])
            && self.held.iter().all(|held| POSSIBLE.contains(&held.celsius) && held.celsius < last.celsius)
            && (latest.celsius < first.celsius || self.held.len() >= COOLING)
            && !is_at_once(at(&last), at(first), lowest, room)
    }

    fn jumps(&self, last: Read, read: Read, is_off: bool) -> bool {
        let (seconds, change) = (read.seconds - last.seconds, read.celsius - last.celsius);
        if !POSSIBLE.contains(&read.celsius) {
            return true;
        }
        if change > 0.0 {
            return change > JUMP_KELVIN.max(FASTEST_RISE * seconds);
        }
        // Over long intervals: no running unit loses half of its rise from one reading to the next.
        let half = 0.5 * (last.celsius - self.first.unwrap_or(last.celsius));
        !is_off && -change > JUMP_KELVIN.max((FASTEST_FALL * seconds).min(half.max(JUMP_KELVIN)))
    }
}
