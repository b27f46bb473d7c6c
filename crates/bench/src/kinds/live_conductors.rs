//! What supplies with several live conductors have in common.
//!
//! # Assumes
//! An earthed neutral from which each live conductor has its volts; source impedance resistive, alike in every
//! conductor; one breaker that opens all live conductors together.

use super::{SupplyFigures, UnknownSpec, breaker};
use crate::fault::{FaultMode, Severity};
use crate::heat::PartHeat;
use crate::job::Positive;
use crate::wiring::PartWiring;
use circuit::Quantity;
use serde::Deserialize;

/// Resistance of one conductor of an ordinary feed, ohms (common practice, no source: 0.1 to 0.5 ohm).
const USUAL_CONDUCTOR_OHMS: f64 = 0.2;
/// Share by which mains volts wander from day to day (engineering judgement inside the +-10 % of EN 50160).
const VOLTS_SPREAD: f64 = 0.02;
/// Share by which one live conductor differs from the others: half a per cent, so that unbalance seldom exceeds the one
/// per cent that motors are held to (engineering judgement).
const UNBALANCE_SPREAD: f64 = 0.005;

/// Odds of a supply with too many volts (common practice, no source: rarer than too few).
pub(super) const HIGH_VOLTS_ODDS: f64 = 0.004;

/// Volts of such a supply over rated: beyond the +10 % of EN 50160, seldom more than a quarter (engineering judgement).
pub(super) fn times_rated_volts() -> Severity {
    Severity::factor("times rated volts", 1.12, 0.05)
}

/// Place of the common volts among the unknowns, then of the conductor ohms, then of each live conductor's own share.
const VOLTS: usize = 0;
const OHMS: usize = 1;
const FIRST_SHARE: usize = 2;

/// Fields of such a supply as written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LiveSupplyEntry {
    /// Volts between two live conductors: leg to leg, or line to line.
    pub volts: Positive,
    /// Frequency in hertz.
    pub hertz: Positive,
    /// Resistance of each conductor of the supply, ohms.
    pub source_ohms: Option<Positive>,
    /// Breaker or fuses ahead of the unit, amperes.
    pub breaker_amps: Option<Positive>,
    /// Earth-leakage trip ahead of the unit, milliamperes; left out if there is none.
    pub residual_trip_milliamps: Option<Positive>,
}

/// The live conductors of a kind of supply.
#[derive(Debug)]
pub(super) struct LiveConductors {
    /// Their names; neutral and earth come after them.
    pub(super) names: &'static [&'static str],
    /// Phase of the second behind the first, radians, and so on.
    pub(super) lag: f64,
    /// Volts of a live conductor to neutral over volts between two.
    pub(super) to_neutral: f64,
    /// Rating assumed for the breaker ahead, amperes (common practice, no source).
    pub(super) usual_breaker_amps: f64,
}

impl LiveConductors {
    pub(super) fn terminals(&self) -> Vec<String> {
        self.names.iter().chain(&["neutral", "earth"]).map(ToString::to_string).collect()
    }

    pub(super) fn unknowns(&self, entry: &LiveSupplyEntry) -> Vec<UnknownSpec> {
        let ohms = entry.source_ohms.map_or(USUAL_CONDUCTOR_OHMS, |ohms| ohms.0);
        let mut list = vec![
            UnknownSpec::new("supply volts", entry.volts.0, VOLTS_SPREAD),
            UnknownSpec::new("ohms of each supply conductor", ohms, 0.5),
        ];
        let share =
            |name: &&str| UnknownSpec::new(format!("share of {name} in the supply volts"), 1.0, UNBALANCE_SPREAD);
        list.extend(self.names.iter().map(share));
        list
    }

    /// Faults of every live conductor, of neutral and earth, and of all volts; those that interchange are the kind's own.
    pub(super) fn faults(&self, repair: &'static str) -> Vec<FaultMode> {
        let mut list = Vec::new();
        for name in self.names {
            list.push(FaultMode::new(
                format!("{name}-dead"),
                format!("no volts on {name} of the supply"),
                0.015,
                repair,
            ));
            let words = format!("{name} of the supply has too few volts");
            list.push(FaultMode::new(format!("{name}-low"), words, 0.004, repair).sized(Severity::share(
                "share of volts missing",
                0.1,
                0.6,
            )));
        }
        list.push(FaultMode::new("neutral-open", "the neutral of the supply is open", 0.006, repair));
        list.push(FaultMode::new("earth-open", "the earth of the supply is open", 0.01, repair));
        let low =
            FaultMode::new("low-volts", "the supply delivers too few volts on all live conductors", 0.008, repair);
        list.push(low.sized(Severity::share("share of volts missing", 0.15, 0.5)));
        let words = "the supply delivers too many volts on all live conductors";
        list.push(FaultMode::new("high-volts", words, HIGH_VOLTS_ODDS, repair).sized(times_rated_volts()));
        list
    }

    pub(super) fn figures(&self, entry: &LiveSupplyEntry) -> SupplyFigures {
        let breaker_amps = entry.breaker_amps.map_or(self.usual_breaker_amps, |amps| amps.0);
        let residual_trip_amps = entry.residual_trip_milliamps.map(|milliamps| 1e-3 * milliamps.0);
        SupplyFigures { volts: entry.volts.0, hertz: entry.hertz.0, breaker_amps, residual_trip_amps }
    }

    /// How their breaker warms.
    pub(super) fn heat(&self, entry: &LiveSupplyEntry) -> PartHeat {
        breaker::heat(self.figures(entry).breaker_amps)
    }

    /// Puts the sources in. `order[k]` is the terminal that conductor `k` is on, live ones first, then neutral.
    pub(super) fn connect(&self, part: &mut PartWiring<'_, '_>, order: &[usize]) {
        if !part.plugged_in() {
            return;
        }
        let left = |missing: &Quantity| &(missing * -1.0) + 1.0;
        let all = &part.unknown(VOLTS) * self.to_neutral;
        let all = part.severity("low-volts").map_or(all.clone(), |missing| &all * &left(&missing));
        let all = part.severity("high-volts").map_or(all.clone(), |times| &all * &times);
        for (index, &name) in self.names.iter().enumerate() {
            if !part.energised() || part.has(format_args!("{name}-dead")) {
                continue;
            }
            let volts = &all * &part.unknown(FIRST_SHARE + index);
            let low = part.severity(format_args!("{name}-low"));
            let volts = low.map_or(volts.clone(), |missing| &volts * &left(&missing));
            let terminal = part.terminal(order[index]);
            part.source_at(name, part.earth(), terminal, volts, -self.lag * index as f64, part.unknown(OHMS));
        }
        let neutral = self.names.len();
        if !part.has("neutral-open") {
            let terminal = part.terminal(order[neutral]);
            part.source("neutral", part.earth(), terminal, Quantity::constant(0.0), part.unknown(OHMS));
        }
        if !part.has("earth-open") {
            part.join(part.earth(), part.terminal(neutral + 1));
        }
    }
}
