//! Capacitor-run induction motor, single-speed or with speed taps in its main or its auxiliary winding.
//!
//! The auxiliary winding runs from the common lead to `start`; the run capacitor is a part of its own.
//!
//! # Assumes
//! Iron as the job file says (`iron`), auxiliary at 90 electrical degrees, each winding at one temperature. Defaults and their
//! spreads: `tapped_motor`.

use super::driven_load::{Driven, DrivenLoad};
use super::iron::{self, Iron};
use super::motor_plate::MotorPlate;
use super::second_winding::second_winding_faults;
use super::tapped_motor::{SectionsIn, TappedMotor};
use super::{Doubt, Insulation, Kind, Rating, UnknownSpec};
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
    /// The winding that the slower taps take their turns from: main if nothing is said, or auxiliary.
    sections_in: Option<SectionsIn>,
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
        if entry.sections_in.is_some() && motor.taps.len() < 2 {
            return Err(
                "sections_in of a motor with a single speed, expected two taps or more; leave it out, or name the \
                        taps, fastest first"
                    .into(),
            );
        }
        let motor = motor.with_sections_in(entry.sections_in.unwrap_or(SectionsIn::Main));
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
        Some(Insulation::of_motor([0, 1]))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let start = 1 + self.motor.taps.len();
        self.motor.connect(part, part.terminal(0), |part, common, winding| {
            winding.coils(part, part.terminal(start), common, "auxiliary")
        });
    }
}
