//! The exact path of temperatures through a step in which their equation is affine.

use nalgebra::{DMatrix, DVector};

/// How many equal pieces of a step are looked at for crossings.
pub(super) const PIECES: usize = 16;

/// Largest norm of a step's matrix; beyond, powers within the matrix exponential leave the range of numbers.
const LARGEST_NORM: f64 = 1e9;

/// An affine equation `dx/dt = rate + matrix x + slope t` for the rise `x` above the start of the step.
pub(super) struct Affine<'a> {
    /// Kelvins per second at the start.
    pub(super) rate: &'a DVector<f64>,
    /// Change of the rates with the temperatures, per second.
    pub(super) matrix: &'a DMatrix<f64>,
    /// Change of the rates with time, K/s^2.
    pub(super) slope: &'a DVector<f64>,
}

/// Its solution over a step; places in it are shares of the step, 0 to 1.
pub(super) struct Path {
    start: DVector<f64>,
    /// Generator of `(x / scale, share, 1)` over the whole step.
    generator: DMatrix<f64>,
    /// Kelvins that are one in a state, so that large rises do not make the matrix large.
    scale: f64,
    /// States at the ends of the pieces.
    states: Vec<DVector<f64>>,
}

impl Path {
    /// The path over some seconds; none if it leaves the range of numbers.
    ///
    /// One exponential of the augmented matrix gives all of it (Van Loan, IEEE Trans. Automatic Control 23, 1978).
    pub(super) fn new(start: &DVector<f64>, affine: &Affine, seconds: f64) -> Option<Path> {
        let nodes = start.len();
        let scale = (affine.rate.amax() * seconds).max(affine.slope.amax() * seconds * seconds).max(1.0);
        let mut generator = DMatrix::zeros(nodes + 2, nodes + 2);
        generator.view_mut((0, 0), (nodes, nodes)).copy_from(&(affine.matrix * seconds));
        generator.view_mut((0, nodes), (nodes, 1)).copy_from(&(affine.slope * (seconds * seconds / scale)));
        generator.view_mut((0, nodes + 1), (nodes, 1)).copy_from(&(affine.rate * (seconds / scale)));
        generator[(nodes, nodes + 1)] = 1.0;
        let piece = exponential(&generator, 1.0 / PIECES as f64)?;
        let mut states = vec![DVector::zeros(nodes + 2)];
        states[0][nodes + 1] = 1.0;
        for place in 0..PIECES {
            states.push(&piece * &states[place]);
        }
        let finite = states.iter().all(|state| state.iter().all(|value| value.is_finite()));
        finite.then(|| Path { start: start.clone(), generator, scale, states })
    }

    /// Temperatures at the end.
    pub(super) fn end(&self) -> DVector<f64> {
        self.celsius_of(&self.states[PIECES])
    }

    /// Temperatures at a share of the step.
    pub(super) fn celsius(&self, share: f64) -> DVector<f64> {
        self.celsius_of(&self.state(share))
    }

    /// Temperature of a node and its kelvins per step, at a share of the step.
    pub(super) fn node(&self, node: usize, share: f64) -> (f64, f64) {
        self.node_of(node, &self.state(share))
    }

    /// The same at the end of a number of pieces, where it costs nothing.
    pub(super) fn node_after_pieces(&self, node: usize, pieces: usize) -> (f64, f64) {
        self.node_of(node, &self.states[pieces])
    }

    fn state(&self, share: f64) -> DVector<f64> {
        let place = ((share * PIECES as f64).floor() as usize).min(PIECES);
        let rest = share - place as f64 / PIECES as f64;
        match exponential(&self.generator, rest) {
            Some(matrix) if rest > 0.0 => matrix * &self.states[place],
            _ => self.states[place].clone(),
        }
    }

    fn celsius_of(&self, state: &DVector<f64>) -> DVector<f64> {
        &self.start + state.rows(0, self.start.len()) * self.scale
    }

    fn node_of(&self, node: usize, state: &DVector<f64>) -> (f64, f64) {
        let rate: f64 = self.generator.row(node).iter().zip(state.iter()).map(|(per, value)| per * value).sum();
        (self.start[node] + state[node] * self.scale, rate * self.scale)
    }
}

fn exponential(generator: &DMatrix<f64>, share: f64) -> Option<DMatrix<f64>> {
    let matrix = generator * share;
    let norm: f64 = matrix.iter().map(|value| value.abs()).sum();
    // Not a number fails this as well.
    if norm <= LARGEST_NORM { Some(matrix.exp()) } else { None }
}
