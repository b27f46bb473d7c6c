//! Which column each element stands in: the same in all panels, so that the eye can compare them.
//!
//! Elements of a part that never overlap share a column, as the sections of a tapped winding do; those that join the
//! same nets stand beside each other in one.

use super::scale::Flow;
use super::{panel::Standing, words};

/// Most elements beside each other in one column.
const BESIDE: usize = 2;

/// An element in its panel, with the lines that it joins.
#[derive(Debug, Clone)]
pub(super) struct Stand<'p> {
    pub(super) standing: &'p Standing,
    pub(super) flow: Flow,
    pub(super) width: f64,
    /// Lower line.
    pub(super) low: usize,
    /// Upper line; the same for one that is closed on itself.
    pub(super) high: usize,
    pub(super) label: Vec<String>,
    pub(super) column: usize,
}

impl Stand<'_> {
    /// The interval it takes, in half lines: one closed on itself stands half a line high.
    fn span(&self) -> (usize, usize) {
        (2 * self.low, if self.low == self.high { 2 * self.low + 1 } else { 2 * self.high })
    }

    /// Whether it stands at the same place as another of its panel.
    pub(super) fn beside(&self, other: &Stand<'_>) -> bool {
        self.column == other.column && self.span() == other.span()
    }

    /// Height of its label.
    pub(super) fn label_height(&self) -> f64 {
        self.label.len() as f64 * words::PITCH + words::BLOCK_GAP
    }
}

/// An element by name, and its interval in each panel.
struct Key {
    part: String,
    element: String,
    occurrence: usize,
    spans: Vec<Option<(usize, usize)>>,
}

/// Assigns columns; returns the part of each, in order from the left.
pub(super) fn assign(panels: &mut [Vec<Stand<'_>>]) -> Vec<String> {
    let keys = keys(panels);
    let mut columns: Vec<(String, Vec<usize>)> = Vec::new();
    let mut column_of = vec![0; keys.len()];
    for part in part_order(panels, &keys) {
        let first = columns.len();
        for (index, key) in keys.iter().enumerate().filter(|(_, key)| key.part == part) {
            let fits = |(_, members): &(String, Vec<usize>)| fits(key, members, &keys);
            let column = columns[first..].iter().position(fits).map_or(columns.len(), |found| first + found);
            if column == columns.len() {
                columns.push((part.clone(), Vec::new()));
            }
            columns[column].1.push(index);
            column_of[index] = column;
        }
    }
    for panel in panels.iter_mut() {
        for position in 0..panel.len() {
            let found = find(&keys, panel, position);
            panel[position].column = found.map_or(0, |index| column_of[index]);
        }
    }
    columns.into_iter().map(|(part, _)| part).collect()
}

fn keys(panels: &[Vec<Stand<'_>>]) -> Vec<Key> {
    let mut keys: Vec<Key> = Vec::new();
    for (number, panel) in panels.iter().enumerate() {
        for (position, stand) in panel.iter().enumerate() {
            let index = find(&keys, panel, position).unwrap_or_else(|| {
                let Standing { part, element, .. } = stand.standing;
                let (part, element) = (part.clone(), element.clone());
                keys.push(Key {
                    part,
                    element,
                    occurrence: occurrence(panel, position),
                    spans: vec![None; panels.len()],
                });
                keys.len() - 1
            });
            keys[index].spans[number] = Some(stand.span());
        }
    }
    keys
}

/// How many elements of the same name come before this one: the halves of a winding share theirs.
fn occurrence(panel: &[Stand<'_>], position: usize) -> usize {
    let name = |stand: &Stand<'_>| (stand.standing.part.clone(), stand.standing.element.clone());
    panel[..position].iter().filter(|other| name(other) == name(&panel[position])).count()
}

fn find(keys: &[Key], panel: &[Stand<'_>], position: usize) -> Option<usize> {
    let (standing, occurrence) = (panel[position].standing, occurrence(panel, position));
    let same = |key: &Key| key.part == standing.part && key.element == standing.element && key.occurrence == occurrence;
    keys.iter().position(same)
}

fn fits(key: &Key, members: &[usize], keys: &[Key]) -> bool {
    (0..key.spans.len()).all(|panel| {
        let Some((low, high)) = key.spans[panel] else { return true };
        let spans: Vec<_> = members.iter().filter_map(|&member| keys[member].spans[panel]).collect();
        let beside = spans.iter().filter(|&&span| span == (low, high)).count();
        let clear = spans.iter().all(|&span| span == (low, high) || span.1 <= low || high <= span.0);
        clear && beside < BESIDE
    })
}

/// Parts as they come, each followed by single elements that hang on a net of its own, as a capacitor on its motor.
fn part_order(panels: &[Vec<Stand<'_>>], keys: &[Key]) -> Vec<String> {
    let mut parts: Vec<&str> = Vec::new();
    for key in keys {
        if !parts.contains(&key.part.as_str()) {
            parts.push(&key.part);
        }
    }
    let mut order: Vec<String> = Vec::new();
    while let Some(part) = (!parts.is_empty()).then(|| parts.remove(0)) {
        order.push(part.to_owned());
        let (companions, others) = parts.into_iter().partition(|other| {
            let single = keys.iter().filter(|key| key.part == **other).count() == 1;
            single && hangs_on(other, part, panels)
        });
        parts = others;
        order.extend(companions.into_iter().map(str::to_owned));
    }
    order
}

/// Whether the two parts share a net that no third part is on.
fn hangs_on(other: &str, part: &str, panels: &[Vec<Stand<'_>>]) -> bool {
    panels.iter().any(|panel| {
        let nets_of = |name: &str| {
            let own = panel.iter().filter(|stand| stand.standing.part == name).map(|stand| stand.standing);
            own.flat_map(|standing| [standing.from_level, standing.to_level]).collect::<Vec<usize>>()
        };
        let touched_by_third = |net: usize| {
            panel.iter().map(|stand| stand.standing).any(|standing| {
                let third = standing.part != part && standing.part != other;
                third && (standing.from_level == net || standing.to_level == net)
            })
        };
        let own = nets_of(part);
        nets_of(other).iter().any(|&net| own.contains(&net) && !touched_by_third(net))
    })
}
