//! What motors with a start winding have in common: the plate, and the winding that is there to start them.
//!
//! # Assumes
//! A start winding without a run capacitor is out of circuit at plate speed, so the plate is that of the main winding
//! alone. With a run capacitor on the plate the winding stays in circuit behind it, and the plate is that of both. It warms by
//! itself, its copper worked out from its turns and ohms.

use super::driven_load::DrivenLoad;
use super::second_winding::{SecondWinding, second_winding_faults};
use super::tapped_motor::TappedMotor;
use super::{PlateClass, Rating, insulation_class};
use crate::fault::FaultMode;
use crate::job::Positive;
use crate::wiring::{Node, PartWiring, PlannedCoil};
use machine::nameplate::{Nameplate, Scheme};
use serde::Deserialize;

/// What can be read on the plate of a motor with a start winding, or is published for it.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StartingPlate {
    /// Rated volts.
    pub volts: Positive,
    /// Rated hertz.
    pub hertz: Positive,
    /// Full-load amps.
    pub amps: Option<Positive>,
    /// Full-load speed, revolutions per minute.
    pub rpm: Option<Positive>,
    /// Number of poles.
    pub poles: Option<u32>,
    /// Start capacitor, microfarads; leave it out if the motor has none.
    pub microfarads: Option<Positive>,
    /// Run capacitor, microfarads; leave it out if the motor has none.
    pub run_microfarads: Option<Positive>,
    /// Input watts.
    pub watts: Option<Positive>,
    /// Ohms from common to run, cold, where published.
    pub main_ohms: Option<Positive>,
    /// Ohms from common to start, cold, where published.
    pub start_ohms: Option<Positive>,
    /// Insulation class, such as `F` or `155`.
    pub insulation_class: Option<PlateClass>,
}

impl StartingPlate {
    /// How the motor starts and runs.
    fn scheme(&self) -> Scheme {
        match (self.run_microfarads, self.microfarads) {
            (Some(_), _) => Scheme::HeavyCapacitorRun,
            (None, Some(_)) => Scheme::CapacitorStart,
            (None, None) => Scheme::SplitPhase,
        }
    }

    fn figures(&self) -> Nameplate {
        let value = |entry: Option<Positive>| entry.map(|number| number.0);
        Nameplate {
            volts: self.volts.0,
            hertz: self.hertz.0,
            amps: value(self.amps),
            rpm: value(self.rpm),
            poles: self.poles,
            microfarads: value(self.run_microfarads),
            watts: value(self.watts),
            main_ohms: value(self.main_ohms),
            second_ohms: value(self.start_ohms),
        }
    }

    pub(super) fn motor(&self, load: DrivenLoad) -> Result<TappedMotor, String> {
        TappedMotor::new(self.scheme(), &self.figures(), &None, load)
    }

    /// Plate amps, met in the common lead.
    pub(super) fn rating(&self) -> Option<Rating> {
        self.amps.map(|amps| Rating::Amps { terminal: 0, amps: amps.0 })
    }

    pub(super) fn describe(&self) -> String {
        let mut text = format!("{} V, {} Hz", self.volts.0, self.hertz.0);
        for (value, unit) in [
            (self.amps, "A"),
            (self.rpm, "rpm"),
            (self.watts, "W"),
            (self.microfarads, "uF start"),
            (self.run_microfarads, "uF run"),
        ] {
            if let Some(value) = value {
                text += &format!(", {} {unit}", value.0);
            }
        }
        if let Some(poles) = self.poles {
            text += &format!(", {poles} poles");
        }
        text + &insulation_class::words(self.insulation_class)
    }
}

/// Faults of the start winding.
pub(super) fn start_winding_faults() -> Vec<FaultMode> {
    let mut faults = second_winding_faults("start", "start winding");
    faults.push(FaultMode::new(
        "start-reversed",
        "the ends of the start winding are interchanged, so the motor turns backwards",
        0.003,
        "interchange the ends of the start winding of {}",
    ));
    faults
}

/// The start winding between its lead and the common node.
pub(super) fn start_winding(
    part: &PartWiring<'_, '_>,
    lead: Node,
    common: Node,
    winding: &SecondWinding,
) -> Vec<PlannedCoil> {
    let (from, to) = if part.has("start-reversed") { (common, lead) } else { (lead, common) };
    winding.coils(part, from, to, "start")
}
