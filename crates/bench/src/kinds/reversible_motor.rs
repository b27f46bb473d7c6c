//! Reversible capacitor-run motor: two equal windings at right angles with one end in common, and a capacitor between the
//! other two.
//!
//! Whichever of `forward` and `backward` is fed, its winding is the main one and the other gets its current through the
//! capacitor, a part of its own between the two. So a switch that feeds the one or the other reverses the motor.
//!
//! # Assumes
//! Windings alike within a few per cent, at 90 electrical degrees; iron as the job file says (`iron`); each winding at one temperature. Defaults and
//! their spreads: `tapped_motor` and the nameplate rules of the machine model.

use super::driven_load::{Driven, DrivenLoad};
use super::iron::{self, Iron};
use super::motor_plate::MotorPlate;
use super::second_winding::second_winding_faults;
use super::tapped_motor::TappedMotor;
use super::{Doubt, Insulation, Kind, Rating, UnknownSpec};
use crate::fault::FaultMode;
use crate::heat::PartHeat;
use crate::saturation::Saturation;
use crate::wiring::PartWiring;
use machine::nameplate::Scheme;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// Reversible motor. Terminals: common, forward, backward.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "ReversibleMotorEntry")]
#[schemars(with = "ReversibleMotorEntry")]
pub struct ReversibleMotor {
    entry: ReversibleMotorEntry,
    motor: TappedMotor,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReversibleMotorEntry {
    /// What it drives; torque in proportion to the speed, as pump, if nothing is said.
    load: Option<DrivenLoad>,
    /// Whether its iron saturates: `linear` if nothing is said, or `saturates`.
    iron: Option<Iron>,
    /// What the plate says.
    plate: MotorPlate,
}

impl TryFrom<ReversibleMotorEntry> for ReversibleMotor {
    type Error = String;

    fn try_from(entry: ReversibleMotorEntry) -> Result<Self, Self::Error> {
        let leads = Some(vec!["forward".to_owned()]);
        let load = entry.load.unwrap_or(DrivenLoad::Pump);
        let motor = TappedMotor::new(Scheme::Reversible, &entry.plate.figures(), &leads, load)?;
        Ok(ReversibleMotor { entry, motor })
    }
}

impl Kind for ReversibleMotor {
    fn name(&self) -> &'static str {
        "reversible-motor"
    }

    fn terminals(&self) -> Vec<String> {
        ["common", "forward", "backward"].map(String::from).to_vec()
    }

    fn describe(&self) -> String {
        self.entry.plate.describe()
    }

    fn insulation_class(&self) -> Option<ThermalClass> {
        self.entry.plate.insulation_class.map(|class| class.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        self.motor.unknowns().into_iter().chain(iron::unknown(self.entry.iron)).collect()
    }

    fn saturation(&self) -> Option<Saturation> {
        iron::saturation(self.entry.iron, self.motor.unknowns().len(), self.motor.rated_gap_volts)
    }

    fn faults(&self) -> Vec<FaultMode> {
        let mut faults = self.motor.faults();
        // The winding and its lead come under one name, as on the other side.
        let mut seen = false;
        faults.retain(|fault| fault.name != "forward-open" || !std::mem::replace(&mut seen, true));
        if let Some(open) = faults.iter_mut().find(|fault| fault.name == "forward-open") {
            open.words = "the forward winding or its lead is open".into();
            open.odds = 0.012;
        }
        faults.extend(second_winding_faults("backward", "backward winding"));
        faults.push(FaultMode::new(
            "leads-interchanged",
            "the forward and backward leads are interchanged",
            0.006,
            "put the leads of {} on the right terminals",
        ));
        faults
    }

    fn faults_when_new(&self) -> Vec<FaultMode> {
        self.motor.faults_when_new()
    }

    fn doubts(&self) -> Vec<Doubt> {
        self.motor.doubts.clone()
    }

    fn core_volts(&self) -> Option<f64> {
        Some(self.motor.rated_volts)
    }

    fn heat(&self) -> PartHeat {
        self.motor.heat()
    }

    fn must_rest(&self) -> bool {
        self.motor.load == DrivenLoad::Compressor
    }

    fn rating(&self) -> Option<Rating> {
        self.entry.plate.rating()
    }

    fn rated_hertz(&self) -> Option<f64> {
        Some(self.entry.plate.hertz.0)
    }

    fn driven(&self, hertz: f64) -> Option<Driven> {
        Some(self.motor.driven(hertz))
    }

    fn synchronous_rpm(&self, hertz: f64) -> Option<f64> {
        Some(120.0 * hertz / f64::from(self.motor.medians.poles))
    }

    fn insulation(&self) -> Option<Insulation> {
        Some(Insulation::of_motor([0, 1, 2]))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        self.motor.connect(part, part.terminal(0), |part, common, winding| {
            let lead = if part.has("leads-interchanged") { 1 } else { 2 };
            winding.coils(part, part.terminal(lead), common, "backward")
        });
    }
}
