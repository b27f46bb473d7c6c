//! The drawing in sentences, for those who cannot see it.

use super::WiringView;
use super::caption::power;
use super::flows::is_power;
use super::strands::wire_words;
use super::words::sentence;
use bench::words;

/// Parts, wires, marks and, where shown, where power goes.
pub(super) fn describe(view: &WiringView<'_>, crossings: usize) -> String {
    let unit = view.unit;
    let mut sentences = Vec::new();
    if let Some(setup) = view.setup {
        sentences.push(format!("Setup {}: {}.", setup.name, words::setup_words(unit, setup)));
    }
    let parts: Vec<String> = unit.parts().iter().map(|part| format!("{} ({})", part.name, part.kind.name())).collect();
    sentences.push(format!("Parts: {}.", parts.join(", ")));
    for (index, wire) in unit.wires().iter().enumerate() {
        let amps = match view.flows.as_ref().and_then(|flows| flows.wires.get(index)) {
            Some(Some(flow)) => format!(", {} A", words::number(flow.amps)),
            Some(None) => ", broken".into(),
            None => String::new(),
        };
        sentences.push(format!("{}{amps}.", sentence(&wire_words(unit, wire))));
    }
    if let Some(setup) = view.setup {
        let jumpers = setup.jumpers.iter();
        sentences.extend(
            jumpers.map(|&(a, b)| format!("Jumper from {} to {}.", unit.terminal_name(a), unit.terminal_name(b))),
        );
    }
    for mark in view.suspects {
        sentences.push(format!("{}: {}.", sentence(unit.place_name(mark.place)), mark.words));
    }
    if let Some(flows) = &view.flows {
        if let Some(cut_off) = flows.cut_off {
            sentences.push(words::sentence(&format!("{cut_off}; the unit is dead")));
        }
        for flow in flows.elements.iter().filter(|flow| is_power(flow.watts)) {
            let name = &unit.parts()[flow.part].name;
            sentences.push(format!("{name} {} {} at {} A.", flow.label, power(flow.watts), words::number(flow.amps)));
        }
        for &(part, ends) in &flows.open {
            let [a, b] = ends.map(|end| unit.terminal_name(end));
            sentences.push(format!("{} is open between {a} and {b}.", unit.parts()[part].name));
        }
        for &lead in &flows.open_leads {
            sentences.push(format!("The lead of {} is open inside the part.", unit.terminal_name(lead)));
        }
        for past in &flows.past_rating {
            let name = &unit.parts()[past.part].name;
            sentences.push(format!("{name} carries {} times its {}.", words::number(past.times), past.rating));
        }
    }
    sentences.push(match crossings {
        0 => "No wires cross.".into(),
        1 => "Two wires cross in one place, without touching.".into(),
        _ => format!("Wires cross in {crossings} places, without touching."),
    });
    sentences.join(" ")
}
