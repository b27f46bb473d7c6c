//! One winding as typed: its terminals in order, and the volts between neighbours.

use crate::job::Positive;
use serde::Deserialize;
use serde::de::{Deserializer, Error, SeqAccess, Visitor};
use std::fmt;

const EXPECTED: &str = "terminals with the volts between them, such as [\"a\", 12, \"centre\", 12, \"b\"]";

/// One winding: terminals in order, with the volts at no load between neighbours: `["a", 12, "centre", 12, "b"]`.
#[derive(Debug, Clone, PartialEq, schemars::JsonSchema)]
#[schemars(with = "Vec<Positive>")]
pub struct Winding {
    /// Its terminals, one more than there are sections.
    pub terminals: Vec<String>,
    /// Volts of its sections.
    pub volts: Vec<f64>,
}

impl Winding {
    /// Its sections by name: `a-centre`.
    pub(super) fn section_names(&self) -> impl Iterator<Item = String> + '_ {
        self.terminals.windows(2).map(|pair| format!("{}-{}", pair[0], pair[1]))
    }

    /// Volts of its sections for people: `12 + 12 V`.
    pub(super) fn describe(&self) -> String {
        let volts: Vec<String> = self.volts.iter().map(f64::to_string).collect();
        format!("{} V", volts.join(" + "))
    }
}

struct WindingVisitor;

impl<'de> Visitor<'de> for WindingVisitor {
    type Value = Winding;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(EXPECTED)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Winding, A::Error> {
        let mut winding = Winding { terminals: Vec::new(), volts: Vec::new() };
        while let Some(terminal) = list.next_element::<String>()? {
            winding.terminals.push(terminal);
            let Some(Positive(volts)) = list.next_element()? else { break };
            winding.volts.push(volts);
        }
        if winding.volts.is_empty() || winding.terminals.len() != winding.volts.len() + 1 {
            let message = match winding.terminals.last() {
                Some(last) if !winding.volts.is_empty() => format!("no terminal after {last} and its volts"),
                _ => "a winding without two ends".into(),
            };
            return Err(A::Error::custom(format!("{message}, expected {EXPECTED}; begin and end with a terminal")));
        }
        Ok(winding)
    }
}

impl<'de> Deserialize<'de> for Winding {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(WindingVisitor)
    }
}
