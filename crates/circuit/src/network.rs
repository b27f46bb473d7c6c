//! The description of a linear network.

use crate::quantity::Quantity;
use num_complex::Complex64;

/// A net: everything at one potential. Net 0 is the reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NetId(pub usize);

impl NetId {
    /// The net whose potential is zero by definition.
    pub const REFERENCE: NetId = NetId(0);
}

/// Index of a branch in its network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct BranchId(pub usize);

/// Index of a field in its network.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FieldId(pub usize);

/// A two-terminal branch: `v_from - v_to + source = (resistance + j reactance) * current + fields`.
#[derive(Debug, Clone)]
pub struct Branch {
    /// Net into which positive current enters the branch.
    pub from: NetId,
    /// Net at which positive current leaves the branch.
    pub to: NetId,
    /// Series resistance in ohms, at any frequency.
    pub resistance: Quantity,
    /// Series reactance in ohms at the network's frequency; negative for a capacitor.
    pub reactance: Quantity,
    /// Source voltage (RMS volts) raising the potential from `from` to `to`.
    pub source: Quantity,
    /// Phase of the source, radians; positive leads.
    pub source_angle: f64,
    /// Whether direct current can pass (a capacitor or a loss model blocks it).
    pub passes_direct_current: bool,
}

/// Which way a branch and a field act on each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Coupling {
    /// Both ways, as of a coil in the field of its own iron.
    #[default]
    Mutual,
    /// The branch's current drives the field; the branch does not feel it.
    Drives,
    /// The branch feels the field; its current does not drive it.
    ///
    /// With [`Coupling::Drives`] elsewhere this makes a voltage controlled by another branch's current, such as the
    /// speed voltage of an armature, and the network is no longer reciprocal.
    Feels,
}

/// Coupling of a branch to a field.
///
/// The field adds `turns * exp(-j angle) * E` to the branch voltage (unless the branch only drives it) and is driven by
/// `turns * exp(+j angle) * I` (unless the branch only feels it). A second link with the opposite angle couples the
/// counter-rotating field.
#[derive(Debug, Clone)]
pub struct Link {
    /// The coupled branch.
    pub branch: BranchId,
    /// The field it couples to.
    pub field: FieldId,
    /// Effective turns (relative).
    pub turns: Quantity,
    /// Electrical angle of the branch's axis, radians.
    pub angle: f64,
    /// Which way they act on each other.
    pub coupling: Coupling,
}

impl Link {
    /// Whether the field acts on the branch.
    pub(crate) fn is_felt(&self) -> bool {
        self.coupling != Coupling::Drives
    }

    /// Whether the branch drives the field.
    pub(crate) fn is_driving(&self) -> bool {
        self.coupling != Coupling::Feels
    }
}

/// Nets, branches, and fields shared between branches.
///
/// A field `f` obeys `E_f = Z_f * sum over driving links of (turns e^{+j angle} I)`. Its impedance `Z_f` is given at solve
/// time, because it is what changes when a rotor speeds up; everything else is fixed per network.
#[derive(Debug, Clone)]
pub struct Network {
    hertz: f64,
    net_count: usize,
    branches: Vec<Branch>,
    links: Vec<Link>,
    field_count: usize,
}

impl Branch {
    /// One volt in the phase of the source.
    pub(crate) fn source_phase(&self) -> Complex64 {
        Complex64::from_polar(1.0, self.source_angle)
    }
}

impl Network {
    /// An empty network of `net_count` nets (the reference included) at `hertz`.
    pub fn new(hertz: f64, net_count: usize) -> Self {
        Network { hertz, net_count: net_count.max(1), branches: Vec::new(), links: Vec::new(), field_count: 0 }
    }

    /// The same with room for so many branches, for callers who know how many are to come.
    pub fn with_room(hertz: f64, net_count: usize, branch_count: usize) -> Self {
        Network { branches: Vec::with_capacity(branch_count), ..Network::new(hertz, net_count) }
    }

    /// Adds a branch.
    ///
    /// # Panics
    /// If a net is out of range: that is a mistake in the calling code, never in user input.
    pub fn add_branch(&mut self, branch: Branch) -> BranchId {
        assert!(branch.from.0 < self.net_count && branch.to.0 < self.net_count, "net out of range");
        self.branches.push(branch);
        BranchId(self.branches.len() - 1)
    }

    /// Adds a field that links can refer to.
    pub fn add_field(&mut self) -> FieldId {
        self.field_count += 1;
        FieldId(self.field_count - 1)
    }

    /// Couples a branch to a field.
    ///
    /// # Panics
    /// If the branch or field does not exist: a mistake in the calling code.
    pub fn add_link(&mut self, link: Link) {
        assert!(link.branch.0 < self.branches.len() && link.field.0 < self.field_count, "link out of range");
        self.links.push(link);
    }

    /// Supply frequency in hertz.
    pub fn hertz(&self) -> f64 {
        self.hertz
    }

    /// Number of nets, the reference included.
    pub fn net_count(&self) -> usize {
        self.net_count
    }

    /// All branches in the order they were added.
    pub fn branches(&self) -> &[Branch] {
        &self.branches
    }

    /// How many ends of the branches that count meet at each net.
    pub(crate) fn ends(&self, counts: impl Fn(&Branch) -> bool) -> Vec<usize> {
        let mut ends = vec![0; self.net_count];
        for branch in self.branches.iter().filter(|branch| branch.from != branch.to && counts(branch)) {
            ends[branch.from.0] += 1;
            ends[branch.to.0] += 1;
        }
        ends
    }

    /// All links.
    pub fn links(&self) -> &[Link] {
        &self.links
    }

    /// Number of fields.
    pub fn field_count(&self) -> usize {
        self.field_count
    }
}
