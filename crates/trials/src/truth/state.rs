//! A unit in a setup, settled: speeds, contacts, breaker, and what a perfect meter would show.

use super::glow;
use super::layout::{Conditions, Layout, part_side};
use super::machine::Machine;
use super::network::{Network, Ports, Solved, Source};
use super::parts::TruePart;
use super::world::World;
use bench::{Measure, Setup};
use num_complex::Complex64;
use std::f64::consts::PI;

/// Step of the walk up in speed, over the reference speed.
const STEP: f64 = 0.01;
/// Speed that a push by hand gives, over the reference speed.
const PUSH: f64 = 0.25;
/// A person from hand to feet, ohms (IEC 60479-1, from memory: 1 to 3 kilohms).
const BODY_OHMS: f64 = 2000.0;
/// A lower resistance across a capacitor leaves a capacitance meter over range (engineering judgement).
const SHORTING_OHMS: f64 = 100.0;
/// Moves of contacts after which the last state is taken.
const MOST_MOVES: usize = 12;

/// What a meter without error of its own shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown {
    /// A number in the measure's unit.
    Number(f64),
    /// No path; of a capacitance, a short.
    Open,
}

/// A settled unit.
pub struct State<'w> {
    world: &'w World<'w>,
    network: Network,
    owners: Vec<Option<usize>>,
    joints: Vec<Option<usize>>,
    wires: Vec<Option<usize>>,
    ratios: Vec<f64>,
    softened: Vec<f64>,
    /// Places of lamps that have to strike, with their ohms when lit.
    glow_lamps: Vec<(usize, f64)>,
    solved: Option<Solved>,
    input_ohms: f64,
    /// Whether the breaker has opened.
    pub breaker_open: bool,
}

impl<'w> State<'w> {
    /// Settles a unit in a setup; `None` if its equations have no solution.
    pub fn of(world: &'w World<'w>, setup: &'w Setup) -> Option<Self> {
        let mut conditions = Conditions::default();
        let mut speeds: Vec<(usize, f64)> = Vec::new();
        for moves in 0.. {
            let is_last = moves >= MOST_MOVES;
            let mut layout = Layout::new(world, setup, &conditions);
            if !setup.energised {
                return Some(Self::from(layout, Vec::new(), Vec::new(), None, false));
            }
            let network = &layout.network;
            let ports = network.ports()?;
            let start = |machine: &Machine| {
                let before = speeds.iter().find(|(part, _)| *part == machine.part).map(|&(_, ratio)| ratio);
                before.unwrap_or(if setup.pushed.contains(&machine.part) { PUSH } else { 0.0 })
            };
            let mut ratios: Vec<f64> = network.machines.iter().map(start).collect();
            let mut softened = vec![1.0; ratios.len()];
            let switched = run_up(world, network, &ports, &mut ratios, &mut softened, &conditions, is_last)?;
            speeds = network.machines.iter().zip(&ratios).map(|(machine, &ratio)| (machine.part, ratio)).collect();
            if let Some(part) = switched {
                toggle(&mut conditions, part);
                continue;
            }
            let solved = glow::solve(&mut layout.network, &layout.glow_lamps, &ratios, &softened)?;
            let network = &layout.network;
            if !conditions.breaker_open && trips(world, network, &solved) {
                conditions = Conditions { breaker_open: true, ..Conditions::default() };
                speeds.clear();
                continue;
            }
            if !is_last && moves_contact(world, &layout, &solved, &mut conditions) {
                continue;
            }
            let breaker_open = conditions.breaker_open;
            return Some(Self::from(layout, ratios, softened, Some(solved), breaker_open));
        }
        None
    }

    fn from(
        layout: Layout<'w>,
        ratios: Vec<f64>,
        softened: Vec<f64>,
        solved: Option<Solved>,
        breaker_open: bool,
    ) -> Self {
        let Layout { world, network, owners, joints, wires, glow_lamps, .. } = layout;
        State {
            world,
            network,
            owners,
            joints,
            wires,
            ratios,
            softened,
            glow_lamps,
            solved,
            input_ohms: 10e6,
            breaker_open,
        }
    }

    /// What a meter without error shows.
    pub fn measure(&self, measure: Measure) -> Option<Shown> {
        let Some(solved) = &self.solved else {
            return match measure {
                Measure::Ohms(a, b) => {
                    let ohms = self.network.direct_ohms(part_side(a), part_side(b));
                    Some(if ohms.is_finite() { Shown::Number(ohms) } else { Shown::Open })
                }
                Measure::Microfarads(a, b) => self.capacitance(part_side(a), part_side(b)),
                _ => Some(Shown::Number(0.0)),
            };
        };
        Some(Shown::Number(match measure {
            Measure::Ohms(..) | Measure::Microfarads(..) | Measure::RunDown(_) | Measure::Bars(..) => return None,
            Measure::Volts(a, b) => self.volts(part_side(a), part_side(b))?,
            Measure::AmpsAtTerminal(terminal) => self.amps(self.joints[terminal.0], solved),
            Measure::AmpsInWire(wire) => self.amps(self.wires[wire], solved),
            Measure::Watts(part) => self.watts(part),
            Measure::Rpm(part) => self.rpm(part)?,
            Measure::TouchMilliamps(terminal) => 1e3 * self.touch_amps(part_side(terminal)),
            Measure::LeakageMilliamps(_) => 1e3 * self.leakage_amps(solved),
        }))
    }

    /// Microfarads of what a part has between two nodes, everything else being off it; over range across a short.
    fn capacitance(&self, a: usize, b: usize) -> Option<Shown> {
        if self.network.direct_ohms(a, b) < SHORTING_OHMS {
            return Some(Shown::Open);
        }
        let siemens = self.network.admittance(a, b)?;
        Some(Shown::Number(1e6 * siemens.im / (2.0 * PI * self.world.hertz)))
    }

    /// Volts as a meter of 10 megohms shows them, which is in the circuit as well.
    fn volts(&self, a: usize, b: usize) -> Option<f64> {
        let mut network = self.network.clone();
        network.resistor(a, b, self.input_ohms);
        let solved = glow::solve(&mut network, &self.glow_lamps, &self.ratios, &self.softened)?;
        Some((solved.potentials[a] - solved.potentials[b]).norm())
    }

    fn current(&self, passive: usize, solved: &Solved) -> Complex64 {
        let passive = &self.network.passives[passive];
        (solved.potentials[passive.a] - solved.potentials[passive.b]) / passive.impedance
    }

    fn amps(&self, passive: Option<usize>, solved: &Solved) -> f64 {
        passive.map_or(0.0, |passive| self.current(passive, solved).norm())
    }

    /// Index of a part's machine.
    fn machine(&self, part: usize) -> Option<usize> {
        self.network.machines.iter().position(|machine| machine.part == part && machine.turns())
    }

    /// Speed over synchronous (or plate) speed, signed; `None` for what does not turn.
    pub fn speed_ratio(&self, part: usize) -> Option<f64> {
        self.machine(part).and_then(|machine| self.ratios.get(machine)).copied()
    }

    fn rpm(&self, part: usize) -> Option<f64> {
        let machine = self.machine(part)?;
        Some(self.ratios.get(machine)?.abs() * self.network.machines[machine].reference_speed * 30.0 / PI)
    }

    /// Real power that a part takes, watts; of supply and cord that of the whole unit.
    pub fn watts(&self, part: usize) -> f64 {
        let Some(solved) = &self.solved else { return 0.0 };
        let passive = |index: usize| {
            let branch = &self.network.passives[index];
            ((solved.potentials[branch.a] - solved.potentials[branch.b]) * self.current(index, solved).conj()).re
        };
        let owned = |part: usize| {
            let own = (0..self.owners.len()).filter(|&index| self.owners[index] == Some(part));
            own.map(passive).sum::<f64>()
        };
        if self.world.unit.parts()[part].kind.feeds_unit() {
            let power = |source: &Source| {
                let at = solved.potentials[source.b] - solved.potentials[source.a];
                (at * ((source.volts - at) / source.impedance).conj()).re
            };
            // What is lost in the neutral of the outlet is not taken by the unit.
            return self.network.sources.iter().map(power).sum::<f64>() - owned(self.world.unit.supply());
        }
        let coils = self.network.coils.iter().zip(&solved.currents);
        let coils = coils.filter(|(coil, _)| self.network.machines[coil.machine].part == part);
        owned(part)
            + coils
                .map(|(coil, amps)| ((solved.potentials[coil.from] - solved.potentials[coil.to]) * amps.conj()).re)
                .sum::<f64>()
    }

    /// Heat in a part's windings, watts.
    pub fn copper_watts(&self, part: usize) -> f64 {
        let Some(solved) = &self.solved else { return 0.0 };
        let coils = self.network.coils.iter().zip(&solved.currents);
        coils
            .filter(|(coil, _)| self.network.machines[coil.machine].part == part)
            .map(|(coil, amps)| coil.ohms * amps.norm_sqr())
            .sum()
    }

    /// Amperes through somebody who touches the metal and stands on earth.
    pub fn frame_touch_amps(&self) -> f64 {
        self.touch_amps(part_side(self.world.unit.frame()))
    }

    fn touch_amps(&self, node: usize) -> f64 {
        let mut network = self.network.clone();
        network.resistor(node, 0, BODY_OHMS);
        let solved = glow::solve(&mut network, &self.glow_lamps, &self.ratios, &self.softened);
        solved.map_or(0.0, |solved| solved.potentials[node].norm() / BODY_OHMS)
    }

    /// Amperes that go out through the outlet's live conductors and do not come back through its neutral.
    fn leakage_amps(&self, solved: &Solved) -> f64 {
        let supply = self.world.unit.supply();
        let back = (0..self.owners.len()).filter(|&index| self.owners[index] == Some(supply));
        let back: Complex64 = back.map(|index| self.current(index, solved)).sum();
        let out = self.network.sources.iter().map(|source| source_current(source, solved));
        (out.sum::<Complex64>() + back).norm()
    }
}

fn toggle(conditions: &mut Conditions, part: usize) {
    if !conditions.moved.remove(&part) {
        conditions.moved.insert(part);
    }
}

fn trips(world: &World<'_>, network: &Network, solved: &Solved) -> bool {
    let supply = world.parts.iter().flatten().find_map(|part| match part {
        TruePart::Supply(supply) => Some(supply.trips_amps),
        _ => None,
    });
    network.sources.iter().any(|source| source_current(source, solved).norm() > supply.unwrap_or(f64::INFINITY))
}

fn source_current(source: &Source, solved: &Solved) -> Complex64 {
    (source.volts - solved.potentials[source.b] + solved.potentials[source.a]) / source.impedance
}

/// Moves the first relay that is not where it should be.
fn moves_contact(world: &World<'_>, layout: &Layout<'_>, solved: &Solved, conditions: &mut Conditions) -> bool {
    let across = |passive: usize| {
        let branch = &layout.network.passives[passive];
        (solved.potentials[branch.a] - solved.potentials[branch.b]).norm()
    };
    for &(part, coil) in &layout.relay_coils {
        let Some(TruePart::Relay(relay)) = &world.parts[part] else { continue };
        let is_in = conditions.moved.contains(&part);
        let limit = if is_in { relay.lets_go } else { relay.pulls_in };
        if (across(coil) > limit) != is_in {
            toggle(conditions, part);
            return true;
        }
    }
    false
}

/// Where a machine's centrifugal switch would be at a speed, if it has one.
fn centrifugal(world: &World<'_>, part: usize, is_open: bool, ratio: f64) -> bool {
    match &world.parts[part] {
        Some(TruePart::Induction(motor)) if motor.centrifugal.0 > 0.0 => {
            ratio.abs() > if is_open { motor.centrifugal.1 } else { motor.centrifugal.0 }
        }
        _ => is_open,
    }
}

/// Walks every rotor from where it is to its first stable speed; `Some(part)` if a centrifugal switch moves on the way.
fn run_up(
    world: &World<'_>,
    network: &Network,
    ports: &Ports,
    ratios: &mut [f64],
    softened: &mut [f64],
    conditions: &Conditions,
    ignore_switches: bool,
) -> Option<Option<usize>> {
    let movers: Vec<usize> = (0..ratios.len())
        .filter(|&index| network.machines[index].turns() && !network.machines[index].is_held)
        .collect();
    for _ in 0..40 {
        let mut moved: f64 = 0.0;
        for &index in &movers {
            let before = ratios[index];
            let part = network.machines[index].part;
            let is_open = conditions.moved.contains(&part);
            let switches = |ratio: f64| !ignore_switches && centrifugal(world, part, is_open, ratio) != is_open;
            if walk(network, ports, ratios, softened, index, switches)? {
                return Some(Some(part));
            }
            moved = moved.max((ratios[index] - before).abs());
        }
        if moved < 1e-9 || movers.len() < 2 {
            break;
        }
    }
    network.currents(ports, ratios, softened)?;
    Some(None)
}

/// Walks one rotor to its first stable speed; true if `switches` says of a speed on the way that a switch moves there.
fn walk(
    network: &Network,
    ports: &Ports,
    ratios: &mut [f64],
    softened: &mut [f64],
    index: usize,
    switches: impl Fn(f64) -> bool,
) -> Option<bool> {
    let machine = &network.machines[index];
    // A core cannot be so large a step away that its direction is lost, so a step in the direction of the torque is safe.
    let mut net = |ratio: f64, ratios: &mut [f64]| -> Option<f64> {
        ratios[index] = ratio;
        let currents = network.currents(ports, ratios, softened)?;
        let torque = network.torque(index, &currents, ratio, softened[index]);
        Some(if ratio == 0.0 {
            let holds = machine.load.at_rest() * (1.0 + 1e-9) + 1e-12;
            if torque.abs() > holds { torque } else { 0.0 }
        } else {
            torque - machine.load.torque_at(ratio)
        })
    };
    let mut ratio = ratios[index];
    if switches(ratio) {
        return Some(true);
    }
    let mut now = net(ratio, ratios)?;
    for _ in 0..100_000 {
        if now == 0.0 {
            ratios[index] = ratio;
            return Some(false);
        }
        let step = STEP * (1.0 + ratio.abs() * f64::from(u8::from(machine.fastest > 1.0)));
        let mut next = ratio + step * now.signum();
        if ratio != 0.0 && next * ratio <= 0.0 {
            next = 0.0;
        }
        next = next.clamp(-machine.fastest, machine.fastest);
        if next == ratio {
            return Some(false);
        }
        let then = net(next, ratios)?;
        let passes = then == 0.0 || (then.signum() != now.signum() && next != 0.0);
        if passes && next != 0.0 {
            let (mut low, mut high) = (ratio, next);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                let value = net(middle, ratios)?;
                if value.signum() == now.signum() && middle != 0.0 { low = middle } else { high = middle }
            }
            let settled = 0.5 * (low + high);
            net(settled, ratios)?;
            return Some(switches(settled));
        }
        (ratio, now) = (next, then);
        if switches(ratio) {
            ratios[index] = ratio;
            return Some(true);
        }
    }
    Some(false)
}
