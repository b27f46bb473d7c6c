//! Questions to a unit that is laid out: nets, elements, and the current in any conductor.

use super::{BURNT_CONTACT_BRANCH, Element, Join, Node, Owner, Wired, part_side};
use crate::bars::BarRing;
use crate::fault::Place;
use crate::unit::{TerminalId, Unit};
use circuit::{Complex64, NetId, Probe, Quantity};
use nalgebra::{Cholesky, DMatrix, DVector};
use std::f64::consts::PI;

/// What the protective conductor of a cord is called.
const EARTH_CONDUCTOR: &str = "earth";

impl Wired {
    /// The net of a node.
    pub fn net(&self, node: Node) -> NetId {
        self.net_of_node[node.0]
    }

    /// Net at a terminal, on its part's side.
    pub fn net_at(&self, terminal: TerminalId) -> NetId {
        self.net(part_side(terminal))
    }

    /// The two nets an element lies between, the lower-numbered first.
    pub fn nets_of(&self, element: &Element) -> (usize, usize) {
        let (a, b) = (self.net(element.from).0, self.net(element.to).0);
        (a.min(b), a.max(b))
    }

    /// Which of the assembly's machines a part is.
    pub fn machine_of(&self, part: usize) -> Option<usize> {
        self.machine_of_part[part]
    }

    /// Speed of a machine at ratio one, revolutions per minute: that of its field, or the plate's of a commutator motor.
    pub fn reference_rpm(&self, machine: usize) -> f64 {
        self.assembly.machines[machine].reference_speed * 30.0 / PI
    }

    /// Inertia of all that turns with a machine, kilogram metres squared.
    pub fn inertia(&self, machine: usize) -> &Quantity {
        &self.inertias[machine]
    }

    /// What a part's commutator shows from bar to bar, if it has one and the unit is unplugged.
    pub fn bar_ring(&self, part: usize) -> Option<&BarRing> {
        self.bar_rings.iter().find(|(of, _)| *of == part).map(|(_, ring)| ring)
    }

    /// Elements of a place.
    pub fn elements_of(&self, place: Place) -> impl Iterator<Item = &Element> {
        self.elements.iter().filter(move |element| element.owner == Owner::Place(place))
    }

    /// Current from the wires into the part at a terminal; `None` while its wires are lifted.
    pub fn terminal_current(&self, terminal: TerminalId) -> Option<Probe> {
        self.conductor_current(self.conductor_of(Owner::Terminal(terminal))?)
    }

    /// Current in a wire from its `from` to its `to` end; `None` if it is broken.
    pub fn wire_current(&self, wire: usize) -> Option<Probe> {
        let place = Place::Wire(wire);
        match self.elements_of(place).next() {
            Some(element) => Some(Probe::currents(vec![(element.branch, Complex64::ONE)])),
            None => self.conductor_current(self.conductor_of(Owner::Place(place))?),
        }
    }

    /// Current in each contact of a part that is closed, sound or burnt.
    pub fn contact_currents(&self, part: usize) -> Vec<Probe> {
        let is_its = |&place: &usize| self.joins[place].owner == Owner::Contact(part);
        let sound = (0..self.joins.len()).filter(is_its).filter_map(|place| self.conductor_current(place));
        let burnt = self.elements_of(Place::Part(part)).filter(|element| element.label == BURNT_CONTACT_BRANCH);
        sound.chain(burnt.map(|element| Probe::currents(vec![(element.branch, Complex64::ONE)]))).collect()
    }

    /// Current into a cord or supply that does not come back through it: all its conductors but earth, added.
    pub fn residual_current(&self, unit: &Unit, part: usize) -> Probe {
        let carries = |element: &&Element| part == unit.supply() || element.label != EARTH_CONDUCTOR;
        let live = self.elements_of(Place::Part(part)).filter(carries);
        Probe::currents(live.map(|element| (element.branch, Complex64::ONE)).collect())
    }

    /// The first sound conductor of an owner, by its place among all of them.
    fn conductor_of(&self, owner: Owner) -> Option<usize> {
        self.joins.iter().position(|join| join.owner == owner)
    }

    /// Current in the sound conductor at a place among all of them, from Kirchhoff's law inside its net.
    ///
    /// The conductors of one net are taken as alike; in a tree (the rule) their resistance does not matter, and in a
    /// ring the current divides evenly as in equal wires. With `L` the net's graph Laplacian and `L p = e_a - e_b`, the
    /// current from a to b is minus the sum of `p` times the current that branches carry out of each node.
    fn conductor_current(&self, place: usize) -> Option<Probe> {
        let wanted = self.joins[place];
        let net = self.net(wanted.a);
        let others = self.joins.iter().enumerate().filter(|&(index, join)| index != place && self.net(join.a) == net);
        let others: Vec<Join> = others.map(|(_, join)| *join).collect();
        let is_at_from = self.joined(wanted.a, &others);
        let first = self.net_of_node.iter().position(|&of| of == net)?;
        let in_ring = if is_at_from[wanted.b.0] { Some(self.ring_potentials(wanted)?) } else { None };
        let potential = |node: Node| match &in_ring {
            Some(potentials) => potentials[node.0],
            // The only way from one side to the other carries all that the side without the first node puts out.
            None if is_at_from[first] => -f64::from(u8::from(!is_at_from[node.0])),
            None => f64::from(u8::from(is_at_from[node.0])),
        };
        let mut weights = Vec::new();
        for element in self.elements.iter().filter(|element| element.owner != Owner::Stray) {
            let mut weight: f64 = 0.0;
            if self.net(element.from) == net {
                weight -= potential(element.from);
            }
            if self.net(element.to) == net {
                weight += potential(element.to);
            }
            if weight.abs() > 1e-9 {
                weights.push((element.branch, Complex64::from(weight)));
            }
        }
        Some(Probe::currents(weights))
    }

    /// By node, whether some of the conductors join it to one.
    fn joined(&self, node: Node, joins: &[Join]) -> Vec<bool> {
        let mut is_joined = vec![false; self.net_of_node.len()];
        is_joined[node.0] = true;
        let mut grows = true;
        while std::mem::take(&mut grows) {
            for join in joins {
                if is_joined[join.a.0] != is_joined[join.b.0] {
                    (is_joined[join.a.0], is_joined[join.b.0], grows) = (true, true, true);
                }
            }
        }
        is_joined
    }

    /// `p` by node, where the wanted conductor is not the only way between its ends.
    fn ring_potentials(&self, wanted: Join) -> Option<Vec<f64>> {
        let net = self.net(wanted.a);
        let mut row = vec![None; self.net_of_node.len()];
        let members: Vec<usize> = (0..row.len()).filter(|&node| self.net_of_node[node] == net).collect();
        // The first member is grounded; potentials are relative to it.
        for (index, &node) in members.iter().enumerate().skip(1) {
            row[node] = Some(index - 1);
        }
        let size = members.len() - 1;
        let mut laplacian = DMatrix::zeros(size, size);
        for join in self.joins.iter().filter(|join| self.net(join.a) == net && join.a != join.b) {
            let (a, b) = (row[join.a.0], row[join.b.0]);
            for end in [a, b].into_iter().flatten() {
                laplacian[(end, end)] += 1.0;
            }
            if let (Some(a), Some(b)) = (a, b) {
                laplacian[(a, b)] -= 1.0;
                laplacian[(b, a)] -= 1.0;
            }
        }
        let mut unit = DVector::zeros(size);
        if let Some(a) = row[wanted.a.0] {
            unit[a] += 1.0;
        }
        if let Some(b) = row[wanted.b.0] {
            unit[b] -= 1.0;
        }
        let potentials = Cholesky::new(laplacian)?.solve(&unit);
        Some(row.into_iter().map(|index| index.map_or(0.0, |index| potentials[index])).collect())
    }
}
