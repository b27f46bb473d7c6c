//! What a level picture shows: the nets of a solved setup with their volts to neutral, and what stands between them.

use super::names;
use bench::observe::ElementFlow;
use bench::wiring::Wired;
use bench::{FaultSet, Observed, Place, PredictError, Setup, Unit, observe_values};
use circuit::{NetId, Solution};

/// Below this many volts at its highest net a unit is dead: what stray capacitance and rounding leave.
const DEAD_VOLTS: f64 = 1.0;
/// Volts along a cord's neutral below which either end of it is 'neutral'.
const SOUND_CORD_VOLTS: f64 = 2.0;

/// One unit in one setup, ready to be drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Panel {
    /// What it shows, such as "healthy".
    pub title: String,
    /// What the levels are measured to: "neutral", or "earth" where the outlet's neutral is open.
    pub reference: String,
    /// Why there is nothing to draw, if so; in a sentence.
    pub note: Option<String>,
    /// The nets: those with a defined potential first, from low to high.
    pub levels: Vec<Level>,
    /// What stands between them.
    pub elements: Vec<Standing>,
}

/// A net.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Level {
    /// Its shortest good name.
    pub name: String,
    /// All its terminals.
    pub full: String,
    /// Magnitude of its voltage to the reference, volts.
    pub volts: f64,
    /// Whether nothing but stray capacitance ties it to the supply, so that its potential is anyone's guess.
    pub floating: bool,
}

/// An element of a part, standing between two nets.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Name of the part or wire.
    pub part: String,
    /// What it is in the part.
    pub element: String,
    /// Current, amperes.
    pub amps: f64,
    /// Voltage across it, volts; more than the difference of the levels where those differ in phase.
    pub volts: f64,
    /// Real power it takes, watts; negative if it delivers.
    pub watts: f64,
    /// One net, by index in the panel's levels.
    pub from_level: usize,
    /// The other net.
    pub to_level: usize,
    /// Where it belongs.
    pub place: Place,
    /// Whether it belongs to the supply or the cord.
    pub feeds: bool,
}

/// The levels of `unit` in `setup` with `faults` in it, values at `deviations`.
///
/// The outlet's hot and neutral sides are one element, "supply", from neutral to hot. A dead unit gives a panel with a
/// note and nothing else.
///
/// # Errors
/// [`PredictError`] if the setup cannot be solved.
pub fn panel(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    title: &str,
) -> Result<Panel, PredictError> {
    observe_values(unit, setup, faults, deviations, |observed| match observed.steady() {
        None => noted(title, "The supply is off in this setup, so no net has a voltage to neutral."),
        Some(steady) => match observed.cut_off_words() {
            Some(words) => noted(title, &bench::words::sentence(&format!("{words}, so the unit is dead"))),
            None => live(unit, observed, steady.solution(), title),
        },
    })
}

fn noted(title: &str, note: &str) -> Panel {
    Panel { title: title.into(), reference: "neutral".into(), note: Some(note.into()), ..Panel::default() }
}

fn live(unit: &Unit, observed: &Observed<'_>, solution: &Solution<'_>, title: &str) -> Panel {
    let wired = observed.wired();
    let flows = observed.element_flows();
    let tied = tied_to_supply(wired);
    let (zero, reference) = reference(unit, &flows, wired);
    let names = names::of_nets(unit, wired, &flows);
    let mut nets: Vec<(usize, Level)> = names
        .into_iter()
        .map(|(net, name, full)| {
            let volts = (solution.potential(NetId(net)) - solution.potential(zero)).norm();
            (net, Level { name, full, volts, floating: !tied[net] })
        })
        .collect();
    nets.sort_by(|(_, a), (_, b)| a.floating.cmp(&b.floating).then(a.volts.total_cmp(&b.volts)));
    let highest = nets.iter().filter(|(_, level)| !level.floating).map(|(_, level)| level.volts).fold(0.0, f64::max);
    if highest < DEAD_VOLTS {
        return noted(title, "The supply is on, but no voltage reaches the unit.");
    }
    let level_of = |net: usize| nets.iter().position(|(other, _)| *other == net);
    let elements = join_supply(unit, flows, solution)
        .into_iter()
        .filter_map(|flow| {
            Some(Standing {
                part: unit.place_name(flow.place).to_owned(),
                feeds: matches!(flow.place, Place::Part(part) if unit.parts()[part].kind.feeds_unit()),
                amps: flow.amps,
                volts: flow.volts,
                watts: flow.watts,
                from_level: level_of(flow.nets.0)?,
                to_level: level_of(flow.nets.1)?,
                place: flow.place,
                element: flow.label,
            })
        })
        .collect();
    let levels = nets.into_iter().map(|(_, level)| level).collect();
    Panel { title: title.into(), reference: reference.into(), note: None, levels, elements }
}

/// For each net whether anything but stray capacitance and insulation leads from it to the supply.
fn tied_to_supply(wired: &Wired) -> Vec<bool> {
    let mut tied = vec![false; wired.assembly.network.net_count()];
    tied[NetId::REFERENCE.0] = true;
    loop {
        let mut grown = false;
        for element in wired.elements.iter().filter(|element| !element.is_leakage()) {
            let (a, b) = wired.nets_of(element);
            if tied[a] != tied[b] {
                (tied[a], tied[b]) = (true, true);
                grown = true;
            }
        }
        if !grown {
            return tied;
        }
    }
}

/// The net that volts are measured to: neutral at the end of the cord, where a technician clips on; at the outlet if
/// the cord's neutral is at fault; or earth where the outlet's neutral leads nowhere.
fn reference(unit: &Unit, flows: &[ElementFlow], wired: &Wired) -> (NetId, &'static str) {
    let neutral_of = |part: usize| {
        let terminal = unit.find_terminal(&format!("{}.neutral", unit.parts()[part].name))?;
        Some(wired.net_at(terminal))
    };
    let joins = |flow: &ElementFlow, net: NetId| flow.nets.0 == net.0 || flow.nets.1 == net.0;
    let supply = Place::Part(unit.supply());
    let outlet =
        neutral_of(unit.supply()).filter(|&net| flows.iter().any(|flow| flow.place == supply && joins(flow, net)));
    let Some(outlet) = outlet else { return (NetId::REFERENCE, "earth") };
    let cord_ends = (0..unit.parts().len()).filter(|&part| unit.parts()[part].kind.feeds_unit()).filter_map(neutral_of);
    let end = cord_ends.into_iter().find(|&end| {
        let sound = |flow: &ElementFlow| joins(flow, outlet) && joins(flow, end) && flow.volts < SOUND_CORD_VOLTS;
        end != outlet && flows.iter().any(sound)
    });
    (end.unwrap_or(outlet), "neutral")
}

/// The two sides of the outlet in one: they meet at the supply's earthed star point, where no technician sees them.
fn join_supply(unit: &Unit, flows: Vec<ElementFlow>, solution: &Solution<'_>) -> Vec<ElementFlow> {
    let (sides, mut others): (Vec<_>, Vec<_>) =
        flows.into_iter().partition(|flow| flow.place == Place::Part(unit.supply()));
    let joined = match sides.as_slice() {
        [hot, neutral] if hot.nets.0 == NetId::REFERENCE.0 && neutral.nets.0 == NetId::REFERENCE.0 => {
            let nets = (neutral.nets.1, hot.nets.1);
            let volts = (solution.potential(NetId(nets.1)) - solution.potential(NetId(nets.0))).norm();
            vec![ElementFlow { label: "supply".into(), watts: hot.watts + neutral.watts, volts, nets, ..hot.clone() }]
        }
        _ => sides,
    };
    others.splice(0..0, joined);
    others
}
