//! The part catalogue: one file per kind, and the one list of them.

mod armature;
mod breaker;
mod capacitor;
mod capacitor_run_motor;
pub mod catalogue;
mod compressor;
mod contact;
mod cord;
mod current_relay;
mod disc;
mod doubt;
mod driven_load;
mod frame;
mod fuse;
mod half_wave_diode;
mod heater;
mod indicator_lamp;
mod inrush_limiter;
mod insulation;
mod insulation_class;
mod interference_filter;
mod iron;
mod live_conductors;
mod manual_reset_cutout;
mod motor_plate;
mod overload_relay;
mod part_entry;
mod potential_relay;
mod ptc_starter;
mod rated;
mod relay;
mod reversible_motor;
mod run_capacitor;
mod second_winding;
mod sequencer;
mod shaded_pole_motor;
mod shaft;
mod solenoid_valve;
mod splice;
mod split_phase_motor;
mod start_capacitor;
mod starting_motor;
mod supply;
mod switch;
mod tapped_motor;
mod thermal_cutout;
mod thermal_fuse;
mod thermostat;
mod three_phase_motor;
mod three_phase_plate;
mod three_phase_supply;
mod timer_motor;
mod transformer;
mod two_leg_supply;
mod universal_motor;
mod universal_plate;
mod varistor;
mod winding;
mod wrong_motor;

pub use capacitor_run_motor::CapacitorRunMotor;
pub use compressor::Compressor;
pub use cord::Cord;
pub use current_relay::CurrentRelay;
pub use doubt::Doubt;
pub(crate) use driven_load::KeptLoad;
pub use driven_load::{Driven, DrivenLoad};
pub use frame::Frame;
pub use fuse::Fuse;
pub use half_wave_diode::HalfWaveDiode;
pub use heater::Heater;
pub use indicator_lamp::IndicatorLamp;
pub use inrush_limiter::InrushLimiter;
pub use insulation::Insulation;
pub(crate) use insulation::{INSULATION_LOW, insulation_low};
pub use insulation_class::PlateClass;
pub use interference_filter::InterferenceFilter;
pub use iron::Iron;
pub use manual_reset_cutout::ManualResetCutout;
pub use motor_plate::MotorPlate;
pub use overload_relay::OverloadRelay;
pub use part_entry::{KIND_NAMES, PartEntry};
pub use potential_relay::PotentialRelay;
pub use ptc_starter::PtcStarter;
pub use rated::{ContactAmps, MaxCelsius};
pub use relay::Relay;
pub use reversible_motor::ReversibleMotor;
pub use run_capacitor::RunCapacitor;
pub use sequencer::Sequencer;
pub use shaded_pole_motor::ShadedPoleMotor;
pub use shaft::{BEARING_WORN, OUT_OF_BALANCE};
pub use solenoid_valve::SolenoidValve;
pub use splice::Splice;
pub use split_phase_motor::SplitPhaseMotor;
pub use start_capacitor::StartCapacitor;
pub use starting_motor::StartingPlate;
pub use supply::Supply;
pub use switch::Switch;
pub use thermal_cutout::ThermalCutout;
pub use thermal_fuse::ThermalFuse;
pub use thermostat::Thermostat;
pub use three_phase_motor::ThreePhaseMotor;
pub use three_phase_supply::ThreePhaseSupply;
pub use timer_motor::TimerMotor;
pub use transformer::Transformer;
pub use two_leg_supply::TwoLegSupply;
pub use universal_motor::UniversalMotor;
pub use universal_plate::UniversalPlate;
pub use varistor::Varistor;

use crate::fault::FaultMode;
use crate::heat::{HeatContact, PartHeat};
use crate::safety::CordSize;
use crate::saturation::Saturation;
use crate::switching::OwnContact;
use crate::wiring::PartWiring;
use proof::insulation::ThermalClass;
use std::fmt::Debug;

/// A value of a part that is not known exactly.
#[derive(Debug, Clone, PartialEq)]
pub struct UnknownSpec {
    /// What it is, in words.
    pub words: String,
    /// Median.
    pub median: f64,
    /// Standard deviation of its natural logarithm.
    pub log_spread: f64,
    /// The same between sister parts: windings of one make agree within a few per cent.
    pub sister_spread: f64,
}

impl UnknownSpec {
    fn new(words: impl Into<String>, median: f64, log_spread: f64) -> Self {
        UnknownSpec { words: words.into(), median, log_spread, sister_spread: log_spread.min(0.03) }
    }

    fn between_sisters(mut self, sister_spread: f64) -> Self {
        self.sister_spread = sister_spread;
        self
    }
}

/// Supply figures that the rest of the unit needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SupplyFigures {
    /// Rated volts: hot to neutral, or between two live conductors if there are several.
    pub volts: f64,
    /// Rated hertz.
    pub hertz: f64,
    /// Rating of the breaker or fuse ahead of the unit, amperes.
    pub breaker_amps: f64,
    /// Rating of the earth-leakage trip ahead of the unit, amperes; `None` if there is none.
    pub residual_trip_amps: Option<f64>,
}

/// What a part is made to carry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rating {
    /// Amperes at one of its terminals, by its place among them.
    Amps {
        /// The terminal.
        terminal: usize,
        /// The amperes.
        amps: f64,
    },
    /// Amperes at whichever of its first terminals carries most.
    AmpsAtAny {
        /// How many terminals.
        terminals: usize,
        /// The amperes.
        amps: f64,
    },
    /// Watts that it takes.
    Watts(f64),
    /// Amperes in whichever live conductor ahead of the unit carries most.
    FeedAmps(f64),
}

/// What a transformer is made to give.
#[derive(Debug, Clone, PartialEq)]
pub struct RatedOutput {
    /// Volt-amperes of all that it feeds together.
    pub volt_amperes: f64,
    /// For each winding the elements of its sections, with their volts at no load.
    pub windings: Vec<Vec<(String, f64)>>,
}

/// What every kind of part tells about itself.
pub trait Kind: Debug + Send + Sync {
    /// Its name as typed in a job file.
    fn name(&self) -> &'static str;

    /// Its terminals in order.
    fn terminals(&self) -> Vec<String>;

    /// One line for people: rating and make-up.
    fn describe(&self) -> String;

    /// Positions it can be put in, if any.
    fn positions(&self) -> Vec<String> {
        Vec::new()
    }

    /// Position it has when a setup does not say.
    fn ordinary_position(&self) -> Option<String> {
        None
    }

    /// Whether a person can put it in its positions, as a switch, so that a check may ask for one of them.
    fn is_set_by_hand(&self) -> bool {
        false
    }

    /// Values that are not known exactly.
    fn unknowns(&self) -> Vec<UnknownSpec> {
        Vec::new()
    }

    /// Ways in which it can be wrong; that its insulation is low is added for all that have some.
    fn faults(&self) -> Vec<FaultMode>;

    /// Further ways for one that was just put in: not the part that belongs there.
    fn faults_when_new(&self) -> Vec<FaultMode> {
        Vec::new()
    }

    /// The class of its winding's insulation, if its plate says it.
    fn insulation_class(&self) -> Option<ThermalClass> {
        None
    }

    /// Its insulation to the frame, where that matters.
    fn insulation(&self) -> Option<Insulation> {
        None
    }

    /// Contacts that it moves by itself; a contact's place here is what `PartWiring::has_moved` takes.
    fn own_contacts(&self) -> Vec<OwnContact> {
        Vec::new()
    }

    /// What to say instead of a contact's [`OwnContact::moved_words`] once its law has called on it to move, with faults
    /// under which that would be untrue; `has` tells which of the part's faults are put in.
    fn hindered_words(&self, _contact: usize, _has: &dyn Fn(&str) -> bool) -> Option<String> {
        None
    }

    /// Puts its conductors, branches and coils into the layout.
    fn connect(&self, part: &mut PartWiring<'_, '_>);

    /// Supply figures, if this is the supply.
    fn supply(&self) -> Option<SupplyFigures> {
        None
    }

    /// How many of its first terminals are live conductors, if this is the supply; `neutral` and `earth` follow them.
    fn live_conductors(&self) -> usize {
        0
    }

    /// Whether it is what feeds the unit, so that its watts are the whole unit's.
    fn feeds_unit(&self) -> bool {
        false
    }

    /// Whether it is a capacitor between its two terminals, so that a capacitance meter can be put across it.
    fn is_capacitor(&self) -> bool {
        false
    }

    /// Whether it holds a charge after switching off.
    fn stores_charge(&self) -> bool {
        false
    }

    /// Whether it is there to protect, and may be bridged for a moment under a technician's eyes.
    fn is_protector(&self) -> bool {
        false
    }

    /// Whether it is a fuse against too much current, which must never be bridged on a live unit.
    fn is_current_fuse(&self) -> bool {
        false
    }

    /// What it is made to carry, if that is written on it.
    fn rating(&self) -> Option<Rating> {
        None
    }

    /// Amperes that each of its contacts may carry, if they are marked on it.
    fn rated_contact_amps(&self) -> Option<f64> {
        None
    }

    /// What it is made to give, if it is a transformer.
    fn rated_output(&self) -> Option<RatedOutput> {
        None
    }

    /// The hottest it may get, degrees Celsius, if that is marked on it and it hardly warms by itself: a capacitor.
    fn max_celsius(&self) -> Option<f64> {
        None
    }

    /// Volts that it bears between its first two terminals, if they are marked on it.
    fn rated_volts(&self) -> Option<f64> {
        None
    }

    /// What looks wrong about its figures although they can be used.
    fn doubts(&self) -> Vec<Doubt> {
        Vec::new()
    }

    /// Volts for which it is made, if its plate says them and little else would bear others.
    fn plate_volts(&self) -> Option<f64> {
        self.core_volts()
    }

    /// Volts across what stands for its core loss, at its plate; `None` for what has no iron.
    fn core_volts(&self) -> Option<f64> {
        None
    }

    /// Seconds for which it bears its current at a start, if it is made for no more.
    fn starting_seconds(&self) -> Option<f64> {
        None
    }

    /// Its length and section, if it is a cord.
    fn cord_size(&self) -> Option<CordSize> {
        None
    }

    /// What warms in it; nothing for parts whose heat does not matter.
    fn heat(&self) -> PartHeat {
        PartHeat::default()
    }

    /// The contact that heat moves, if it has one; `size` gives the size of each of its faults that is put in, 1 for those
    /// without.
    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        None
    }

    /// Whether it is a motor with a shaft that a hand can reach.
    fn has_open_shaft(&self) -> bool {
        self.synchronous_rpm(50.0).is_some()
    }

    /// Whether it must stand a while before it starts again: a compressor, until its pressures are level.
    fn must_rest(&self) -> bool {
        false
    }

    /// Whether it lets every other half of the wave pass.
    fn passes_half_waves(&self) -> bool {
        false
    }

    /// Volts below which it does not light, if it is a lamp that glows.
    fn least_lit_volts(&self) -> Option<f64> {
        None
    }

    /// How its iron saturates, if that is to be worked out.
    fn saturation(&self) -> Option<Saturation> {
        None
    }

    /// Bars of its commutator, if it has one.
    fn commutator_bars(&self) -> Option<usize> {
        None
    }

    /// What it drives at a frequency, if it is a motor whose load is a thing of its own.
    fn driven(&self, _hertz: f64) -> Option<Driven> {
        None
    }

    /// Frequency it is made for, if that matters.
    fn rated_hertz(&self) -> Option<f64> {
        None
    }

    /// Speed in rpm that speed ratios refer to, if it is a motor: synchronous speed at a frequency, or the plate's speed of
    /// a commutator motor.
    fn synchronous_rpm(&self, _hertz: f64) -> Option<f64> {
        None
    }
}
