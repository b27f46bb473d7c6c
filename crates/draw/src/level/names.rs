//! Names of nets: the shortest good one, and all their terminals.

use bench::observe::ElementFlow;
use bench::wiring::Wired;
use bench::{Place, TerminalId, Unit};

/// Terminals named in a short name before the rest is counted.
const NAMED: usize = 2;

/// Every net that a terminal or an element is on: its number, its short name and its full one.
pub(super) fn of_nets(unit: &Unit, wired: &Wired, flows: &[ElementFlow]) -> Vec<(usize, String, String)> {
    let mut terminals: Vec<Vec<TerminalId>> = vec![Vec::new(); wired.assembly.network.net_count()];
    for terminal in (0..unit.terminal_count()).map(TerminalId) {
        terminals[wired.net_at(terminal).0].push(terminal);
    }
    terminals
        .iter()
        .enumerate()
        .filter_map(|(net, terminals)| {
            let here: Vec<&ElementFlow> =
                flows.iter().filter(|flow| flow.nets.0 == net || flow.nets.1 == net).collect();
            if terminals.is_empty() {
                return inside(unit, &here).map(|(name, full)| (net, name, full));
            }
            let full = terminals.iter().map(|&terminal| unit.terminal_name(terminal)).collect::<Vec<_>>().join(", ");
            Some((net, short(unit, terminals, &here), full))
        })
        .collect()
}

fn short(unit: &Unit, terminals: &[TerminalId], here: &[&ElementFlow]) -> String {
    feed(unit, terminals, here).unwrap_or_else(|| {
        let loaded = |terminal: &&TerminalId| {
            let place = Place::Part(unit.part_of(**terminal));
            here.iter().any(|flow| flow.place == place)
        };
        let mut chosen: Vec<&TerminalId> = terminals.iter().filter(loaded).collect();
        if chosen.is_empty() {
            chosen = terminals.iter().collect();
        }
        let named: Vec<String> = chosen.iter().take(NAMED).map(|&&terminal| unit.terminal_name(terminal)).collect();
        let rest = match chosen.len() - named.len() {
            0 => String::new(),
            more => format!(" + {more} more"),
        };
        named.join(" + ") + &rest
    })
}

/// "hot" (or the live conductor's name), "neutral" or "frame" for the nets that everyone knows by that name.
fn feed(unit: &Unit, terminals: &[TerminalId], here: &[&ElementFlow]) -> Option<String> {
    let role = |terminal: &TerminalId| {
        let name = unit.terminal_name(*terminal);
        name.rsplit('.').next().unwrap_or_default().trim_start_matches("plug-").to_owned()
    };
    let feeds = |terminal: &&TerminalId| unit.parts()[unit.part_of(**terminal)].kind.feeds_unit();
    let at_outlet = terminals.iter().any(|&terminal| unit.part_of(terminal) == unit.supply());
    let fed = here.iter().any(|flow| matches!(flow.place, Place::Part(part) if unit.parts()[part].kind.feeds_unit()));
    let only_feed = terminals.iter().all(|terminal| feeds(&terminal));
    let roles: Vec<String> = terminals.iter().filter(feeds).map(role).collect();
    let mut known: Vec<String> = unit.live_terminals().map(|live| role(&live)).collect();
    known.push("neutral".into());
    match known.into_iter().find(|wanted| roles.contains(wanted)) {
        Some(role) if at_outlet && only_feed => Some(format!("{role} at the outlet")),
        Some(role) if !fed => Some(format!("{role} after the break")),
        Some(role) => Some(role),
        None if terminals.contains(&unit.frame()) => Some("frame".into()),
        None if roles.is_empty() => None,
        None => Some("earth at the outlet".into()),
    }
}

/// A net within parts, such as the inner end of a winding whose lead is open.
fn inside(unit: &Unit, here: &[&ElementFlow]) -> Option<(String, String)> {
    let mut places: Vec<&str> = here.iter().map(|flow| unit.place_name(flow.place)).collect();
    places.dedup();
    let first = places.first()?;
    let labels: Vec<&str> = here.iter().map(|flow| flow.label.as_str()).collect();
    Some((format!("inside {first}"), format!("inside {first}, at its {}", labels.join(", "))))
}
