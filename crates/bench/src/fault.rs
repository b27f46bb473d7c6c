//! Faults: the ways in which a part or wire can be wrong.

use circuit::{Quantity, UnknownId};

/// What a fault belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Place {
    /// A part, by its index in the unit.
    Part(usize),
    /// A wire, by its index in the unit.
    Wire(usize),
}

/// How the size of a fault is described.
///
/// The unknown behind it is log-normal; [`SeverityShape::Share`] folds it into the range from 0 to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Severity {
    /// What is measured, in words: "ohms", "share of turns".
    pub words: &'static str,
    /// Median of the unknown before folding.
    pub median: f64,
    /// Standard deviation of its natural logarithm.
    pub log_spread: f64,
    /// How the unknown becomes the severity.
    pub shape: SeverityShape,
}

/// How the log-normal unknown becomes the severity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeverityShape {
    /// The severity is the unknown.
    Plain,
    /// The severity is `q / (1 + q)`, between 0 and 1.
    Share,
}

impl Severity {
    /// A resistance in ohms.
    pub fn ohms(median: f64, log_spread: f64) -> Self {
        Severity { words: "ohms", median, log_spread, shape: SeverityShape::Plain }
    }

    /// A share between 0 and 1 with the given median share.
    pub fn share(words: &'static str, median_share: f64, log_spread: f64) -> Self {
        let median = median_share / (1.0 - median_share);
        Severity { words, median, log_spread, shape: SeverityShape::Share }
    }

    /// A factor.
    pub fn factor(words: &'static str, median: f64, log_spread: f64) -> Self {
        Severity { words, median, log_spread, shape: SeverityShape::Plain }
    }

    /// The severity as a quantity that follows its unknown.
    pub fn quantity(&self, unknown: UnknownId, deviation: f64) -> Quantity {
        let raw = Quantity::log_unknown(self.median, unknown, deviation);
        match self.shape {
            SeverityShape::Plain => raw,
            SeverityShape::Share => {
                let q = raw.value();
                raw.map(q / (1.0 + q), 1.0 / (1.0 + q).powi(2))
            }
        }
    }

    /// The deviation at which the severity has a value; `None` if it can never have it.
    pub fn deviation(&self, value: f64) -> Option<f64> {
        let raw = match self.shape {
            SeverityShape::Plain => value,
            SeverityShape::Share if value < 1.0 => value / (1.0 - value),
            SeverityShape::Share => return None,
        };
        (raw > 0.0 && raw.is_finite()).then(|| (raw / self.median).ln())
    }

    /// The severity at a deviation of its unknown.
    pub fn value(&self, deviation: f64) -> f64 {
        self.quantity(UnknownId(0), deviation).value()
    }
}

/// One way for a part of some kind to be wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultMode {
    /// Short name as typed: `common-open`.
    pub name: String,
    /// What is wrong, in words.
    pub words: String,
    /// Odds of this fault against none, for a unit that was brought in for repair.
    pub odds: f64,
    /// Where the odds come from.
    pub source: &'static str,
    /// Its size, where it has one.
    pub severity: Option<Severity>,
    /// What to do about it; `{}` stands for the part.
    pub repair: &'static str,
}

/// The fault of a control by which it switches a compressor on again before that may start.
pub const SHORT_CYCLING: &str = "short-cycling";

/// Odds that rest on common practice alone.
pub const COMMON_PRACTICE: &str = "common practice, no source";

impl FaultMode {
    /// A fault without a size, odds by common practice.
    pub fn new(name: impl Into<String>, words: impl Into<String>, odds: f64, repair: &'static str) -> Self {
        FaultMode { name: name.into(), words: words.into(), odds, source: COMMON_PRACTICE, severity: None, repair }
    }

    /// The same with a size.
    pub fn sized(mut self, severity: Severity) -> Self {
        self.severity = Some(severity);
        self
    }
}

/// A fault mode at its place in a unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Where.
    pub place: Place,
    /// Name of the part or wire, for people.
    pub place_name: String,
    /// What.
    pub mode: FaultMode,
}

impl Fault {
    /// Part and fault as typed: `M2 common-open`.
    pub fn label(&self) -> String {
        format!("{} {}", self.place_name, self.mode.name)
    }

    /// Whether another part comes in its place: the repair begins with replacing the part itself, not a piece of it.
    pub fn is_mended_by_a_new_part(&self) -> bool {
        let (before, after) = self.mode.repair.split_once("{}").unwrap_or((self.mode.repair, ""));
        let is_whole = before.starts_with("replace ") && !before.contains(" of ");
        is_whole || after.ends_with("then replace it")
    }

    /// Whether the repair leaves nothing of a part or wire that was there: a new part, a wire mended from end to end.
    pub fn renews(&self, what: Place) -> bool {
        self.place == what && (matches!(what, Place::Wire(_)) || self.is_mended_by_a_new_part())
    }

    /// What to do about it, with the part's name put in.
    pub fn repair(&self) -> String {
        self.mode.repair.replace("{}", &self.place_name)
    }
}

/// Faults put into a unit together, by their index in the unit's list.
///
/// The sizes of those that have one follow the unit's own unknowns in the vector of deviations, in this order.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
pub struct FaultSet(pub Vec<usize>);

impl FaultSet {
    /// Nothing wrong.
    pub fn none() -> Self {
        FaultSet(Vec::new())
    }
}
