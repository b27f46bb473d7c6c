//! When the current stops and comes back: a cutout at work, or somebody at the switch.

/// Below this share of the running current there is none.
const NONE_SHARE: f64 = 0.1;
/// How fast the running current is learnt.
const LEARNT: f64 = 0.02;
/// Interruptions that are kept; more are counted.
const MOST: usize = 200;

/// The current stopped, and perhaps came back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interruption {
    /// Line of the file at which there is none.
    pub off_row: u64,
    /// When, seconds.
    pub off_seconds: f64,
    /// Line and time at which it is back.
    pub on: Option<(u64, f64)>,
}

/// Watches current or power.
#[derive(Debug, Clone, Default)]
pub struct Watch {
    level: Option<f64>,
    /// When it was first on, seconds.
    pub first_on: Option<f64>,
    /// Interruptions in order.
    pub interruptions: Vec<Interruption>,
    /// How many there were.
    pub count: u64,
    is_off: bool,
}

impl Watch {
    /// Looks at a reading of the current (or power).
    pub fn look(&mut self, seconds: f64, value: f64, row: u64) {
        let Some(level) = self.level else {
            if value > 0.0 {
                self.level = Some(value);
                self.first_on = Some(seconds);
            }
            return;
        };
        let is_off = value < NONE_SHARE * level;
        if !is_off {
            self.level = Some(level + LEARNT * (value - level));
        }
        if is_off && !self.is_off {
            self.count += 1;
            if self.interruptions.len() < MOST {
                self.interruptions.push(Interruption { off_row: row, off_seconds: seconds, on: None });
            } else if let Some(last) = self.interruptions.last_mut() {
                *last = Interruption { off_row: row, off_seconds: seconds, on: None };
            }
        }
        if !is_off
            && self.is_off
            && let Some(last) = self.interruptions.last_mut()
        {
            last.on = Some((row, seconds));
        }
        self.is_off = is_off;
    }

    /// Whether there is no current now.
    pub fn is_off(&self) -> bool {
        self.is_off
    }
}
