//! A case as a job file with everything that was noted, for those who want to see what the engine makes of it.

use bench::{Job, Measure, Setup, Unit, Value};
use std::fmt::Write;

/// The text of a drawn unit with the setups, readings and symptoms of a job; `note` comes first as a remark.
pub fn job_text(drawn: &str, job: &Job, note: &str) -> String {
    let unit = &job.unit;
    let mut text = String::new();
    note.lines().for_each(|line| {
        let _ = writeln!(text, "# {line}");
    });
    text += "\nreadings = [\n";
    for reading in &job.readings {
        let place = match reading.measure {
            Measure::Ohms(a, b) => format!("ohms = {}, {}", value(reading.value), between(unit, a, b)),
            Measure::Microfarads(a, b) => {
                let shown = match reading.value {
                    Value::Open => "\"OL\"".into(),
                    number => value(number),
                };
                format!("microfarads = {shown}, {}", between(unit, a, b))
            }
            Measure::Volts(a, b) => format!("volts = {}, {}", value(reading.value), between(unit, a, b)),
            Measure::AmpsAtTerminal(terminal) => {
                format!("amps = {}, through = \"{}\"", value(reading.value), unit.terminal_name(terminal))
            }
            Measure::AmpsInWire(wire) => {
                format!("amps = {}, through = \"{}\"", value(reading.value), unit.wires()[wire].name)
            }
            Measure::Watts(part) => format!("watts = {}, of = \"{}\"", value(reading.value), unit.parts()[part].name),
            Measure::Rpm(part) => format!("rpm = {}, of = \"{}\"", value(reading.value), unit.parts()[part].name),
            Measure::TouchMilliamps(terminal) => {
                format!("touch_milliamps = {}, at = \"{}\"", value(reading.value), unit.terminal_name(terminal))
            }
            Measure::LeakageMilliamps(part) => {
                format!("leakage_milliamps = {}, of = \"{}\"", value(reading.value), unit.parts()[part].name)
            }
            // The technician takes none: `can_be_noted`.
            Measure::RunDown(_) | Measure::Bars(..) => continue,
        };
        let _ = writeln!(text, "  {{ setup = \"{}\", {place} }},", job.setups[reading.setup].name);
    }
    text += "]\n\nsymptoms = [\n";
    for symptom in &job.symptoms {
        let (setup, part) = (&job.setups[symptom.setup].name, &unit.parts()[symptom.part].name);
        let _ = writeln!(text, "  {{ setup = \"{setup}\", part = \"{part}\", word = \"{}\" }},", symptom.word.as_str());
    }
    text += "]\n\n";
    text += drawn;
    for setup in job
        .setups
        .iter()
        .filter(|setup| !drawn.contains(&format!("[setups.\"{}\"]", setup.name)) && setup.name != "unplugged")
    {
        text += &setup_text(unit, setup);
    }
    text
}

fn value(value: Value) -> String {
    match value {
        Value::Number(number) => number.to_string(),
        Value::Open => "\"open\"".into(),
    }
}

fn between(unit: &Unit, a: bench::TerminalId, b: bench::TerminalId) -> String {
    format!("between = [\"{}\", \"{}\"]", unit.terminal_name(a), unit.terminal_name(b))
}

fn setup_text(unit: &Unit, setup: &Setup) -> String {
    let parts = |list: &[usize]| {
        list.iter().map(|&part| format!("\"{}\"", unit.parts()[part].name)).collect::<Vec<_>>().join(", ")
    };
    let positions: Vec<String> = setup
        .positions
        .iter()
        .map(|(&part, position)| format!("{} = \"{position}\"", unit.parts()[part].name))
        .collect();
    let lifted: Vec<String> =
        setup.lifted.iter().map(|&terminal| format!("\"{}\"", unit.terminal_name(terminal))).collect();
    let jumpers: Vec<String> = setup
        .jumpers
        .iter()
        .map(|&(a, b)| format!("[\"{}\", \"{}\"]", unit.terminal_name(a), unit.terminal_name(b)))
        .collect();
    format!(
        "\n[setups.\"{}\"]\nsupply = \"{}\"\npositions = {{ {} }}\nlifted = [{}]\njumpers = [{}]\nheld = [{}]\npushed = [{}]\nwinding_celsius = {}\n",
        setup.name,
        if setup.energised { "on" } else { "off" },
        positions.join(", "),
        lifted.join(", "),
        jumpers.join(", "),
        parts(&setup.held),
        parts(&setup.pushed),
        setup.winding_celsius
    )
}
