//! The level picture: nets at the height of their voltage, what stands between them, and which way power goes.
//!
//! A net is a horizontal line as high as its voltage to neutral. Between two nets stands each element that joins them,
//! as wide as its current, pointing down where it takes power and up where it delivers. Sound beside faulty, on one
//! scale, one sees which winding feeds which backwards.
//!
//! - `panel`: what is to be shown, read off the solved setup; `names`: what nets are called.
//! - `scale`, `lines`, `columns`: measures, heights and places, the same for all panels of a drawing.
//! - `picture`, `arrow`, `legend`, `words`: how it looks and reads.

mod arrow;
mod columns;
mod layout;
mod legend;
mod lines;
mod names;
mod panel;
mod picture;
mod scale;
mod words;

pub use panel::{Level, Panel, Standing, panel};
pub use picture::draw;

/// Style of these drawings.
pub(crate) const STYLE: &str = "\
.drawing .paper{fill:var(--paper)}\
.drawing .net{stroke:var(--ink);stroke-width:1.6}\
.drawing .unsure{stroke:var(--faint);stroke-width:1.4;stroke-dasharray:5 4}\
.drawing .leader{stroke:var(--pale);stroke-width:1;fill:none}\
.drawing .bracket{stroke:var(--faint);stroke-width:1}\
.drawing .takes{fill:var(--takes)}\
.drawing .gives{fill:var(--paper);stroke:var(--gives);stroke-width:1.6;stroke-linejoin:round}\
.drawing .chevron{fill:none;stroke:var(--gives);stroke-width:1.6}\
.drawing .feeds .gives,.drawing .feeds .chevron{stroke:var(--faint)}\
.drawing .notice{fill:var(--gives);fill-opacity:.16}\
.drawing .swings{fill:var(--pale);stroke:var(--faint);stroke-width:.8}\
.drawing .hoop{fill:none;stroke:var(--faint)}\
.drawing .idle{fill:none;stroke:var(--pale);stroke-width:1.5}";
