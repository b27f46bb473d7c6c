//! What looks wrong about a part's figures although they can be used.

/// A figure that is hardly a real part's.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// What looks wrong.
    pub message: String,
    /// What would not.
    pub expected: String,
    /// A likely mend.
    pub mend: &'static str,
}

/// Volt-amperes of motors on a single phase (engineering judgement: a timer's motor takes more, and nothing on a bench as
/// much).
const MOTOR_VOLT_AMPERES: std::ops::RangeInclusive<f64> = 0.1..=20e3;

/// # Errors
/// What to say of a motor whose amps are no motor's on a bench.
pub(super) fn check_size(volts: f64, amps: f64) -> Result<(), String> {
    let volt_amperes = volts * amps;
    if MOTOR_VOLT_AMPERES.contains(&volt_amperes) {
        return Ok(());
    }
    let (end, bound) = match volt_amperes < *MOTOR_VOLT_AMPERES.start() {
        true => ("at least", MOTOR_VOLT_AMPERES.start() / volts),
        false => ("at most", MOTOR_VOLT_AMPERES.end() / volts),
    };
    Err(format!("{amps} A at {volts} V is no small motor, expected {end} {bound:.4} A; check the point in amps"))
}
