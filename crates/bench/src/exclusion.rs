//! Which two faults of one part or wire cannot be there together.
//!
//! A fault says by the end of its name what has become of an element and by what stands before it of which: `a1-a2-stuck-open`
//! of the contact a1-a2, `hot-bad-joint` of the conductor hot, `open` of a part that is one element. An element that is broken
//! conducts nothing more, so nothing else can be said of its path; what is shorted has no value left; two sizes of one value
//! are one fault. All else may come together: both contacts of a switch, both conductors of a cord, a winding that is broken
//! where it touches the frame.

use crate::fault::FaultMode;
use crate::newly_fitted::is_wrong_part;

/// What has become of an element.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    /// It conducts no more.
    Broken,
    /// It is bridged, so that its value no longer matters.
    Bridged,
    /// It has lost some of its value, or leaks beside it.
    Degraded,
    /// It conducts where it should not, or badly.
    Path,
    /// It is not what belongs there.
    WrongPart,
    /// Anything else: a bearing, insulation to the frame, leads interchanged.
    Other,
}

/// Ends of names, longer ones before those that they end in.
const STATES: [(&str, State); 17] = [
    ("stuck-open", State::Broken),
    ("cracked-open", State::Broken),
    ("open", State::Broken),
    ("loose", State::Broken),
    ("broken", State::Broken),
    ("blown", State::Broken),
    ("tripped", State::Broken),
    ("dead", State::Broken),
    ("armature-coil-shorted", State::Path),
    ("shorted", State::Bridged),
    ("leaky", State::Degraded),
    ("low", State::Degraded),
    ("welded", State::Path),
    ("burnt", State::Path),
    ("bad-joint", State::Path),
    ("bad-contact", State::Path),
    ("shorted-turns", State::Path),
];

/// Element and state of a fault by its name.
fn element(name: &str) -> (&str, State) {
    if is_wrong_part(name) {
        return ("", State::WrongPart);
    }
    if is_broken_piece(name) {
        return ("", State::Broken);
    }
    let of = |(end, state): &(&str, State)| {
        let before = name.strip_suffix(end)?;
        if before.is_empty() { Some((before, *state)) } else { Some((before.strip_suffix('-')?, *state)) }
    };
    STATES.iter().find_map(of).unwrap_or((name, State::Other))
}

/// Whether it is a heater's piece, broken off, that touches the sheath: each end has its own.
fn is_broken_piece(name: &str) -> bool {
    name.starts_with("broken-") && name.ends_with(TO_FRAME)
}

const TO_FRAME: &str = "to-frame";
const VOLTS: [&str; 2] = ["low-volts", "high-volts"];

/// Whether two faults of one part or wire exclude each other.
pub fn exclude_each_other(a: &FaultMode, b: &FaultMode) -> bool {
    let (one, other) = (a.name.as_str(), b.name.as_str());
    if one == other || VOLTS.contains(&one) && VOLTS.contains(&other) {
        return true;
    }
    match (is_broken_piece(one), is_broken_piece(other)) {
        (true, true) => return false,
        // A whole element that touches its sheath is not a broken one.
        (true, false) if other == TO_FRAME => return true,
        (false, true) if one == TO_FRAME => return true,
        _ => {}
    }
    let ((of_one, one), (of_other, other)) = (element(one), element(other));
    match (one, other) {
        (State::Other, _) | (_, State::Other) => false,
        (State::WrongPart, State::WrongPart) => true,
        _ if of_one != of_other => false,
        (State::Broken, _) | (_, State::Broken) => true,
        (State::Bridged, State::Degraded | State::WrongPart) | (State::Degraded | State::WrongPart, State::Bridged) => {
            true
        }
        // A capacitor that has lost some and one of another value are told by one figure.
        (State::Degraded, State::WrongPart) | (State::WrongPart, State::Degraded) => {
            [&a.name, &b.name].into_iter().any(|name| name == "low")
        }
        _ => false,
    }
}
