//! What a temperature is held to.

use crate::insulation::{self, LimitError, Method, Narrow, State};

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

/// Said of a figure that is for another method than that which is used.
const BY_RESISTANCE: &str = "a figure by resistance: a sensor on the winding reads less than its mean";
const BY_THERMOCOUPLE: &str = "a figure by a thermocouple: by resistance more is allowed";

impl Limit {
    /// The limit of a class of insulation in normal running, for the method by which the temperature is found; where the
    /// standard has none, that of the other method, and its source says so. The table's first line is the strictest build that
    /// it knows.
    ///
    /// In a known room it is what holds in that room; else it says which room it is meant for.
    ///
    /// # Errors
    /// [`LimitError`]: no such class or standard, or the standard has no limit for it.
    pub fn of_class(
        class: &str,
        standard: &str,
        method: Method,
        room_celsius: Option<f64>,
    ) -> Result<Limit, LimitError> {
        let of = |method| {
            let narrow = Narrow { state: Some(State::Running), method: Some(method), ..Narrow::default() };
            insulation::limits(class, standard, narrow)
        };
        let (other, words) = match method {
            Method::Thermocouple => (Method::Resistance, BY_RESISTANCE),
            Method::Resistance => (Method::Thermocouple, BY_THERMOCOUPLE),
        };
        let (found, note) = match of(method) {
            Ok(found) => (found, String::new()),
            Err(error) => (of(other).map_err(|_| error)?, format!("; {words}")),
        };
        let limit = found[0];
        Ok(Limit {
            celsius: limit.celsius_in(room_celsius.or(limit.ambient_celsius).unwrap_or_default()),
            words: format!("winding of class {}", limit.class),
            source: format!("{}{note}", limit.source),
            room_celsius: limit.ambient_celsius.filter(|_| room_celsius.is_none()),
        })
    }
}
