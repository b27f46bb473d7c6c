//! Cord with plug: from the outlet into the unit.
//!
//! # Assumes
//! Each conductor of the plug meets the one of the same name of the supply. Copper conductors of one size, at 20 degrees Celsius; the plug makes sound contact unless a fault says otherwise.

use super::{Kind, Rating, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::job::Positive;
use crate::safety::CordSize;
use crate::wiring::PartWiring;
use machine::copper;
use serde::Deserialize;

/// Length assumed where none is given, metres (common practice, no source).
const USUAL_METRES: f64 = 2.0;
/// Section assumed where none is given, square metres: 0.75 mm2 (common practice, no source).
const USUAL_SECTION: f64 = 0.75e-6;

/// Square millimetres of a supply cord and the highest rated current of an appliance that may have it, amperes.
///
/// IEC 60335-1, table of the least sections of supply cords, as given in a pump maker's manual (manualslib, Calpeda NM, page
/// 87).
const AMPS_BY_SECTION: [(f64, f64); 8] =
    [(0.5, 3.0), (0.75, 6.0), (1.0, 10.0), (1.5, 16.0), (2.5, 25.0), (4.0, 32.0), (6.0, 40.0), (10.0, 63.0)];
/// The same of cords no longer than [`SHORT_METRES`]: IEC 60335-2-15 allows 10 A through 0.75 mm2 (quoted at bbs.wtoqc.net), and
/// 16 A through 1 mm2 is allowed likewise (said at electrical-contractor.net).
const AMPS_WHEN_SHORT: [(f64, f64); 2] = [(0.75, 10.0), (1.0, 16.0)];
const SHORT_METRES: f64 = 2.0;
/// Wire gauge of a flexible cord with two conductors under load and its amperes: NFPA 70, table 400.5(A), as quoted in a
/// UL appliance standard (bbs.angui.org).
const AMPS_BY_GAUGE: [(f64, f64); 5] = [(18.0, 10.0), (17.0, 12.0), (16.0, 13.0), (14.0, 18.0), (12.0, 25.0)];

/// Cord and plug, plugged into the supply when it is on. Terminals: a `plug-` pin for each conductor, then the ends of
/// the conductors by their names.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cord {
    /// Its conductors, named as those of the supply. Without it: hot, neutral, earth.
    pub conductors: Option<Vec<String>>,
    /// Length in metres.
    pub metres: Option<Positive>,
    /// Conductor size as American wire gauge.
    pub gauge: Option<Positive>,
    /// Conductor size in square millimetres.
    pub square_millimetres: Option<Positive>,
}

impl Cord {
    fn conductor_ohms(&self) -> f64 {
        let per_metre = match (self.gauge, self.square_millimetres) {
            (Some(gauge), _) => copper::awg_ohms_per_metre(gauge.0),
            (None, Some(section)) => copper::ohms_per_metre(section.0 * 1e-6),
            (None, None) => copper::ohms_per_metre(USUAL_SECTION),
        };
        per_metre * self.metres.map_or(USUAL_METRES, |metres| metres.0)
    }

    /// What its size may carry, amperes; `None` if no size is given, or one below those of the tables.
    fn amps(&self) -> Option<f64> {
        if let Some(gauge) = self.gauge {
            // A larger number is a thinner wire.
            return AMPS_BY_GAUGE.iter().filter(|(size, _)| *size >= gauge.0).map(|(_, amps)| *amps).next_back();
        }
        let section = self.square_millimetres?.0;
        let is_short = self.metres.is_some_and(|metres| metres.0 <= SHORT_METRES);
        let short = AMPS_WHEN_SHORT.iter().filter(|_| is_short);
        let bearing = AMPS_BY_SECTION.iter().chain(short).filter(|(size, _)| *size <= section);
        bearing.map(|(_, amps)| *amps).reduce(f64::max)
    }

    fn conductors(&self) -> Vec<String> {
        self.conductors.clone().unwrap_or_else(|| USUAL_CONDUCTORS.map(String::from).into())
    }
}

const USUAL_CONDUCTORS: [&str; 3] = ["hot", "neutral", "earth"];

impl Kind for Cord {
    fn name(&self) -> &'static str {
        "cord"
    }

    fn terminals(&self) -> Vec<String> {
        let conductors = self.conductors();
        conductors.iter().map(|conductor| format!("plug-{conductor}")).chain(conductors.iter().cloned()).collect()
    }

    fn describe(&self) -> String {
        format!("{:.2} ohm per conductor", self.conductor_ohms())
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        vec![UnknownSpec::new("ohms of one cord conductor", self.conductor_ohms(), 0.3)]
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the cord and plug {}";
        self.conductors()
            .iter()
            .flat_map(|conductor| {
                let odds = if conductor == "earth" { 0.01 } else { 0.015 };
                [
                    FaultMode::new(
                        format!("{conductor}-open"),
                        format!("the {conductor} conductor of the cord is broken"),
                        odds,
                        repair,
                    ),
                    FaultMode::new(
                        format!("{conductor}-bad-joint"),
                        format!("the {conductor} conductor of the cord or its plug pin has gone high in resistance"),
                        0.006,
                        repair,
                    )
                    .sized(Severity::ohms(5.0, 1.5)),
                ]
            })
            .collect()
    }

    fn cord_size(&self) -> Option<CordSize> {
        let by_gauge = self.gauge.map(|gauge| {
            let diameter = 1e3 * copper::awg_diameter_metres(gauge.0);
            0.25 * std::f64::consts::PI * diameter * diameter
        });
        Some(CordSize {
            metres: self.metres.map(|metres| metres.0),
            square_millimetres: by_gauge.or(self.square_millimetres.map(|section| section.0)),
        })
    }

    fn rating(&self) -> Option<Rating> {
        self.amps().map(Rating::FeedAmps)
    }

    fn feeds_unit(&self) -> bool {
        true
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let conductors = self.conductors();
        for (index, conductor) in conductors.iter().enumerate() {
            let (pin, end) = (part.terminal(index), part.terminal(index + conductors.len()));
            if let Some(outlet) = part.supply_terminal(conductor).filter(|_| part.plugged_in()) {
                part.join(outlet, pin);
            }
            if part.has(format_args!("{conductor}-open")) {
                continue;
            }
            let ohms = match part.severity(format_args!("{conductor}-bad-joint")) {
                Some(joint) => &part.unknown(0) + &joint,
                None => part.unknown(0),
            };
            part.resistor(conductor.clone(), pin, end, ohms);
        }
    }
}
