//! What is written beside arrows and lines.

use super::panel::{Level, Panel, Standing};
use super::scale::{Flow, SAME_LEVEL, Scale};
use crate::fit::{shortened, wrapped};

/// Size of the small type.
pub(super) const SMALL: f64 = 11.0;
/// Distance of lines of small type.
pub(super) const PITCH: f64 = 13.5;
/// Distance of labels below each other.
pub(super) const BLOCK_GAP: f64 = 4.0;
/// Most lines of nets' names in one label.
const LABEL_LINES: usize = 4;
/// Width of a label beside an arrow.
pub(super) const LABEL_WIDTH: f64 = 82.0;

/// Current that is written as none, amperes: what three decimals show as zero.
const NO_AMPS: f64 = 0.0005;
/// Difference between drawn and true voltage above which the true one is written, as a share of either.
const WORTH_WRITING: f64 = 0.1;

/// Amperes: three figures at least from a tenth up.
pub(super) fn amps(value: f64) -> String {
    let decimals = match value {
        _ if value >= 100.0 => 0,
        _ if value >= 10.0 => 1,
        _ if value >= 0.0995 => 2,
        _ => 3,
    };
    format!("{value:.decimals$} A")
}

/// Watts, without sign.
pub(super) fn watts(value: f64) -> String {
    let size = value.abs();
    let decimals = match size {
        _ if size >= 99.5 => 0,
        _ if size >= 0.95 => 1,
        _ => 2,
    };
    format!("{size:.decimals$} W")
}

/// Volts to one decimal.
pub(super) fn volts(value: f64) -> String {
    format!("{value:.1} V")
}

/// The lines beside an arrow: what it is, its current, its power, and its voltage where the picture does not show it.
pub(super) fn beside(panel: &Panel, standing: &Standing, flow: Flow, scale: &Scale, ring: bool) -> Vec<String> {
    let mut lines = wrapped(&standing.element, SMALL, LABEL_WIDTH, 3);
    lines.extend(figures(panel, standing, flow, scale, ring).iter().map(|line| shortened(line, SMALL, LABEL_WIDTH)));
    lines
}

fn figures(panel: &Panel, standing: &Standing, flow: Flow, scale: &Scale, ring: bool) -> Vec<String> {
    if flow == Flow::Pale {
        return vec![if standing.amps < NO_AMPS { "no current".into() } else { amps(standing.amps) }];
    }
    let power = match flow {
        _ if ring => "closed ring".into(),
        Flow::Gives => format!("gives {}", watts(standing.watts)),
        Flow::Takes => format!("takes {}", watts(standing.watts)),
        Flow::Swings | Flow::Pale => "no net power".into(),
    };
    let mut lines = vec![amps(standing.amps), power];
    let drawn = (panel.levels[standing.from_level].volts - panel.levels[standing.to_level].volts).abs();
    let off = (standing.volts - drawn).abs();
    if off > WORTH_WRITING * standing.volts && off > SAME_LEVEL * scale.volts {
        lines.push(format!("{:.0} V across", standing.volts));
    }
    lines
}

/// The same in a sentence, for those who point at the arrow.
pub(super) fn sentence(panel: &Panel, standing: &Standing) -> String {
    let does = if standing.watts < 0.0 { "delivers" } else { "takes" };
    let name = |index: usize| panel.levels.get(index).map_or("", |level| level.name.as_str());
    format!(
        "{} {}, {}, {} across, between {} and {}",
        subject(standing),
        format_args!("{does} {}", watts(standing.watts)),
        amps(standing.amps),
        volts(standing.volts),
        name(standing.from_level),
        name(standing.to_level)
    )
}

/// Part and element: "M1 section high-medium"; one that is its part's namesake is named once.
pub(super) fn subject(standing: &Standing) -> String {
    if standing.part == standing.element {
        standing.part.clone()
    } else {
        format!("{} {}", standing.part, standing.element)
    }
}

/// The label of a line: its nets, each name once, and the volts of the first; the outlet's side of the cord is
/// understood.
pub(super) fn line_label(panel: &Panel, levels: &[usize], width: f64) -> Vec<String> {
    let all: Vec<&str> = levels.iter().map(|&level| panel.levels[level].name.as_str()).collect();
    let mut names: Vec<&str> = Vec::new();
    for name in &all {
        let beyond_cord = name.strip_suffix(" at the outlet");
        let understood = beyond_cord.is_some_and(|role| all.contains(&role) || role == "earth" && all.len() > 1);
        if !understood && !names.contains(name) {
            names.push(name);
        }
    }
    // What everyone knows goes first.
    let is_live = |name: &str| name == "hot" || name.starts_with("leg-") || name.starts_with("line-");
    names.sort_by_key(|name| match *name {
        name if is_live(name) => 0,
        "neutral" => 1,
        "frame" => 2,
        _ => 3,
    });
    let first = levels.iter().find(|&&level| Some(&panel.levels[level].name.as_str()) == names.first());
    let mut lines = wrapped(&names.join(", "), SMALL, width, LABEL_LINES);
    lines.push(volts(first.map_or(0.0, |&level| panel.levels[level].volts)));
    lines.into_iter().map(|line| shortened(&line, SMALL, width)).collect()
}

/// Every net of a line with its own volts and all its terminals.
pub(super) fn line_title(panel: &Panel, levels: &[usize]) -> String {
    let each = |level: &Level| format!("{}: {} ({})", level.name, volts(level.volts), level.full);
    levels.iter().map(|&level| each(&panel.levels[level])).collect::<Vec<_>>().join("; ")
}
