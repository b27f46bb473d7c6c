//! Three-phase induction motor: three alike phases a third of a turn (electrical) apart around one cage.
//!
//! Star and delta motors have their phases joined inside; six- and nine-lead motors are joined by the wires outside, so
//! that star, delta, low or high volts, and a capacitor on a single phase all come out of the wiring.
//!
//! # Assumes
//! Iron as the job file says (`iron`), a symmetrical cage, one winding temperature, core loss as a resistance across each
//! coil, halves of a phase without leakage between them. Median values: `machine::three_phase`.

use super::driven_load::{Driven, DrivenLoad};
use super::iron::{self, Iron};
use super::second_winding::{middle_to_frame, shorted_turns};
use super::shaft::{self, ShaftFaults};
use super::three_phase_plate::{Connection, ThreePhaseMotorPlate};
use super::{Doubt, Insulation, Kind, Rating, UnknownSpec, wrong_motor};
use crate::fault::{FaultMode, Severity};
use crate::heat::PartHeat;
use crate::saturation::Saturation;
use crate::wiring::{CORE_LOSS_BRANCH, Node, PartWiring, PlannedCoil, PlannedMotor};
use circuit::{Complex64, Quantity};
use machine::three_phase::ThreePhaseMedians;
use machine::{Load, Rotor, copper};
use proof::insulation::ThermalClass;
use serde::Deserialize;
use std::f64::consts::PI;

/// Spread of one phase's ohms about the motor's: a fifth of the two per cent that leads may differ from their average
/// (ecmweb.com, "Unbalanced current"; that sound motors stay well inside is engineering judgement).
const PHASE_OHMS_SPREAD: f64 = 0.01;
/// Torque of a fan at plate speed against what the plate allows: motors are mostly chosen somewhat too large
/// (engineering judgement).
const FAN_SPREAD: f64 = 0.2;

/// Places of the values among the unknowns.
const WINDING_OHMS: usize = 0;
const LEAKAGE: usize = 1;
const MAGNETISING: usize = 2;
const ROTOR_OHMS: usize = 3;
const CORE_LOSS: usize = 4;
const FAN: usize = 5;
const FRICTION: usize = 6;
const FIRST_PHASE: usize = 7;
const INERTIA: usize = FIRST_PHASE + 3;
const IRON: usize = INERTIA + 1;

/// Names of the phases.
const PHASES: [&str; 3] = ["u", "v", "w"];

/// Three-phase motor. Terminals by its connection: u, v, w for star and delta; u1, u2, v1, v2, w1, w2 for six leads; t1
/// to t9 for nine.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(try_from = "ThreePhaseMotorEntry")]
#[schemars(with = "ThreePhaseMotorEntry")]
pub struct ThreePhaseMotor {
    entry: ThreePhaseMotorEntry,
    medians: ThreePhaseMedians,
}

/// As written in a job file.
#[derive(Debug, Clone, Deserialize, schemars::JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ThreePhaseMotorEntry {
    /// How its phases are joined: star, delta, six-lead or nine-lead.
    connection: Connection,
    /// Whether its iron saturates: `linear` if nothing is said, or `saturates`.
    iron: Option<Iron>,
    /// What the plate says.
    plate: ThreePhaseMotorPlate,
}

impl TryFrom<ThreePhaseMotorEntry> for ThreePhaseMotor {
    type Error = String;

    fn try_from(entry: ThreePhaseMotorEntry) -> Result<Self, String> {
        let medians = entry.plate.medians()?;
        Ok(ThreePhaseMotor { entry, medians })
    }
}

/// One coil of a phase.
struct Coil {
    name: &'static str,
    phase: usize,
    /// Share of the phase's turns.
    share: f64,
    /// Terminal at which it begins.
    from: usize,
    /// Terminal at which it ends; the star point inside if it has none.
    to: Option<usize>,
}

impl Connection {
    fn terminals(self) -> &'static [&'static str] {
        match self {
            Connection::Star | Connection::Delta => &PHASES,
            Connection::SixLead => &["u1", "u2", "v1", "v2", "w1", "w2"],
            Connection::NineLead => &["t1", "t2", "t3", "t4", "t5", "t6", "t7", "t8", "t9"],
        }
    }

    fn coils(self) -> Vec<Coil> {
        let whole = |phase: usize, from, to| Coil { name: PHASES[phase], phase, share: 1.0, from, to };
        match self {
            Connection::Star => (0..3).map(|phase| whole(phase, phase, None)).collect(),
            Connection::Delta => (0..3).map(|phase| whole(phase, phase, Some((phase + 1) % 3))).collect(),
            Connection::SixLead => (0..3).map(|phase| whole(phase, 2 * phase, Some(2 * phase + 1))).collect(),
            // NEMA MG 1, terminal markings of nine-lead star motors (from memory).
            Connection::NineLead => (0..6)
                .map(|half| Coil {
                    name: ["t1-t4", "t2-t5", "t3-t6", "t7", "t8", "t9"][half],
                    phase: half % 3,
                    share: 0.5,
                    from: if half < 3 { half } else { half + 3 },
                    to: (half < 3).then_some(half + 3),
                })
                .collect(),
        }
    }

    /// Ohms of a whole phase over those of the equivalent star at plate volts.
    fn phase_over_star(self) -> f64 {
        match self {
            Connection::Star | Connection::NineLead => 1.0,
            Connection::Delta | Connection::SixLead => 3.0,
        }
    }
}

impl Kind for ThreePhaseMotor {
    fn name(&self) -> &'static str {
        "three-phase-motor"
    }

    fn terminals(&self) -> Vec<String> {
        self.entry.connection.terminals().iter().map(ToString::to_string).collect()
    }

    fn describe(&self) -> String {
        format!("{}, {}", self.entry.connection.words(), self.entry.plate.describe())
    }

    fn insulation_class(&self) -> Option<ThermalClass> {
        self.entry.plate.insulation_class.map(|class| class.0)
    }

    fn unknowns(&self) -> Vec<UnknownSpec> {
        let (m, scale) = (&self.medians, self.entry.plate.scale_spread());
        let over_star = self.entry.connection.phase_over_star();
        // Spreads: engineering judgement, as for the other induction motors.
        let mut list = vec![
            UnknownSpec::new("ohms of a phase", over_star * m.winding_ohms, scale.hypot(0.2)).between_sisters(0.02),
            UnknownSpec::new("leakage reactance", over_star * m.leakage_ohms, scale.hypot(0.25)),
            UnknownSpec::new("magnetising reactance", over_star * m.magnetising_ohms, scale.hypot(0.15)),
            UnknownSpec::new("rotor resistance", over_star * m.rotor_ohms, scale.hypot(0.15)),
            UnknownSpec::new("core loss", over_star * m.core_loss_ohms, 0.4),
            UnknownSpec::new("fan torque", m.fan_torque, FAN_SPREAD).between_sisters(0.06),
            UnknownSpec::new("bearing friction", m.friction_torque, 0.5).between_sisters(0.3),
        ];
        list.extend(PHASES.map(|phase| {
            let words = format!("ohms of phase {phase} over the other phases'");
            UnknownSpec::new(words, 1.0, PHASE_OHMS_SPREAD).between_sisters(PHASE_OHMS_SPREAD)
        }));
        let hertz = self.entry.plate.hertz.0;
        let speed = 4.0 * PI * hertz / f64::from(m.poles) * m.rated_ratio;
        list.push(shaft::inertia(DrivenLoad::Fan.run_up_seconds(), self.rated_torque(), speed));
        list.extend(iron::unknown(self.entry.iron));
        list
    }

    fn saturation(&self) -> Option<Saturation> {
        iron::saturation(self.entry.iron, IRON, self.rated_gap_volts())
    }

    fn faults(&self) -> Vec<FaultMode> {
        let repair = "replace the motor {}, or have it rewound";
        let connection = self.entry.connection;
        let mut list = Vec::new();
        for Coil { name, share, .. } in connection.coils() {
            let (what, lead) = match connection {
                Connection::Star => (format!("phase {name}"), " or its lead"),
                Connection::NineLead => (format!("the winding from {name}"), " or a lead of it"),
                Connection::Delta => (format!("phase {name}"), ""),
                Connection::SixLead => (format!("phase {name}"), " or a lead of it"),
            };
            let mode = |fault: &str, words: String, odds: f64| {
                FaultMode::new(format!("{name}-{fault}"), words, share * odds, repair)
            };
            list.push(mode("open", format!("{what}{lead} is open inside the motor"), 0.012));
            list.push(
                mode("shorted-turns", format!("some turns of {what} are shorted"), 0.012).sized(Severity::share(
                    "share of turns",
                    0.08,
                    0.9,
                )),
            );
            list.push(
                mode("to-frame", format!("{what} has broken through to the frame"), 0.006)
                    .sized(Severity::ohms(2000.0, 2.5)),
            );
            list.push(FaultMode {
                repair: "interchange the two ends of that winding of {}",
                ..mode("reversed", format!("{what} is connected the wrong way round"), 0.002)
            });
        }
        if connection == Connection::Delta {
            let words = |lead: &str| format!("the lead {lead} is open inside the motor");
            list.extend(PHASES.map(|lead| FaultMode::new(format!("{lead}-lead-open"), words(lead), 0.006, repair)));
        }
        let words = "two leads of the motor are interchanged, so it turns backwards";
        list.push(FaultMode::new("leads-interchanged", words, 0.004, "interchange two leads of {}"));
        let (loss, turns) = (DrivenLoad::Fan.loss(), DrivenLoad::Fan.turns());
        list.extend(ShaftFaults { seized: "the rotor cannot turn", loss, turns }.list());
        list
    }

    fn faults_when_new(&self) -> Vec<FaultMode> {
        let plate = &self.entry.plate;
        let tells_poles = plate.rpm.is_some() || plate.poles.is_some();
        if tells_poles { wrong_motor::wrong_poles(self.medians.poles) } else { Vec::new() }
    }

    fn doubts(&self) -> Vec<Doubt> {
        self.entry.plate.doubts(&self.medians)
    }

    fn core_volts(&self) -> Option<f64> {
        let (volts, connection) = (self.entry.plate.volts.0, self.entry.connection);
        let share = if connection == Connection::NineLead { 0.5 } else { 1.0 };
        // Star volts are those between lines over the root of three; a phase in delta has them whole.
        Some(share * volts * (connection.phase_over_star() / 3.0).sqrt())
    }

    fn heat(&self) -> PartHeat {
        PartHeat::induction_motor(self.medians.rated_loss_watts, None)
    }

    fn rating(&self) -> Option<Rating> {
        let amps = self.entry.plate.amps?.0;
        // What flows in a lead of the others depends on the wires outside.
        matches!(self.entry.connection, Connection::Star | Connection::Delta)
            .then_some(Rating::AmpsAtAny { terminals: 3, amps })
    }

    fn rated_hertz(&self) -> Option<f64> {
        Some(self.entry.plate.hertz.0)
    }

    fn driven(&self, hertz: f64) -> Option<Driven> {
        let rpm = self.medians.rated_ratio * self.synchronous_rpm(hertz)?;
        Some(Driven { law: DrivenLoad::Fan.law(), rpm, torque: FAN, inertia: INERTIA })
    }

    fn synchronous_rpm(&self, hertz: f64) -> Option<f64> {
        Some(120.0 * hertz / f64::from(self.medians.poles))
    }

    fn insulation(&self) -> Option<Insulation> {
        Some(Insulation::of_motor(0..self.terminals().len()))
    }

    fn connect(&self, part: &mut PartWiring<'_, '_>) {
        let leads: Vec<Node> = self
            .terminals()
            .iter()
            .enumerate()
            .map(
                |(index, name)| {
                    if part.has(format_args!("{name}-lead-open")) { part.inner() } else { part.terminal(index) }
                },
            )
            .collect();
        let star = part.inner();
        let mut coils = Vec::new();
        for coil in self.entry.connection.coils() {
            let ends = [leads[coil.from], coil.to.map_or(star, |to| leads[to])];
            coils.extend(self.coil(part, &coil, ends));
        }
        let two_thirds = |unknown: usize, part: &PartWiring<'_, '_>| &part.unknown(unknown) * (2.0 / 3.0);
        let rotor = Rotor {
            magnetising: &two_thirds(MAGNETISING, part) * &part.saturation(),
            resistance: &two_thirds(ROTOR_OHMS, part) * part.rotor_ratio(),
            leakage: two_thirds(LEAKAGE, part),
        };
        let poles = wrong_motor::poles(part, self.medians.poles);
        let (load, inertia) = (self.load(part, poles), part.unknown(INERTIA));
        part.motor(PlannedMotor {
            second_winding: coils.len(),
            second_turned: None,
            coils,
            rotor,
            poles,
            load,
            inertia,
        });
    }
}

impl ThreePhaseMotor {
    /// What a coil amounts to, whole or with its fault.
    fn coil(&self, part: &mut PartWiring<'_, '_>, coil: &Coil, ends: [Node; 2]) -> Vec<PlannedCoil> {
        let fault = |name: &str| format!("{}-{name}", coil.name);
        if part.has(fault("open")) {
            if let Some(leak) = part.severity(fault("to-frame")) {
                part.resistor("path to frame", ends[0], part.frame(), leak);
            }
            return Vec::new();
        }
        let label = match coil.name {
            "u" => "phase u",
            "v" => "phase v",
            "w" => "phase w",
            half => half,
        };
        let [from, to] = if part.has(fault("reversed")) { [ends[1], ends[0]] } else { ends };
        let warm = copper::resistance_ratio(part.winding_celsius(), 20.0);
        let ohms = &(&part.unknown(WINDING_OHMS) * &part.unknown(FIRST_PHASE + coil.phase)) * (warm * coil.share);
        let leakage = &part.unknown(LEAKAGE) * coil.share;
        let turns = Quantity::constant(coil.share);
        let turned = if part.has("leads-interchanged") { -1.0 } else { 1.0 };
        let angle = turned * 2.0 * PI / 3.0 * coil.phase as f64;
        let core_loss = &part.unknown(CORE_LOSS) * coil.share;
        part.blocking(CORE_LOSS_BRANCH, from, to, core_loss, Quantity::constant(0.0));
        let middle = middle_to_frame(part, &fault("to-frame"));
        if let Some(shorted) = part.severity(fault("shorted-turns")) {
            return shorted_turns(label, from, middle, to, &ohms, &leakage, &turns, angle, &shorted);
        }
        let piece = |from, to, share: f64| PlannedCoil {
            label: label.into(),
            from,
            to,
            turns: &turns * share,
            angle,
            resistance: &ohms * share,
            leakage: &leakage * share,
        };
        match middle {
            Some(middle) => vec![piece(from, middle, 0.5), piece(middle, to, 0.5)],
            None => vec![piece(from, to, 1.0)],
        }
    }

    /// Its fan, which asks for its torque at the speed of the plate, however fast the field turns.
    fn load(&self, part: &PartWiring<'_, '_>, poles: u32) -> Load {
        let sound = Load {
            torque: part.unknown(FAN),
            law: DrivenLoad::Fan.law(),
            reference_ratio: self.medians.rated_ratio * f64::from(poles) / f64::from(self.medians.poles),
            friction_torque: part.unknown(FRICTION),
        };
        let loss = DrivenLoad::Fan.loss_name().map(|name| (name, shaft::LOST_LOAD_SHARE));
        shaft::load(part, sound, self.rated_torque(), loss, DrivenLoad::Fan.blocked_change())
    }

    /// Volts that the air gap induces in a phase at the plate, the core loss lying across the line.
    fn rated_gap_volts(&self) -> f64 {
        let m = &self.medians;
        let rotor = Complex64::new(m.rotor_ohms / (1.0 - m.rated_ratio), m.leakage_ohms);
        let gap = 1.0 / (1.0 / rotor + 1.0 / Complex64::new(0.0, m.magnetising_ohms));
        let line = gap + Complex64::new(m.winding_ohms, m.leakage_ohms);
        let star = self.entry.plate.volts.0 / 3.0_f64.sqrt() * (gap / line).norm();
        star * self.entry.connection.phase_over_star().sqrt()
    }

    fn rated_torque(&self) -> f64 {
        self.medians.fan_torque + self.medians.friction_torque
    }
}
