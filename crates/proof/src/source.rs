//! Where a figure comes from, and how far that was looked at.

use std::fmt;

/// Where a figure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Source {
    /// The standard, code or book.
    pub standard: &'static str,
    /// Its edition, or what is known of it.
    pub edition: &'static str,
    /// How the figure was checked.
    pub standing: Standing,
}

/// How a figure was checked before it came in here.
///
/// None was read in the standard itself: standards are bought, and the copy on the bench decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Read in a public text that cites the standard: which one.
    Verified(&'static str),
    /// From memory; look it up before relying on it.
    FromMemory,
}

impl Source {
    /// Read in a public text that cites the standard.
    pub const fn verified(standard: &'static str, edition: &'static str, read_in: &'static str) -> Self {
        Source { standard, edition, standing: Standing::Verified(read_in) }
    }

    /// From memory.
    pub const fn from_memory(standard: &'static str, edition: &'static str) -> Self {
        Source { standard, edition, standing: Standing::FromMemory }
    }

    /// Whether the figure was read in a public text.
    pub fn is_verified(&self) -> bool {
        matches!(self.standing, Standing::Verified(_))
    }
}

impl Standing {
    /// In two words or one: `verified`, `from memory`.
    pub fn words(self) -> &'static str {
        match self {
            Standing::Verified(_) => "verified",
            Standing::FromMemory => "from memory",
        }
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Source { standard, edition, .. } = self;
        match edition.is_empty() {
            true => write!(f, "{standard}, {}", self.standing.words()),
            false => write!(f, "{standard}, {edition}, {}", self.standing.words()),
        }
    }
}
