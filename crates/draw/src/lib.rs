//! Drawings as SVG: the wiring, voltage levels, current paths and charts.
//!
//! Knows units and solved setups; knows nothing of the web.
//!
//! - [`svg`]: the one writer, for escaping and rounding.
//! - [`mod@wiring`]: parts, terminals and wires, with or without the currents in them.
//! - [`mod@level`]: nets at the height of their voltage, parts between them.
//! - [`chart`]: suspects, predicted against shown, logs over time.

pub mod chart;
mod fit;
pub mod level;
mod style;
pub mod svg;
pub mod wiring;

pub use svg::Drawing;

/// The style sheet of all drawings, for pages that hold them inline.
pub fn style() -> String {
    [style::SHARED, wiring::STYLE, level::STYLE, chart::STYLE].concat()
}
