//! Climbing to a top of a sum of log densities by damped Gauss-Newton steps.
//!
//! Knows nothing of what is climbed but its height, gradient and Gauss-Newton matrix. A step solves
//!
//! ```text
//! (matrix + damping diag(1 / scale^2)) step = gradient
//! ```
//!
//! An undamped step is shortened until it climbs. A damped one is taken whole: damping grows until it climbs, and fades with
//! every step that does. A damping of one holds back as much as a normal prior about the present place would, with the
//! scales as its standard deviations, so that no unknown is thrown far away by straight lines that hold near by only.
//!
//! Source: Levenberg, Quarterly of Applied Mathematics 2 (1944), and Marquardt, SIAM Journal 11 (1963); Nocedal and Wright,
//! Numerical Optimization (2006), ch. 10. Scales in place of the matrix's own diagonal: engineering judgement; by that
//! diagonal an unknown that has lost its hold on the readings is no longer damped at all.

use crate::narrowing;
use nalgebra::{Cholesky, DMatrix, DVector};

/// An undamped step is shortened by this each time it does not climb, until it is shorter than the least.
const SHORTENED: f64 = 0.4;
const LEAST_LENGTH: f64 = 0.05;
/// By how much it grows when a step does not climb, and fades when one does.
const DAMPING_FACTOR: f64 = 3.0;
/// Fainter damping is none; with stronger damping nothing is found any more.
const FAINTEST_DAMPING: f64 = 1e-9;
const STRONGEST_DAMPING: f64 = 1e16;

/// What is climbed.
pub trait Hill {
    /// What is seen from a place: predictions, or residuals.
    type View: Clone;

    /// What is seen from a place; `None` where nothing can be computed.
    fn view(&self, place: &DVector<f64>) -> Option<Self::View>;

    /// Height, nats up to a constant.
    fn height(&self, place: &DVector<f64>, view: &Self::View) -> f64;

    /// Gradient of the height, and its Gauss-Newton matrix.
    fn slopes(&self, from: &Standing<Self::View>) -> (DVector<f64>, Curvature);

    /// How far each unknown may go about without being held back by damping: standard deviations of a prior, by default
    /// those of standard-normal unknowns.
    fn scales(&self, from: &Standing<Self::View>) -> DVector<f64> {
        DVector::repeat(from.place.len(), 1.0)
    }

    /// Called before each step; true if the step is to be judged by [`Hill::lenient_height`]. A lenient step that gains
    /// nothing is no sign of a top.
    fn is_lenient(&mut self, _step: usize, _from: &Standing<Self::View>) -> bool {
        false
    }

    /// Height as a lenient step is judged by.
    fn lenient_height(&self, place: &DVector<f64>, view: &Self::View) -> f64 {
        self.height(place, view)
    }
}

/// A Gauss-Newton matrix.
#[derive(Debug, Clone)]
pub enum Curvature {
    /// As it is.
    Full(DMatrix<f64>),
    /// That of standard-normal unknowns of which readings tell something: `I + B^T B`, by the rows `B`; there may be far
    /// fewer of them than unknowns. The gradient is `B^T d` less the place, by the pulls `d`.
    OverPrior {
        /// `B`.
        rows: DMatrix<f64>,
        /// `d`.
        pulls: DVector<f64>,
    },
}

impl Curvature {
    fn full(&self) -> DMatrix<f64> {
        match self {
            Curvature::Full(matrix) => matrix.clone(),
            Curvature::OverPrior { rows, .. } => DMatrix::identity(rows.ncols(), rows.ncols()) + rows.tr_mul(rows),
        }
    }
}

/// A place on a hill.
#[derive(Debug, Clone)]
pub struct Standing<V> {
    /// Where.
    pub place: DVector<f64>,
    /// What is seen from there.
    pub view: V,
    /// Height there.
    pub height: f64,
}

/// How a hill is climbed.
#[derive(Debug, Clone, Copy)]
pub struct Manner {
    /// Steps after which the climb stops where it is.
    pub step_limit: usize,
    /// The top is reached when a step gains less than this, nats. With zero the climb goes on to the last digit.
    pub small_gain: f64,
    /// Damping of the first step; `None` if a climb that no undamped step takes further is to end there.
    pub damping: Option<f64>,
}

/// What a climb came to.
#[derive(Debug, Clone)]
pub struct Climb<V> {
    /// The highest place.
    pub top: Standing<V>,
    /// Steps taken.
    pub steps: usize,
    /// Whether it arrived before the step limit.
    pub arrived: bool,
}

impl<V> Standing<V> {
    /// At a place, if anything is seen from it.
    pub fn new(hill: &impl Hill<View = V>, place: DVector<f64>) -> Option<Self> {
        let view = hill.view(&place)?;
        Some(Standing { height: hill.height(&place, &view), place, view })
    }
}

/// Climbs from a place to a top.
pub fn climb<H: Hill>(hill: &mut H, begin: Standing<H::View>, manner: Manner) -> Climb<H::View> {
    let (mut at, mut damping) = (begin, manner.damping.unwrap_or(0.0));
    let (mut steps, mut arrived) = (0, false);
    while steps < manner.step_limit && !arrived {
        let lenient = hill.is_lenient(steps, &at);
        steps += 1;
        let mut gained = 0.0;
        if let Some(rise) = rise(hill, &at, lenient, damping, manner) {
            gained = rise.gained;
            damping = if rise.damping > FAINTEST_DAMPING { rise.damping / DAMPING_FACTOR } else { 0.0 };
            at = Standing { height: hill.height(&rise.place, &rise.view), place: rise.place, view: rise.view };
        }
        arrived = !lenient && gained <= manner.small_gain;
    }
    let top = if manner.small_gain == 0.0 { to_the_last_digit(hill, at) } else { at };
    Climb { top, steps, arrived }
}

/// A step that climbs.
struct Rise<V> {
    place: DVector<f64>,
    view: V,
    gained: f64,
    /// Damping that it took.
    damping: f64,
}

/// The first step that climbs, damped more and more; `None` if there is none that gains enough.
fn rise<H: Hill>(
    hill: &H,
    at: &Standing<H::View>,
    lenient: bool,
    mut damping: f64,
    manner: Manner,
) -> Option<Rise<H::View>> {
    let judged = |place: &DVector<f64>, view: &H::View| match lenient {
        true => hill.lenient_height(place, view),
        false => hill.height(place, view),
    };
    let from = if lenient { judged(&at.place, &at.view) } else { at.height };
    let (gradient, curvature) = hill.slopes(at);
    while damping < STRONGEST_DAMPING {
        if let Some(step) = step(hill, at, &gradient, &curvature, damping) {
            let least_length = if damping == 0.0 { LEAST_LENGTH } else { SHORTENED };
            let mut length = 1.0;
            while length > least_length {
                let place = &at.place + &step * length;
                if let Some(view) = hill.view(&place) {
                    let gained = judged(&place, &view) - from;
                    if gained > 0.0 {
                        return Some(Rise { place, view, gained, damping });
                    }
                }
                length *= SHORTENED;
            }
            // By straight lines a step gains half of how far it goes up the slope.
            if lenient || 0.5 * step.dot(&gradient) <= manner.small_gain {
                return None;
            }
        }
        damping = if damping == 0.0 { manner.damping? } else { damping * DAMPING_FACTOR };
    }
    None
}

/// The step to the top of straight lines, held back by damping; `None` if they have no top.
fn step<H: Hill>(
    hill: &H,
    at: &Standing<H::View>,
    gradient: &DVector<f64>,
    curvature: &Curvature,
    damping: f64,
) -> Option<DVector<f64>> {
    if let (Curvature::OverPrior { rows, pulls }, 0.0) = (curvature, damping) {
        return narrowing::step(rows, pulls, &at.place);
    }
    let mut matrix = curvature.full();
    if damping > 0.0 {
        for (place, scale) in hill.scales(at).iter().enumerate() {
            matrix[(place, place)] += damping / (scale * scale);
        }
    }
    Some(Cholesky::new(matrix)?.solve(gradient))
}

/// From where heights no longer tell one place from another, whole steps for as long as each promises less than the one
/// before.
fn to_the_last_digit<H: Hill>(hill: &H, top: Standing<H::View>) -> Standing<H::View> {
    let (mut best, mut at, mut least) = (top.clone(), top, f64::INFINITY);
    loop {
        let (gradient, curvature) = hill.slopes(&at);
        let Some(step) = step(hill, &at, &gradient, &curvature, 0.0) else { return best };
        let promise = step.dot(&gradient);
        if promise >= least || promise.is_nan() {
            return best;
        }
        let Some(next) = Standing::new(hill, &at.place + step) else { return at };
        least = promise;
        best = std::mem::replace(&mut at, next);
    }
}
