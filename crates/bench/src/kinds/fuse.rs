//! Cartridge fuse or fuse link: opens once on too much current.
//!
//! # Assumes
//! A sound fuse is a conductor; small ones have some ohms (a 0.1 A fuse several). Whether it would blow in a setup is not
//! worked out: compare its amps with the predicted current.

use super::{Kind, Rating};
use crate::fault::{FaultMode, Severity};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Cartridge fuse. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fuse {
    /// Rated amps.
    pub amps: Positive,
}

impl Kind for Fuse {
    fn name(&self) -> &'static str {
        "fuse"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        format!("{} A", self.amps.0)
    }

    fn faults(&self) -> Vec<FaultMode> {
        let blown = "find what drew too much, then replace the fuse {} with one of the same amps and type";
        let joint = "clean or replace the holder of the fuse {}";
        vec![
            FaultMode::new("blown", "the fuse has blown", 0.05, blown),
            FaultMode::new("bad-joint", "a clip of the fuse holder has gone high in resistance", 0.008, joint)
                .sized(Severity::ohms(5.0, 1.5)),
        ]
    }

    fn is_current_fuse(&self) -> bool {
        true
    }

    fn rating(&self) -> Option<Rating> {
        Some(Rating::Amps { terminal: 0, amps: self.amps.0 })
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        part.conductor(part.terminal(0), part.terminal(1), "blown", "bad-joint");
    }
}
