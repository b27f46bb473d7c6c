//! A ceramic disc between terminals a and b whose ohms its own warmth changes: PTC starter, inrush limiter.

use crate::switching::{ContactLaw, Thresholds};
use crate::wiring::PartWiring;

/// What the ceramic is called among the elements of such a part.
pub(super) const DISC: &str = "disc";

/// Watts over those that warm it below which a disc has cooled; what stray currents make is far less.
pub(super) const COOLED_SHARE: f64 = 1e-3;

/// Places of the ohms among the unknown values of such a part.
const COLD: usize = 0;
const HOT: usize = 1;

/// A disc is hot once it has taken more than these watts, and stays so as long as it takes anything.
pub(super) fn law(watts: f64) -> ContactLaw {
    ContactLaw::Warmth(DISC, Thresholds { leaves: watts, returns: COOLED_SHARE * watts })
}

/// Puts the disc in, with what is wrong with it: `cracked-open`, `shorted`, or `joint` at its second terminal.
pub(super) fn connect(part: &mut PartWiring<'_, '_>, joint: &str, joint_label: &'static str) {
    let (a, b) = (part.terminal(0), part.terminal(1));
    if part.has("cracked-open") {
        return;
    }
    if let Some(ohms) = part.severity("shorted") {
        part.resistor("disc broken through", a, b, ohms);
        return;
    }
    let far = match part.severity(joint) {
        Some(ohms) => {
            let inner = part.inner();
            part.resistor(joint_label, inner, b, ohms);
            inner
        }
        None => b,
    };
    let ohms = part.unknown(if part.has_moved(0) { HOT } else { COLD });
    part.resistor(DISC, a, far, ohms);
}
