//! Hermetic compressor: main and start winding with one end in common, and an overload inside.
//!
//! What starts it lies outside: a potential relay, current relay or PTC starter, and its capacitors, each a part of its
//! own. The overload is in the common lead, so that it stops both windings.
//!
//! # Assumes
//! Pressures are level at the start unless `load` says otherwise. In a setup the overload is where the setup has it,
//! closed unless it says open; in a run the heat of the main winding and of its own current moves it: a start winding that
//! burns while that is cool does not. Locked-rotor amps on the plate are not used. Iron as the job file says (`iron`), start winding at 90 electrical degrees.
//! Defaults and their spreads: `tapped_motor`, `starting_motor` and the nameplate rules of the machine model.

use super::contact::{self, ContactOdds};
use super::driven_load::DrivenLoad;
use super::iron::{self, Iron};
use super::starting_motor::{StartingPlate, start_winding, start_winding_faults};
use super::tapped_motor::TappedMotor;
use super::{Doubt, Insulation, Kind, Rating, UnknownSpec, shaft};
use crate::fault::FaultMode;
use crate::heat::{HeatContact, HeatSource, PartHeat};
use crate::saturation::Saturation;
use crate::wiring::PartWiring;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// Odds of the overload inside (common practice, no source).
const OVERLOAD_ODDS: ContactOdds = ContactOdds { stuck_open: 0.015, welded: 0.003, burnt: 0.003 };

/// Compressor overloads are published to open at 107 to 121 degrees Celsius and to close at about 66.
const OVERLOAD_OPENS_CELSIUS: f64 = 114.0;
const OVERLOAD_CLOSES_CELSIUS: f64 = 66.0;

/// Compressor. Terminals: common, run, start. Positions: closed (ordinary), open.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "CompressorEntry")]
#[schemars(with = "CompressorEntry")]
pub struct Compressor {
    entry: CompressorEntry,
    motor: TappedMotor,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CompressorEntry {
    /// What it starts against: compressor with its pressures level if nothing is said, constant against full pressure.
    load: Option<DrivenLoad>,
    /// Whether its iron saturates: `linear` if nothing is said, or `saturates`.
    iron: Option<Iron>,
    /// What the plate says.
    plate: StartingPlate,
}

impl TryFrom<CompressorEntry> for Compressor {
    type Error = String;

    fn try_from(entry: CompressorEntry) -> Result<Self, Self::Error> {
        let motor = entry.plate.motor(entry.load.unwrap_or(DrivenLoad::Compressor))?;
        Ok(Compressor { entry, motor })
    }
}

impl Kind for Compressor {
    fn name(&self) -> &'static str {
        "compressor"
    }

    fn terminals(&self) -> Vec<String> {
        ["common", "run", "start"].map(String::from).to_vec()
    }

    fn describe(&self) -> String {
        self.entry.plate.describe()
    }

    fn positions(&self) -> Vec<String> {
        contact::positions()
    }

    fn ordinary_position(&self) -> Option<String> {
        Some("closed".into())
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
        let repair = "replace the compressor {}";
        let mut faults = self.motor.faults();
        faults.extend(start_winding_faults());
        // Nothing inside a welded shell can be mended, bearings and leads included.
        for fault in &mut faults {
            fault.repair = repair;
        }
        // Every hermetic shell is wired at the works; a start winding the wrong way round never leaves them.
        // And nobody reaches its shaft to tell worn bearings from those that drag.
        faults.retain(|fault| fault.name != "start-reversed" && fault.name != shaft::BEARING_WORN);
        faults.extend(contact::faults("overload-", "the overload inside", &OVERLOAD_ODDS, repair));
        faults
    }

    fn faults_when_new(&self) -> Vec<FaultMode> {
        self.motor.faults_when_new()
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        let closes_celsius = Some(OVERLOAD_CLOSES_CELSIUS);
        let body = self.heat().bodies.iter().position(|body| matches!(body.source, HeatSource::Disc { .. }))?;
        let opens_celsius = OVERLOAD_OPENS_CELSIUS;
        Some(HeatContact { contact: 0, body, opens_celsius, closes_celsius, warmth_closes: false })
    }

    fn doubts(&self) -> Vec<Doubt> {
        self.motor.doubts.clone()
    }

    fn core_volts(&self) -> Option<f64> {
        Some(self.motor.rated_volts)
    }

    fn heat(&self) -> PartHeat {
        self.motor.heat_in_shell()
    }

    fn has_open_shaft(&self) -> bool {
        false
    }

    fn must_rest(&self) -> bool {
        true
    }

    fn rating(&self) -> Option<Rating> {
        self.entry.plate.rating()
    }

    fn rated_hertz(&self) -> Option<f64> {
        Some(self.entry.plate.hertz.0)
    }

    fn synchronous_rpm(&self, hertz: f64) -> Option<f64> {
        Some(120.0 * hertz / f64::from(self.motor.medians.poles))
    }

    fn insulation(&self) -> Option<Insulation> {
        Some(Insulation::of_motor([0, 1]))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let behind_overload = part.inner();
        let closed = part.position() != Some("open") && !part.has_moved(0);
        contact::connect(part, part.terminal(0), behind_overload, closed, "overload-");
        self.motor.connect(part, behind_overload, |part, common, winding| {
            start_winding(part, part.terminal(2), common, winding)
        });
    }
}
