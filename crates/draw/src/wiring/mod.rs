//! To be drawn.

/// Style of these drawings.
pub(crate) const STYLE: &str = "";
