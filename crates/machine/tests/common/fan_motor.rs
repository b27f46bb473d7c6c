//! Fan motors on one supply, every value of which is an unknown of its own.

use super::branch;
use super::textbook::{Cage, Loop, Wound};
use circuit::{Branch, BranchId, Complex64, NetId, Network, Quantity, UnknownId};
use machine::coil_group::add_around_rotor;
use machine::nameplate::{Medians, Nameplate, Scheme};
use machine::{Assembly, Coil, Conversion, Load, LoadLaw, Machine, Rotor, Start};
use std::f64::consts::PI;

/// A motor of a given plate and the way it is connected.
#[derive(Debug, Clone, Copy)]
pub struct FanMotor {
    pub scheme: Scheme,
    pub values: Medians,
    /// Whether the capacitor is connected; of a motor without one, whether its start winding is.
    pub capacitor: bool,
    /// Whether the ends of the second winding are swapped.
    pub reversed: bool,
    pub start: Start,
    /// How the load goes with speed.
    pub law: LoadLaw,
}

/// The supply that all motors share.
#[derive(Debug, Clone, Copy)]
pub struct Supply {
    pub volts: f64,
    pub hertz: f64,
    /// Common to all motors.
    pub resistance: f64,
}

/// The branches of one motor.
#[derive(Debug, Clone, Copy)]
pub struct Parts {
    pub main: BranchId,
    pub second: BranchId,
    pub capacitor: Option<BranchId>,
    pub core_loss: BranchId,
    pub second_end: NetId,
}

/// Motors on a supply, ready to be switched on.
#[derive(Debug, Clone)]
pub struct Unit {
    pub assembly: Assembly,
    pub supply: BranchId,
    pub motors: Vec<Parts>,
    /// Name of every unknown.
    pub unknowns: Vec<String>,
}

pub const LINE: NetId = NetId(1);

impl Supply {
    pub fn stiff(plate: &Nameplate) -> Self {
        Supply { volts: plate.volts, hertz: plate.hertz, resistance: 0.0 }
    }
}

impl FanMotor {
    pub fn of_plate(plate: &Nameplate, scheme: Scheme) -> Self {
        let values = plate.medians(scheme).unwrap();
        FanMotor { scheme, values, capacitor: true, reversed: false, start: Start::Rest, law: LoadLaw::Square }
    }

    /// Whether its second winding is fed through a capacitor.
    pub fn has_capacitor(&self) -> bool {
        self.scheme.has_run_capacitor()
    }

    pub fn synchronous_speed(&self, hertz: f64) -> f64 {
        4.0 * PI * hertz / f64::from(self.values.poles)
    }

    pub fn capacitor_ohms(&self, hertz: f64) -> f64 {
        1e6 / (2.0 * PI * hertz * self.values.microfarads)
    }

    pub fn cage(&self) -> Cage {
        Cage {
            resistance: self.values.rotor_ohms,
            leakage: self.values.rotor_leakage_ohms,
            magnetising: self.values.magnetising_ohms,
        }
    }

    /// Load torque at a speed in the forward direction.
    pub fn load_torque(&self, ratio: f64) -> f64 {
        let relative = ratio / self.values.rated_ratio;
        let share = match self.law {
            LoadLaw::Square => relative.powi(2),
            LoadLaw::Linear => relative,
            LoadLaw::Constant => 1.0,
            LoadLaw::LevelPressure => 0.08 + 0.92 * relative,
        };
        self.values.load_torque * share + self.values.friction_torque
    }

    /// Main winding, second winding and core loss as loops through the supply.
    pub fn loops(&self, supply: &Supply, rotor: usize) -> Vec<Loop> {
        let values = &self.values;
        let volts = Some(Complex64::from(supply.volts));
        let mut second_volts = volts;
        let mut second_impedance = Complex64::new(values.second_ohms, values.second_leakage_ohms);
        if self.has_capacitor() {
            second_impedance -= Complex64::I * self.capacitor_ohms(supply.hertz);
        }
        if self.scheme == Scheme::ShadedPole {
            second_volts = None;
        }
        let sign = if self.reversed { -1.0 } else { 1.0 };
        let wound = |turns: f64, angle: f64| Some(Wound { rotor, turns, angle });
        let main = Loop {
            volts,
            impedance: Complex64::new(values.main_ohms, values.main_leakage_ohms),
            wound: wound(1.0, 0.0),
        };
        let second = Loop {
            volts: second_volts,
            impedance: second_impedance,
            wound: wound(sign * values.second_turns, self.scheme.second_angle()),
        };
        let core = Loop { volts, impedance: values.core_loss_ohms.into(), wound: None };
        if self.capacitor || self.scheme == Scheme::ShadedPole { vec![main, second, core] } else { vec![main, core] }
    }
}

/// Hands out one unknown after the other, each at its own deviation.
struct Unknowns<'d> {
    deviations: &'d [f64],
    names: Vec<String>,
}

impl Unknowns<'_> {
    fn quantity(&mut self, median: f64, name: String) -> Quantity {
        let index = self.names.len();
        self.names.push(name);
        Quantity::log_unknown(median, UnknownId(index), self.deviations.get(index).copied().unwrap_or(0.0))
    }
}

/// Motors side by side on one supply; values stand off their medians by `deviations`, by none where the list ends.
pub fn unit(supply: &Supply, motors: &[FanMotor], deviations: &[f64]) -> Unit {
    let mut network = Network::new(supply.hertz, 2 + motors.len());
    let mut unknowns = Unknowns { deviations, names: Vec::new() };
    let source = network.add_branch(Branch {
        resistance: unknowns.quantity(supply.resistance, "supply resistance".into()),
        source: unknowns.quantity(supply.volts, "supply volts".into()),
        ..branch(0, LINE.0, Complex64::ZERO, 0.0)
    });
    let (machines, parts): (Vec<Machine>, Vec<Parts>) =
        (motors.iter().enumerate()).map(|(index, motor)| add(&mut network, motor, index, &mut unknowns)).unzip();
    Unit {
        assembly: Assembly { network, machines, cores: Vec::new(), unknown_count: unknowns.names.len() },
        supply: source,
        motors: parts,
        unknowns: unknowns.names,
    }
}

fn add(network: &mut Network, motor: &FanMotor, index: usize, unknowns: &mut Unknowns<'_>) -> (Machine, Parts) {
    let values = &motor.values;
    let hertz = network.hertz();
    let mut quantity = |median: f64, name: &str| unknowns.quantity(median, format!("motor {index} {name}"));
    let (common, second_end) = (NetId::REFERENCE, NetId(2 + index));
    let second_start = match motor.scheme {
        Scheme::ShadedPole => common,
        Scheme::SplitPhase | Scheme::CapacitorStart if motor.capacitor => LINE,
        _ => second_end,
    };
    let second_ends = if motor.reversed { (common, second_start) } else { (second_start, common) };
    let coils = [
        Coil {
            from: LINE,
            to: common,
            turns: quantity(1.0, "main turns"),
            angle: 0.0,
            resistance: quantity(values.main_ohms, "main resistance"),
            leakage: quantity(values.main_leakage_ohms, "main leakage"),
        },
        Coil {
            from: second_ends.0,
            to: second_ends.1,
            turns: quantity(values.second_turns, "second turns"),
            angle: motor.scheme.second_angle(),
            resistance: quantity(values.second_ohms, "second resistance"),
            leakage: quantity(values.second_leakage_ohms, "second leakage"),
        },
    ];
    let capacitor = (motor.capacitor && motor.has_capacitor()).then(|| {
        network.add_branch(Branch {
            reactance: quantity(-motor.capacitor_ohms(hertz), "capacitor reactance"),
            passes_direct_current: false,
            ..branch(LINE.0, second_end.0, Complex64::ZERO, 0.0)
        })
    });
    if !motor.has_capacitor() && second_start != second_end {
        // Nothing else goes to the second end; its net is tied down so that it does not float.
        network.add_branch(branch(second_end.0, 0, Complex64::ONE, 0.0));
    }
    let core_loss = network.add_branch(Branch {
        resistance: quantity(values.core_loss_ohms, "core loss"),
        ..branch(LINE.0, 0, Complex64::ZERO, 0.0)
    });
    let (branches, field) = add_around_rotor(network, &coils);
    let machine = Machine {
        conversion: Conversion::Induction {
            field,
            rotor: Rotor {
                magnetising: quantity(values.magnetising_ohms, "magnetising"),
                resistance: quantity(values.rotor_ohms, "rotor resistance"),
                leakage: quantity(values.rotor_leakage_ohms, "rotor leakage"),
            },
        },
        coils: branches.clone(),
        reference_speed: motor.synchronous_speed(hertz),
        load: Load {
            torque: quantity(values.load_torque, "load torque"),
            law: motor.law,
            reference_ratio: values.rated_ratio,
            friction_torque: quantity(values.friction_torque, "friction"),
        },
        start: motor.start,
    };
    (machine, Parts { main: branches[0], second: branches[1], capacitor, core_loss, second_end })
}
