//! Solenoid valve for alternating current: a coil on iron with a plunger in it.
//!
//! The coil is one winding on the core that transformers have: copper in series, magnetising reactance and core loss
//! beside each other behind it.
//!
//! # Assumes
//! Linear iron with the plunger pulled in. The first fraction of a second, in which the plunger still travels and the
//! current is higher, is left out. A valve that sticks in its energised place, dirt in its seat and a leak show nothing
//! electrically and are left out too. A coil with a rectifier inside is another part.

use super::{Insulation, Kind, PlateClass, Rating, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::heat::PartHeat;
use crate::job::Positive;
use crate::wiring::{PartWiring, PlannedCoil, PlannedCore};
use circuit::{Complex64, Quantity};
use machine::copper;
use proof::insulation::ThermalClass;
use serde::Deserialize;

/// Watts of a small valve where neither watts nor amps are given (engineering judgement).
const USUAL_WATTS: f64 = 8.0;
/// Power factor of a coil with its plunger in (engineering judgement: plates such as 9 W with 15 VA).
const POWER_FACTOR: f64 = 0.6;
/// Share of the watts that is copper loss; the rest is core and shading ring (engineering judgement).
const COPPER_SHARE: f64 = 0.65;
/// Largest share of the watts that given ohms may make up.
const MOST_COPPER_SHARE: f64 = 0.98;

/// Rise of a coil over still air at rated watts, kelvins: coils are made for steady duty (engineering judgement); and the
/// time in which it warms, seconds.
const COIL_RISE: f64 = 60.0;
const WARMING_SECONDS: f64 = 1200.0;

/// Indices of the unknowns.
const OHMS: usize = 0;
const MAGNETISING: usize = 1;
const CORE_LOSS: usize = 2;

/// Solenoid valve. Terminals: a, b.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "SolenoidValveEntry")]
#[schemars(with = "SolenoidValveEntry")]
pub struct SolenoidValve {
    entry: SolenoidValveEntry,
    medians: Medians,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SolenoidValveEntry {
    /// Rated volts, alternating.
    volts: Positive,
    /// Rated hertz, if the plate says just one.
    hertz: Option<Positive>,
    /// Rated watts with the plunger in.
    watts: Option<Positive>,
    /// Rated amps with the plunger in.
    amps: Option<Positive>,
    /// Ohms of the coil, cold, where published.
    ohms: Option<Positive>,
    /// Insulation class, such as `F` or `155`.
    insulation_class: Option<PlateClass>,
}

/// Median values, ohms.
#[derive(Debug, Clone, Copy)]
struct Medians {
    /// Copper at 20 degrees Celsius.
    ohms: f64,
    magnetising: f64,
    core_loss: f64,
}

impl SolenoidValveEntry {
    /// Watts and amps, what is missing by the usual power factor.
    fn load(&self) -> (f64, f64) {
        let watts = |amps: f64| POWER_FACTOR * self.volts.0 * amps;
        let amps = |watts: f64| watts / POWER_FACTOR / self.volts.0;
        match (self.watts, self.amps) {
            (Some(watts), Some(amps)) => (watts.0, amps.0),
            (Some(watts), None) => (watts.0, amps(watts.0)),
            (None, Some(amps)) => (watts(amps.0), amps.0),
            (None, None) => (USUAL_WATTS, amps(USUAL_WATTS)),
        }
    }
}

impl TryFrom<SolenoidValveEntry> for SolenoidValve {
    type Error = String;

    fn try_from(entry: SolenoidValveEntry) -> Result<Self, Self::Error> {
        let (watts, amps) = entry.load();
        if watts >= entry.volts.0 * amps {
            return Err(format!(
                "{watts} W is no less than {} V times {amps} A, expected fewer watts in an alternating-current coil; \
                 check each figure, or leave out what cannot be read",
                entry.volts.0
            ));
        }
        // Given ohms that would make more heat than the plate has watts are taken as far as the plate allows.
        let series = watts / (amps * amps);
        let ohms = entry.ohms.map_or(COPPER_SHARE * series, |ohms| ohms.0);
        let hot = ohms.min(MOST_COPPER_SHARE * series);
        let current = Complex64::new(watts / entry.volts.0, -(amps.powi(2) - (watts / entry.volts.0).powi(2)).sqrt());
        let core = current / (Complex64::from(entry.volts.0) - current * hot);
        let medians = Medians { ohms, magnetising: -1.0 / core.im, core_loss: 1.0 / core.re };
        Ok(SolenoidValve { entry, medians })
    }
}

impl Kind for SolenoidValve {
    fn name(&self) -> &'static str {
        "solenoid-valve"
    }

    fn terminals(&self) -> Vec<String> {
        vec!["a".into(), "b".into()]
    }

    fn describe(&self) -> String {
        let mut text = format!("{} V", self.entry.volts.0);
        for (value, unit) in [(self.entry.hertz, "Hz"), (self.entry.watts, "W"), (self.entry.amps, "A")] {
            if let Some(value) = value {
                text += &format!(", {} {unit}", value.0);
            }
        }
        text
    }

    fn insulation_class(&self) -> Option<ThermalClass> {
        self.entry.insulation_class.map(|class| class.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        // Spreads: engineering judgement, after how much of the plate is known.
        let is_given =
            |value: Option<Positive>, given: f64, guessed: f64| if value.is_some() { given } else { guessed };
        let size = is_given(self.entry.watts.or(self.entry.amps), 0.0, 0.5);
        let Medians { ohms, magnetising, core_loss } = self.medians;
        vec![
            UnknownSpec::new("coil ohms", ohms, is_given(self.entry.ohms, 0.05, size.hypot(0.3))),
            UnknownSpec::new("magnetising reactance", magnetising, size.hypot(is_given(self.entry.amps, 0.1, 0.25))),
            UnknownSpec::new("core loss", core_loss, size.hypot(0.5)),
        ]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let coil = "replace the coil of the valve {}";
        vec![
            FaultMode::new("coil-open", "the coil is open", 0.03, coil),
            FaultMode::new("shorted-turns", "some turns of the coil are shorted", 0.012, coil).sized(Severity::share(
                "share of turns",
                0.08,
                0.9,
            )),
            FaultMode::new("to-frame", "the coil has broken through to the frame", 0.006, coil)
                .sized(Severity::ohms(2000.0, 2.5)),
            // Relay coils draw three to five times their holding current with the armature out (a textbook page on
            // pull-in current); valves have more copper, so less.
            FaultMode::new(
                "plunger-stuck-out",
                "the plunger does not pull in",
                0.02,
                "free and clean the plunger of the valve {}, or replace it, and check that its coil has not suffered",
            )
            .sized(Severity::share("share of inductance missing", 0.6, 0.5)),
        ]
    }

    fn core_volts(&self) -> Option<f64> {
        Some(self.entry.volts.0)
    }

    fn rating(&self) -> Option<Rating> {
        let amps = self.entry.amps.map(|amps| Rating::Amps { terminal: 0, amps: amps.0 });
        amps.or(self.entry.watts.map(|watts| Rating::Watts(watts.0)))
    }

    fn rated_hertz(&self) -> Option<f64> {
        self.entry.hertz.map(|hertz| hertz.0)
    }

    fn heat(&self) -> PartHeat {
        PartHeat::plain("coil", self.entry.load().0, COIL_RISE, COIL_RISE / 2.0, WARMING_SECONDS)
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
        let mut coils = vec![coil("core loss", a, a, Quantity::constant(1.0), part.unknown(CORE_LOSS))];
        if part.has("coil-open") {
            // Broken where it touches the frame: which piece touches is not known, the one at a stands for it.
            if let Some(leak) = part.severity("to-frame") {
                part.resistor("path to frame", a, part.frame(), leak);
            }
        } else {
            let mut left = Quantity::constant(1.0);
            if let Some(shorted) = part.severity("shorted-turns") {
                coils.push(coil("shorted turns", b, b, shorted.clone(), &ohms * &shorted));
                left = &(&shorted * -1.0) + 1.0;
            }
            match part.severity("to-frame") {
                Some(leak) => {
                    // Where it breaks through is not known; the middle stands for it.
                    let (middle, half) = (part.inner(), &left * 0.5);
                    coils.push(coil("coil, first half", a, middle, half.clone(), &ohms * &half));
                    coils.push(coil("coil, second half", middle, b, half.clone(), &ohms * &half));
                    part.resistor("path to frame", middle, part.frame(), leak);
                }
                None => coils.push(coil("coil", a, b, left.clone(), &ohms * &left)),
            }
        }
        let mut magnetising = part.unknown(MAGNETISING);
        if let Some(missing) = part.severity("plunger-stuck-out") {
            magnetising = &magnetising * &(&(&missing * -1.0) + 1.0);
        }
        part.core(PlannedCore { coils, magnetising });
    }
}
