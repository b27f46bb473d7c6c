//! Capacitor-run induction motor, single-speed or with speed taps in its main winding.
//!
//! The auxiliary winding runs from the common lead to `start`; the run capacitor is a part of its own.
//!
//! # Assumes
//! Iron as the job file says (`iron`), auxiliary at 90 electrical degrees, one winding temperature. Defaults and their
//! spreads: `tapped_motor`.

use super::driven_load::{Driven, DrivenLoad};
use super::iron::{self, Iron};
use super::motor_plate::MotorPlate;
use super::tapped_motor::{TappedMotor, second_winding_faults};
use super::{Insulation, Kind, Rating, UnknownSpec};
use crate::fault::FaultMode;
use crate::heat::PartHeat;
use crate::saturation::Saturation;
use crate::wiring::PartWiring;
use machine::nameplate::Scheme;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// Capacitor-run motor. Terminals: common, the taps from fastest to slowest (`run` if none are given), start.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "CapacitorRunMotorEntry")]
#[schemars(with = "CapacitorRunMotorEntry")]
pub struct CapacitorRunMotor {
    entry: CapacitorRunMotorEntry,
    motor: TappedMotor,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CapacitorRunMotorEntry {
    /// Names of the speed taps, fastest first.
    taps: Option<Vec<String>>,
    /// What it drives; a fan if nothing is said.
    load: Option<DrivenLoad>,
    /// Whether its iron saturates: `linear` if nothing is said, or `saturates`.
    iron: Option<Iron>,
    /// What the plate says.
    plate: MotorPlate,
}

impl TryFrom<CapacitorRunMotorEntry> for CapacitorRunMotor {
    type Error = String;

    fn try_from(entry: CapacitorRunMotorEntry) -> Result<Self, Self::Error> {
        let load = entry.load.unwrap_or(DrivenLoad::Fan);
        let motor = TappedMotor::new(Scheme::CapacitorRun, &entry.plate.figures(), &entry.taps, load)?;
        Ok(CapacitorRunMotor { entry, motor })
    }
}

impl Kind for CapacitorRunMotor {
    fn name(&self) -> &'static str {
        "capacitor-run-motor"
    }

    fn terminals(&self) -> Vec<String> {
        let mut names = vec!["common".to_owned()];
        names.extend(self.motor.taps.iter().cloned());
        names.push("start".into());
        names
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
        faults.extend(second_winding_faults("auxiliary", "auxiliary winding"));
        faults
    }

    fn faults_when_new(&self) -> Vec<FaultMode> {
        self.motor.faults_when_new()
    }

    fn saturation(&self) -> Option<Saturation> {
        iron::saturation(self.entry.iron, self.motor.unknowns().len(), self.motor.rated_gap_volts)
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
        let start = 1 + self.motor.taps.len();
        self.motor.connect(part, part.terminal(0), |part, common, winding| {
            winding.coils(part, part.terminal(start), common, "auxiliary")
        });
    }
}
