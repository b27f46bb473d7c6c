//! Conductances to air, still and driven by a fan, and heat capacities of what machines are made of.

/// Specific heat of copper near room temperature, J/(kg K) (textbook figure, from memory).
pub const COPPER_JOULES_PER_KILOGRAM_KELVIN: f64 = 385.0;
/// Specific heat of aluminium near room temperature, J/(kg K) (textbook figure, from memory).
pub const ALUMINIUM_JOULES_PER_KILOGRAM_KELVIN: f64 = 900.0;
/// Specific heat of steel near room temperature, J/(kg K) (textbook figure, from memory).
pub const STEEL_JOULES_PER_KILOGRAM_KELVIN: f64 = 460.0;
/// Heat that a cubic metre of air takes up per kelvin, J/(m^3 K): 1.2 kg/m^3 times 1005 J/(kg K) at 20 degrees Celsius
/// and sea level (textbook figures, from memory).
pub const AIR_JOULES_PER_CUBIC_METRE_KELVIN: f64 = 1206.0;
/// Convection and radiation together from a painted surface in still air, W/(m^2 K): the middle of the textbook range of
/// 10 to 12 (from memory); surfaces of bare metal radiate less.
pub const STILL_AIR_WATTS_PER_SQUARE_METRE_KELVIN: f64 = 11.0;
/// Power of the air speed with which turbulent flow along a surface cools: Nusselt's number goes with Reynolds' to the
/// 4/5 (textbook correlation for a plate, from memory).
pub const TURBULENT_EXPONENT: f64 = 0.8;
/// The same for laminar flow: Reynolds' number to the 1/2 (textbook correlation for a plate, from memory).
pub const LAMINAR_EXPONENT: f64 = 0.5;

/// A surface that a fan blows over: `G0 + G1 (n / n_ref)^m`.
///
/// Air speed goes with fan speed (fan laws), and the moving share with a power of air speed between
/// [`LAMINAR_EXPONENT`] and [`TURBULENT_EXPONENT`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceToAir {
    /// Conductance with the fan at rest, W/K.
    pub still_watts_per_kelvin: f64,
    /// What the fan adds at its reference speed, W/K.
    pub fanned_watts_per_kelvin: f64,
    /// Speed at which it adds that, in any unit; more than zero.
    pub reference_speed: f64,
    /// Power of the speed.
    pub exponent: f64,
}

impl SurfaceToAir {
    /// Conductance at a fan speed in the unit of the reference speed, W/K; the direction of turning does not matter.
    pub fn watts_per_kelvin(&self, speed: f64) -> f64 {
        let share = (speed / self.reference_speed).abs();
        self.still_watts_per_kelvin + self.fanned_watts_per_kelvin * share.powf(self.exponent)
    }
}

/// What a stream of air carries per kelvin from one node to the next, W/K, for a one-way link.
pub fn air_stream_watts_per_kelvin(cubic_metres_per_second: f64) -> f64 {
    AIR_JOULES_PER_CUBIC_METRE_KELVIN * cubic_metres_per_second
}
