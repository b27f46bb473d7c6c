//! Cautions that go with a setup. Shown wherever a setup or a check is shown; never left out.

use crate::setup::Setup;
use crate::unit::Unit;

/// What to do before work in a setup, most important first.
pub fn cautions(unit: &Unit, setup: &Setup) -> Vec<String> {
    let mut list = Vec::new();
    if setup.energised {
        list.push("LIVE: supply through a residual-current device or isolating supply; one hand, insulated tools, eyes on the work.".to_owned());
        list.push(
            "Connect meter leads with the supply off, stand clear, then switch on; switch off before moving them."
                .to_owned(),
        );
        if !setup.lifted.is_empty() {
            list.push("Insulate and secure lifted leads before switching on: they can be live.".to_owned());
        }
        if setup.jumpers.iter().any(|&(a, b)| bridges_protector(unit, a, b)) {
            list.push("A protector is bridged: stay with the unit, hand on the switch, and take the jumper off at once after the reading.".to_owned());
        }
        if setup.jumpers.iter().any(|&(a, b)| bridges_fuse(unit, a, b)) {
            list.push("A fuse is bridged: do not switch on. Take the jumper off and fit a fuse of the same amps and type; a jumper lets wires burn.".to_owned());
        }
        if !setup.held.is_empty() {
            list.push("A held rotor heats within seconds: keep it brief, hold with a tool, never by hand.".to_owned());
        }
        if !setup.pushed.is_empty() {
            list.push(
                "Push the rotor with a wooden or insulated stick; keep fingers and sleeves out, it will start."
                    .to_owned(),
            );
        }
    } else {
        list.push(
            "Unplug, lock or tag the plug, and prove dead on a meter that you have just tried on a live point."
                .to_owned(),
        );
        if unit.parts().iter().any(|part| part.kind.stores_charge()) {
            list.push("Discharge every capacitor through a resistor and check that it stays at zero volts.".to_owned());
        }
    }
    list
}

/// Said once with every list of checks and on every record.
pub const STANDING: &str = "For competent persons. Local codes and licensed practice prevail over anything printed here. Never leave a protector bypassed.";

fn bridges_fuse(unit: &Unit, a: crate::TerminalId, b: crate::TerminalId) -> bool {
    let part = unit.part_of(a);
    part == unit.part_of(b) && unit.parts()[part].kind.is_current_fuse()
}

fn bridges_protector(unit: &Unit, a: crate::TerminalId, b: crate::TerminalId) -> bool {
    let part = unit.part_of(a);
    part == unit.part_of(b) && unit.parts()[part].kind.is_protector()
}
