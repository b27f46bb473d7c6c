//! A ceramic disc between terminals a and b whose ohms its own warmth changes: PTC starter, inrush limiter.

use crate::wiring::PartWiring;

/// Places of the ohms among the unknown values of such a part.
const COLD: usize = 0;
const HOT: usize = 1;

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
    part.resistor("disc", a, far, ohms);
}
