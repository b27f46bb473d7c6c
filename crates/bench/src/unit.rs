//! The validated unit: parts, wires, their unknown values and all their faults.

use crate::fault::{COMMON_PRACTICE, Fault, FaultMode, Place, SHORT_CYCLING, Severity};
use crate::heat::{AIR_BLOCKED, Air, HOT_SURROUNDINGS, PartHeat};
use crate::kinds::{Driven, Insulation, KeptLoad, Kind, UnknownSpec, insulation_low};
use crate::newly_fitted::faults_when_new;
use crate::solution_dependent::SolutionDependent;
use crate::switching::PlacedContact;
use crate::winding_class::InsulationClass;
use crate::wire_size::WireSize;
use proof::insulation::ThermalClass;
use std::collections::BTreeMap;

/// A terminal, by its index in the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct TerminalId(pub usize);

/// Where a part comes from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Provenance {
    /// Make: parts of one kind and one make are sisters.
    pub make: Option<String>,
    /// How often the part in its place has failed and been replaced before.
    pub replaced_before: u32,
    /// Whether it was changed while the fault was looked for.
    pub is_new: bool,
}

/// A part of the unit.
#[derive(Debug)]
pub struct Part {
    /// Its name in the job.
    pub name: String,
    /// What it is.
    pub kind: Box<dyn Kind>,
    /// Where it comes from.
    pub provenance: Provenance,
    pub(crate) first_terminal: usize,
    pub(crate) first_unknown: usize,
    /// Index of the unknown for its insulation.
    pub(crate) insulation_unknown: Option<usize>,
}

/// A wire between two terminals.
#[derive(Debug, Clone, PartialEq)]
pub struct Wire {
    /// Its name: label if it has one, else its ends.
    pub name: String,
    /// One end.
    pub from: TerminalId,
    /// The other end.
    pub to: TerminalId,
    /// Colour of its insulation, if noted.
    pub colour: Option<String>,
    /// Its size, if noted.
    pub size: Option<WireSize>,
}

/// A value that is not known exactly: log-normal about its median.
#[derive(Debug, Clone, PartialEq)]
pub struct Unknown {
    /// Part it belongs to.
    pub part: usize,
    /// What it is, in words.
    pub words: String,
    /// Median in the stated unit.
    pub median: f64,
    /// Standard deviation of its natural logarithm.
    pub log_spread: f64,
    /// Standard deviation between sister parts, of the natural logarithm.
    pub sister_spread: f64,
    /// Parts with the same number here share the unknown but for `sister_spread`.
    pub sisters: Option<usize>,
}

impl Unknown {
    fn of(part: usize, spec: UnknownSpec) -> Self {
        Unknown {
            part,
            words: spec.words,
            median: spec.median,
            log_spread: spec.log_spread,
            sister_spread: spec.sister_spread,
            sisters: None,
        }
    }
}

/// A unit whose parts and wires fit together.
#[derive(Debug)]
pub struct Unit {
    /// What it is.
    pub name: String,
    /// Remarks of the job file, such as that its data are invented.
    pub note: Option<String>,
    parts: Vec<Part>,
    wires: Vec<Wire>,
    terminals: Vec<(usize, String)>,
    unknowns: Vec<Unknown>,
    faults: Vec<Fault>,
    own_contacts: Vec<PlacedContact>,
    solution_dependent: SolutionDependent,
    supply: usize,
    frame: TerminalId,
    heats: Vec<PartHeat>,
    insulations: Vec<Option<Insulation>>,
    air: Air,
    kept_loads: BTreeMap<usize, KeptLoad>,
    /// Class noted for the job, of windings whose plates say none.
    noted_class: Option<ThermalClass>,
}

impl Unit {
    /// Puts parts together; wires are added with [`Unit::add_wire`] and faults listed by [`Unit::finish`].
    ///
    /// `supply` and `frame` are indices into `parts`.
    pub(crate) fn new(
        name: String,
        note: Option<String>,
        named: Vec<(String, Box<dyn Kind>, Provenance)>,
        supply: usize,
        frame: usize,
    ) -> Self {
        let mut unit = Unit {
            name,
            note,
            parts: Vec::new(),
            wires: Vec::new(),
            terminals: Vec::new(),
            unknowns: Vec::new(),
            faults: Vec::new(),
            own_contacts: Vec::new(),
            solution_dependent: SolutionDependent::default(),
            supply,
            frame: TerminalId(0),
            heats: Vec::new(),
            insulations: Vec::new(),
            air: Air::default(),
            kept_loads: BTreeMap::new(),
            noted_class: None,
        };
        for (index, (name, kind, provenance)) in named.into_iter().enumerate() {
            let (first_terminal, first_unknown) = (unit.terminals.len(), unit.unknowns.len());
            unit.terminals.extend(kind.terminals().into_iter().map(|terminal| (index, terminal)));
            unit.unknowns.extend(kind.unknowns().into_iter().map(|spec| Unknown::of(index, spec)));
            let heat_moves = kind.heat_contact(&|_| None).map(|contact| contact.contact);
            let placed = |(contact, own)| PlacedContact {
                id: (index, contact),
                contact: own,
                has_heat: heat_moves == Some(contact),
            };
            unit.own_contacts.extend(kind.own_contacts().into_iter().enumerate().map(placed));
            unit.solution_dependent.note(index, &*kind);
            unit.heats.push(kind.heat());
            unit.insulations.push(kind.insulation());
            unit.parts.push(Part { name, kind, provenance, first_terminal, first_unknown, insulation_unknown: None });
        }
        unit.add_insulation();
        unit.frame = TerminalId(unit.parts[frame].first_terminal);
        unit.find_sisters();
        unit
    }

    pub(crate) fn add_wire(&mut self, wire: Wire) {
        self.wires.push(wire);
    }

    /// Puts the end of a wire that is at one terminal onto another, as somebody may by mistake. Its name stays.
    pub fn move_wire_end(&mut self, wire: usize, from: TerminalId, to: TerminalId) {
        let wire = &mut self.wires[wire];
        [&mut wire.from, &mut wire.to].into_iter().filter(|end| **end == from).for_each(|end| *end = to);
    }

    pub(crate) fn set_air(&mut self, air: Air) {
        self.air = air;
    }

    /// What a motor drives; `None` for what is no motor, or one whose load is a piece with it.
    pub fn driven(&self, part: usize) -> Option<Driven> {
        self.parts[part].kind.driven(self.hertz())
    }

    /// Index among all unknowns of a part's value number `place`.
    pub fn unknown_of(&self, part: usize, place: usize) -> usize {
        self.parts[part].first_unknown + place
    }

    /// Gives a motor what another one drove, `torque` newton metres at the speed of `load`, for what its own plate makes of
    /// it. Nothing changes for a part that drives nothing.
    pub fn keep_load(&mut self, part: usize, load: Driven, torque: f64) {
        let Some(own) = self.driven(part) else { return };
        let torque_times = torque / self.unknowns[self.unknown_of(part, own.torque)].median;
        self.kept_loads.insert(part, KeptLoad { law: load.law, torque_times, speed_times: load.rpm / own.rpm });
    }

    /// What a motor has been given to drive.
    pub(crate) fn kept_load(&self, part: usize) -> Option<KeptLoad> {
        self.kept_loads.get(&part).copied()
    }

    pub(crate) fn note_class(&mut self, class: Option<ThermalClass>) {
        self.noted_class = class;
    }

    /// The class that the winding of a part is held to.
    pub fn winding_class(&self, part: usize) -> InsulationClass {
        InsulationClass::of(self.parts[part].kind.insulation_class(), self.noted_class)
    }

    /// Which of a part's bodies is its winding, the main one of two, if it has one.
    pub fn winding_of(&self, part: usize) -> Option<usize> {
        self.heats[part].windings().next()
    }

    /// Whether a part is a motor.
    pub fn is_motor(&self, part: usize) -> bool {
        self.parts[part].kind.synchronous_rpm(self.hertz()).is_some()
    }

    /// How a part warms.
    pub fn heat_of(&self, part: usize) -> &PartHeat {
        &self.heats[part]
    }

    /// What insulates a part from the frame, if anything does.
    pub fn insulation_of(&self, part: usize) -> Option<&Insulation> {
        self.insulations[part].as_ref()
    }

    /// The air about the unit, and what sits on what.
    pub fn air(&self) -> &Air {
        &self.air
    }

    /// Finds `part.body`; a part with a single body may be named alone.
    pub fn find_body(&self, text: &str) -> Option<(usize, usize)> {
        let (part, name) = text.split_once('.').unwrap_or((text, ""));
        let part = self.find_part(part)?;
        let bodies = &self.heats[part].bodies;
        let found = bodies.iter().position(|body| body.name == name);
        found.or((name.is_empty() && bodies.len() == 1).then_some(0)).map(|body| (part, body))
    }

    /// `part.body`, as typed.
    pub fn body_name(&self, part: usize, body: usize) -> String {
        format!("{}.{}", self.parts[part].name, self.heats[part].bodies[body].name)
    }

    /// All bodies, by part and place in it.
    pub fn bodies(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let of_part = |(part, heat): (usize, &PartHeat)| (0..heat.bodies.len()).map(move |body| (part, body));
        self.heats.iter().enumerate().flat_map(of_part)
    }

    /// Lists the faults of all parts and wires.
    pub(crate) fn finish(mut self) -> Self {
        for (index, part) in self.parts.iter().enumerate() {
            let place = Place::Part(index);
            let named = |mode| Fault { place, place_name: part.name.clone(), mode };
            let low = self.insulation_of(index).map(|_| insulation_low());
            let own: Vec<FaultMode> = part.kind.faults().into_iter().chain(low).collect();
            let own = if part.provenance.is_new { faults_when_new(&self, index, own) } else { own };
            self.faults.extend(own.into_iter().map(named));
        }
        for (index, wire) in self.wires.iter().enumerate() {
            let place = Place::Wire(index);
            let named = |mode| Fault { place, place_name: wire.name.clone(), mode };
            self.faults.extend(wire_faults().into_iter().map(named));
        }
        self.add_air_faults();
        self.add_short_cycling();
        crate::recurrence::raise_odds(&mut self);
        self
    }

    pub(crate) fn faults_mut(&mut self) -> &mut [Fault] {
        &mut self.faults
    }

    /// Blocked air and hot surroundings, for a unit of which something is said about heat.
    fn add_air_faults(&mut self) {
        let frame = self.part_of(self.frame);
        let mut fans: Vec<usize> = self.air.streams.iter().map(|stream| stream.fan).collect();
        fans.sort_unstable();
        fans.dedup();
        let mut add = |part: usize, mode: FaultMode| {
            let place_name = self.parts[part].name.clone();
            self.faults.push(Fault { place: Place::Part(part), place_name, mode });
        };
        for &fan in &fans {
            let words = "the air that its fan moves is held up: a filter, an inlet or a duct is blocked";
            let repair = "clear the air path of {}: filter, inlet, duct and fan";
            add(fan, FaultMode::new(AIR_BLOCKED, words, 0.05, repair).sized(Severity::share("share of air", 0.5, 1.0)));
        }
        if !fans.is_empty() {
            let words = "the air about the unit is hotter than the room";
            let repair = "give the unit air: move it away from heat, open its enclosure's vents";
            let warmer = Severity::factor("kelvins over the room", 15.0, 0.6);
            add(frame, FaultMode::new(HOT_SURROUNDINGS, words, 0.02, repair).sized(warmer));
        }
    }

    /// Controls that switch a compressor on again too soon: its thermostats, or what is ahead of a unit that has none.
    fn add_short_cycling(&mut self) {
        if !self.parts.iter().any(|part| part.kind.must_rest()) {
            return;
        }
        let is_thermostat = |part: &usize| self.parts[*part].kind.name() == "thermostat";
        let thermostats: Vec<usize> = (0..self.parts.len()).filter(is_thermostat).collect();
        let words = "it switches on again too soon: its differential is too small";
        let repair = "set the differential of {} or replace it, and give the compressor three minutes between starts";
        let left = Severity::share("share of its differential that is left", 0.25, 0.8);
        let by_thermostat = FaultMode::new(SHORT_CYCLING, words, 0.01, repair).sized(left);
        let words = "the control ahead of the unit switches it on again too soon";
        let repair = "find what switches {} so often, and give the compressor three minutes between starts";
        let by_supply = (self.supply, FaultMode::new(SHORT_CYCLING, words, 0.01, repair));
        let by_thermostats = thermostats.iter().map(|&part| (part, by_thermostat.clone()));
        let all: Vec<(usize, FaultMode)> =
            if thermostats.is_empty() { vec![by_supply] } else { by_thermostats.collect() };
        for (part, mode) in all {
            self.faults.push(Fault { place: Place::Part(part), place_name: self.parts[part].name.clone(), mode });
        }
    }

    /// Insulation stands at the end, one unknown a part: how dry a part is it does not share with its sisters.
    fn add_insulation(&mut self) {
        for (index, part) in self.parts.iter_mut().enumerate() {
            if let Some(insulation) = &self.insulations[index] {
                part.insulation_unknown = Some(self.unknowns.len());
                self.unknowns.push(Unknown::of(index, insulation.unknown()));
            }
        }
    }

    /// Parts of one kind and make get the same sister number for each of their unknowns.
    fn find_sisters(&mut self) {
        let mut next = 0;
        for index in 0..self.parts.len() {
            let Some(make) = self.parts[index].provenance.make.clone() else { continue };
            let elder = (0..index).find(|&other| {
                self.parts[other].provenance.make.as_ref() == Some(&make)
                    && self.parts[other].kind.name() == self.parts[index].kind.name()
                    && self.parts[other].kind.unknowns().len() == self.parts[index].kind.unknowns().len()
            });
            let count = self.parts[index].kind.unknowns().len();
            for offset in 0..count {
                let sisters = match elder {
                    Some(other) => self.unknowns[self.parts[other].first_unknown + offset].sisters,
                    None => Some(next + offset),
                };
                self.unknowns[self.parts[index].first_unknown + offset].sisters = sisters;
            }
            next += count;
        }
    }

    /// All parts; the last is the metal frame of the unit, which every unit has.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// All wires.
    pub fn wires(&self) -> &[Wire] {
        &self.wires
    }

    /// All values that are not known exactly.
    pub fn unknowns(&self) -> &[Unknown] {
        &self.unknowns
    }

    /// All single faults.
    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// All contacts that the unit moves by itself.
    pub fn own_contacts(&self) -> &[PlacedContact] {
        &self.own_contacts
    }

    /// Parts that are found together with the solution.
    pub(crate) fn solution_dependent(&self) -> &SolutionDependent {
        &self.solution_dependent
    }

    /// Number of terminals.
    pub fn terminal_count(&self) -> usize {
        self.terminals.len()
    }

    /// The part a terminal belongs to.
    pub fn part_of(&self, terminal: TerminalId) -> usize {
        self.terminals[terminal.0].0
    }

    /// `part.terminal`, as typed.
    pub fn terminal_name(&self, terminal: TerminalId) -> String {
        let (part, name) = &self.terminals[terminal.0];
        if self.terminals_of(*part).len() == 1 {
            self.parts[*part].name.clone()
        } else {
            format!("{}.{}", self.parts[*part].name, name)
        }
    }

    /// Name of a terminal within its part.
    pub fn terminal_of(&self, terminal: TerminalId) -> &str {
        &self.terminals[terminal.0].1
    }

    /// The terminals of a part.
    pub fn terminals_of(&self, part: usize) -> std::ops::Range<usize> {
        let first = self.parts[part].first_terminal;
        let next = self.parts.get(part + 1).map_or(self.terminals.len(), |next| next.first_terminal);
        first..next
    }

    /// Finds `part.terminal`; a part with a single terminal may be named alone.
    pub fn find_terminal(&self, text: &str) -> Option<TerminalId> {
        let (part_name, terminal_name) = text.split_once('.').unwrap_or((text, ""));
        let part = self.find_part(part_name)?;
        if terminal_name.is_empty() {
            let range = self.terminals_of(part);
            return (range.len() == 1).then_some(TerminalId(range.start));
        }
        self.find_terminal_of(part, terminal_name)
    }

    /// Finds a part's terminal by name.
    pub(crate) fn find_terminal_of(&self, part: usize, name: &str) -> Option<TerminalId> {
        self.terminals_of(part).find(|&index| self.terminals[index].1 == name).map(TerminalId)
    }

    /// Finds a part by name.
    pub fn find_part(&self, name: &str) -> Option<usize> {
        self.parts.iter().position(|part| part.name == name)
    }

    /// Finds a wire by name.
    pub fn find_wire(&self, name: &str) -> Option<usize> {
        self.wires.iter().position(|wire| wire.name == name)
    }

    /// Finds a fault by `place fault`, as printed by [`Fault::label`].
    pub fn find_fault(&self, label: &str) -> Option<usize> {
        self.faults.iter().position(|fault| fault.label() == label)
    }

    /// Index of the supply.
    pub fn supply(&self) -> usize {
        self.supply
    }

    /// The terminal that stands for the metal frame.
    pub fn frame(&self) -> TerminalId {
        self.frame
    }

    /// The live terminals of the supply.
    pub fn live_terminals(&self) -> impl Iterator<Item = TerminalId> + use<> {
        let first = self.parts[self.supply].first_terminal;
        (first..first + self.parts[self.supply].kind.live_conductors()).map(TerminalId)
    }

    /// The neutral terminal of the supply.
    pub fn neutral(&self) -> TerminalId {
        TerminalId(self.parts[self.supply].first_terminal + self.parts[self.supply].kind.live_conductors())
    }

    /// Supply frequency, hertz.
    pub fn hertz(&self) -> f64 {
        self.parts[self.supply].kind.supply().map_or(50.0, |supply| supply.hertz)
    }

    /// Name of a place, for people.
    pub fn place_name(&self, place: Place) -> &str {
        match place {
            Place::Part(part) => &self.parts[part].name,
            Place::Wire(wire) => &self.wires[wire].name,
        }
    }
}

/// Faults that any wire can have.
fn wire_faults() -> Vec<FaultMode> {
    let repair = "mend the wire {} and its terminations";
    vec![
        FaultMode::new("broken", "the wire is broken or off its terminal", 0.006, repair),
        FaultMode {
            name: "bad-joint".into(),
            words: "a crimp or push-on terminal of the wire has gone high in resistance".into(),
            odds: 0.006,
            source: COMMON_PRACTICE,
            severity: Some(Severity::ohms(5.0, 1.5)),
            repair,
        },
    ]
}
