//! How something falls that is off: by and by, along its own cooling. A sensor that has come off is at the room at once.

/// A body that was warm is off: quicker than with this time constant, seconds, only a bare sensor cools. Engineering judgement:
/// small windings cool against their iron with half a minute, beads of thermocouples in air with some seconds.
const QUICKEST_SECONDS: f64 = 15.0;
/// From one row to the next no body loses more than all but this share of what it is above the room. Engineering judgement.
const LEAST_LEFT: f64 = 0.15;
/// What falls on by less than this share of its first step does not cool, it lies somewhere else. Engineering judgement.
const FLAT_SHARE: f64 = 0.05;
/// Temperature of a room that nobody says, degrees Celsius, unless the log begins colder. Engineering judgement.
const USUAL_ROOM_CELSIUS: f64 = 25.0;

/// The room as far as it is known.
pub fn room_or_usual(room: Option<f64>, first: f64) -> f64 {
    room.unwrap_or(first.min(USUAL_ROOM_CELSIUS))
}

/// Whether a fall came at once: `before` and `after` are seconds and degrees Celsius of the rows about its first step, `lowest`
/// what it came to.
pub fn is_at_once(before: (f64, f64), after: (f64, f64), lowest: f64, room: f64) -> bool {
    let left = (after.1 - room) / (before.1 - room);
    let slowest = (-(after.0 - before.0) / QUICKEST_SECONDS).exp();
    left < LEAST_LEFT.max(slowest) || after.1 - lowest < FLAT_SHARE * (before.1 - after.1)
}
