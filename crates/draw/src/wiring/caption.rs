//! The lines of text above and below each symbol.

use super::WiringView;
use super::flows::{CORE_LOSS, Flows, PartFlow, is_power};
use super::form::{Form, terminal_name};
use super::plan::{Body, Conductor};
use super::scale::Scale;
use super::size::{Caption, Line};
use super::words::{HARD_SPACE, shorten, wrap};
use bench::{Place, TerminalId};

/// Letters in a line of small text, and in a name.
const LINE: usize = 26;
const NAME: usize = 18;

fn small(text: String, class: &'static str) -> Line {
    Line { text, class, size: 10.5 }
}

/// Texts of a body.
pub(super) fn caption(view: &WiringView<'_>, body: &Body, scale: Scale) -> Caption {
    let part = &view.unit.parts()[body.part];
    let conductor = body.terminals().next().filter(|_| body.conductor.is_some()).map(|terminal| {
        let name = terminal_name(view.unit, terminal);
        format!(" {}", name.strip_prefix("plug-").unwrap_or(&name))
    });
    let name = format!("{}{}", shorten(&part.name, NAME), conductor.unwrap_or_default());
    let mut head = vec![Line { text: name, class: "strong", size: 13.0 }];
    // Neutral, earth and further live conductors of supply and cord say no more than their names.
    let is_chief = matches!(body.conductor, None | Some(Conductor::Hot(0)));
    if is_chief && !matches!(body.form, Form::Splice | Form::Frame) && part.kind.name() != "cord" {
        let lines = wrap(&part.kind.describe(), LINE, 3);
        head.extend(lines.into_iter().map(|line| small(line, "faint")));
    }
    if is_chief {
        let strong = |text: &str| wrap(text, LINE, 2).into_iter().map(|line| small(line, "strong")).collect::<Vec<_>>();
        for words in state_words(view, body) {
            head.extend(strong(&words));
        }
        for mark in view.suspects.iter().filter(|mark| mark.place == Place::Part(body.part)) {
            head.extend(wrap(&mark.words, LINE, 2).into_iter().map(|line| small(line, "tag")));
        }
    }
    let has_foot = matches!(body.conductor, None | Some(Conductor::Hot(_)));
    let foot = view.flows.as_ref().filter(|_| has_foot).map_or_else(Vec::new, |flows| flow_lines(flows, body, scale));
    Caption { head, foot }
}

/// What the setup does to a part: position, held or pushed, wires off.
pub(super) fn state_words(view: &WiringView<'_>, body: &Body) -> Vec<String> {
    let Some(setup) = view.setup else { return Vec::new() };
    let mut lines = Vec::new();
    let kind = &view.unit.parts()[body.part].kind;
    if let Some(position) = setup.positions.get(&body.part).cloned().or_else(|| kind.ordinary_position()) {
        // "closed" and "open" say it themselves.
        let is_plain = matches!(position.as_str(), "open" | "closed");
        lines.push(if is_plain { position } else { format!("at {}", shorten(&position, NAME)) });
    }
    if setup.held.contains(&body.part) {
        lines.push("held".into());
    }
    if setup.pushed.contains(&body.part) {
        lines.push("pushed by hand".into());
    }
    let own: Vec<TerminalId> = view.unit.terminals_of(body.part).map(TerminalId).collect();
    let off: Vec<String> = own
        .iter()
        .filter(|terminal| setup.lifted.contains(terminal))
        .map(|&terminal| shorten(&terminal_name(view.unit, terminal), NAME))
        .collect();
    if !off.is_empty() {
        let all = off.len() == own.len() && own.len() > 1;
        lines.push(if all { "all wires off".into() } else { format!("wires off {}", off.join(", ")) });
    }
    lines
}

fn flow_lines(flows: &Flows, body: &Body, scale: Scale) -> Vec<Line> {
    let elements: Vec<&PartFlow> = flows.elements.iter().filter(|flow| flow.part == body.part).collect();
    let through = body.terminals().map(|terminal| flows.terminals[terminal.0]).fold(0.0, f64::max);
    let mut lines = Vec::new();
    let total = flows.watts.get(body.part).copied().unwrap_or(0.0);
    if scale.is_idle(through) {
        if !matches!(body.form, Form::Feed | Form::Frame | Form::Splice) {
            lines.push(small("no current".into(), "faint"));
        }
    } else {
        let amps = format!("{} A", figure(through));
        match (body.conductor, is_power(total)) {
            (Some(Conductor::Hot(0)), _) => {
                lines.push(small(format!("{amps}, gives {} W", figure(total.abs())), "plain"))
            }
            (Some(_), _) => lines.push(small(amps, "plain")),
            (None, true) => lines.push(small(format!("{amps}, {}", power(total)), "plain")),
            (None, false) => lines.push(small(amps, "plain")),
        }
        let telling =
            elements.iter().filter(|flow| flow.ends.is_some() && is_power(flow.watts) && flow.label != CORE_LOSS);
        let telling: Vec<_> = telling.collect();
        for flow in telling.iter().filter(|_| telling.len() > 1 && body.conductor.is_none()) {
            let text =
                format!("{}: {} A, {}", flow.label.trim_end_matches(" winding"), figure(flow.amps), power(flow.watts));
            // No line ends between a number and its unit.
            let text = [" A", " W"].iter().fold(text, |text, unit| text.replace(unit, &unit.replace(' ', HARD_SPACE)));
            lines.extend(wrap(&text, LINE + 6, 2).into_iter().map(|line| small(line, "plain")));
        }
    }
    let is_chief = matches!(body.conductor, None | Some(Conductor::Hot(0)));
    for past in flows.past_rating.iter().filter(|past| is_chief && past.part == body.part) {
        let text = format!("{} times {}", figure(past.times), past.rating);
        lines.extend(wrap(&text, LINE, 2).into_iter().map(|line| small(line, "tag")));
    }
    lines
}

/// A number to three figures.
pub(super) fn figure(value: f64) -> String {
    let size = value.abs();
    let decimals = match size {
        _ if size >= 99.95 => 0,
        _ if size >= 9.995 => 1,
        _ if size >= 0.9995 => 2,
        _ => 3,
    };
    format!("{value:.decimals$}")
}

/// Power in words.
pub(super) fn power(watts: f64) -> String {
    let verb = if watts < 0.0 { "gives" } else { "takes" };
    format!("{verb} {} W", figure(watts.abs()))
}
