//! Timer motor: a small synchronous motor that turns the cams of a timer.
//!
//! The coil is copper in series with a magnetising reactance, beside which stands a resistance for iron, gears and cams.
//!
//! # Assumes
//! It takes the same turning or stuck: so small a motor draws within a few per cent of its running current when it is held
//! (common practice, no source). Whether it turns is not worked out, so a stuck one shows in no reading here; watch its
//! cams.

use super::{Insulation, Kind, PlateClass, Rating, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::job::Positive;
use crate::wiring::{PartWiring, PlannedCoil, PlannedCore};
use circuit::{Complex64, Quantity};
use machine::copper;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// Watts where none are given (common practice, no source).
const USUAL_WATTS: f64 = 3.0;
/// Power factor (engineering judgement; with the share below, 3 W at 120 V has the 600 ohm that a repair page gives for a
/// small timer motor, acmehowto.com/howto/appliance/icemaker/check/motor4.php, a weak source).
const POWER_FACTOR: f64 = 0.5;
/// Share of the watts that is heat in the copper (engineering judgement).
const COPPER_SHARE: f64 = 0.5;
/// Largest share of the watts that given ohms may make up.
const MOST_COPPER_SHARE: f64 = 0.9;

/// Indices of the unknowns.
const OHMS: usize = 0;
const MAGNETISING: usize = 1;
const LOAD: usize = 2;

/// Timer motor. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TimerMotor {
    /// Rated volts.
    pub volts: Positive,
    /// Rated hertz, if the plate says just one.
    pub hertz: Option<Positive>,
    /// Rated watts; 3 if not given.
    pub watts: Option<Positive>,
    /// Ohms of the coil, cold, where published.
    pub ohms: Option<Positive>,
    /// Insulation class, such as `F` or `155`.
    pub insulation_class: Option<PlateClass>,
}

impl TimerMotor {
    fn watts(&self) -> f64 {
        self.watts.map_or(USUAL_WATTS, |watts| watts.0)
    }

    /// Copper, magnetising reactance and load resistance that take the rated watts at the usual power factor, ohms.
    fn medians(&self) -> [f64; 3] {
        let (watts, volts) = (self.watts(), self.volts.0);
        let amps = watts / (POWER_FACTOR * volts);
        let series = watts / (amps * amps);
        let ohms = self.ohms.map_or(COPPER_SHARE * series, |ohms| ohms.0);
        let current = Complex64::from_polar(amps, -POWER_FACTOR.acos());
        // Given ohms that would make more heat than the plate has watts are taken as far as the plate allows.
        let behind = current / (volts - current * ohms.min(MOST_COPPER_SHARE * series));
        [ohms, -1.0 / behind.im, 1.0 / behind.re]
    }
}

impl Kind for TimerMotor {
    fn name(&self) -> &'static str {
        "timer-motor"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        format!("{} V, {} W", self.volts.0, self.watts())
    }

    fn insulation_class(&self) -> Option<ThermalClass> {
        self.insulation_class.map(|class| class.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        // Spreads: engineering judgement, after how much is known.
        let [ohms, magnetising, load] = self.medians();
        let size: f64 = if self.watts.is_some() { 0.2 } else { 0.4 };
        let ohms_spread = if self.ohms.is_some() { 0.05 } else { size.hypot(0.3) };
        vec![
            UnknownSpec::new("coil ohms", ohms, ohms_spread),
            UnknownSpec::new("magnetising reactance", magnetising, size.hypot(0.3)),
            UnknownSpec::new("load", load, size.hypot(0.3)),
        ]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the timer motor {}";
        vec![
            FaultMode::new("coil-open", "the coil is open", 0.03, repair),
            FaultMode::new("shorted-turns", "some turns of the coil are shorted", 0.006, repair)
                .sized(Severity::share("share of turns", 0.08, 0.9)),
            FaultMode::new(
                "stuck",
                "it takes current but does not turn",
                0.02,
                "free the gears and cams that {} turns, or replace it",
            ),
        ]
    }

    fn rating(&self) -> Option<Rating> {
        self.watts.map(|watts| Rating::Watts(watts.0))
    }

    fn rated_hertz(&self) -> Option<f64> {
        self.hertz.map(|hertz| hertz.0)
    }

    fn insulation(&self) -> Option<Insulation> {
        Some(Insulation::of_coil([0, 1]))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let (a, b) = (part.terminal(0), part.terminal(1));
        let ohms = &part.unknown(OHMS) * copper::resistance_ratio(part.winding_celsius(), 20.0);
        let coil = |label: &'static str, from, to, turns: Quantity, resistance: Quantity| PlannedCoil {
            label: label.into(),
            from,
            to,
            turns,
            angle: 0.0,
            resistance,
            leakage: Quantity::constant(0.0),
        };
        let mut coils = vec![coil("iron and gears", a, a, Quantity::constant(1.0), part.unknown(LOAD))];
        if !part.has("coil-open") {
            let mut left = Quantity::constant(1.0);
            if let Some(shorted) = part.severity("shorted-turns") {
                coils.push(coil("shorted turns", b, b, shorted.clone(), &ohms * &shorted));
                left = &(&shorted * -1.0) + 1.0;
            }
            coils.push(coil("coil", a, b, left.clone(), &ohms * &left));
        }
        part.core(PlannedCore { coils, magnetising: part.unknown(MAGNETISING) });
    }
}
