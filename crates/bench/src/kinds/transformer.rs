//! Iron-cored transformer: any number of windings, each with any number of taps, on one core.
//!
//! A single tapped winding is an autotransformer. All sections are coils on the axis of one field that has a magnetising
//! reactance and no rotor; the core loss is a closed coil of its own. So back-feed, circulating currents and the share of
//! each section of an autotransformer come out of the same coupling as in motors.
//!
//! # Assumes
//! Linear iron: a winding on much more than its volts saturates the core and draws far more than predicted here. No
//! inrush. A thermal link opens in runs, for good. Every section leaks by itself; how near windings lie to each
//! other is not known. Sections marked with the same volts have the same turns. Values that are not given follow from
//! the rating by the rules of the machine model.

use super::winding::Winding;
use super::{Doubt, Insulation, Kind, PlateClass, RatedOutput, UnknownSpec, contact};
use crate::fault::{FaultMode, Severity};
use crate::heat::{HeatContact, PartHeat};
use crate::job::Positive;
use crate::wiring::{CORE_LOSS_BRANCH, Node, PartWiring, PlannedCoil, PlannedCore};
use circuit::Quantity;
use machine::copper;
use machine::transformer::{PlateWinding, TransformerMedians, TransformerPlate};
use proof::insulation::ThermalClass;
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};

/// Most windings on one core; each two of them can break through to each other.
const MOST_WINDINGS: usize = 8;

/// Temperature of the windings at which a thermal link opens, degrees Celsius (common practice, no source: 115 to 145).
const LINK_CELSIUS: f64 = 130.0;
/// Time in which a small transformer warms, seconds (engineering judgement: half an hour to an hour and a half).
const WARMING_SECONDS: f64 = 3000.0;

/// Indices of the unknowns; turns and then ohms of sections follow.
const MAGNETISING: usize = 0;
const CORE_LOSS: usize = 1;
const LEAKAGE: usize = 2;
const FIRST_TURNS: usize = 3;

/// Share of a winding's volts that its own ohms may drop at full load; the smallest transformers lose a third in both
/// together (engineering judgement).
const MOST_DROP: f64 = 0.5;
/// Spread of turns about the marked volts: marks are rounded, and some mean volts under load (engineering judgement).
const TURNS_SPREAD: f64 = 0.03;
/// Spread of ohms that follow from the rating alone (engineering judgement).
const OHMS_SPREAD: f64 = 0.5;
/// Spread of ohms that are given for the whole winding, and of what a section has of them (engineering judgement).
const GIVEN_OHMS_SPREAD: f64 = 0.05;
const SECTION_OHMS_SPREAD: f64 = 0.15;

/// Transformer. Terminals are all names in its windings.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "TransformerEntry")]
#[schemars(with = "TransformerEntry")]
pub struct Transformer {
    entry: TransformerEntry,
    /// The windings in the order of their names.
    windings: Vec<(String, Winding)>,
    medians: TransformerMedians,
    /// All sections, winding by winding.
    sections: Vec<Section>,
    /// Volts whose turns are unknown: all different ones but that of the reference.
    turns: Vec<f64>,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TransformerEntry {
    /// Rating, volt-amperes.
    volt_amperes: Positive,
    /// Rated hertz, if the plate says just one.
    hertz: Option<Positive>,
    /// For each winding its terminals in order, with the volts at no load between neighbours.
    windings: BTreeMap<String, Winding>,
    /// For windings whose ohms are known, the ohms from end to end, cold.
    #[serde(default)]
    winding_ohms: BTreeMap<String, Positive>,
    /// Amps at no load into the winding with the most volts.
    no_load_amps: Option<Positive>,
    /// Winding that has a hidden one-shot thermal link at its first terminal.
    thermal_link: Option<String>,
    /// Insulation class, such as `F` or `155`.
    insulation_class: Option<PlateClass>,
}

/// One section of a winding.
#[derive(Debug, Clone)]
struct Section {
    name: String,
    winding: usize,
    /// Its first terminal among those of the part; the next is its other end.
    terminal: usize,
    volts: f64,
    /// Place within its winding.
    place: usize,
}

impl TryFrom<TransformerEntry> for Transformer {
    type Error = String;

    fn try_from(entry: TransformerEntry) -> Result<Self, Self::Error> {
        let count = entry.windings.len();
        if !(1..=MOST_WINDINGS).contains(&count) {
            return Err(format!("{count} windings, expected 1 to {MOST_WINDINGS}; describe those that are used"));
        }
        for name in entry.winding_ohms.keys().chain(&entry.thermal_link) {
            if !entry.windings.contains_key(name) {
                let known: Vec<&str> = entry.windings.keys().map(String::as_str).collect();
                return Err(format!("there is no winding '{name}', expected one of {}", known.join(", ")));
            }
        }
        let plate = entry.plate();
        if plate.no_load_share() >= 1.0 {
            return Err("no-load amps above full-load amps, expected a part of them; check no_load_amps and \
                volt_amperes"
                .into());
        }
        let medians = plate.medians();
        let (mut sections, mut terminal) = (Vec::new(), 0);
        for (winding, table) in entry.windings.values().enumerate() {
            for (place, (name, &volts)) in table.section_names().zip(&table.volts).enumerate() {
                sections.push(Section { name, winding, terminal: terminal + place, volts, place });
            }
            terminal += table.terminals.len();
        }
        let reference = sections.iter().find(|section| section.winding == medians.reference).map(|first| first.volts);
        let mut turns = Vec::new();
        for section in &sections {
            if Some(section.volts) != reference && !turns.contains(&section.volts) {
                turns.push(section.volts);
            }
        }
        let windings = entry.windings.clone().into_iter().collect();
        let transformer = Transformer { entry, windings, medians, sections, turns };
        let mut names = BTreeSet::new();
        match transformer.faults().into_iter().find(|fault| !names.insert(fault.name.clone())) {
            Some(fault) => Err(format!(
                "two faults would both be called '{}', expected windings and terminals that tell them apart; rename one",
                fault.name
            )),
            None => Ok(transformer),
        }
    }
}

impl TransformerEntry {
    fn plate(&self) -> TransformerPlate {
        let winding = |(name, winding): (&String, &Winding)| PlateWinding {
            section_volts: winding.volts.clone(),
            ohms: self.winding_ohms.get(name).map(|ohms| ohms.0),
        };
        TransformerPlate {
            volt_amperes: self.volt_amperes.0,
            windings: self.windings.iter().map(winding).collect(),
            no_load_amps: self.no_load_amps.map(|amps| amps.0),
        }
    }
}

impl Kind for Transformer {
    fn name(&self) -> &'static str {
        "transformer"
    }

    fn terminals(&self) -> Vec<String> {
        self.windings.iter().flat_map(|(_, winding)| winding.terminals.iter().cloned()).collect()
    }

    fn describe(&self) -> String {
        let hertz = self.entry.hertz.map_or(String::new(), |hertz| format!(", {} Hz", hertz.0));
        let winding = |(name, winding): &(String, Winding)| format!("{name} {}", winding.describe());
        let windings: Vec<String> = self.windings.iter().map(winding).collect();
        format!("{} VA{hertz}; {}", self.entry.volt_amperes.0, windings.join(", "))
    }

    fn insulation_class(&self) -> Option<ThermalClass> {
        self.entry.insulation_class.map(|class| class.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let m = &self.medians;
        // Spreads without a name of their own: engineering judgement.
        let magnetising = if self.entry.no_load_amps.is_some() { 0.1 } else { 0.5 };
        let mut list = vec![
            UnknownSpec::new("magnetising reactance", m.magnetising_ohms, magnetising).between_sisters(0.1),
            UnknownSpec::new("core loss", m.core_loss_ohms, 0.4).between_sisters(0.1),
            UnknownSpec::new("leakage reactance", m.leakage_ohms, 0.7),
        ];
        for volts in &self.turns {
            let words = format!("turns for {volts} V");
            list.push(UnknownSpec::new(words, volts / m.reference_volts, TURNS_SPREAD).between_sisters(0.005));
        }
        for section in &self.sections {
            let (name, winding) = &self.windings[section.winding];
            let spread = match (self.entry.winding_ohms.contains_key(name), winding.volts.len()) {
                (false, _) => OHMS_SPREAD,
                (true, 1) => GIVEN_OHMS_SPREAD,
                (true, _) => SECTION_OHMS_SPREAD,
            };
            let ohms = m.sections[section.winding][section.place].ohms;
            list.push(UnknownSpec::new(format!("section {} ohms", section.name), ohms, spread).between_sisters(0.02));
        }
        list
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "find what overloaded the transformer {}, then replace it";
        let mut list = Vec::new();
        if let Some(winding) = &self.entry.thermal_link {
            let words = format!("the thermal link at the {winding} winding has opened");
            list.push(FaultMode::new("thermal-link-open", words, 0.03, repair));
        }
        for section in &self.sections {
            let (name, winding) = (&section.name, &self.windings[section.winding].0);
            let words = format!("the {winding} winding is open between {name}", name = name.replacen('-', " and ", 1));
            list.push(FaultMode::new(format!("{name}-open"), words, 0.012, repair));
            let words = format!("some turns of the {winding} winding, section {name}, are shorted");
            let shorted = FaultMode::new(format!("{name}-shorted-turns"), words, 0.01, repair);
            list.push(shorted.sized(Severity::share("share of turns", 0.08, 0.9)));
        }
        for first in 0..self.windings.len() {
            let one = &self.windings[first].0;
            let words = format!("the {one} winding has broken through to core and frame");
            list.push(FaultMode::new(format!("{one}-to-frame"), words, 0.006, repair).sized(breakthrough()));
            for second in first + 1..self.windings.len() {
                let other = &self.windings[second].0;
                let words = format!("the {one} winding has broken through to the {other} winding");
                list.push(FaultMode::new(format!("{one}-to-{other}"), words, 0.003, repair).sized(breakthrough()));
            }
        }
        list
    }

    fn rated_output(&self) -> Option<RatedOutput> {
        let mut windings = vec![Vec::new(); self.windings.len()];
        for section in &self.sections {
            windings[section.winding].push((section_label(&section.name), section.volts));
        }
        Some(RatedOutput { volt_amperes: self.entry.volt_amperes.0, windings })
    }

    fn doubts(&self) -> Vec<Doubt> {
        let plate = self.entry.plate();
        let windings = self.windings.iter().zip(&plate.windings).enumerate();
        let doubt = |(index, ((name, _), winding)): (usize, (&(String, Winding), &PlateWinding))| {
            let (ohms, amps) = (winding.ohms?, plate.full_load_amps(index));
            let most = MOST_DROP * winding.volts() / amps;
            (ohms > most).then(|| Doubt {
                message: format!(
                    "{ohms} ohm are too many for winding '{name}': at full load they drop most of its volts"
                ),
                expected: format!("at most {} ohm", crate::words::number(most)),
                mend: "check its ohms and volt_amperes, and which winding was read",
            })
        };
        windings.filter_map(doubt).collect()
    }

    fn core_volts(&self) -> Option<f64> {
        Some(self.medians.reference_volts)
    }

    fn heat(&self) -> PartHeat {
        PartHeat::still_wound(self.rated_loss(), WARMING_SECONDS)
    }

    fn heat_contact(&self, _size: &dyn Fn(&str) -> Option<f64>) -> Option<HeatContact> {
        self.entry.thermal_link.as_ref()?;
        contact::by_heat(Some(LINK_CELSIUS), None, None)
    }

    fn rated_hertz(&self) -> Option<f64> {
        self.entry.hertz.map(|hertz| hertz.0)
    }

    fn insulation(&self) -> Option<Insulation> {
        let mut first = 0;
        let ends = self.windings.iter().flat_map(|(_, winding)| {
            let start = first;
            first += winding.terminals.len();
            [start, first - 1]
        });
        Some(Insulation::of_coil(ends))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let mut nodes: Vec<Node> = (0..self.terminals().len()).map(|index| part.terminal(index)).collect();
        if part.has("thermal-link-open") || part.has_moved(0) {
            nodes[self.terminal_with_link()] = part.inner();
        }
        let middles = self.lay_breakthroughs(part, &nodes);
        let mut coils: Vec<PlannedCoil> = Vec::new();
        for index in 0..self.sections.len() {
            self.lay_section(part, index, &nodes, &middles, &mut coils);
        }
        coils.push(PlannedCoil {
            label: CORE_LOSS_BRANCH.into(),
            from: nodes[0],
            to: nodes[0],
            turns: Quantity::constant(1.0),
            angle: 0.0,
            resistance: part.unknown(CORE_LOSS),
            leakage: Quantity::constant(0.0),
        });
        let magnetising = part.unknown(MAGNETISING);
        part.core(PlannedCore { coils, magnetising });
    }
}

/// Where a winding breaks through is not known; its middle stands for it. A point within a section, if no tap is there.
type Middle = Option<(usize, Node)>;

/// What the element of a section is called; that of a section in two halves begins so.
fn section_label(name: &str) -> String {
    format!("section {name}")
}

/// Resistance of a path through insulation.
fn breakthrough() -> Severity {
    Severity::ohms(2000.0, 2.5)
}

impl Transformer {
    /// Loss at full load, watts: copper of all windings and core.
    fn rated_loss(&self) -> f64 {
        let (plate, m) = (self.entry.plate(), &self.medians);
        let copper = (0..self.windings.len()).map(|winding| {
            let ohms: f64 = m.sections[winding].iter().map(|section| section.ohms).sum();
            ohms * plate.full_load_amps(winding).powi(2)
        });
        copper.sum::<f64>() + m.reference_volts * m.reference_volts / m.core_loss_ohms
    }

    /// The first terminal of the winding that has a thermal link.
    fn terminal_with_link(&self) -> usize {
        let has_link = |name: &String| Some(name) == self.entry.thermal_link.as_ref();
        let before = self.windings.iter().take_while(|(name, _)| !has_link(name));
        before.map(|(_, winding)| winding.terminals.len()).sum()
    }

    /// Lays the paths through insulation, and says where each winding is met.
    fn lay_breakthroughs(&self, part: &mut PartWiring<'_, '_>, nodes: &[Node]) -> Vec<Middle> {
        let count = self.windings.len();
        let mut middles: Vec<Middle> = vec![None; count];
        if !part.has_any() {
            return middles;
        }
        for first in 0..count {
            let one = &self.windings[first].0;
            if let Some(ohms) = part.severity(format_args!("{one}-to-frame")) {
                let middle = self.middle(part, first, nodes, &mut middles);
                part.resistor("path to frame", middle, part.frame(), ohms);
            }
            for second in first + 1..count {
                if let Some(ohms) = part.severity(format_args!("{one}-to-{}", self.windings[second].0)) {
                    let a = self.middle(part, first, nodes, &mut middles);
                    let b = self.middle(part, second, nodes, &mut middles);
                    part.resistor("path between windings", a, b, ohms);
                }
            }
        }
        middles
    }

    fn middle(&self, part: &mut PartWiring<'_, '_>, winding: usize, nodes: &[Node], middles: &mut [Middle]) -> Node {
        if let Some((_, node)) = middles[winding] {
            return node;
        }
        let own: Vec<usize> =
            (0..self.sections.len()).filter(|&index| self.sections[index].winding == winding).collect();
        let central = own[own.len() / 2];
        if own.len().is_multiple_of(2) {
            return nodes[self.sections[central].terminal];
        }
        // Broken where it touches: which piece touches is not known, the one at its first terminal stands for it.
        if part.has(format_args!("{}-open", self.sections[central].name)) {
            return nodes[self.sections[central].terminal];
        }
        let node = part.inner();
        middles[winding] = Some((central, node));
        node
    }

    fn lay_section(
        &self,
        part: &PartWiring<'_, '_>,
        index: usize,
        nodes: &[Node],
        middles: &[Middle],
        coils: &mut Vec<PlannedCoil>,
    ) {
        let section = &self.sections[index];
        if part.has(format_args!("{}-open", section.name)) {
            return;
        }
        let warm = copper::resistance_ratio(part.winding_celsius(), 20.0);
        let medians = &self.medians.sections[section.winding][section.place];
        let turns = match self.turns.iter().position(|&volts| volts == section.volts) {
            Some(place) => part.unknown(FIRST_TURNS + place),
            None => Quantity::constant(medians.turns),
        };
        let ohms = &part.unknown(FIRST_TURNS + self.turns.len() + index) * warm;
        let leakage = &part.unknown(LEAKAGE) * medians.leakage_share;
        let mut coil = |label: String, from, to, share: &Quantity, leakage_share: &Quantity| {
            coils.push(PlannedCoil {
                label: label.into(),
                from,
                to,
                turns: &turns * share,
                angle: 0.0,
                resistance: &ohms * share,
                leakage: &leakage * leakage_share,
            });
        };
        let label = section_label(&section.name);
        let (from, to) = (nodes[section.terminal], nodes[section.terminal + 1]);
        let mut left = Quantity::constant(1.0);
        if let Some(shorted) = part.severity(format_args!("{}-shorted-turns", section.name)) {
            coil("shorted turns".into(), to, to, &shorted, &(&shorted * &shorted));
            left = &(&shorted * -1.0) + 1.0;
        }
        match middles[section.winding] {
            Some((central, middle)) if central == index => {
                let half = &left * 0.5;
                coil(format!("{label}, first half"), from, middle, &half, &half);
                coil(format!("{label}, second half"), middle, to, &half, &half);
            }
            _ => coil(label, from, to, &left, &left),
        }
    }
}
