//! Which faults are dangerous where they are left in a unit, and why.
//!
//! Common practice, no source. Faults that only stop the unit, or wear it out, are not among them.

use crate::fault::{Fault, Place};
use crate::unit::{TerminalId, Unit};

/// Why a fault must not be left in a unit; `None` if it is only a nuisance.
pub fn danger(unit: &Unit, fault: &Fault) -> Option<&'static str> {
    let name = fault.mode.name.as_str();
    match fault.place {
        Place::Wire(wire) => {
            let wire = &unit.wires()[wire];
            let is_earth = [wire.from, wire.to].iter().any(|&end| is_earth(unit, end));
            is_earth.then_some(NO_EARTH)
        }
        Place::Part(part) => {
            let kind = &unit.parts()[part].kind;
            let is_overload = kind.name() == "overload-relay";
            match name {
                "earth-open" | "earth-bad-joint" => Some(NO_EARTH),
                "welded" if kind.is_protector() || is_overload => Some(NO_PROTECTION),
                "overload-welded" => Some(NO_PROTECTION),
                "wrong-setting" if is_overload => Some("the motor is not protected at its own amps"),
                "welded" if matches!(kind.name(), "thermostat" | "sequencer") => {
                    Some("only the cutout still holds the heat back")
                }
                "neutral-open" if part == unit.supply() && kind.live_conductors() > 1 => {
                    Some("what is fed against neutral gets too many volts")
                }
                "bleed-open" => Some("a charge stays on the capacitor after switching off"),
                _ if name.ends_with("neutral-interchanged") && part == unit.supply() => Some(STILL_LIVE),
                _ if name.ends_with("wires-interchanged") && kind.feeds_unit() => {
                    Some(if name.contains("earth") { "the metal may be live" } else { STILL_LIVE })
                }
                _ if name.ends_with("to-frame") || name.ends_with("hot-earth-shorted") || name == "insulation-low" => {
                    Some("current leaks to the metal, which is live where its earth fails")
                }
                _ if kind.name() == "transformer" && name.contains("-to-") => {
                    Some("the supply's volts get to the side that should be low")
                }
                _ => None,
            }
        }
    }
}

const NO_EARTH: &str = "the metal has no earth, so a leak makes it live";
const NO_PROTECTION: &str = "nothing would switch it off when it gets too hot";
const STILL_LIVE: &str = "what is switched off is still live";

fn is_earth(unit: &Unit, terminal: TerminalId) -> bool {
    terminal == unit.frame() || unit.terminal_of(terminal) == "earth"
}
