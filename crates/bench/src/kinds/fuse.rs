//! Cartridge fuse or fuse link: opens once on too much current.
//!
//! # Assumes
//! A sound fuse is a conductor; small ones have some ohms (a 0.1 A fuse several). In a setup it does not blow; in a run
//! it does, as a body that its own current warms: for good at the current it bears for ever, and sooner the more flows.
//! One curve stands for all types; a fast fuse blows sooner.

use super::{Kind, Rating, contact};
use crate::fault::{FaultMode, Severity};
use crate::heat::body::celsius_at;
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::wiring::PartWiring;
use serde::Deserialize;

/// Least current that blows a fuse in the end, over its rating: between the 1.5 times that it must bear for an hour and
/// the 2.1 times at which it must have blown (IEC 60127-2, time-lag fuses, from memory).
const LEAST_BLOWING: f64 = 1.8;
/// Time in which its link warms, seconds: so that it blows within 2 minutes at 2.1 times (IEC 60127-2, from memory) and
/// in some 10 s at 4 times.
const WARMING_SECONDS: f64 = 40.0;

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

    fn heat(&self) -> PartHeat {
        PartHeat::current_warmed("link", &[0], self.amps.0, WARMING_SECONDS)
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        contact::by_heat(Some(celsius_at(LEAST_BLOWING)), None, None)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        if part.has_moved(0) {
            return;
        }
        part.conductor(part.terminal(0), part.terminal(1), "blown", "bad-joint");
    }
}
