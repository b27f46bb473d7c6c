//! Windings beside the main one, and what any winding becomes when turns are shorted or it breaks through to the frame.

use crate::fault::{FaultMode, Severity};
use crate::wiring::{Node, PartWiring, PlannedCoil};
use circuit::Quantity;

/// The second winding's values, before a kind decides where its ends go.
pub(super) struct SecondWinding {
    pub(super) label: &'static str,
    pub(super) turns: Quantity,
    pub(super) ohms: Quantity,
    pub(super) leakage: Quantity,
    pub(super) angle: f64,
}

impl SecondWinding {
    /// Its coils between two nodes; `name` is what its faults begin with: `start-open`, `start-shorted-turns`.
    pub(super) fn coils(&self, part: &PartWiring<'_, '_>, from: Node, to: Node, name: &str) -> Vec<PlannedCoil> {
        if part.has_any() {
            if part.has(format_args!("{name}-open")) {
                return Vec::new();
            }
            if let Some(shorted) = part.severity(format_args!("{name}-shorted-turns")) {
                let (turns, ohms, leakage) = (&self.turns, &self.ohms, &self.leakage);
                return shorted_turns(self.label, from, None, to, ohms, leakage, turns, self.angle, &shorted);
            }
        }
        vec![PlannedCoil {
            label: self.label.into(),
            from,
            to,
            turns: self.turns.clone(),
            angle: self.angle,
            resistance: self.ohms.clone(),
            leakage: self.leakage.clone(),
        }]
    }
}

/// Faults of a second winding that has a lead of its own.
pub(super) fn second_winding_faults(name: &str, words: &str) -> Vec<FaultMode> {
    let repair = "replace the motor {}";
    vec![
        FaultMode::new(format!("{name}-open"), format!("the {words} or its lead is open"), 0.012, repair),
        FaultMode::new(format!("{name}-shorted-turns"), format!("some turns of the {words} are shorted"), 0.01, repair)
            .sized(Severity::share("share of turns", 0.08, 0.9)),
    ]
}

/// Where a winding has broken through to the frame, with the path there: its middle, since it is not known where.
pub(super) fn middle_to_frame(part: &mut PartWiring<'_, '_>, fault: &str) -> Option<Node> {
    let leak = part.severity(fault)?;
    let middle = part.inner();
    part.resistor("path to frame", middle, part.frame(), leak);
    Some(middle)
}

/// A winding with a share of its turns shorted: what is left, and the shorted part closed on itself.
#[allow(clippy::too_many_arguments)]
pub(super) fn shorted_turns(
    label: &'static str,
    from: Node,
    middle: Option<Node>,
    to: Node,
    ohms: &Quantity,
    leakage: &Quantity,
    turns: &Quantity,
    angle: f64,
    shorted: &Quantity,
) -> Vec<PlannedCoil> {
    let left = &(shorted * -1.0) + 1.0;
    let coil = |label: &'static str, from, to, share: &Quantity, of_it: f64| PlannedCoil {
        label: label.into(),
        from,
        to,
        turns: turns * &(share * of_it),
        angle,
        resistance: ohms * &(share * of_it),
        // The halves of what is left lie on different poles, so their leakages add.
        leakage: leakage * &(&(share * share) * of_it),
    };
    let mut coils = vec![coil("shorted turns", to, to, shorted, 1.0)];
    match middle {
        Some(middle) => coils.extend([coil(label, from, middle, &left, 0.5), coil(label, middle, to, &left, 0.5)]),
        None => coils.insert(0, coil(label, from, to, &left, 1.0)),
    }
    coils
}
