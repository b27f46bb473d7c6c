//! How likely a word is, given what the solved circuit does.
//!
//! Words are soft: a person may call a motor slow that is not. Every probability stays between `SLIP` and one
//! minus it. All figures here are engineering judgement.

use bench::kinds::{BEARING_WORN, OUT_OF_BALANCE};
use bench::{FaultSet, Observed, Place, Symptom, Unit, Word};
use machine::Motion;

/// Probability that a word is said, or not said, against the facts.
const SLIP: f64 = 0.04;

/// Alternating current that about half of all people begin to feel, milliamperes (IEC 60479, from memory).
const PERCEIVED_MILLIAMPS: f64 = 0.5;
/// Extra friction that half of all hands feel, and that half of them cannot overcome, over rated torque.
const FELT_DRAG: f64 = 0.15;
const STUCK_DRAG: f64 = 8.0;

/// What the sound unit does at a part in a setup: what 'slow' and 'hot' are measured against.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SoundState {
    /// Speed over synchronous speed, if it is a motor.
    pub speed_ratio: f64,
    /// Heat, watts.
    pub heat: f64,
    /// Power taken, watts.
    pub watts: f64,
    /// What a motor drives at its rated speed, and its friction, newton metres.
    pub torques: (f64, f64),
}

impl SoundState {
    /// Takes the state of a part from a solution of the sound unit.
    pub fn of(observed: &Observed<'_>, part: usize) -> Self {
        SoundState {
            speed_ratio: observed.speed_ratio(part).unwrap_or(0.0),
            heat: observed.heat(part),
            watts: observed.watts(part),
            torques: observed.shaft_torques(part).unwrap_or_default(),
        }
    }
}

/// What faults do that no circuit tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Traits {
    /// A cutout opens too early.
    pub trips_early: bool,
    /// The part's shaft has play.
    pub has_play: bool,
    /// What the part drives is out of balance.
    pub is_unbalanced: bool,
}

impl Traits {
    /// Those of a part with faults in the unit.
    pub fn of(unit: &Unit, faults: &FaultSet, part: usize) -> Self {
        let has = |place: Option<usize>, name: &str| {
            faults
                .0
                .iter()
                .map(|&fault| &unit.faults()[fault])
                .any(|fault| fault.mode.name == name && place.is_none_or(|part| fault.place == Place::Part(part)))
        };
        Traits {
            trips_early: has(None, "trips-early"),
            has_play: has(Some(part), BEARING_WORN),
            is_unbalanced: has(Some(part), OUT_OF_BALANCE),
        }
    }
}

/// Log-probability of a symptom in a solved setup.
pub fn log_probability(symptom: &Symptom, observed: &Observed<'_>, sound: SoundState, traits: Traits) -> f64 {
    let part = symptom.part;
    let now = SoundState::of(observed, part);
    // A motor that runs the wrong way round does not do what the sound one does.
    let onward = now.speed_ratio * sound.speed_ratio.signum() > 0.0;
    let turning = observed.motion(part).map(|motion| motion == Motion::Running && onward);
    let slower = 1.0 - ratio(now.speed_ratio, sound.speed_ratio);
    let hotter = ratio(now.heat, sound.heat) - 1.0;
    let powered = now.watts.abs() > 0.02 * sound.watts.abs().max(1.0) && !observed.is_cut_off();
    let is_motor = turning.is_some();
    // Friction beyond the sound one's, over rated torque, which a hand judges by the motor's size.
    let drag = (now.torques.1 - sound.torques.1) / (sound.torques.0 + sound.torques.1).max(f64::MIN_POSITIVE);
    let turns = turning.unwrap_or(false);
    let truth = match symptom.word {
        Word::Dead => soft(if powered { 0.0 } else { 1.0 }),
        Word::Normal if is_motor => soft(if turns { fades(slower.abs(), 0.08) } else { 0.0 }),
        Word::Normal => soft(fades((ratio(now.watts, sound.watts) - 1.0).abs(), 0.2)),
        // A rotor that only crawls or stands still in a neighbour's draught may be called slow as well.
        Word::Slow => soft(if turns {
            1.0 - fades(slower, 0.1)
        } else if powered {
            0.4
        } else {
            0.0
        }),
        Word::Hums => soft(if powered && observed.motion(part) != Some(Motion::Running) { 1.0 } else { 0.0 }),
        // On one winding a fan motor runs well below its speed.
        Word::RunsWhenPushed => soft(if turns && powered { fades(slower, 0.7) } else { 0.0 }),
        Word::Trips if observed.is_cut_off() || traits.trips_early => soft(1.0),
        // A breaker is warmed by the current alone, not by what the wires ahead of it make of it; from 1.45 times its rating
        // on it opens within the hour (IEC 60898, from memory).
        Word::Trips => soft(match observed.share_of_breaker(part) {
            Some(share) => 1.0 - fades(share - 1.0, 0.45),
            None => 1.0 - fades(hotter, 0.4),
        }),
        Word::RunsHot => soft(if powered { 1.0 - fades(hotter, 0.25) } else { 0.0 }),
        // A winding must be well over its ordinary heat before it smells.
        Word::SmellsHot => soft(if powered { 1.0 - fades(hotter, 0.6) } else { 0.0 }),
        // Volts alone do not tell: behind insulation and stray capacitance any metal has some, and nobody feels them.
        Word::Shocks => soft(1.0 - fades(observed.body_milliamps().unwrap_or(0.0), PERCEIVED_MILLIAMPS)),
        Word::RunsBackwards => {
            let backwards = observed.motion(part) == Some(Motion::Running) && !onward;
            soft(if backwards { 1.0 } else { 0.0 })
        }
        Word::Vibrates => soft(match (turns, traits.is_unbalanced, traits.has_play) {
            (true, true, _) => 1.0,
            (true, false, true) => 0.6,
            _ => 0.0,
        }),
        Word::TurnsFreely => soft(fades(drag, FELT_DRAG)),
        Word::Stiff => soft((1.0 - fades(drag, FELT_DRAG)) * fades(drag, STUCK_DRAG)),
        Word::DoesNotTurn => soft(1.0 - fades(drag, STUCK_DRAG)),
        Word::Wobbles => soft(if traits.has_play { 1.0 } else { 0.0 }),
    };
    truth.ln()
}

/// Keeps a probability away from 0 and 1.
fn soft(probability: f64) -> f64 {
    SLIP + (1.0 - 2.0 * SLIP) * probability
}

/// One at zero, a half at `half`, falling smoothly to zero.
fn fades(value: f64, half: f64) -> f64 {
    let relative = (value / half).max(0.0);
    1.0 / (1.0 + relative * relative * relative)
}

fn ratio(value: f64, reference: f64) -> f64 {
    if reference.abs() > 1e-9 {
        value / reference
    } else if value.abs() > 1e-9 {
        10.0
    } else {
        1.0
    }
}
