//! What a contact or a capacitor is made for, as marked on it.
//!
//! Both only tell what is too much: they change nothing that a unit does.

use crate::job::Positive;
use serde::de::{Deserialize, Deserializer};

/// Amps of contacts in small machines, from the tiny ones of a probe to large contactors (common practice, no source).
const USUAL_AMPS: [f64; 2] = [0.01, 400.0];
/// Temperatures that capacitors are made for, degrees Celsius: 55 to 100 are the classes of IEC 60252-1 (from memory); 70 and
/// 85 are what most have (data sheets of motor capacitors, such as that of a maker at readbag.com/reco-bg-motor).
const USUAL_CELSIUS: [f64; 2] = [40.0, 150.0];

/// Amperes that each contact of a part may carry.
#[derive(Debug, Clone, Copy, PartialEq, schemars::JsonSchema)]
#[schemars(with = "Positive")]
pub struct ContactAmps(pub f64);

impl<'de> Deserialize<'de> for ContactAmps {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mend = "write amps, not milliamps, and of 16(4) the figure in brackets where a motor is switched";
        Positive::deserialize(deserializer)?.within(USUAL_AMPS, "a contact for", "A", mend).map(ContactAmps)
    }
}

/// The hottest that a capacitor may get, degrees Celsius.
#[derive(Debug, Clone, Copy, PartialEq, schemars::JsonSchema)]
#[schemars(with = "Positive")]
pub struct MaxCelsius(pub f64);

impl<'de> Deserialize<'de> for MaxCelsius {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mend = "write degrees Celsius, not Fahrenheit, and of 25/085/21 the figure in the middle, 85";
        let typed = Positive::deserialize(deserializer)?;
        typed.within(USUAL_CELSIUS, "a capacitor for", "degrees Celsius", mend).map(MaxCelsius)
    }
}

/// What the description of a part says of its contacts.
pub(super) fn contact_words(amps: Option<ContactAmps>) -> String {
    amps.map_or(String::new(), |amps| format!(", contacts for {} A", amps.0))
}

/// What the description of a capacitor says of its temperature.
pub(super) fn celsius_words(celsius: Option<MaxCelsius>) -> String {
    celsius.map_or(String::new(), |celsius| format!(", up to {} C", celsius.0))
}
