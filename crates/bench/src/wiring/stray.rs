//! Stray capacitance, without which a net tied to nothing would have no potential.

use super::{Element, Owner, REFERENCE};
use circuit::{Branch, NetId, Network, Quantity, UnknownId};
use std::f64::consts::PI;

/// Stray capacitance from any net to the frame, and to the hot conductor, farads.
///
/// A metre or two of hook-up wire beside others: 30 to 100 pF per metre (engineering judgement; hence
/// [`STRAY_LOG_SPREAD`] on their ratio).
const STRAY_FARADS: f64 = 60e-12;

/// Spread of the natural logarithm of the stray capacitance toward the hot conductor.
pub const STRAY_LOG_SPREAD: f64 = 1.0;

/// Gives every net a small capacitance to the frame and to the hot conductor, as real wiring has.
pub(super) fn add(network: &mut Network, elements: &mut Vec<Element>, hot: NetId, unknown: usize, deviation: f64) {
    let ohms = 1.0 / (2.0 * PI * network.hertz() * STRAY_FARADS);
    let to_hot = Quantity::log_unknown(1.0, UnknownId(unknown), deviation).recip();
    for net in (1..network.net_count()).map(NetId) {
        let mut add = |other: NetId, reactance: Quantity| {
            if net == other {
                return;
            }
            let branch = network.add_branch(Branch {
                from: net,
                to: other,
                resistance: Quantity::constant(0.0),
                reactance,
                source: Quantity::constant(0.0),
                source_angle: 0.0,
                passes_direct_current: false,
            });
            elements.push(Element {
                owner: Owner::Stray,
                label: "stray".into(),
                branch,
                is_second_winding: false,
                from: REFERENCE,
                to: REFERENCE,
            });
        };
        add(NetId::REFERENCE, Quantity::constant(-ohms));
        add(hot, &to_hot * -ohms);
    }
}
