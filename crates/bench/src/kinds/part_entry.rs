//! The list of kinds: what a part of a job file may be, and how it is read.

use super::{
    CapacitorRunMotor, Compressor, Cord, CurrentRelay, Fuse, HalfWaveDiode, Heater, IndicatorLamp, InrushLimiter,
    InterferenceFilter, Kind, ManualResetCutout, OverloadRelay, PotentialRelay, PtcStarter, Relay, ReversibleMotor,
    RunCapacitor, Sequencer, ShadedPoleMotor, SolenoidValve, Splice, SplitPhaseMotor, StartCapacitor, Supply, Switch,
    ThermalCutout, ThermalFuse, Thermostat, ThreePhaseMotor, ThreePhaseSupply, TimerMotor, Transformer, TwoLegSupply,
    UniversalMotor, Varistor,
};
use serde::Deserialize;

/// A part as written in a job file, tagged by its kind. The one list of kinds.
#[derive(Debug, Clone, schemars::JsonSchema)]
#[schemars(tag = "kind", rename_all = "kebab-case")]
pub enum PartEntry {
    /// Where the power comes from.
    Supply(Supply),
    /// Two live legs and a neutral.
    TwoLegSupply(TwoLegSupply),
    /// Three lines and a neutral.
    ThreePhaseSupply(ThreePhaseSupply),
    /// Cord with plug.
    Cord(Cord),
    /// Switch with a contact table.
    Switch(Switch),
    /// Induction motor with auxiliary winding and run capacitor.
    CapacitorRunMotor(CapacitorRunMotor),
    /// Induction motor with shading coils.
    ShadedPoleMotor(ShadedPoleMotor),
    /// Series commutator motor.
    UniversalMotor(UniversalMotor),
    /// Small synchronous motor of a timer.
    TimerMotor(TimerMotor),
    /// Induction motor with start winding and centrifugal switch.
    SplitPhaseMotor(SplitPhaseMotor),
    /// Induction motor with two equal windings that share a capacitor.
    ReversibleMotor(ReversibleMotor),
    /// Hermetic compressor with common, run and start.
    Compressor(Compressor),
    /// Three-phase induction motor.
    ThreePhaseMotor(ThreePhaseMotor),
    /// Run capacitor.
    RunCapacitor(RunCapacitor),
    /// Start capacitor.
    StartCapacitor(StartCapacitor),
    /// Relay that takes a start capacitor out as volts rise.
    PotentialRelay(PotentialRelay),
    /// Relay that puts a start winding in while the current is high.
    CurrentRelay(CurrentRelay),
    /// Disc that cuts a start winding off as it warms.
    PtcStarter(PtcStarter),
    /// Disc that holds back the first rush of current.
    InrushLimiter(InrushLimiter),
    /// Relay or contactor.
    Relay(Relay),
    /// Contact that a small heater closes after a while.
    Sequencer(Sequencer),
    /// Iron-cored transformer or autotransformer.
    Transformer(Transformer),
    /// Solenoid valve for alternating current.
    SolenoidValve(SolenoidValve),
    /// Heating element.
    Heater(Heater),
    /// Diode in series with a load.
    HalfWaveDiode(HalfWaveDiode),
    /// Self-resetting thermal cutout.
    ThermalCutout(ThermalCutout),
    /// One-shot thermal fuse.
    ThermalFuse(ThermalFuse),
    /// Thermal cutout with a button.
    ManualResetCutout(ManualResetCutout),
    /// Overload relay that the motor's current warms.
    OverloadRelay(OverloadRelay),
    /// Cartridge fuse.
    Fuse(Fuse),
    /// Thermostat.
    Thermostat(Thermostat),
    /// Indicator lamp.
    IndicatorLamp(IndicatorLamp),
    /// Interference filter at the supply.
    InterferenceFilter(InterferenceFilter),
    /// Varistor against surges.
    Varistor(Varistor),
    /// Splice or terminal block joining several wires.
    Splice(Splice),
}

/// Names of all kinds, as typed.
pub const KIND_NAMES: [&str; 35] = [
    "supply",
    "two-leg-supply",
    "three-phase-supply",
    "cord",
    "switch",
    "capacitor-run-motor",
    "shaded-pole-motor",
    "universal-motor",
    "timer-motor",
    "split-phase-motor",
    "reversible-motor",
    "compressor",
    "three-phase-motor",
    "run-capacitor",
    "start-capacitor",
    "potential-relay",
    "current-relay",
    "ptc-starter",
    "inrush-limiter",
    "relay",
    "sequencer",
    "transformer",
    "solenoid-valve",
    "heater",
    "half-wave-diode",
    "thermal-cutout",
    "thermal-fuse",
    "manual-reset-cutout",
    "overload-relay",
    "fuse",
    "thermostat",
    "indicator-lamp",
    "interference-filter",
    "varistor",
    "splice",
];

impl PartEntry {
    /// Reads a part of a named kind, so that error positions point into the part's own fields.
    ///
    /// # Errors
    /// What is wrong with a field; `None` if the kind is not known.
    pub(crate) fn read(
        kind: &str,
        value: toml::de::ValueDeserializer<'_>,
    ) -> Option<Result<Box<dyn Kind>, toml::de::Error>> {
        fn boxed<K: Kind + for<'de> Deserialize<'de> + 'static>(
            value: toml::de::ValueDeserializer<'_>,
        ) -> Result<Box<dyn Kind>, toml::de::Error> {
            Ok(Box::new(K::deserialize(value)?))
        }
        Some(match kind {
            "supply" => boxed::<Supply>(value),
            "two-leg-supply" => boxed::<TwoLegSupply>(value),
            "three-phase-supply" => boxed::<ThreePhaseSupply>(value),
            "cord" => boxed::<Cord>(value),
            "switch" => boxed::<Switch>(value),
            "capacitor-run-motor" => boxed::<CapacitorRunMotor>(value),
            "shaded-pole-motor" => boxed::<ShadedPoleMotor>(value),
            "universal-motor" => boxed::<UniversalMotor>(value),
            "timer-motor" => boxed::<TimerMotor>(value),
            "split-phase-motor" => boxed::<SplitPhaseMotor>(value),
            "reversible-motor" => boxed::<ReversibleMotor>(value),
            "compressor" => boxed::<Compressor>(value),
            "three-phase-motor" => boxed::<ThreePhaseMotor>(value),
            "run-capacitor" => boxed::<RunCapacitor>(value),
            "start-capacitor" => boxed::<StartCapacitor>(value),
            "potential-relay" => boxed::<PotentialRelay>(value),
            "current-relay" => boxed::<CurrentRelay>(value),
            "ptc-starter" => boxed::<PtcStarter>(value),
            "inrush-limiter" => boxed::<InrushLimiter>(value),
            "relay" => boxed::<Relay>(value),
            "sequencer" => boxed::<Sequencer>(value),
            "transformer" => boxed::<Transformer>(value),
            "solenoid-valve" => boxed::<SolenoidValve>(value),
            "heater" => boxed::<Heater>(value),
            "half-wave-diode" => boxed::<HalfWaveDiode>(value),
            "thermal-cutout" => boxed::<ThermalCutout>(value),
            "thermal-fuse" => boxed::<ThermalFuse>(value),
            "manual-reset-cutout" => boxed::<ManualResetCutout>(value),
            "overload-relay" => boxed::<OverloadRelay>(value),
            "fuse" => boxed::<Fuse>(value),
            "thermostat" => boxed::<Thermostat>(value),
            "indicator-lamp" => boxed::<IndicatorLamp>(value),
            "interference-filter" => boxed::<InterferenceFilter>(value),
            "varistor" => boxed::<Varistor>(value),
            "splice" => boxed::<Splice>(value),
            _ => return None,
        })
    }
}
