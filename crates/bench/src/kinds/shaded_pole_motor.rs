//! Shaded-pole induction motor, single-speed or with speed taps in its main winding.
//!
//! # Assumes
//! The shading coils of all poles act as one short-circuited coil on an axis of its own; iron as the job file says. Defaults and
//! their spreads: `tapped_motor` and the nameplate rules of the machine model.

use super::driven_load::{Driven, DrivenLoad};
use super::iron::{self, Iron};
use super::motor_plate::MotorPlate;
use super::tapped_motor::TappedMotor;
use super::{Doubt, Insulation, Kind, Rating, UnknownSpec};
use crate::fault::FaultMode;
use crate::heat::PartHeat;
use crate::saturation::Saturation;
use crate::wiring::{PartWiring, PlannedCoil};
use machine::nameplate::Scheme;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// Shaded-pole motor. Terminals: common, the taps from fastest to slowest (`run` if none are given).
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "ShadedPoleMotorEntry")]
#[schemars(with = "ShadedPoleMotorEntry")]
pub struct ShadedPoleMotor {
    entry: ShadedPoleMotorEntry,
    motor: TappedMotor,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShadedPoleMotorEntry {
    /// Names of the speed taps, fastest first.
    taps: Option<Vec<String>>,
    /// What it drives; a fan if nothing is said.
    load: Option<DrivenLoad>,
    /// Whether its iron saturates: `linear` if nothing is said, or `saturates`.
    iron: Option<Iron>,
    /// What the plate says.
    plate: MotorPlate,
}

impl TryFrom<ShadedPoleMotorEntry> for ShadedPoleMotor {
    type Error = String;

    fn try_from(entry: ShadedPoleMotorEntry) -> Result<Self, Self::Error> {
        let load = entry.load.unwrap_or(DrivenLoad::Fan);
        let motor = TappedMotor::new(Scheme::ShadedPole, &entry.plate.figures(), &entry.taps, load)?;
        Ok(ShadedPoleMotor { entry, motor })
    }
}

impl Kind for ShadedPoleMotor {
    fn name(&self) -> &'static str {
        "shaded-pole-motor"
    }

    fn terminals(&self) -> Vec<String> {
        std::iter::once("common".to_owned()).chain(self.motor.taps.iter().cloned()).collect()
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

    fn faults(&self) -> Vec<FaultMode> {
        let mut faults = self.motor.faults();
        faults.push(FaultMode::new("shading-coil-open", "a shading coil is broken", 0.005, "replace the motor {}"));
        faults
    }

    fn faults_when_new(&self) -> Vec<FaultMode> {
        self.motor.faults_when_new()
    }

    fn saturation(&self) -> Option<Saturation> {
        iron::saturation(self.entry.iron, self.motor.unknowns().len(), self.motor.rated_gap_volts)
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
        Some(Insulation::of_motor([0, 1]))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        self.motor.connect(part, part.terminal(0), |part, common, winding| {
            if part.has("shading-coil-open") {
                return Vec::new();
            }
            vec![PlannedCoil {
                label: winding.label.into(),
                from: common,
                to: common,
                turns: winding.turns.clone(),
                angle: winding.angle,
                resistance: winding.ohms.clone(),
                leakage: winding.leakage.clone(),
            }]
        });
    }
}
