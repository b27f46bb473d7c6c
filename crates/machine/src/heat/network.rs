//! Nodes, links, and what holds at a moment.

use super::error::{NetworkError, RegimeError};
use nalgebra::{DMatrix, DVector};

/// One side of a link.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// A node, by its place among the capacities.
    Node(usize),
    /// Something whose temperature is given, such as the room, by its place in [`Regime::fixed_celsius`].
    Fixed(usize),
}

/// A way for heat from `a` to `b`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeatLink {
    /// One side; upstream, if the link is one-way.
    pub a: Side,
    /// The other side.
    pub b: Side,
    /// A stream of air: `G (T_a - T_b)` enters `b`, and `a` notices nothing.
    pub one_way: bool,
}

/// Heat capacities and the links between them; conductances belong to the [`Regime`].
#[derive(Debug, Clone, PartialEq)]
pub struct HeatNetwork {
    /// Heat capacity of each node, J/K.
    pub capacities: Vec<f64>,
    /// The links.
    pub links: Vec<HeatLink>,
}

/// What holds at a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Regime {
    /// Heat made in each node, W.
    pub watts: Vec<f64>,
    /// Conductance of each link, W/K.
    pub watts_per_kelvin: Vec<f64>,
    /// Temperatures that are given from outside, degrees Celsius.
    pub fixed_celsius: Vec<f64>,
}

impl HeatNetwork {
    /// Whether capacities are positive and links lead to nodes that there are.
    pub fn check(&self) -> Result<(), NetworkError> {
        if self.capacities.is_empty() {
            return Err(NetworkError::Empty);
        }
        for (node, &capacity) in self.capacities.iter().enumerate() {
            if !(capacity.is_finite() && capacity > 0.0) {
                return Err(NetworkError::Capacity { node, capacity });
            }
        }
        let nodes = self.capacities.len();
        for (link, HeatLink { a, b, .. }) in self.links.iter().enumerate() {
            for side in [a, b] {
                if let Side::Node(node) = *side
                    && node >= nodes
                {
                    return Err(NetworkError::NoSuchNode { link, node, nodes });
                }
            }
            if a == b {
                return Err(NetworkError::ToItself { link });
            }
        }
        Ok(())
    }

    /// Whether a regime fits this network and has finite watts and temperatures and no negative conductance.
    pub fn check_regime(&self, regime: &Regime) -> Result<(), RegimeError> {
        let sides = self.links.iter().flat_map(|link| [link.a, link.b]);
        let fixed = sides.map(|side| if let Side::Fixed(place) = side { place + 1 } else { 0 }).max().unwrap_or(0);
        let lengths = [
            ("heat into nodes", self.capacities.len(), regime.watts.len()),
            ("conductances of links", self.links.len(), regime.watts_per_kelvin.len()),
            ("fixed temperatures", fixed.max(regime.fixed_celsius.len()), regime.fixed_celsius.len()),
        ];
        for (what, expected, given) in lengths {
            if expected != given {
                return Err(RegimeError::Length { what, expected, given });
            }
        }
        if let Some(node) = regime.watts.iter().position(|watts| !watts.is_finite()) {
            return Err(RegimeError::Watts { node });
        }
        if let Some(link) = regime.watts_per_kelvin.iter().position(|value| !(value.is_finite() && *value >= 0.0)) {
            return Err(RegimeError::Conductance { link, watts_per_kelvin: regime.watts_per_kelvin[link] });
        }
        match regime.fixed_celsius.iter().position(|celsius| !celsius.is_finite()) {
            Some(place) => Err(RegimeError::FixedCelsius { place }),
            None => Ok(()),
        }
    }

    /// Kelvins per second of each node.
    pub fn rates(&self, regime: &Regime, celsius: &[f64]) -> Vec<f64> {
        let mut watts = regime.watts.clone();
        let at = |side| match side {
            Side::Node(node) => celsius[node],
            Side::Fixed(place) => regime.fixed_celsius[place],
        };
        for (link, conductance) in self.links.iter().zip(&regime.watts_per_kelvin) {
            let flow = conductance * (at(link.a) - at(link.b));
            if let Side::Node(b) = link.b {
                watts[b] += flow;
            }
            if let (Side::Node(a), false) = (link.a, link.one_way) {
                watts[a] -= flow;
            }
        }
        watts.iter().zip(&self.capacities).map(|(watts, capacity)| watts / capacity).collect()
    }

    /// Temperatures at which nothing moves any more while a regime holds; none if some node is linked to nothing fixed.
    pub fn equilibrium(&self, regime: &Regime) -> Option<Vec<f64>> {
        let nodes = self.capacities.len();
        let at_zero = DVector::from_vec(self.rates(regime, &vec![0.0; nodes]));
        let celsius = (-self.rate_matrix(regime)).lu().solve(&at_zero)?;
        celsius.iter().all(|value| value.is_finite()).then(|| celsius.as_slice().to_vec())
    }

    /// Change of the rates with each temperature while the regime holds, per second.
    pub(super) fn rate_matrix(&self, regime: &Regime) -> DMatrix<f64> {
        let nodes = self.capacities.len();
        let mut matrix = DMatrix::zeros(nodes, nodes);
        let mut feel = |node: usize, other: Side, conductance: f64| {
            let per_second = conductance / self.capacities[node];
            matrix[(node, node)] -= per_second;
            if let Side::Node(other) = other {
                matrix[(node, other)] += per_second;
            }
        };
        for (link, &conductance) in self.links.iter().zip(&regime.watts_per_kelvin) {
            if let Side::Node(b) = link.b {
                feel(b, link.a, conductance);
            }
            if let (Side::Node(a), false) = (link.a, link.one_way) {
                feel(a, link.b, conductance);
            }
        }
        matrix
    }
}

impl Regime {
    /// A regime between two: fixed temperatures by the share of time gone, the rest by the share of the way that the
    /// temperatures have gone.
    pub(super) fn between(&self, later: &Regime, share_of_time: f64, share_of_way: f64) -> Regime {
        let mix = |from: &[f64], to: &[f64], share: f64| {
            from.iter().zip(to).map(|(from, to)| from + share * (to - from)).collect()
        };
        Regime {
            watts: mix(&self.watts, &later.watts, share_of_way),
            watts_per_kelvin: mix(&self.watts_per_kelvin, &later.watts_per_kelvin, share_of_way),
            fixed_celsius: mix(&self.fixed_celsius, &later.fixed_celsius, share_of_time),
        }
    }
}
