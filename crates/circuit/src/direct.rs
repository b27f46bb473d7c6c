//! The same network at 0 Hz, as an ohmmeter sees it: coils are their resistance, capacitors are open, sources at rest.
//!
//! The nets fall into islands of direct-current paths. Between islands the resistance is infinite; within an island
//! the resistances are found without a subtraction, so that the insulation of a winding, gigohms perhaps, takes no
//! digits from the milliohms within it.

use crate::SolveError;
use crate::components::components;
use crate::network::{NetId, Network};
use nalgebra::DMatrix;
use std::sync::OnceLock;

/// A stand-in for direct contact, so that a branch of no resistance has a finite conductance: 1 microohm.
const CONTACT_OHMS: f64 = 1e-6;

/// All direct-current resistances of a network.
#[derive(Debug, Clone)]
pub struct DirectNetwork<'n> {
    network: &'n Network,
    islands: Vec<Island>,
    /// For each net its island and its row there.
    places: Vec<(usize, usize)>,
}

#[derive(Debug, Clone)]
struct Island {
    /// Siemens between every two of its nets; the diagonal means nothing.
    conductances: DMatrix<f64>,
    /// Ohms between every two of its nets, once they are asked for.
    between: OnceLock<DMatrix<f64>>,
}

impl Island {
    fn between(&self) -> &DMatrix<f64> {
        self.between.get_or_init(|| resistances(self.conductances.clone()))
    }

    /// Ohms between two of its nets: all others are eliminated.
    fn ohms(&self, p: usize, q: usize) -> f64 {
        if p == q {
            return 0.0;
        }
        if let Some(between) = self.between.get() {
            return between[(p, q)];
        }
        let mut conductances = self.conductances.clone();
        let first = p.min(q);
        for (from, to) in [(first, 0), (p.max(q), 1)] {
            conductances.swap_rows(from, to);
            conductances.swap_columns(from, to);
        }
        eliminate(&mut conductances, 2);
        1.0 / conductances[(1, 0)]
    }
}

/// Resistance between two nets and how it moves with the unknowns.
#[derive(Debug, Clone)]
pub struct PairResistance {
    /// Ohms; infinite when no path exists.
    pub ohms: f64,
    /// `d ohms / d unknown`, for every unknown; all zero when no path exists.
    pub gradient: Vec<f64>,
}

impl<'n> DirectNetwork<'n> {
    /// Finds the islands and the resistances within each.
    ///
    /// # Errors
    /// [`SolveError`] for a resistance that is not a finite number.
    pub fn new(network: &'n Network) -> Result<Self, SolveError> {
        if let Some(branch) =
            network.branches().iter().position(|b| b.passes_direct_current && !b.resistance.value().is_finite())
        {
            return Err(SolveError::NotFinite { branch });
        }
        let paths = network.branches().iter().filter(|b| b.passes_direct_current).map(|b| (b.from.0, b.to.0));
        let (island_of, island_count) = components(network.net_count(), paths);
        let ends = network.ends(|branch| branch.passes_direct_current);
        let mut order: Vec<usize> = (0..network.net_count()).collect();
        // Nets are eliminated from the last: those that much meets at stay longest, so that little is filled in.
        order.sort_by_key(|&net| std::cmp::Reverse(ends[net]));
        let mut members = vec![Vec::new(); island_count];
        for net in order {
            members[island_of[net]].push(net);
        }
        let mut places = vec![(0, 0); network.net_count()];
        for (island, nets) in members.iter().enumerate() {
            for (row, &net) in nets.iter().enumerate() {
                places[net] = (island, row);
            }
        }
        let mut conductances: Vec<DMatrix<f64>> =
            members.iter().map(|nets| DMatrix::zeros(nets.len(), nets.len())).collect();
        for branch in network.branches().iter().filter(|b| b.passes_direct_current && b.from != b.to) {
            let conductance = 1.0 / branch.resistance.value().max(CONTACT_OHMS);
            let ((island, from), (_, to)) = (places[branch.from.0], places[branch.to.0]);
            conductances[island][(from, to)] += conductance;
            conductances[island][(to, from)] += conductance;
        }
        let islands = conductances.into_iter().map(|conductances| Island { conductances, between: OnceLock::new() });
        let islands = islands.collect();
        Ok(DirectNetwork { network, islands, places })
    }

    /// Resistance between two nets in ohms; infinite when there is no direct-current path.
    ///
    /// For callers that ask for many pairs [`DirectNetwork::prepare`] is quicker.
    pub fn ohms(&self, plus: NetId, minus: NetId) -> f64 {
        let ((island, p), (other, q)) = (self.places[plus.0], self.places[minus.0]);
        if island != other {
            return f64::INFINITY;
        }
        self.islands[island].ohms(p, q)
    }

    /// Finds the resistances between all pairs at once.
    pub fn prepare(&self) {
        self.islands.iter().for_each(|island| {
            island.between();
        });
    }

    /// Resistance between two nets with its derivatives: `dR/dR_k` is the square of the share of the test current
    /// that flows through branch `k` (Tellegen's theorem). With one ampere from p to q the drop from a to b is
    /// `(R_aq + R_bp - R_ap - R_bq) / 2`.
    pub fn resistance(&self, plus: NetId, minus: NetId, unknown_count: usize) -> PairResistance {
        let ((island, p), (other, q)) = (self.places[plus.0], self.places[minus.0]);
        let ohms = if island == other { self.islands[island].between()[(p, q)] } else { f64::INFINITY };
        let mut gradient = vec![0.0; unknown_count];
        if ohms.is_finite() {
            let between = self.islands[island].between();
            for branch in self.network.branches().iter().filter(|b| b.passes_direct_current) {
                if self.places[branch.from.0].0 != island || branch.resistance.slopes().is_empty() {
                    continue;
                }
                let (a, b) = (self.places[branch.from.0].1, self.places[branch.to.0].1);
                let drop = 0.5 * ((between[(a, q)] - between[(b, q)]) + (between[(b, p)] - between[(a, p)]));
                let share = drop / branch.resistance.value().max(CONTACT_OHMS);
                for &(unknown, slope) in branch.resistance.slopes() {
                    gradient[unknown.0] += share * share * slope;
                }
            }
        }
        PairResistance { ohms, gradient }
    }
}

/// Resistances between all nets of an island from the conductances between them.
///
/// Nets are eliminated from the last by star-mesh steps and put back in turn. A net that is put back hangs on the nets
/// before it with total conductance `g`, on net i with the share `w_i` of it; then
///
/// ```text
/// R_ac = 1/g + sum_i w_i R_ic - 1/2 sum_ij w_i w_j R_ij
/// ```
///
/// the first term for its own resistance to the point where the shares meet, the rest for that point's to net c. Large
/// resistances only ever come in with the small shares that belong to them, so a gigohm of insulation keeps its digits
/// next to a contact and a contact next to a gigohm; an inverse of the conductance matrix loses one or the other.
/// Source of the elimination without subtractions, for Markov chains: Grassmann, Taksar and Heyman, "Regenerative
/// analysis and steady state distributions for Markov chains", Operations Research 33 (1985). The formula is the energy
/// of a current that enters at c and leaves by the shares, written with pair resistances (Klein and Randic, "Resistance
/// distance", J. Math. Chem. 12 (1993), from memory).
fn resistances(mut between: DMatrix<f64>) -> DMatrix<f64> {
    let nets = between.nrows();
    let totals = eliminate(&mut between, 1);
    let mut ohms = DMatrix::zeros(nets, nets);
    let mut shares = Vec::with_capacity(nets);
    let mut means = Vec::with_capacity(nets);
    for added in 1..nets {
        shares.clear();
        shares
            .extend(between.as_slice()[added * nets..][..added].iter().map(|conductance| conductance / totals[added]));
        means.clear();
        means.extend(ohms.as_slice().chunks_exact(nets).take(added).map(|column: &[f64]| dot(&shares, column)));
        let spread = 0.5 * dot(&shares, &means);
        for (net, mean) in means.iter().enumerate() {
            let value = 1.0 / totals[added] + (mean - spread);
            ohms[(added, net)] = value;
            ohms[(net, added)] = value;
        }
    }
    ohms
}

/// Star-mesh steps from the last net down to the first `kept` ones; says by what total conductance each net hung on
/// those before it.
fn eliminate(conductances: &mut DMatrix<f64>, kept: usize) -> Vec<f64> {
    let nets = conductances.nrows();
    let mut totals = vec![0.0; nets];
    for last in (kept..nets).rev() {
        // The matrix is symmetric, so whole columns are worked on; the diagonal means nothing.
        let (others, own) = conductances.as_mut_slice().split_at_mut(last * nets);
        let own = &own[..last];
        totals[last] = own.iter().sum();
        for (net, column) in others.chunks_exact_mut(nets).enumerate().filter(|&(net, _)| own[net] != 0.0) {
            let share = own[net] / totals[last];
            for (target, conductance) in column[..last].iter_mut().zip(own) {
                *target += share * conductance;
            }
        }
    }
    totals
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
