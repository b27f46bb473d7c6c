//! Parts without a rotor.

use super::near;
use crate::random::Random;
use crate::truth::Saturation;
use crate::truth::parts::{
    ContactTable, TransformerSection, TruePart, TrueRelay, TrueSection, TrueSupply, TrueTransformer,
};
use num_complex::Complex64;
use std::f64::consts::PI;

/// Share by which the supply may be off its rated volts today.
const DRIFT: f64 = 0.03;
/// A magnetic trip opens between 5 and 10 times the rating (IEC 60898 type C).
const TRIPS: (f64, f64) = (5.0, 10.0);

fn impedance(random: &mut Random) -> Complex64 {
    Complex64::new(random.about(0.15, 0.4), random.about(0.05, 0.4))
}

/// A supply with one live conductor.
pub fn supply(random: &mut Random, volts: f64, breaker_amps: f64) -> TruePart {
    let today = volts * random.between(1.0 - DRIFT, 1.0 + DRIFT);
    TruePart::Supply(TrueSupply {
        live: vec![("hot", today.into())],
        impedance: impedance(random),
        earth_ohms: random.about(0.1, 0.5),
        trips_amps: breaker_amps * random.between(TRIPS.0, TRIPS.1),
    })
}

/// A supply with two live legs in opposite phase.
pub fn two_leg_supply(random: &mut Random, volts: f64, breaker_amps: f64) -> TruePart {
    let today = volts / 2.0 * random.between(1.0 - DRIFT, 1.0 + DRIFT);
    let (one, two) = (near(random, today, 0.004), near(random, today, 0.004));
    TruePart::Supply(TrueSupply {
        live: vec![("leg-1", one.into()), ("leg-2", Complex64::from_polar(two, PI))],
        impedance: impedance(random),
        earth_ohms: random.about(0.1, 0.5),
        trips_amps: breaker_amps * random.between(TRIPS.0, TRIPS.1),
    })
}

/// Ohms of a sound contact.
pub fn contact_ohms(random: &mut Random) -> f64 {
    random.about(0.01, 0.6)
}

/// An element of rated volts and watts: made to about 4 %, a little more resistance at work than cold.
pub fn heater(random: &mut Random, volts: f64, watts: f64) -> TruePart {
    let hot_ratio = random.between(1.0, 1.06);
    let ohms = near(random, volts * volts / watts, 0.035);
    TruePart::Heater { cold_ohms: ohms / hot_ratio, hot_ratio, weak_at: random.between(0.05, 0.95) }
}

/// A lamp and its watts where the marking gives them: a glow lamp behind a resistor, which a meter sees as open and whose
/// watts nobody marks, or a small filament lamp, whose cold ohms are about a tenth of those when lit.
pub fn lamp(random: &mut Random, volts: f64) -> (TruePart, Option<f64>) {
    if random.chance(0.7) {
        let ohms = near(random, volts * volts / 0.3, 0.3);
        return (TruePart::Lamp { ohms, cold_ratio: f64::INFINITY }, None);
    }
    let watts = random.pick(&[5.0, 7.0]);
    let ohms = near(random, volts * volts / watts, 0.06);
    (TruePart::Lamp { ohms, cold_ratio: random.between(0.08, 0.13) }, Some(watts))
}

/// A run capacitor as marked, or a start capacitor, which is marked with the least it has.
pub fn capacitor(random: &mut Random, marked_microfarads: f64, starts: bool) -> TruePart {
    let (factor, spread, loss) = if starts { (1.1, 0.06, 0.07) } else { (1.0, 0.03, 0.002) };
    TruePart::Capacitor {
        farads: 1e-6 * near(random, factor * marked_microfarads, spread),
        loss: near(random, loss, 0.3),
    }
}

/// A relay with a coil for alternating current.
pub fn relay(random: &mut Random, volts: f64, contacts: ContactTable) -> TruePart {
    let impedance = volts * volts / random.about(7.0, 0.4);
    let ohms = impedance * random.between(0.35, 0.6);
    TruePart::Relay(TrueRelay {
        pulls_in: volts * random.between(0.65, 0.82),
        lets_go: volts * random.between(0.25, 0.5),
        ohms,
        reactance: (impedance * impedance - ohms * ohms).sqrt(),
        contacts,
        contact_ohms: contact_ohms(random),
    })
}

/// A transformer of two windings: terminals `p1` and `p2`, `s1` and `s2`, a thermal link at the primary.
pub fn transformer(random: &mut Random, volt_amperes: f64, primary: f64, secondary: f64) -> TruePart {
    // A tenth of the rating has two and a half times the losses, as a share (engineering judgement).
    let share = |base: f64| base * (volt_amperes / 10.0).powf(-0.4);
    let rated = primary * primary / volt_amperes;
    let copper = share(0.25) / 2.0;
    let turns = near(random, secondary / primary, 0.015);
    let leakage = rated * random.about(0.015, 0.5);
    let first = TrueSection { turns: 1.0, ohms: rated * random.about(copper, 0.25), leakage };
    let second = TrueSection {
        turns,
        ohms: rated * turns * turns * random.about(copper, 0.25),
        leakage: leakage * turns * turns,
    };
    let section = |name: &str, winding: &str, terminal, values| TransformerSection {
        name: name.into(),
        winding: winding.into(),
        terminal,
        values,
    };
    TruePart::Transformer(Box::new(TrueTransformer {
        sections: vec![section("p1-p2", "primary", 0, first), section("s1-s2", "secondary", 2, second)],
        magnetising: rated / random.about(share(0.38), 0.3),
        core_loss: rated / random.about(share(0.1), 0.3),
        saturation: Saturation { strength: random.between(0.05, 0.2), reference: primary },
        link_terminal: Some(0),
        weak_at: random.between(0.1, 0.9),
    }))
}
