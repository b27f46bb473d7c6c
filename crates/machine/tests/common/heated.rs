//! Plants for the tests of heat: heat that follows temperature, and devices that open when hot and close again.

use machine::heat::{HeatLink, HeatNetwork, Plant, Regime, RunOutcome, Side, Threshold, run};

/// What a test plant keeps of a moment.
#[derive(Debug, Clone)]
pub struct Moment {
    pub seconds: f64,
    pub celsius: Vec<f64>,
    pub regime: Regime,
}

/// A device that opens at one temperature of a node and closes at a lower one.
#[derive(Debug, Clone)]
pub struct Cutout {
    pub node: usize,
    pub opens: f64,
    pub closes: f64,
    pub open: bool,
}

/// A plant whose regime is a function of time, temperatures and which cutouts are open.
pub struct Heated<F> {
    pub regime: F,
    pub cutouts: Vec<Cutout>,
    pub changes: Vec<f64>,
    pub changed: usize,
    pub log: Vec<Moment>,
    /// Whether the run ends once a cutout has opened.
    pub ends_when_open: bool,
}

impl<F: FnMut(f64, &[f64], &Heating) -> Regime> Heated<F> {
    pub fn new(regime: F) -> Self {
        Heated { regime, cutouts: Vec::new(), changes: Vec::new(), changed: 0, log: Vec::new(), ends_when_open: false }
    }

    pub fn with_cutout(mut self, node: usize, opens: f64, closes: f64) -> Self {
        self.cutouts.push(Cutout { node, opens, closes, open: false });
        self
    }

    /// Runs it, and answers with the outcome; everything must go well.
    pub fn run(&mut self, network: &HeatNetwork, start: &[f64], until: f64, every: f64, tolerance: f64) -> RunOutcome {
        run(network, start, until, every, tolerance, self).unwrap()
    }

    /// What was recorded last for a moment.
    pub fn at(&self, seconds: f64) -> &Moment {
        let close = |moment: &&Moment| (moment.seconds - seconds).abs() < 1e-6;
        self.log.iter().rfind(close).unwrap()
    }
}

/// State of the plant that a regime may depend on.
pub struct Heating {
    pub open: Vec<bool>,
    pub changed: usize,
}

impl<F: FnMut(f64, &[f64], &Heating) -> Regime> Plant for Heated<F> {
    type Error = String;

    fn regime(&mut self, seconds: f64, celsius: &[f64]) -> Result<Regime, String> {
        let open = self.cutouts.iter().map(|cutout| cutout.open).collect();
        Ok((self.regime)(seconds, celsius, &Heating { open, changed: self.changed }))
    }

    fn thresholds(&self) -> Vec<Threshold> {
        let of = |cutout: &Cutout| match cutout.open {
            false => Threshold { node: cutout.node, celsius: cutout.opens, rising: true },
            true => Threshold { node: cutout.node, celsius: cutout.closes, rising: false },
        };
        self.cutouts.iter().map(of).collect()
    }

    fn crossed(&mut self, _: f64, index: usize) {
        self.cutouts[index].open = !self.cutouts[index].open;
    }

    fn is_over(&self) -> bool {
        self.ends_when_open && self.cutouts.iter().any(|cutout| cutout.open)
    }

    fn next_change(&self, _: f64) -> Option<f64> {
        self.changes.get(self.changed).copied()
    }

    fn change(&mut self, _: f64) {
        self.changed += 1;
    }

    fn record(&mut self, seconds: f64, celsius: &[f64], regime: &Regime) {
        self.log.push(Moment { seconds, celsius: celsius.to_vec(), regime: regime.clone() });
    }
}

pub fn between(a: usize, b: usize) -> HeatLink {
    HeatLink { a: Side::Node(a), b: Side::Node(b), one_way: false }
}

pub fn to_room(node: usize) -> HeatLink {
    HeatLink { a: Side::Node(node), b: Side::Fixed(0), one_way: false }
}

/// Winding (60 J/K) and frame (600 J/K) in the room; the usual set of the tests.
pub fn winding_and_frame() -> HeatNetwork {
    HeatNetwork { capacities: vec![60.0, 600.0], links: vec![between(0, 1), to_room(1)] }
}

/// Conductances of that set, W/K.
pub const WINDING_AND_FRAME: [f64; 2] = [1.5, 1.0];
