//! A network of impedances, sources and coils, solved densely by node potentials and coil currents.

use super::dense::Dense;
use super::machine::{Coil, Machine};
use num_complex::Complex64;

/// An impedance between two nodes.
#[derive(Debug, Clone)]
pub struct Passive {
    /// One node.
    pub a: usize,
    /// The other.
    pub b: usize,
    /// Ohms.
    pub impedance: Complex64,
    /// Whether direct current passes.
    pub passes_direct: bool,
}

/// A voltage behind an impedance that raises the potential from `a` to `b`.
#[derive(Debug, Clone)]
pub struct Source {
    /// Node behind it.
    pub a: usize,
    /// Node ahead of it.
    pub b: usize,
    /// Volts.
    pub volts: Complex64,
    /// Ohms.
    pub impedance: Complex64,
}

/// A network; node 0 is earth.
#[derive(Debug, Clone, Default)]
pub struct Network {
    /// Number of nodes.
    pub nodes: usize,
    /// Impedances.
    pub passives: Vec<Passive>,
    /// Sources.
    pub sources: Vec<Source>,
    /// Coils.
    pub coils: Vec<Coil>,
    /// What their machines are.
    pub machines: Vec<Machine>,
}

/// All potentials and coil currents of a solved network.
#[derive(Debug, Clone)]
pub struct Solved {
    /// Potentials to earth, volts.
    pub potentials: Vec<Complex64>,
    /// Currents of coils, then of rotors, amperes.
    pub currents: Vec<Complex64>,
}

/// What the passive network is, seen from the coils: volts at no current, and impedance.
pub struct Ports {
    volts: Vec<Complex64>,
    impedance: Dense,
}

impl Network {
    /// A new node.
    pub fn node(&mut self) -> usize {
        self.nodes += 1;
        self.nodes - 1
    }

    /// Adds an impedance; returns its place.
    pub fn passive(&mut self, a: usize, b: usize, impedance: Complex64, passes_direct: bool) -> usize {
        self.passives.push(Passive { a, b, impedance, passes_direct });
        self.passives.len() - 1
    }

    /// Adds a resistance; returns its place.
    pub fn resistor(&mut self, a: usize, b: usize, ohms: f64) -> usize {
        self.passive(a, b, ohms.into(), true)
    }

    /// First row of a machine's rotor among the currents.
    fn rotor_row(&self, machine: usize) -> usize {
        self.coils.len() + self.machines[..machine].iter().map(Machine::rotor_currents).sum::<usize>()
    }

    fn current_count(&self) -> usize {
        self.rotor_row(self.machines.len())
    }

    fn own(&self, machine: usize) -> Vec<(usize, &Coil)> {
        self.coils.iter().enumerate().filter(|(_, coil)| coil.machine == machine).collect()
    }

    /// Voltage equations of coils and rotors.
    fn block(&self, ratios: &[f64], softened: &[f64]) -> Dense {
        let mut matrix = Dense::zeros(self.current_count());
        for (index, machine) in self.machines.iter().enumerate() {
            machine.stamp(&mut matrix, &self.own(index), self.rotor_row(index), ratios[index], softened[index]);
        }
        matrix
    }

    fn admittances(&self, add: &mut impl FnMut(usize, usize, Complex64)) {
        let mut between = |a: usize, b: usize, impedance: Complex64| {
            let admittance = impedance.inv();
            add(a, a, admittance);
            add(b, b, admittance);
            add(a, b, -admittance);
            add(b, a, -admittance);
        };
        self.passives.iter().for_each(|passive| between(passive.a, passive.b, passive.impedance));
        self.sources.iter().for_each(|source| between(source.a, source.b, source.impedance));
    }

    fn injected(&self) -> Vec<Complex64> {
        let mut injected = vec![Complex64::ZERO; self.nodes];
        for source in &self.sources {
            let current = source.volts / source.impedance;
            injected[source.b] += current;
            injected[source.a] -= current;
        }
        injected
    }

    /// What the coils see. `None` if a node hangs on nothing.
    pub fn ports(&self) -> Option<Ports> {
        let count = self.coils.len();
        let mut matrix = Dense::zeros(self.nodes - 1);
        self.admittances(&mut |a, b, value| {
            if a > 0 && b > 0 {
                matrix.add(a - 1, b - 1, value);
            }
        });
        let mut sides = vec![self.injected().split_off(1)];
        for coil in &self.coils {
            let mut side = vec![Complex64::ZERO; self.nodes - 1];
            for (node, sign) in [(coil.from, 1.0), (coil.to, -1.0)] {
                if node > 0 {
                    side[node - 1] += sign;
                }
            }
            sides.push(side);
        }
        matrix.solve(&mut sides)?;
        let across = |coil: &Coil, side: &[Complex64]| {
            let at = |node: usize| if node > 0 { side[node - 1] } else { Complex64::ZERO };
            at(coil.from) - at(coil.to)
        };
        let mut impedance = Dense::zeros(count);
        for (row, coil) in self.coils.iter().enumerate() {
            for column in 0..count {
                impedance.add(row, column, across(coil, &sides[1 + column]));
            }
        }
        Some(Ports { volts: self.coils.iter().map(|coil| across(coil, &sides[0])).collect(), impedance })
    }

    /// Currents of coils and rotors at given speeds, iron as it then is; `softened` is where the search begins and ends.
    pub fn currents(&self, ports: &Ports, ratios: &[f64], softened: &mut [f64]) -> Option<Vec<Complex64>> {
        let mut previous: Vec<Option<(f64, f64)>> = vec![None; self.machines.len()];
        for _ in 0..60 {
            let mut matrix = self.block(ratios, softened);
            for row in 0..self.coils.len() {
                for column in 0..self.coils.len() {
                    matrix.add(row, column, ports.impedance.at(row, column));
                }
            }
            let mut side = ports.volts.clone();
            side.resize(matrix.size(), Complex64::ZERO);
            let mut sides = [side];
            matrix.solve(&mut sides)?;
            let [currents] = sides;
            let mut worst: f64 = 0.0;
            for (index, machine) in self.machines.iter().enumerate() {
                if machine.saturation.strength == 0.0 {
                    softened[index] = 1.0;
                    continue;
                }
                let now = softened[index];
                let magnetised = machine.magnetised(&self.own(index), self.rotor_row(index), &currents, now);
                let miss = machine.softening(magnetised) - now;
                worst = worst.max(miss.abs());
                // Secant on the miss where two points are known, else half a step.
                let step = match previous[index] {
                    Some((before, missed)) if (miss - missed).abs() > 1e-14 => -miss * (now - before) / (miss - missed),
                    _ => 0.5 * miss,
                };
                previous[index] = Some((now, miss));
                softened[index] = (now + step.clamp(-0.3, 0.3)).clamp(0.02, 3.0);
            }
            if worst < 1e-9 {
                return Some(currents);
            }
        }
        // Rare, far into saturation: the last point is as good as any.
        let mut matrix = self.block(ratios, softened);
        for row in 0..self.coils.len() {
            for column in 0..self.coils.len() {
                matrix.add(row, column, ports.impedance.at(row, column));
            }
        }
        let mut side = ports.volts.clone();
        side.resize(matrix.size(), Complex64::ZERO);
        let mut sides = [side];
        matrix.solve(&mut sides)?;
        let [currents] = sides;
        Some(currents)
    }

    /// Torque of a machine, newton metres.
    pub fn torque(&self, machine: usize, currents: &[Complex64], ratio: f64, softened: f64) -> f64 {
        self.machines[machine].torque(&self.own(machine), self.rotor_row(machine), currents, ratio, softened)
    }

    /// What magnetises a machine's iron.
    pub fn magnetised(&self, machine: usize, currents: &[Complex64], softened: f64) -> f64 {
        self.machines[machine].magnetised(&self.own(machine), self.rotor_row(machine), currents, softened)
    }

    /// Everything, at given speeds and with iron as given: potentials and currents in one matrix.
    pub fn solve(&self, ratios: &[f64], softened: &[f64]) -> Option<Solved> {
        let (nodes, block) = (self.nodes - 1, self.block(ratios, softened));
        let mut matrix = Dense::zeros(nodes + block.size());
        self.admittances(&mut |a, b, value| {
            if a > 0 && b > 0 {
                matrix.add(a - 1, b - 1, value);
            }
        });
        for row in 0..block.size() {
            for column in 0..block.size() {
                matrix.add(nodes + row, nodes + column, -block.at(row, column));
            }
        }
        for (index, coil) in self.coils.iter().enumerate() {
            for (node, sign) in [(coil.from, 1.0), (coil.to, -1.0)] {
                if node > 0 {
                    matrix.add(node - 1, nodes + index, sign);
                    matrix.add(nodes + index, node - 1, sign);
                }
            }
        }
        let mut side = self.injected().split_off(1);
        side.resize(matrix.size(), Complex64::ZERO);
        let mut sides = [side];
        matrix.solve(&mut sides)?;
        let [mut values] = sides;
        let currents = values.split_off(nodes);
        values.insert(0, Complex64::ZERO);
        Some(Solved { potentials: values, currents })
    }

    /// Admittance between two nodes of all passives that can be reached from them without coils, siemens.
    ///
    /// One volt is put across them with the first as earth; what flows is what it finds.
    pub fn admittance(&self, a: usize, b: usize) -> Option<Complex64> {
        let mut reached = vec![a, b];
        let mut at = 0;
        while let Some(&node) = reached.get(at) {
            let beside = |passive: &Passive| match node {
                _ if passive.a == node => Some(passive.b),
                _ if passive.b == node => Some(passive.a),
                _ => None,
            };
            for other in self.passives.iter().filter_map(beside) {
                if !reached.contains(&other) {
                    reached.push(other);
                }
            }
            at += 1;
        }
        let place = |node: usize| reached.iter().position(|&known| known == node);
        let passives = self
            .passives
            .iter()
            .filter_map(|passive| Some(Passive { a: place(passive.a)?, b: place(passive.b)?, ..passive.clone() }));
        let source = Source { a: 0, b: 1, volts: 1.0.into(), impedance: 1.0.into() };
        let network =
            Network { nodes: reached.len(), passives: passives.collect(), sources: vec![source], ..Network::default() };
        let volts = network.solve(&[], &[])?.potentials[1];
        Some((1.0 - volts) / volts)
    }

    /// Ohms between two nodes at 0 hertz; infinite without a path.
    ///
    /// All other nodes are eliminated by star-mesh transformation, which subtracts nothing and so keeps a megohm beside a
    /// milliohm (Rosen, Journal of the IEE 62, 1924, from memory).
    pub fn direct_ohms(&self, a: usize, b: usize) -> f64 {
        if a == b {
            return 0.0;
        }
        let count = self.nodes;
        let mut siemens = vec![0.0; count * count];
        let passives = self.passives.iter().filter(|passive| passive.passes_direct);
        let links = passives.map(|passive| (passive.a, passive.b, passive.impedance.re));
        for (x, y, ohms) in links.chain(self.coils.iter().map(|coil| (coil.from, coil.to, coil.ohms))) {
            if x != y {
                siemens[x * count + y] += 1.0 / ohms;
                siemens[y * count + x] += 1.0 / ohms;
            }
        }
        for star in (0..count).filter(|&node| node != a && node != b) {
            let row = siemens[star * count..(star + 1) * count].to_vec();
            let sum: f64 = row.iter().sum();
            let rays: Vec<usize> = (0..count).filter(|&node| row[node] > 0.0).collect();
            for &x in &rays {
                for &y in rays.iter().filter(|&&y| y != x) {
                    siemens[x * count + y] += row[x] * row[y] / sum;
                }
                siemens[x * count + star] = 0.0;
            }
            siemens[star * count..(star + 1) * count].fill(0.0);
        }
        1.0 / siemens[a * count + b]
    }
}
