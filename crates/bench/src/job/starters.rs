//! Starter units: whole job files without readings, to begin a job from.

/// A job file to begin from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Starter {
    /// Short name, as in a web address.
    pub name: &'static str,
    /// What it is, for a list.
    pub title: &'static str,
    /// What it is made of, in one line.
    pub words: &'static str,
    /// The job file.
    pub text: &'static str,
}

/// All starters, the plainest first.
pub fn starters() -> &'static [Starter] {
    &STARTERS
}

const STARTERS: [Starter; 0] = [];
