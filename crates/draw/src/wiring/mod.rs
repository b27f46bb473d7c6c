//! The wiring view: a schematic of a unit, laid out by itself so that a person can follow hot to neutral.
//!
//! Hot comes in at the left, neutral goes out at the right, earth lies at the bottom. Parts stand in columns by their
//! distance from hot; within a column they are ordered so that few wires cross. Wires run in channels between the
//! columns, each on a track of its own, and in lanes through columns; all ends lie on one grid, so two wires never lie
//! on each other and none runs through a part or a text.
//!
//! The way of a drawing: what conducts inside parts (`conduction`) and how near to hot each terminal is
//! (`potentials`) give columns (`plan`); edges get lanes and hops (`lanes`); items get an order (`order`,
//! `search`), heights (`place`) and tracks (`route`); the finished [`Layout`] is painted.

mod bodies;
mod caption;
mod colours;
mod conduction;
mod crossings;
mod describe;
mod flows;
mod form;
mod improve;
mod lanes;
mod layout;
mod legend;
mod look;
mod order;
mod paint;
mod place;
mod plan;
mod potentials;
mod route;
mod scale;
mod search;
mod size;
mod strands;
mod symbols;
mod words;

pub use flows::{Direction, Flows, PartFlow, PastRating, WireFlow, flows};
pub use layout::{Layout, PlacedBody, PlacedTerminal, Route};
pub(crate) use look::STYLE;
pub use paint::draw;

use bench::{Place, Setup, TerminalId, Unit};
use conduction::Conduction;
use form::Row;
use lanes::{Item, Ways};
use layout::{Kept, KeptBody};
use order::Order;
use plan::{Body, Plan};
use scale::Scale;
use size::{Caption, Size};

/// Which symbols are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Symbols {
    /// IEC 60617.
    #[default]
    Iec,
    /// The variant common in North America: zigzag resistors, looped coils, contacts as two bars.
    NorthAmerican,
}

/// A short word at a part or wire, such as "suspect 68 %".
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Where.
    pub place: Place,
    /// What is written there.
    pub words: String,
}

/// What is to be drawn.
#[derive(Debug, Clone)]
pub struct WiringView<'u> {
    /// The unit.
    pub unit: &'u Unit,
    /// The setup whose positions, lifted wires and jumpers are shown; ordinary positions without one.
    pub setup: Option<&'u Setup>,
    /// Parts and wires to be marked.
    pub suspects: &'u [Mark],
    /// Currents and powers to be shown; those of [`flows()`] for the same unit.
    pub flows: Option<Flows>,
    /// Which symbols.
    pub symbols: Symbols,
    /// Whether terminals can be chosen on the page: makes each a button that the keyboard reaches.
    pub interactive: bool,
    /// An earlier layout of the same unit, or of one much like it: parts keep their order.
    pub like: Option<&'u Layout>,
}

impl<'u> WiringView<'u> {
    /// The unit alone, in IEC symbols.
    pub fn new(unit: &'u Unit) -> Self {
        WiringView {
            unit,
            setup: None,
            suspects: &[],
            flows: None,
            symbols: Symbols::default(),
            interactive: false,
            like: None,
        }
    }
}

/// Lays a unit out.
pub fn layout(unit: &Unit) -> Layout {
    arrange(&WiringView::new(unit), &Conduction::of(unit), None)
}

/// Lays a changed unit out like `before`: parts keep their order in their columns unless another one saves crossings.
pub fn layout_like(unit: &Unit, before: &Layout) -> Layout {
    arrange(&WiringView::new(unit), &Conduction::of(unit), Some(&before.kept))
}

/// The layout of a view; like the one that `kept` was taken from, if given.
fn arrange(view: &WiringView<'_>, conduction: &Conduction, kept: Option<&Kept>) -> Layout {
    let plan = Plan::of(view.unit, conduction, view.setup);
    let ways = Ways::of(&plan);
    let order = match kept {
        Some(kept) => search::settle(&plan, &ways, order_like(view.unit, &plan, &ways, kept)),
        None => search::search(&plan, &ways).0,
    };
    let scale = scale(view);
    let labels: Vec<f64> =
        plan.edges.iter().map(|edge| strands::label_room(&strands::label(view, edge.link))).collect();
    let captions: Vec<Caption> = plan.bodies.iter().map(|body| caption::caption(view, body, scale)).collect();
    let sizes: Vec<Size> = plan
        .bodies
        .iter()
        .enumerate()
        .map(|(index, body)| {
            let wires_at =
                |terminal| plan.edges.iter().flat_map(|edge| edge.ends).filter(|&end| end == terminal).count();
            let paths = conduction.paths[body.part].len();
            size::size(view.unit, body, &order.rows[index], &captions[index], paths, wires_at)
        })
        .collect();
    layout::assemble(&layout::Parts {
        unit: view.unit,
        plan: &plan,
        ways: &ways,
        order: &order,
        sizes: &sizes,
        captions: &captions,
        labels: &labels,
    })
}

fn scale(view: &WiringView<'_>) -> Scale {
    Scale::new(view.flows.as_ref().map_or(0.0, Flows::largest_amps))
}

/// The order of an earlier layout, as far as bodies are the same; new ones and their lanes below, until the search moves them.
fn order_like(unit: &Unit, plan: &Plan, ways: &Ways, kept: &Kept) -> Order {
    let mut order = Order::new(plan, ways);
    let find = |body: &Body| {
        let name = &unit.parts()[body.part].name;
        kept.bodies.iter().find(|kept| kept.part == *name && kept.conductor == body.conductor)
    };
    for (index, body) in plan.bodies.iter().enumerate() {
        let Some(kept) = find(body) else { continue };
        order.rows[index] = rows_like(unit, &order.rows[index], kept);
    }
    for column in 0..plan.columns {
        order.columns[column].sort_by_key(|&item| {
            let place = match item {
                Item::Body(body) => find(&plan.bodies[body]).map(|kept| kept.place),
                Item::Lane(lane) => {
                    let names = plan.edges[ways.lanes[lane].edge].ends.map(|end| unit.terminal_name(end));
                    let lane = kept.lanes.iter().find(|(ends, of, _)| *ends == names && *of == column);
                    lane.map(|&(_, _, place)| place)
                }
            };
            (order::is_bottom(plan, ways, item), place.unwrap_or(usize::MAX))
        });
        order.rank(plan, column);
    }
    order
}

/// Rows as they were kept, if the body still has the same terminals on the same sides.
fn rows_like(unit: &Unit, rows: &[Row], kept: &KeptBody) -> Vec<Row> {
    let find = |name: &Option<String>, side: usize| {
        let named = |terminal: &TerminalId| Some(unit.terminal_name(*terminal)) == *name;
        rows.iter().find_map(|row| row.ends[side].filter(named).map(|terminal| (terminal, row.block)))
    };
    let restored: Vec<Row> = kept
        .rows
        .iter()
        .map(|names| {
            let found = [0, 1].map(|side| find(&names[side], side));
            let block = found.iter().flatten().map(|(_, block)| *block).next().unwrap_or(0);
            Row { ends: found.map(|found| found.map(|(terminal, _)| terminal)), block }
        })
        .collect();
    let count = |rows: &[Row]| rows.iter().flat_map(|row| row.ends).flatten().count();
    let kept_count = kept.rows.iter().flatten().flatten().count();
    let is_same = restored.len() == rows.len() && count(&restored) == count(rows) && kept_count == count(rows);
    if is_same { restored } else { rows.to_vec() }
}
