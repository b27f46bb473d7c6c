//! The class of a winding's insulation, as its plate says it.

use proof::insulation::ThermalClass;
use serde::de::{Deserialize, Deserializer, Error};

/// An insulation class as written: its letter or its temperature, `F` or `155`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, schemars::JsonSchema)]
#[schemars(with = "String")]
pub struct PlateClass(pub ThermalClass);

impl<'de> Deserialize<'de> for PlateClass {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let typed = String::deserialize(deserializer)?;
        ThermalClass::named(&typed).map(PlateClass).map_err(|error| {
            let known: Vec<String> = ThermalClass::all().map(|class| class.to_string()).collect();
            // Where no name is near, the mend is the list of them all.
            let mend = if error.mend.starts_with("there is") { "read the plate again" } else { &error.mend };
            let typed = error.typed;
            D::Error::custom(format!(
                "there is no insulation class '{typed}', expected one of {}, or a temperature such as 155; {mend}",
                known.join(", ")
            ))
        })
    }
}

/// What the description of a plate says of it.
pub(super) fn words(class: Option<PlateClass>) -> String {
    class.map_or(String::new(), |class| format!(", class {}", class.0))
}
