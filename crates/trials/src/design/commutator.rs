//! Universal motors in a simple form.

use super::{near, rounded};
use crate::random::Random;
use crate::truth::Saturation;
use crate::truth::parts::{TrueCommutator, TrueSection};
use std::f64::consts::PI;

/// Draws a polisher's motor with two field taps, and its plate as a job file has it.
///
/// Shares of ohms and reactances: engineering judgement about three worked examples of Guru and Hiziroglu, "Electric
/// Machinery and Transformers" (winding loss 31 to 35 % of the input, field 9 to 43 % of the ohms).
pub fn polisher(random: &mut Random, volts: f64, hertz: f64) -> (TrueCommutator, String) {
    let watts = random.between(250.0, 1200.0);
    let power_factor = random.between(0.86, 0.96);
    let amps = watts / (volts * power_factor);
    let rpm = (random.between(9_000.0, 22_000.0) / 500.0).round() * 500.0;
    let (resistance, reactance) =
        (volts / amps * power_factor, volts / amps * (1.0 - power_factor * power_factor).sqrt());
    let windings = resistance * random.between(0.2, 0.34);
    let field_ohms = windings * random.between(0.3, 0.48);
    let armature_ohms = windings - field_ohms;
    let field_reactance = reactance * random.between(0.27, 0.43);
    let brush = random.about(1.0, 0.3) / amps;
    // The plate is made warm.
    let speed_ohms = resistance - 1.15 * windings - 2.0 * brush;
    let torque = speed_ohms * amps * amps / (PI * rpm / 30.0);
    let friction = torque * random.between(0.06, 0.14);
    let leaks = random.between(0.06, 0.15);
    let turns = random.between(0.35, 0.85);
    let section = TrueSection {
        turns,
        ohms: turns * field_ohms * random.about(1.15, 0.12),
        leakage: turns * turns * leaks * field_reactance,
    };
    let bars = [20.0, 22.0, 24.0, 26.0, 28.0][random.below(5)];
    let motor = TrueCommutator {
        taps: vec!["fast".into(), "slow".into()],
        bars,
        rpm,
        field_ohms: near(random, field_ohms, 0.03),
        field_leakage: leaks * field_reactance,
        magnetising: near(random, (1.0 - leaks) * field_reactance, 0.04),
        armature_ohms: near(random, armature_ohms, 0.03),
        armature_reactance: near(random, reactance - field_reactance, 0.05),
        brush_ohms: [near(random, brush, 0.15), near(random, brush, 0.15)],
        speed_ohms: near(random, speed_ohms, 0.03),
        fan_torque: near(random, torque - friction, 0.06),
        friction: near(random, friction, 0.2),
        sections: vec![section],
        saturation: Saturation { strength: random.between(0.05, 0.2), reference: amps },
        weak_at: random.between(0.1, 0.9),
    };
    let plate = format!(
        "bars = {bars}\ntaps = [\"fast\", \"slow\"]\nplate = {{ volts = {volts}, hertz = {hertz}, amps = {}, watts = {}, rpm = {rpm} }}",
        rounded(amps),
        (watts / 10.0).round() * 10.0,
    );
    (motor, plate)
}
