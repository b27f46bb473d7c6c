//! Interference filter at the supply: a capacitor across, two to earth, a bleed resistor, and a choke for what passes on.
//!
//! # Assumes
//! The choke is a sound conductor at supply frequency (a few milliohms and milliohms of reactance). The bleed resistor is
//! as marked. Capacitors lose 0.001 of what they carry (class X2 sheets say at most that at 1 kHz).

use super::{Kind, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::job::Positive;
use crate::wiring::{Node, PartWiring};
use circuit::Quantity;
use serde::Deserialize;
use std::f64::consts::PI;

/// Spread of a capacitance about its mark: marked tolerances are 10 or 20 % (common practice, no source).
const FARADS_SPREAD: f64 = 0.08;
/// Spread of the bleed resistor: 5 or 10 % (common practice, no source).
const OHMS_SPREAD: f64 = 0.04;
const LOSS_FACTOR: f64 = 0.001;

const TERMINALS: [&str; 5] = ["hot", "neutral", "earth", "load-hot", "load-neutral"];
const HOT: usize = 0;
const NEUTRAL: usize = 1;
const EARTH: usize = 2;
const LOAD_HOT: usize = 3;
const LOAD_NEUTRAL: usize = 4;

/// The two lines, with the terminal that each goes to earth from.
const LINES: [(&str, usize); 2] = [("hot", HOT), ("neutral", NEUTRAL)];

/// Interference filter. Terminals: hot, neutral, earth, load-hot, load-neutral.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct InterferenceFilter {
    /// Microfarads across hot and neutral (class X).
    pub across_microfarads: Positive,
    /// Nanofarads of each of the two capacitors to earth (class Y); left out if there are none.
    pub earth_nanofarads: Option<Positive>,
    /// Ohms of the bleed resistor across hot and neutral; left out if there is none.
    pub bleed_ohms: Option<Positive>,
}

impl InterferenceFilter {
    /// Index of the bleed resistor among the unknowns: after the capacitors.
    fn bleed(&self) -> usize {
        if self.earth_nanofarads.is_some() { 3 } else { 1 }
    }

    /// One capacitor that may be open, low or shorted by the named faults.
    fn capacitor(&self, part: &mut PartWiring<'_, '_>, name: &str, ends: [Node; 2], farads: &Quantity) {
        let [a, b] = ends;
        if part.has(format_args!("{name}-open")) {
            return;
        }
        if let Some(ohms) = part.severity(format_args!("{name}-shorted")) {
            part.resistor(format!("shorted capacitor {name}"), a, b, ohms);
            return;
        }
        let left = part.severity(format_args!("{name}-low")).map(|lost| &(&lost * -1.0) + 1.0);
        let farads = left.map_or(farads.clone(), |left| farads * &left);
        let reactance = &farads.recip() * (1.0 / (2.0 * PI * part.hertz()));
        part.blocking(format!("capacitor {name}"), a, b, &reactance * LOSS_FACTOR, &reactance * -1.0);
    }
}

impl Kind for InterferenceFilter {
    fn name(&self) -> &'static str {
        "interference-filter"
    }

    fn terminals(&self) -> Vec<String> {
        TERMINALS.map(String::from).into()
    }

    fn describe(&self) -> String {
        let mut text = format!("{} uF across", self.across_microfarads.0);
        if let Some(nanofarads) = self.earth_nanofarads {
            text += &format!(", 2 x {} nF to earth", nanofarads.0);
        }
        if let Some(ohms) = self.bleed_ohms {
            text += &format!(", {} bleed", crate::words::ohms(ohms.0));
        }
        text
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let mut list = vec![UnknownSpec::new("microfarads across", self.across_microfarads.0, FARADS_SPREAD)];
        if let Some(nanofarads) = self.earth_nanofarads {
            let of = |(line, _)| UnknownSpec::new(format!("nanofarads {line} to earth"), nanofarads.0, FARADS_SPREAD);
            list.extend(LINES.map(of));
        }
        list.extend(self.bleed_ohms.map(|ohms| UnknownSpec::new("bleed ohms", ohms.0, OHMS_SPREAD)));
        list
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the interference filter {}";
        let lost = Severity::share("share of capacitance lost", 0.4, 0.9);
        let mut list = vec![
            FaultMode::new("across-open", "the capacitor across hot and neutral is open", 0.006, repair),
            FaultMode::new("across-low", "the capacitor across hot and neutral has lost capacitance", 0.02, repair)
                .sized(lost),
            FaultMode::new("across-shorted", "the capacitor across hot and neutral is shorted", 0.01, repair)
                .sized(Severity::ohms(1.0, 1.0)),
        ];
        for (line, _) in LINES {
            if self.earth_nanofarads.is_some() {
                let words = format!("the capacitor from {line} to earth is open");
                list.push(FaultMode::new(format!("{line}-earth-open"), words, 0.002, repair));
                let words = format!("the capacitor from {line} to earth is shorted or leaks");
                let shorted = FaultMode::new(format!("{line}-earth-shorted"), words, 0.004, repair);
                list.push(shorted.sized(Severity::ohms(2000.0, 2.5)));
            }
            let words = format!("the choke or a joint inside is open on the {line} side");
            list.push(FaultMode::new(format!("{line}-choke-open"), words, 0.004, repair));
            let words = format!("a joint inside has gone high in resistance on the {line} side");
            let joint = FaultMode::new(format!("{line}-bad-joint"), words, 0.004, repair);
            list.push(joint.sized(Severity::ohms(5.0, 1.5)));
        }
        if self.bleed_ohms.is_some() {
            let words = "the bleed resistor is open: the filter stays charged after switching off";
            list.push(FaultMode::new("bleed-open", words, 0.006, repair));
        }
        list
    }

    fn stores_charge(&self) -> bool {
        true
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let (hot, neutral, earth) = (part.terminal(HOT), part.terminal(NEUTRAL), part.terminal(EARTH));
        let farads = &part.unknown(0) * 1e-6;
        self.capacitor(part, "across", [hot, neutral], &farads);
        if self.earth_nanofarads.is_some() {
            for (index, (line, terminal)) in LINES.into_iter().enumerate() {
                let (farads, from) = (&part.unknown(1 + index) * 1e-9, part.terminal(terminal));
                self.capacitor(part, &format!("{line}-earth"), [from, earth], &farads);
            }
        }
        if self.bleed_ohms.is_some() && !part.has("bleed-open") {
            part.resistor("bleed resistor", hot, neutral, part.unknown(self.bleed()));
        }
        part.conductor(hot, part.terminal(LOAD_HOT), "hot-choke-open", "hot-bad-joint");
        part.conductor(neutral, part.terminal(LOAD_NEUTRAL), "neutral-choke-open", "neutral-bad-joint");
    }
}
