//! Charts: suspects, predicted against shown, logs over time.
//!
//! Plain figures in, a drawing out: this crate knows nothing of probability. Every chart takes the width it is to fill
//! and lays itself out for it; its type is never smaller than 11 pixels at full size.

mod comparison;
mod page;
mod suspects;
mod ticks;
mod time_log;

pub use comparison::{Comparison, Shown, Verdict, comparisons};
pub use page::{NARROWEST, WIDEST};
pub use suspects::{Moved, SuspectBar, suspects};
pub use time_log::{Limit, Series, time_log};

/// Style of these drawings.
pub(crate) const STYLE: &str = "\
.drawing .track{fill:none;stroke:var(--pale);stroke-width:1}\
.drawing .share{fill:var(--ink)}\
.drawing .for{fill:var(--sound)}\
.drawing .against{fill:var(--paper);stroke:var(--suspect);stroke-width:1.4}\
.drawing .rule{stroke:var(--pale);stroke-width:1}\
.drawing .middle{stroke:var(--faint);stroke-width:1}\
.drawing .two-deviations{fill:var(--pale);fill-opacity:.4}\
.drawing .one-deviation{fill:var(--pale)}\
.drawing .fits{fill:var(--ink)}\
.drawing .strained{fill:var(--paper);stroke:var(--ink);stroke-width:1.6}\
.drawing .does-not-fit{fill:none;stroke:var(--suspect);stroke-width:2.4}\
.drawing .trace{fill:none;stroke-width:1.8;stroke-linejoin:round}\
.drawing .trace-0{stroke:var(--takes)}\
.drawing .trace-1{stroke:var(--gives);stroke-dasharray:7 3}\
.drawing .trace-2{stroke:var(--sound);stroke-dasharray:2 3}\
.drawing .trace-3{stroke:var(--ink);stroke-dasharray:9 3 2 3}\
.drawing .dot-0{fill:var(--takes)}.drawing .dot-1{fill:var(--gives)}\
.drawing .dot-2{fill:var(--sound)}.drawing .dot-3{fill:var(--ink)}\
.drawing .limit{stroke:var(--suspect);stroke-width:1.4;stroke-dasharray:10 4}";
