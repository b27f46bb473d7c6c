//! Induction motor with a start winding and a centrifugal switch of its own: split-phase, capacitor-start, or with two
//! capacitors.
//!
//! The start winding runs from the common lead to the centrifugal switch, which leads to `start`. Without capacitors
//! `start` is wired to the line; a start capacitor is a part of its own, wired ahead of `start`. A run capacitor is wired
//! to `run-capacitor`, which is joined to the start winding behind the switch, so that it stays in circuit.
//!
//! # Assumes
//! The switch opens at three quarters of synchronous speed and closes again at 45 % of it (common practice, no source).
//! Iron as the job file says (`iron`), start winding at 90 electrical degrees, each winding at one temperature. Defaults and their spreads:
//! `tapped_motor`, `starting_motor` and the nameplate rules of the machine model.

use super::contact::{self, ContactOdds, MovesTo};
use super::driven_load::{Driven, DrivenLoad};
use super::iron::{self, Iron};
use super::rated::ContactAmps;
use super::starting_motor::{StartingPlate, start_winding, start_winding_faults};
use super::tapped_motor::TappedMotor;
use super::{Doubt, Insulation, Kind, Rating, UnknownSpec};
use crate::fault::FaultMode;
use crate::heat::PartHeat;
use crate::saturation::Saturation;
use crate::switching::{ContactLaw, OwnContact, Thresholds};
use crate::wiring::PartWiring;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// A part that arcs at every start, in the dust of the motor (common practice, no source).
const ODDS: ContactOdds = ContactOdds { stuck_open: 0.03, welded: 0.015, burnt: 0.01 };
const CONTACT_WORDS: &str = "the centrifugal switch";

/// The speeds of the centrifugal switch as shares of synchronous speed (common practice, no source).
const CENTRIFUGAL: Thresholds = Thresholds { leaves: 0.75, returns: 0.45 };

/// Split-phase motor. Terminals: common, run, start, and run-capacitor if the plate has one.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "SplitPhaseMotorEntry")]
#[schemars(with = "SplitPhaseMotorEntry")]
pub struct SplitPhaseMotor {
    entry: SplitPhaseMotorEntry,
    motor: TappedMotor,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SplitPhaseMotorEntry {
    /// What it drives; a fan if nothing is said.
    load: Option<DrivenLoad>,
    /// Whether its iron saturates: `linear` if nothing is said, or `saturates`.
    iron: Option<Iron>,
    /// What the plate says.
    plate: StartingPlate,
    /// Amps that the contact of its centrifugal switch may carry, if marked.
    centrifugal_rated_amps: Option<ContactAmps>,
}

impl TryFrom<SplitPhaseMotorEntry> for SplitPhaseMotor {
    type Error = String;

    fn try_from(entry: SplitPhaseMotorEntry) -> Result<Self, Self::Error> {
        let motor = entry.plate.motor(entry.load.unwrap_or(DrivenLoad::Fan))?;
        Ok(SplitPhaseMotor { entry, motor })
    }
}

impl Kind for SplitPhaseMotor {
    fn name(&self) -> &'static str {
        "split-phase-motor"
    }

    fn terminals(&self) -> Vec<String> {
        let run_capacitor = self.entry.plate.run_microfarads.map(|_| "run-capacitor");
        ["common", "run", "start"].into_iter().chain(run_capacitor).map(String::from).collect()
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
        let repair = "replace the centrifugal switch of {}, or clean its contacts and free its weights";
        let mut faults = self.motor.faults();
        faults.extend(start_winding_faults());
        faults.extend(contact::faults("centrifugal-", CONTACT_WORDS, &ODDS, repair));
        faults
    }

    fn faults_when_new(&self) -> Vec<FaultMode> {
        self.motor.faults_when_new()
    }

    fn own_contacts(&self) -> Vec<OwnContact> {
        vec![OwnContact { moved_words: "the centrifugal switch has opened", law: ContactLaw::Speed(CENTRIFUGAL) }]
    }

    fn hindered_words(&self, _contact: usize, has: &dyn Fn(&str) -> bool) -> Option<String> {
        contact::hindered(has, "centrifugal-", CONTACT_WORDS, MovesTo::Open)
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

    fn rated_contact_amps(&self) -> Option<f64> {
        self.entry.centrifugal_rated_amps.map(|amps| amps.0)
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let has_run_capacitor = self.entry.plate.run_microfarads.is_some();
        self.motor.connect(part, part.terminal(0), |part, common, winding| {
            let lead = if has_run_capacitor { part.terminal(3) } else { part.inner() };
            contact::connect(part, part.terminal(2), lead, !part.has_moved(0), "centrifugal-");
            start_winding(part, lead, common, winding)
        });
    }
}
