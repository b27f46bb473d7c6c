//! Splice or terminal block: one joint of several wires.

use super::Kind;
use crate::fault::{FaultMode, Severity};
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Splice. Terminals are its legs, all joined.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Splice {
    /// Names of its legs; a, b, c if not given.
    pub legs: Option<Vec<String>>,
}

impl Kind for Splice {
    fn name(&self) -> &'static str {
        "splice"
    }

    fn terminals(&self) -> Vec<String> {
        self.legs.clone().unwrap_or_else(|| ["a", "b", "c"].map(String::from).into())
    }

    fn describe(&self) -> String {
        format!("joint of {}", self.terminals().join(", "))
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "remake the splice {}";
        self.terminals()
            .iter()
            .flat_map(|leg| {
                [
                    FaultMode::new(format!("{leg}-loose"), format!("leg {leg} is out of the splice"), 0.004, repair),
                    FaultMode::new(format!("{leg}-bad-joint"), format!("leg {leg} makes poor contact"), 0.006, repair)
                        .sized(Severity::ohms(5.0, 1.5)),
                ]
            })
            .collect()
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let centre = part.inner();
        for (index, leg) in self.terminals().iter().enumerate() {
            part.conductor(part.terminal(index), centre, &format!("{leg}-loose"), &format!("{leg}-bad-joint"));
        }
    }
}
