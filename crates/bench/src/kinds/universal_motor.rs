//! Universal motor: a series commutator motor for alternating current, as in polishers, drills, mixers and vacuum cleaners.
//!
//! Field and armature are wired in series outside the motor, so a job file shows which way round they are. Field taps add
//! turns: more flux, less speed. Speed, torque and run-away without load follow from the machine model.
//!
//! Ohms through the brushes are read in positions, because faults of the armature show only in some: the shaft as it
//! stands (where most positions are alike), and turned by hand to where the meter shows the lowest and the highest.
//!
//! # Assumes
//! As `machine::commutator` (linear iron, no core loss, brushes in the neutral position) and `armature`; two poles. What
//! it drives takes torque with the square of its speed. At another frequency than the plate's its reactances change in
//! proportion.

use super::DrivenLoad;
use super::armature::{AS_IT_STANDS, Armature, HIGHEST, LOWEST, coil_ohms};
use super::doubt::check_size;
use super::driven_load::Driven;
use super::shaft::{self, ShaftFaults};
use super::universal_plate::{UniversalPlate, plate_words};
use super::{Insulation, Kind, Rating, UnknownSpec};
use crate::fault::{FaultMode, Severity};
use crate::heat::PartHeat;
use crate::job::Positive;
use crate::wiring::{Node, PartWiring, PlannedCoil, PlannedCommutator};
use circuit::Quantity;
use machine::commutator::shorted_coil;
use machine::commutator_plate::CommutatorMedians;
use machine::{Load, LoadLaw, copper};
use proof::insulation::ThermalClass;
use serde::Deserialize;
use std::f64::consts::PI;

/// Bars of a small commutator where the job file does not say (engineering judgement; 20 to 28 are usual).
const USUAL_BARS: u32 = 24;
/// Turns of a speed section over the field's (engineering judgement).
const SECTION_TURNS: f64 = 0.6;

/// Torque left when what it drives slips: the fan that cools it stays on its shaft (engineering judgement).
const SLIPPING_SHARE: f64 = 0.15;
/// Seconds in which rated torque would bring it to plate speed (engineering judgement).
const RUN_UP_SECONDS: f64 = 1.0;

const FIELD_OHMS: usize = 0;
const FIELD_LEAKAGE: usize = 1;
const MAGNETISING: usize = 2;
const ARMATURE_OHMS: usize = 3;
const ARMATURE_REACTANCE: usize = 4;
const BRUSH_OHMS: usize = 5;
const SPEED_OHMS: usize = 6;
const DRIVEN: usize = 7;
const FRICTION: usize = 8;
const SECOND_COIL: usize = 9;

/// Universal motor. Terminals: the field's ends with its taps from fastest to slowest, then brush-1 and brush-2.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "UniversalMotorEntry")]
#[schemars(with = "UniversalMotorEntry")]
pub struct UniversalMotor {
    entry: UniversalMotorEntry,
    taps: Vec<String>,
    medians: CommutatorMedians,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UniversalMotorEntry {
    /// What the plate says.
    plate: UniversalPlate,
    /// Field coils with leads of their own: 1 (the usual, if not given) or 2, one on each side of the armature.
    field_coils: Option<u32>,
    /// Names of the field taps, fastest first; leave out for a single speed.
    taps: Option<Vec<String>>,
    /// Bars of the commutator, counted; 24 if not given.
    bars: Option<u32>,
}

impl TryFrom<UniversalMotorEntry> for UniversalMotor {
    type Error = String;

    fn try_from(entry: UniversalMotorEntry) -> Result<Self, Self::Error> {
        if let Some(amps) = entry.plate.amps {
            check_size(entry.plate.volts.0, amps.0)?;
        }
        let medians = entry.plate.figures().medians().map_err(|error| plate_words(&error))?;
        if !matches!(entry.field_coils, None | Some(1 | 2)) {
            return Err("field_coils of a universal motor, expected 1 or 2; count the coils with two leads each".into());
        }
        if entry.bars.is_some_and(|bars| !(6..=200).contains(&bars) || bars % 2 == 1) {
            return Err(
                "bars of a commutator, expected an even number from 6 to 200; count again, or leave it out".into()
            );
        }
        if entry.taps.as_ref().is_some_and(Vec::is_empty) {
            return Err("no field taps, expected at least one; leave taps out if it has a single speed".into());
        }
        let taps = entry.taps.clone().unwrap_or_default();
        Ok(UniversalMotor { entry, taps, medians })
    }
}

impl UniversalMotor {
    fn coil_count(&self) -> usize {
        if self.entry.field_coils == Some(2) { 2 } else { 1 }
    }

    /// Names of the field coils: `field`, or `field-1` and `field-2`.
    fn coil_names(&self) -> Vec<String> {
        match self.coil_count() {
            1 => vec!["field".into()],
            count => (1..=count).map(|coil| format!("field-{coil}")).collect(),
        }
    }

    fn bars(&self) -> f64 {
        f64::from(self.entry.bars.unwrap_or(USUAL_BARS))
    }

    /// Ends of each field coil as terminal numbers; those of the first end at its fastest tap.
    fn coil_ends(&self) -> Vec<(usize, usize)> {
        let first_end = 1;
        let after = first_end + self.taps.len().max(1);
        [(0, first_end), (after, after + 1)][..self.coil_count()].to_vec()
    }

    fn first_section(&self) -> usize {
        SECOND_COIL + self.coil_count() - 1
    }

    /// The inertia is the last of the unknowns.
    fn inertia(&self) -> usize {
        self.first_section() + 2 * self.taps.len().saturating_sub(1)
    }

    fn rated_torque(&self) -> f64 {
        self.medians.fan_torque + self.medians.friction_torque
    }

    /// Plate speed, radians per second.
    fn reference_speed(&self) -> f64 {
        self.medians.rpm * PI / 30.0
    }
}

impl Kind for UniversalMotor {
    fn name(&self) -> &'static str {
        "universal-motor"
    }

    fn terminals(&self) -> Vec<String> {
        let names = self.coil_names();
        let mut list = vec![format!("{}-a", names[0])];
        match self.taps.is_empty() {
            true => list.push(format!("{}-b", names[0])),
            false => list.extend(self.taps.iter().cloned()),
        }
        list.extend(names.iter().skip(1).flat_map(|name| [format!("{name}-a"), format!("{name}-b")]));
        list.extend(["brush-1".into(), "brush-2".into()]);
        list
    }

    fn describe(&self) -> String {
        self.entry.plate.describe()
    }

    fn positions(&self) -> Vec<String> {
        [AS_IT_STANDS, LOWEST, HIGHEST].map(String::from).to_vec()
    }

    fn ordinary_position(&self) -> Option<String> {
        Some(AS_IT_STANDS.into())
    }

    fn is_set_by_hand(&self) -> bool {
        true
    }

    fn insulation_class(&self) -> Option<ThermalClass> {
        self.entry.plate.insulation_class.map(|class| class.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let (m, plate) = (&self.medians, &self.entry.plate);
        let size: f64 = if plate.amps.is_some() || plate.watts.is_some() { 0.0 } else { 0.5 };
        let ohms = |published: Option<Positive>| if published.is_some() { 0.05 } else { size.hypot(0.3) };
        let (speed, torque) = if plate.rpm.is_some() { (size.hypot(0.1), size.hypot(0.15)) } else { (0.5, 0.5) };
        // Spreads: engineering judgement; those of reactances cover the division of the plate's one figure.
        let mut list = vec![
            UnknownSpec::new("field ohms", m.field_ohms, ohms(plate.field_ohms)).between_sisters(0.02),
            UnknownSpec::new("field leakage reactance", m.field_leakage_ohms, size.hypot(0.5)),
            UnknownSpec::new("field reactance", m.magnetising_ohms, size.hypot(0.25)),
            UnknownSpec::new("armature ohms", m.armature_ohms, ohms(plate.armature_ohms)).between_sisters(0.02),
            UnknownSpec::new("armature reactance", m.armature_reactance_ohms, size.hypot(0.25)),
            UnknownSpec::new("brush ohms", m.brush_ohms, 0.5).between_sisters(0.3),
            UnknownSpec::new("speed volts for each field amp", m.speed_ohms, speed),
            UnknownSpec::new("torque of what it drives", m.fan_torque, torque).between_sisters(0.06),
            UnknownSpec::new("friction of bearings and brushes", m.friction_torque, 0.5).between_sisters(0.3),
        ];
        if self.coil_count() == 2 {
            list.push(UnknownSpec::new("field coil 2 ohms over coil 1", 1.0, 0.03));
        }
        for pair in self.taps.windows(2) {
            let section = format!("section {}-{}", pair[0], pair[1]);
            list.push(UnknownSpec::new(format!("{section} turns"), SECTION_TURNS, 0.4).between_sisters(0.01));
            let ohms = SECTION_TURNS * m.field_ohms;
            list.push(UnknownSpec::new(format!("{section} ohms"), ohms, 0.4).between_sisters(0.02));
        }
        list.push(shaft::inertia(RUN_UP_SECONDS, self.rated_torque(), self.reference_speed()));
        list
    }

    fn faults(&self) -> Vec<FaultMode> {
        let motor = "replace the motor {}, or have its field rewound";
        let armature = "replace the armature of {}, and fit new brushes";
        let brushes = "replace both brushes of {} and clean their holders";
        let mut list = Vec::new();
        for coil in self.coil_names() {
            let words = coil
                .replace("field-", "field coil ")
                .replace("field", "the field")
                .replace("the field coil", "field coil");
            list.push(FaultMode::new(format!("{coil}-open"), format!("{words} is open"), 0.01, motor));
            let shorted = format!("some turns of {words} are shorted");
            list.push(FaultMode::new(format!("{coil}-shorted-turns"), shorted, 0.01, motor).sized(Severity::share(
                "share of turns",
                0.1,
                0.9,
            )));
            let leak = format!("{words} has broken through to the frame");
            list.push(
                FaultMode::new(format!("{coil}-to-frame"), leak, 0.006, motor).sized(Severity::ohms(2000.0, 2.5)),
            );
        }
        for tap in &self.taps {
            let words = format!("the {tap} lead is open inside the motor");
            list.push(FaultMode::new(format!("{tap}-open"), words, 0.006, motor));
        }
        for pair in self.taps.windows(2) {
            let words = format!("the field section between {} and {} is open", pair[0], pair[1]);
            list.push(FaultMode::new(format!("{}-{}-section-open", pair[0], pair[1]), words, 0.005, motor));
        }
        for brush in ["brush-1", "brush-2"] {
            let words = brush.replace('-', " ");
            let stuck = format!("{words} no longer reaches the commutator: worn out, or stuck in its holder");
            list.push(FaultMode::new(format!("{brush}-stuck"), stuck, 0.04, brushes));
            let worn = format!("{words} touches the commutator badly: worn short, weak spring or burnt face");
            list.push(FaultMode::new(format!("{brush}-worn"), worn, 0.03, brushes).sized(Severity::ohms(5.0, 1.2)));
        }
        list.extend([
            FaultMode::new("wrong-brushes", "brushes of another grade are fitted", 0.006, brushes)
                .sized(Severity::factor("times rated brush ohms", 5.0, 0.7)),
            FaultMode::new("armature-coil-open", "a coil of the armature is open", 0.015, armature),
            FaultMode::new("armature-coil-shorted", "a coil of the armature is shorted", 0.015, armature)
                .sized(Severity::ohms(coil_ohms(self.medians.armature_ohms, self.bars()), 1.0)),
            FaultMode::new("armature-to-frame", "the armature has broken through to its shaft", 0.008, armature)
                .sized(Severity::ohms(2000.0, 2.5)),
            FaultMode::new(
                "bad-bar",
                "a bar of the commutator is burnt or has lost its coil's joint",
                0.01,
                "turn down or replace the armature of {}, and fit new brushes",
            )
            .sized(Severity::ohms(20.0, 1.5)),
        ]);
        let slips = FaultMode::new(
            "drive-slips",
            "what it drives has come loose from the shaft",
            0.008,
            "fix what {} drives on its shaft, and never run it without load",
        );
        let turns = Some("what it drives");
        list.extend(ShaftFaults { seized: "the shaft cannot turn", loss: Some(slips), turns }.list());
        list.push(FaultMode::new(
            "brush-leads-interchanged",
            "the leads to the two brushes are interchanged, so that it turns backward",
            0.004,
            "put the brush leads of {} back",
        ));
        list
    }

    fn heat(&self) -> PartHeat {
        let m = &self.medians;
        PartHeat::universal_motor((m.field_ohms + m.armature_ohms + 2.0 * m.brush_ohms) * m.amps * m.amps)
    }

    fn plate_volts(&self) -> Option<f64> {
        Some(self.entry.plate.volts.0)
    }

    fn rating(&self) -> Option<Rating> {
        let plate = &self.entry.plate;
        let amps = plate.amps.map(|amps| Rating::Amps { terminal: 0, amps: amps.0 });
        amps.or(plate.watts.map(|watts| Rating::Watts(watts.0)))
    }

    fn commutator_bars(&self) -> Option<usize> {
        usize::try_from(self.entry.bars.unwrap_or(USUAL_BARS)).ok()
    }

    fn rated_hertz(&self) -> Option<f64> {
        // It runs on either frequency, and on direct current.
        None
    }

    fn driven(&self, _hertz: f64) -> Option<Driven> {
        Some(Driven { law: LoadLaw::Square, rpm: self.medians.rpm, torque: DRIVEN, inertia: self.inertia() })
    }

    fn synchronous_rpm(&self, _hertz: f64) -> Option<f64> {
        Some(self.medians.rpm)
    }

    fn insulation(&self) -> Option<Insulation> {
        Some(Insulation::of_motor(0..self.terminals().len()))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let warm = copper::resistance_ratio(part.winding_celsius(), 20.0);
        let hertz_ratio = self.entry.plate.hertz.map_or(1.0, |hertz| part.hertz() / hertz.0);
        let speed_ohms = part.unknown(SPEED_OHMS);
        let magnetising = &part.unknown(MAGNETISING) * hertz_ratio;
        let mut coils = self.field(part, warm, hertz_ratio);
        let armature = Armature {
            bars: self.bars(),
            ohms: &part.unknown(ARMATURE_OHMS) * warm,
            reactance: &part.unknown(ARMATURE_REACTANCE) * hertz_ratio,
            brush_ohms: part.unknown(BRUSH_OHMS),
            first_brush: self.terminals().len() - 2,
        };
        let (paths, shorted) = armature.connect(part);
        let mut shorted_ohms = Quantity::constant(0.0);
        if let Some(loop_ohms) = shorted {
            let turns_per_second = self.medians.rpm / 60.0;
            let (turns, watts) =
                shorted_coil(&speed_ohms, &magnetising, self.bars(), part.hertz() / turns_per_second, &loop_ohms);
            shorted_ohms = watts;
            coils.push(PlannedCoil {
                label: "shorted armature coil".into(),
                // It hangs on nothing outside itself; the frame only gives it a potential.
                from: part.frame(),
                to: part.frame(),
                turns,
                angle: 0.0,
                resistance: loop_ohms,
                leakage: Quantity::constant(0.0),
            });
        }
        let (load, inertia) = (self.load(part), part.unknown(self.inertia()));
        part.commutator_motor(PlannedCommutator {
            coils,
            magnetising,
            paths,
            speed_ohms,
            shorted_ohms,
            reference_speed: self.reference_speed(),
            load,
            inertia,
        });
    }
}

impl UniversalMotor {
    fn field(&self, part: &mut PartWiring<'_, '_>, warm: f64, hertz_ratio: f64) -> Vec<PlannedCoil> {
        let count = self.coil_count() as f64;
        let mut ohms = &part.unknown(FIELD_OHMS) * (warm / count);
        let leakage = &part.unknown(FIELD_LEAKAGE) * hertz_ratio;
        // The coils sit on different poles, so their leakages add to the whole.
        let coil_leakage = &leakage * (1.0 / count);
        let mut coils = Vec::new();
        let tap_nodes: Vec<Node> =
            (0..self.taps.len())
                .map(|tap| {
                    if part.has(format_args!("{}-open", self.taps[tap])) {
                        part.inner()
                    } else {
                        part.terminal(1 + tap)
                    }
                })
                .collect();
        for (index, (name, ends)) in self.coil_names().iter().zip(self.coil_ends()).enumerate() {
            if index == 1 {
                ohms = &ohms * &part.unknown(SECOND_COIL);
            }
            let (from, mut to) = (part.terminal(ends.0), part.terminal(ends.1));
            if let (0, Some(&first_tap)) = (index, tap_nodes.first()) {
                to = first_tap;
            }
            let coil = |label: &'static str, from, to, share: &Quantity| PlannedCoil {
                label: label.into(),
                from,
                to,
                turns: share * (1.0 / count),
                angle: 0.0,
                resistance: &ohms * share,
                leakage: &coil_leakage * share,
            };
            let label = ["field", "second field coil"][index];
            if part.has(format_args!("{name}-open")) {
                if let Some(leak) = part.severity(format_args!("{name}-to-frame")) {
                    part.resistor("path to frame", from, part.frame(), leak);
                }
                continue;
            }
            let mut left = Quantity::constant(1.0);
            let shorted = part.severity(format_args!("{name}-shorted-turns"));
            if let Some(shorted) = &shorted {
                left = &(shorted * -1.0) + 1.0;
            }
            match part.severity(format_args!("{name}-to-frame")) {
                Some(leak) => {
                    let middle = part.inner();
                    part.resistor("path to frame", middle, part.frame(), leak);
                    coils.push(coil(label, from, middle, &(&left * 0.5)));
                    coils.push(coil(label, middle, to, &(&left * 0.5)));
                }
                None => coils.push(coil(label, from, to, &left)),
            }
            coils.extend(shorted.map(|shorted| coil("shorted turns", to, to, &shorted)));
        }
        for (section, pair) in self.taps.windows(2).enumerate() {
            if part.has(format_args!("{}-{}-section-open", pair[0], pair[1])) {
                continue;
            }
            let turns = part.unknown(self.first_section() + 2 * section);
            coils.push(PlannedCoil {
                label: format!("section {}-{}", pair[0], pair[1]).into(),
                from: tap_nodes[section],
                to: tap_nodes[section + 1],
                leakage: &(&turns * &turns) * &leakage,
                turns,
                angle: 0.0,
                resistance: &part.unknown(self.first_section() + 2 * section + 1) * warm,
            });
        }
        coils
    }

    fn load(&self, part: &PartWiring<'_, '_>) -> Load {
        let sound = Load {
            torque: part.unknown(DRIVEN),
            law: LoadLaw::Square,
            reference_ratio: 1.0,
            friction_torque: part.unknown(FRICTION),
        };
        // Only one that moves a stream of air can have that held up, and such motors turn blower wheels.
        let blocked = DrivenLoad::Fan.blocked_change();
        shaft::load(part, sound, self.rated_torque(), Some(("drive-slips", SLIPPING_SHARE)), blocked)
    }
}
