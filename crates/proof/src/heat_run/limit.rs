//! What a temperature is held to.

/// A limit in degrees, with the words it is known by and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// The temperature that must not be exceeded, degrees Celsius.
    pub celsius: f64,
    /// What it is, such as 'winding of class F'.
    pub words: String,
    /// Where it comes from.
    pub source: String,
    /// The temperature of the room that it is meant for, if it is meant for one: what was measured is corrected to it
    /// degree for degree (UL 507, 46.1.9).
    pub room_celsius: Option<f64>,
}
