//! From a unit and the air about it to a network of bodies.

use super::air::Air;
use super::body::{SCALE_ZERO_CELSIUS, TOUCH_WATTS_PER_KELVIN};
use crate::unit::Unit;
use machine::heat::{HeatLink, HeatNetwork, STILL_AIR_WATTS_PER_SQUARE_METRE_KELVIN, Side, TURBULENT_EXPONENT};

/// Place of the room among the fixed temperatures.
const ROOM: Side = Side::Fixed(0);
/// Place of the zero from which bodies warmed by their own current are measured.
const SCALE_ZERO: Side = Side::Fixed(1);
/// Heat that the air between two parts of a stream takes to warm by a kelvin, joules: some five litres of it.
const AIR_JOULES_PER_KELVIN: f64 = 6.0;
/// Share of its stream that still rises through a duct when the fan stands (engineering judgement).
const DRAUGHT: f64 = 0.03;

/// What the air about a part in a stream gives to the room through walls and openings, watts per kelvin: a tenth of a square
/// metre about each part (engineering judgement) in still air.
const WALL_WATTS_PER_KELVIN: f64 = 0.1 * STILL_AIR_WATTS_PER_SQUARE_METRE_KELVIN;
/// Share of its air from which on a fan's stream is all that counts: what it carries is known no better than what walls lose
/// beside it (engineering judgement).
const WALLS_COUNT_BELOW: f64 = 0.1;

/// Deviations of what is not known of the heat of a unit, natural logarithms, by part.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatScales {
    /// Of all conductances of a part.
    pub shed: Vec<f64>,
    /// Of all heat capacities of a part.
    pub stored: Vec<f64>,
}

impl HeatScales {
    /// All at their medians.
    pub fn medians(unit: &Unit) -> Self {
        let zeros = vec![0.0; unit.parts().len()];
        HeatScales { shed: zeros.clone(), stored: zeros }
    }
}

/// Which air moves over a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mover {
    /// The fan of a motor, by part.
    Fan(usize),
    /// None.
    Nothing,
}

/// How the conductance of a link is found.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Conductance {
    Steady(f64),
    ToAir {
        still: f64,
        stream: f64,
        mover: Mover,
    },
    Stream {
        full: f64,
        fan: usize,
    },
    /// From the air of a stream to the room, where the fan hardly blows.
    StillAir {
        fan: usize,
    },
}

/// Bodies of a unit as nodes, and how their links conduct.
#[derive(Debug, Clone)]
pub struct HeatLayout {
    /// The network.
    pub network: HeatNetwork,
    /// Part and body of each node; air behind a part has none.
    pub nodes: Vec<Option<(usize, usize)>>,
    /// Node of the air behind each part, if a stream passes it.
    pub air: Vec<Option<usize>>,
    conductances: Vec<Conductance>,
    first_node: Vec<usize>,
}

impl HeatLayout {
    /// Lays the bodies of a unit out in its air.
    pub fn new(unit: &Unit, air: &Air, scales: &HeatScales) -> Self {
        let mut layout = HeatLayout {
            network: HeatNetwork { capacities: Vec::new(), links: Vec::new() },
            nodes: Vec::new(),
            air: vec![None; unit.parts().len()],
            conductances: Vec::new(),
            first_node: Vec::new(),
        };
        for part in 0..unit.parts().len() {
            layout.first_node.push(layout.nodes.len());
            let stored = scales.stored[part].exp();
            for (body, entry) in unit.heat_of(part).bodies.iter().enumerate() {
                layout.add_node(Some((part, body)), entry.joules_per_kelvin * stored);
            }
        }
        let mut air_of_part = vec![None; unit.parts().len()];
        for stream in &air.streams {
            let mut upstream = ROOM;
            for &part in &stream.parts {
                let place = layout.add_node(None, AIR_JOULES_PER_KELVIN);
                let node = Side::Node(place);
                layout.air[part] = Some(place);
                let full = stream.watts_per_kelvin * scales.shed[stream.fan].exp();
                layout.add_link(upstream, node, true, Conductance::Stream { full, fan: stream.fan });
                layout.add_link(node, ROOM, false, Conductance::StillAir { fan: stream.fan });
                air_of_part[part] = Some((node, stream.fan));
                upstream = node;
            }
        }
        for (part, surroundings) in air_of_part.iter().enumerate() {
            let own_fan = if unit.is_motor(part) { Mover::Fan(part) } else { Mover::Nothing };
            let (air, mover) = surroundings.map_or((ROOM, own_fan), |(node, fan)| (node, Mover::Fan(fan)));
            layout.add_part(unit, part, air, mover, scales.shed[part].exp());
        }
        for touch in &air.touches {
            let (a, b) = (layout.first_node[touch.part], layout.first_node[touch.on] + touch.body);
            layout.add_link(Side::Node(a), Side::Node(b), false, Conductance::Steady(TOUCH_WATTS_PER_KELVIN));
        }
        layout
    }

    fn add_node(&mut self, body: Option<(usize, usize)>, joules_per_kelvin: f64) -> usize {
        self.nodes.push(body);
        self.network.capacities.push(joules_per_kelvin);
        self.nodes.len() - 1
    }

    fn add_link(&mut self, a: Side, b: Side, one_way: bool, conductance: Conductance) {
        self.network.links.push(HeatLink { a, b, one_way });
        self.conductances.push(conductance);
    }

    fn add_part(&mut self, unit: &Unit, part: usize, air: Side, mover: Mover, shed: f64) {
        let heat = unit.heat_of(part);
        for (body, entry) in heat.bodies.iter().enumerate() {
            let node = Side::Node(self.first_node[part] + body);
            let (still, stream) = (entry.still_watts_per_kelvin * shed, entry.stream_watts_per_kelvin * shed);
            match entry.source {
                source if source.has_own_scale() => {
                    self.add_link(node, SCALE_ZERO, false, Conductance::Steady(still));
                }
                _ if still + stream > 0.0 => {
                    self.add_link(node, air, false, Conductance::ToAir { still, stream, mover });
                }
                _ => {}
            }
        }
        for &(a, b, watts_per_kelvin) in &heat.links {
            let (a, b) = (Side::Node(self.first_node[part] + a), Side::Node(self.first_node[part] + b));
            self.add_link(a, b, false, Conductance::Steady(watts_per_kelvin * shed));
        }
    }

    /// The node of a body.
    pub fn node(&self, part: usize, body: usize) -> usize {
        self.first_node[part] + body
    }

    /// Conductance of every link; `flow` gives the air that a motor's fan moves over what it moves at rated speed.
    pub fn watts_per_kelvin(&self, flow: impl Fn(usize) -> f64) -> Vec<f64> {
        let conductance = |conductance: &Conductance| match *conductance {
            Conductance::Steady(value) => value,
            Conductance::Stream { full, fan } => full * flow(fan).max(DRAUGHT),
            Conductance::StillAir { fan } => WALL_WATTS_PER_KELVIN * (1.0 - flow(fan) / WALLS_COUNT_BELOW).max(0.0),
            Conductance::ToAir { still, stream, mover } => {
                let moved = if let Mover::Fan(fan) = mover { flow(fan) } else { 0.0 };
                still + stream * moved.powf(TURBULENT_EXPONENT)
            }
        };
        self.conductances.iter().map(conductance).collect()
    }

    /// The temperatures that are given from outside.
    pub fn fixed_celsius(room_celsius: f64) -> Vec<f64> {
        vec![room_celsius, SCALE_ZERO_CELSIUS]
    }

    /// Temperatures of a unit that has stood long enough.
    pub fn cold(&self, unit: &Unit, room_celsius: f64) -> Vec<f64> {
        let celsius = |node: &Option<(usize, usize)>| match node {
            Some((part, body)) if unit.heat_of(*part).bodies[*body].source.has_own_scale() => SCALE_ZERO_CELSIUS,
            _ => room_celsius,
        };
        self.nodes.iter().map(celsius).collect()
    }
}
