//! What single-phase induction motors have in common: nameplate, main winding with its taps, unknowns and faults.
//!
//! The main winding runs from the common lead to the first tap; each further tap adds a section of the same winding in
//! series, so more turns, less flux and less speed. All sections share one axis and one field with the second winding.
//!
//! Of a motor with a run capacitor the sections may lie on the axis of the auxiliary winding instead, as an intermediate
//! winding between the end of the main winding and the start of the auxiliary one (the L connection of tapped-winding
//! capacitor motors in texts on small motors, from memory). On the fastest tap they are in series with the auxiliary
//! winding and the capacitor; on the slowest in series with the main winding. The auxiliary winding and all its sections
//! together have the turns and ohms that the plate amounts to on the fastest tap.
//!
//! # Assumes
//! Core loss as a resistance across the main winding. The main winding is at one temperature, a second one that has a lead at
//! another.

use super::doubt::check_size;
use super::driven_load::{Driven, DrivenLoad};
use super::motor_plate::{misses_watts, plate_doubts, plate_words};
use super::second_winding::{SecondWinding, middle_to_frame, shorted_turns};
use super::shaft::{self, ShaftFaults};
use super::wrong_motor::{self, wound};
use super::{Doubt, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::heat::{PartHeat, body::BACKWARD_WINDING, body::SecondCopper};
use crate::wiring::{CORE_LOSS_BRANCH, Node, PartWiring, PlannedCoil, PlannedMotor};
use circuit::Quantity;
use machine::nameplate::{Medians, Nameplate, Scheme, rated_point};
use machine::{Load, LoadLaw, Rotor, copper};
use serde::Deserialize;
use std::f64::consts::PI;

/// Indices of the unknowns, in the order of [`TappedMotor::unknowns`]; sections follow.
const MAIN_OHMS: usize = 0;
const LEAKAGE: usize = 1;
const SECOND_TURNS: usize = 2;
const SECOND_OHMS: usize = 3;
const MAGNETISING: usize = 4;
const ROTOR_OHMS: usize = 5;
const CORE_LOSS: usize = 6;
const LOAD: usize = 7;
const FRICTION: usize = 8;
const FIRST_SECTION: usize = 9;

/// How far the angle between the windings spreads about the usual one, as a share of it: one degree of a right one
/// (engineering judgement). For it a second winding at rest shows a few of the main one's volts.
const ANGLE_SPREAD: f64 = 1.0 / 90.0;

/// Turns of a speed section over main turns (engineering judgement).
const SECTION_TURNS: f64 = 0.2;
/// Ohms of a speed section over main ohms: 3.3 over 7.3 and 13 over 33 in a published three-speed motor.
const SECTION_OHMS: f64 = 0.42;
/// Share of the turns and ohms on the auxiliary's axis that all sections together have, where they lie there
/// (engineering judgement).
const AUXILIARY_SECTIONS: f64 = 0.6;

/// Copper of a second winding over the main one's, at the least and at the most, whatever a plate amounts to (engineering
/// judgement).
const SECOND_COPPER: [f64; 2] = [0.05, 1.5];

/// The winding on whose axis the speed sections lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SectionsIn {
    /// The main winding: each slower tap adds turns to it.
    Main,
    /// The auxiliary winding: each slower tap takes turns from it and puts them, at right angles, into the main's circuit.
    Auxiliary,
}

/// Loss at rated load, watts: what the motor of these medians takes at plate speed less what it turns into work.
fn rated_loss(scheme: Scheme, plate: &Nameplate, medians: &Medians) -> f64 {
    let shaft_speed = 4.0 * PI * plate.hertz / f64::from(medians.poles) * medians.rated_ratio;
    let shaft = (medians.load_torque + medians.friction_torque) * shaft_speed;
    let input = rated_point(plate, scheme, medians).map_or(shaft / POOR_EFFICIENCY, |point| point.watts);
    (input - shaft).max(POOR_EFFICIENCY * input)
}

/// Efficiency of a poor small motor, and least share that any loses (engineering judgement); only a safeguard.
const POOR_EFFICIENCY: f64 = 0.2;

/// A tapped motor: what its kind makes of a plate and a list of taps.
#[derive(Debug, Clone)]
pub(super) struct TappedMotor {
    pub(super) scheme: Scheme,
    pub(super) load: DrivenLoad,
    pub(super) taps: Vec<String>,
    sections_in: SectionsIn,
    pub(super) medians: Medians,
    /// Spread of the impedance scale: small when the plate gives the amps.
    pub(super) scale_spread: f64,
    /// Whether the plate tells the number of poles.
    tells_poles: bool,
    /// Loss at rated load, watts.
    rated_loss_watts: f64,
    /// Amps of the plate, or those that it amounts to.
    rated_amps: f64,
    /// Plate speed, radians per second.
    rated_speed: f64,
    /// Volts that the air gap induces at the plate.
    pub(super) rated_gap_volts: f64,
    /// Volts on the plate.
    pub(super) rated_volts: f64,
    /// Whether the plate's watts could not be met, so that its losses are known less well.
    misses_watts: bool,
    /// What looks wrong about the plate.
    pub(super) doubts: Vec<Doubt>,
}

impl TappedMotor {
    /// # Errors
    /// What is wrong with the plate or the taps, what was expected, and a mend, as messages of values are written.
    pub(super) fn new(
        scheme: Scheme,
        plate: &Nameplate,
        taps: &Option<Vec<String>>,
        load: DrivenLoad,
    ) -> Result<Self, String> {
        if let Some(amps) = plate.amps {
            check_size(plate.volts, amps)?;
        }
        let medians = plate.medians(scheme).map_err(|error| plate_words(&error))?;
        let taps = taps.clone().unwrap_or_else(|| vec!["run".into()]);
        if taps.is_empty() {
            return Err("a motor without taps, expected at least one; leave taps out if it has a single speed".into());
        }
        // Engineering judgement. A motor with a capacitor in its second winding takes its plate amps at a share of what its
        // main winding could carry that makers choose freely; with equal windings the amps cannot always be met.
        let scale_spread = match (scheme, plate.amps.or(plate.main_ohms)) {
            (Scheme::Reversible, Some(_)) => 0.35,
            (Scheme::CapacitorRun | Scheme::HeavyCapacitorRun, Some(_)) => 0.3,
            (_, Some(_)) => 0.15,
            (_, None) => 0.4,
        };
        let rated_loss_watts = rated_loss(scheme, plate, &medians);
        let rated_speed = 4.0 * PI * plate.hertz / f64::from(medians.poles) * medians.rated_ratio;
        let point = rated_point(plate, scheme, &medians);
        let rated_gap_volts = point.map_or(plate.volts, |point| point.gap_volts);
        let model_watts = point.map_or(0.0, |point| point.watts);
        Ok(TappedMotor {
            scheme,
            load,
            taps,
            sections_in: SectionsIn::Main,
            medians,
            scale_spread,
            tells_poles: plate.rpm.is_some() || plate.poles.is_some(),
            rated_loss_watts,
            rated_amps: plate.amps.or(point.map(|point| point.amps)).unwrap_or(rated_loss_watts / plate.volts),
            rated_speed,
            rated_gap_volts,
            rated_volts: plate.volts,
            misses_watts: misses_watts(plate, model_watts),
            doubts: plate_doubts(scheme, plate, &medians, model_watts),
        })
    }

    /// The same with its speed sections on the axis of one of its windings.
    pub(super) fn with_sections_in(self, sections_in: SectionsIn) -> Self {
        TappedMotor { sections_in, ..self }
    }

    /// Median turns over main turns and ohms of each speed section, and what share of the second winding they leave to it.
    fn section_medians(&self) -> (f64, f64, f64) {
        let m = &self.medians;
        let count = self.taps.len() - 1;
        match self.sections_in {
            SectionsIn::Auxiliary if count > 0 => {
                let each = AUXILIARY_SECTIONS / count as f64;
                (each * m.second_turns, each * m.second_ohms, 1.0 - AUXILIARY_SECTIONS)
            }
            _ => (SECTION_TURNS, SECTION_OHMS * m.main_ohms, 1.0),
        }
    }

    /// How it warms.
    pub(super) fn heat(&self) -> PartHeat {
        PartHeat::induction_motor(self.rated_loss_watts, self.second_copper())
    }

    /// How it warms as a hermetic compressor.
    pub(super) fn heat_in_shell(&self) -> PartHeat {
        PartHeat::compressor(self.rated_loss_watts, self.rated_amps, self.second_copper())
    }

    /// The copper of a second winding that has a lead of its own; shading coils sit in the iron.
    ///
    /// A winding of `n` turns of wire of section `s` has ohms that go with `n / s` and copper that goes with `n s`: so its
    /// copper goes with the square of its turns over its ohms, where turns are as long as those of the main winding. That
    /// makes 0.16 of the main winding's for a start winding of resistance and 0.36 for one behind a capacitor, where the
    /// plate says nothing else: start windings of a third to four fifths of the turns in wire of a third to a half of the
    /// section (gpxonline.com.br on auxiliary-phase motors) have 0.1 to 0.4.
    fn second_copper(&self) -> Option<SecondCopper> {
        let name = match self.scheme {
            Scheme::ShadedPole => return None,
            Scheme::CapacitorRun => "auxiliary-winding",
            Scheme::Reversible => BACKWARD_WINDING,
            Scheme::HeavyCapacitorRun | Scheme::SplitPhase | Scheme::CapacitorStart => "start-winding",
        };
        let m = &self.medians;
        let sections = if self.sections_in == SectionsIn::Main { self.taps.len() - 1 } else { 0 };
        let main = 1.0 + sections as f64 * SECTION_TURNS.powi(2) / SECTION_OHMS;
        let over_main = m.second_turns.powi(2) * m.main_ohms / m.second_ohms / main;
        let [least, most] = SECOND_COPPER;
        let main_watts = (!self.scheme.runs_on_second()).then(|| self.rated_amps.powi(2) * m.main_ohms);
        Some(SecondCopper { name, over_main: over_main.clamp(least, most), main_watts })
    }

    fn second_words(&self) -> &'static str {
        match self.scheme {
            Scheme::CapacitorRun => "auxiliary winding",
            Scheme::Reversible => "backward winding",
            Scheme::ShadedPole => "shading coil",
            Scheme::HeavyCapacitorRun | Scheme::SplitPhase | Scheme::CapacitorStart => "start winding",
        }
    }

    /// What the main winding is called: in faults, and in labels with "winding" behind it.
    fn main_name(&self) -> &'static str {
        if self.scheme == Scheme::Reversible { "forward" } else { "main" }
    }

    fn main_label(&self) -> &'static str {
        if self.scheme == Scheme::Reversible { "forward winding" } else { "main winding" }
    }

    pub(super) fn unknowns(&self) -> Vec<UnknownSpec> {
        let m = &self.medians;
        let (main, second) = (self.main_label(), self.second_words());
        let scale = self.scale_spread;
        let (section_turns, section_ohms, second_share) = self.section_medians();
        // As far as the plate's watts can be from what the usual proportions make of its amps (engineering judgement).
        let (ohms, magnetising, core_loss) = if self.misses_watts { (0.5, 0.5, 0.8) } else { (0.2, 0.15, 0.4) };
        let (turns_spread, second_ohms) = match self.scheme {
            // The two windings of a reversible motor are wound alike; the second is known by its ratio to the first.
            Scheme::Reversible => (0.01, UnknownSpec::new(format!("{second} ohms over {main} ohms"), 1.0, 0.02)),
            _ => (0.12, UnknownSpec::new(format!("{second} ohms"), second_share * m.second_ohms, scale.hypot(0.3))),
        };
        // Spreads: engineering judgement, apart from winding ohms between sisters (+-8 % published for all units of a
        // model, so about 2 % within one machine's pair).
        let mut list = vec![
            UnknownSpec::new(format!("{main} ohms"), m.main_ohms, scale.hypot(ohms)).between_sisters(0.02),
            UnknownSpec::new("leakage reactance", m.main_leakage_ohms, scale.hypot(0.2)),
            UnknownSpec::new(format!("{second} turns"), second_share * m.second_turns, turns_spread)
                .between_sisters(0.01),
            second_ohms.between_sisters(0.02),
            UnknownSpec::new("magnetising reactance", m.magnetising_ohms, scale.hypot(magnetising)),
            UnknownSpec::new("rotor resistance", m.rotor_ohms, scale.hypot(0.15)),
            UnknownSpec::new("core loss", m.core_loss_ohms, core_loss),
            self.load.unknown(m.load_torque),
            UnknownSpec::new("bearing friction", m.friction_torque, 0.5).between_sisters(0.3),
        ];
        for pair in self.taps.windows(2) {
            let section = format!("section {}-{}", pair[0], pair[1]);
            list.push(UnknownSpec::new(format!("{section} turns"), section_turns, 0.25).between_sisters(0.01));
            list.push(
                UnknownSpec::new(format!("{section} ohms"), section_ohms, scale.hypot(0.3)).between_sisters(0.02),
            );
        }
        list.push(shaft::inertia(self.load.run_up_seconds(), self.rated_torque(), self.rated_speed));
        list.push(UnknownSpec::new(format!("angle of the {second} over the usual one"), 1.0, ANGLE_SPREAD));
        list
    }

    /// Radians by which the second winding's axis is off its place.
    fn second_turned(&self, part: &PartWiring<'_, '_>) -> Quantity {
        &(&part.unknown(self.inertia() + 1) + -1.0) * self.scheme.second_angle()
    }

    fn rated_torque(&self) -> f64 {
        self.medians.load_torque + self.medians.friction_torque
    }

    /// What it drives, at the frequency of the unit.
    pub(super) fn driven(&self, hertz: f64) -> Driven {
        let rpm = self.medians.rated_ratio * 120.0 * hertz / f64::from(self.medians.poles);
        Driven { law: self.load.law(), rpm, torque: LOAD, inertia: self.inertia() }
    }

    /// The inertia is the last of the unknowns.
    fn inertia(&self) -> usize {
        FIRST_SECTION + 2 * (self.taps.len() - 1)
    }

    /// Faults that all kinds have; `{}` in repairs stands for the motor.
    pub(super) fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the motor {}";
        let (name, main) = (self.main_name(), self.main_label());
        let mut list = vec![
            FaultMode::new("common-open", "the common lead is open inside the motor", 0.02, repair),
            FaultMode::new(
                "common-bad-joint",
                "the joint of the common lead inside the motor has gone high",
                0.008,
                repair,
            )
            .sized(Severity::ohms(10.0, 1.5)),
            FaultMode::new(format!("{name}-open"), format!("the {main} is open"), 0.015, repair),
            FaultMode::new(
                format!("{name}-shorted-turns"),
                format!("some turns of the {main} are shorted"),
                0.02,
                repair,
            )
            .sized(Severity::share("share of turns", 0.08, 0.9)),
            FaultMode::new(
                format!("{name}-to-frame"),
                format!("the {main} has broken through to the frame"),
                0.01,
                repair,
            )
            .sized(Severity::ohms(2000.0, 2.5)),
        ];
        let (loss, turns) = (self.load.loss(), self.load.turns());
        list.extend(ShaftFaults { seized: "the rotor cannot turn", loss, turns }.list());
        for tap in &self.taps {
            list.push(FaultMode::new(
                format!("{tap}-open"),
                format!("the {tap} lead is open inside the motor"),
                0.006,
                repair,
            ));
        }
        for pair in self.taps.windows(2) {
            list.push(FaultMode::new(
                format!("{}-{}-section-open", pair[0], pair[1]),
                format!("the winding section between {} and {} is open", pair[0], pair[1]),
                0.005,
                repair,
            ));
            list.push(FaultMode::new(
                format!("{}-{}-interchanged", pair[0], pair[1]),
                format!("the leads {} and {} are interchanged", pair[0], pair[1]),
                0.004,
                "put the leads of {} on the right terminals",
            ));
        }
        list
    }

    /// Further faults of one that was just put in.
    pub(super) fn faults_when_new(&self) -> Vec<FaultMode> {
        let mut list = vec![wrong_motor::wrong_winding()];
        if self.tells_poles {
            list.extend(wrong_motor::wrong_poles(self.medians.poles));
        }
        list
    }

    /// Joins leads and lays the coils. The common lead begins at `outer_common`, and taps are the terminals from number
    /// 1 on; `second` lays the second winding, given the inner common node.
    pub(super) fn connect(
        &self,
        part: &mut PartWiring<'_, '_>,
        outer_common: Node,
        second: impl FnOnce(&mut PartWiring<'_, '_>, Node, &SecondWinding) -> Vec<PlannedCoil>,
    ) {
        let [warm, second_warm] = [part.winding_celsius(), part.second_winding_celsius()]
            .map(|celsius| copper::resistance_ratio(celsius, 20.0));
        let common = part.inner();
        part.conductor(outer_common, common, "common-open", "common-bad-joint");
        let tap_nodes: Vec<Node> = self.taps.iter().map(|_| part.inner()).collect();
        for (index, tap) in self.taps.iter().enumerate() {
            if !part.has(format_args!("{tap}-open")) {
                let lead = self.lead_of(part, index);
                part.join(part.terminal(1 + lead), tap_nodes[index]);
            }
        }
        let mut coils = self.main_coils(part, common, tap_nodes[0], warm);
        // Sections lie with the winding on whose axis they are.
        let after_main = coils.len();
        let sections_warm = if self.sections_in == SectionsIn::Auxiliary { second_warm } else { warm };
        self.section_coils(part, &tap_nodes, sections_warm, &mut coils);
        let second_winding = if self.sections_in == SectionsIn::Auxiliary { after_main } else { coils.len() };
        let turns = part.unknown(SECOND_TURNS);
        let mut second_ohms = &wound(part, SECOND_OHMS) * second_warm;
        if self.scheme == Scheme::Reversible {
            second_ohms = &second_ohms * &part.unknown(MAIN_OHMS);
        }
        let winding = SecondWinding {
            label: self.second_words(),
            leakage: &(&(&turns * &turns) * &wound(part, LEAKAGE)) * self.second_leakage_share(),
            turns,
            ohms: second_ohms,
            angle: self.scheme.second_angle(),
        };
        coils.extend(second(part, common, &winding));
        let mut core_loss = wound(part, CORE_LOSS);
        if self.scheme == Scheme::Reversible {
            // Either winding may be the one that is fed, so each has half of it.
            core_loss = &core_loss * 2.0;
            if let Some(lead) = coils.iter().find(|coil| coil.label == winding.label).map(|coil| coil.from) {
                part.blocking(CORE_LOSS_BRANCH, lead, common, core_loss.clone(), Quantity::constant(0.0));
            }
        }
        part.blocking(CORE_LOSS_BRANCH, tap_nodes[0], common, core_loss, Quantity::constant(0.0));
        let rotor = Rotor {
            magnetising: &wound(part, MAGNETISING) * &part.saturation(),
            resistance: &wound(part, ROTOR_OHMS) * part.rotor_ratio(),
            leakage: wound(part, LEAKAGE),
        };
        let poles = wrong_motor::poles(part, self.medians.poles);
        let (load, inertia) = (self.load(part, poles), part.unknown(self.inertia()));
        let second_turned = Some(self.second_turned(part));
        part.motor(PlannedMotor { coils, second_winding, second_turned, rotor, poles, load, inertia });
    }

    fn second_leakage_share(&self) -> f64 {
        let m = &self.medians;
        m.second_leakage_ohms / (m.second_turns * m.second_turns * m.main_leakage_ohms)
    }

    /// Which terminal the lead of a tap is on.
    fn lead_of(&self, part: &PartWiring<'_, '_>, tap: usize) -> usize {
        if !part.has_any() {
            return tap;
        }
        if part.has("leads-interchanged") {
            return 1;
        }
        for (first, pair) in self.taps.windows(2).enumerate() {
            if part.has(format_args!("{}-{}-interchanged", pair[0], pair[1])) {
                if tap == first {
                    return first + 1;
                }
                if tap == first + 1 {
                    return first;
                }
            }
        }
        tap
    }

    fn main_coils(&self, part: &mut PartWiring<'_, '_>, common: Node, tap: Node, warm: f64) -> Vec<PlannedCoil> {
        let ohms = &wound(part, MAIN_OHMS) * warm;
        let leakage = wound(part, LEAKAGE);
        let (name, label) = (self.main_name(), self.main_label());
        let is_faulty = part.has_any();
        let fault = |kind: &str| if is_faulty { format!("{name}-{kind}") } else { String::new() };
        if part.has(fault("open")) {
            // Broken where it touches the frame: which piece touches is not known, the one at the tap stands for it.
            if let Some(leak) = part.severity(fault("to-frame")) {
                part.resistor("path to frame", tap, part.frame(), leak);
            }
            return Vec::new();
        }
        let middle = middle_to_frame(part, &fault("to-frame"));
        if let Some(shorted) = part.severity(fault("shorted-turns")) {
            return shorted_turns(label, tap, middle, common, &ohms, &leakage, &Quantity::constant(1.0), 0.0, &shorted);
        }
        let coil = |from, to, share: f64| PlannedCoil {
            label: label.into(),
            from,
            to,
            turns: Quantity::constant(share),
            angle: 0.0,
            resistance: &ohms * share,
            // The halves lie on different poles, so their leakages add to the whole winding's.
            leakage: &leakage * share,
        };
        match middle {
            Some(middle) => vec![coil(tap, middle, 0.5), coil(middle, common, 0.5)],
            None => vec![coil(tap, common, 1.0)],
        }
    }

    fn section_coils(&self, part: &PartWiring<'_, '_>, taps: &[Node], warm: f64, coils: &mut Vec<PlannedCoil>) {
        let leakage = wound(part, LEAKAGE);
        let angle = match self.sections_in {
            SectionsIn::Main => 0.0,
            // From the slower to the faster tap they run against the auxiliary winding: it goes on from the slowest.
            SectionsIn::Auxiliary => self.scheme.second_angle() + PI,
        };
        for (section, pair) in self.taps.windows(2).enumerate() {
            if part.has(format_args!("{}-{}-section-open", pair[0], pair[1])) {
                continue;
            }
            let turns = part.unknown(FIRST_SECTION + 2 * section);
            coils.push(PlannedCoil {
                label: format!("section {}-{}", pair[0], pair[1]).into(),
                from: taps[section + 1],
                to: taps[section],
                leakage: &(&turns * &turns) * &leakage,
                turns,
                angle,
                resistance: &wound(part, FIRST_SECTION + 2 * section + 1) * warm,
            });
        }
    }

    /// What it drives, which asks for its torque at the speed of the plate, however fast the field turns.
    fn load(&self, part: &PartWiring<'_, '_>, poles: u32) -> Load {
        let sound = Load {
            torque: part.unknown(LOAD),
            law: if part.meets_pressure() { LoadLaw::Constant } else { self.load.law() },
            reference_ratio: self.medians.rated_ratio * f64::from(poles) / f64::from(self.medians.poles),
            friction_torque: part.unknown(FRICTION),
        };
        let loss = self.load.loss_name().map(|name| (name, shaft::LOST_LOAD_SHARE));
        shaft::load(part, sound, self.rated_torque(), loss, self.load.blocked_change())
    }
}
