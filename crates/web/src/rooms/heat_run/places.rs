//! What can be logged in a heat run, and how the fields of the form call it.

use crate::manner::Manner;
use crate::trouble::Trouble;
use bench::heat::{Log, Logged, all_quantities};
use bench::job::edit::LogPlace;
use bench::{Measure, Unit};
use proof::heat_run::import::guard::POSSIBLE;

/// What a field of the form is called ahead of its place.
pub const FIELD: &str = "value:";
/// Figures above this are slips, amps or watts.
const MOST: f64 = 1e5;

/// Something that can be logged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// In a job text.
    pub log: LogPlace,
    /// Whether it has been logged in this run already, or is what one would log first.
    pub is_usual: bool,
}

/// Everything that can be logged: what has been first.
pub fn places(unit: &Unit, log: Option<&Log>) -> Vec<Place> {
    let logged = |of: &Logged| log.is_some_and(|log| log.channels.iter().any(|channel| channel.logged == *of));
    let begun = log.map_or_else(Vec::new, |log| log.channels.iter().map(|channel| channel.logged).collect());
    let others = all_quantities(unit).into_iter().filter(|of| !logged(of));
    let is_wound = |of: &Logged| match *of {
        // Of two windings the main one: a second one is seldom reached by a probe.
        Logged::Celsius(part, body) => {
            unit.winding_of(part) == Some(body) || unit.heat_of(part).bodies[body].name == "core"
        }
        Logged::Electric(_) | Logged::Air(_) => false,
    };
    let of = |of: &Logged, is_usual| of_logged(unit, *of).map(|log| Place { log, is_usual });
    let has_begun = !begun.is_empty();
    let begun: Vec<Place> = begun.iter().filter_map(|place| of(place, true)).collect();
    let has_room = log.is_some_and(|log| log.room.is_some());
    let room = [Place { log: LogPlace::Room, is_usual: has_room || !has_begun }];
    begun.into_iter().chain(others.filter_map(|place| of(&place, !has_begun && is_wound(&place)))).chain(room).collect()
}

/// What a job has logged, as an edit names it; nothing for volts and speeds, which tell nothing of heat.
pub fn of_logged(unit: &Unit, logged: Logged) -> Option<LogPlace> {
    Some(match logged {
        Logged::Celsius(..) | Logged::Air(_) => LogPlace::Celsius(logged.celsius_place(unit)?),
        Logged::Electric(Measure::AmpsAtTerminal(terminal)) => LogPlace::Amps(unit.terminal_name(terminal)),
        Logged::Electric(Measure::AmpsInWire(wire)) => LogPlace::Amps(unit.wires()[wire].name.clone()),
        Logged::Electric(Measure::Watts(part)) => LogPlace::Watts(unit.parts()[part].name.clone()),
        Logged::Electric(_) => return None,
    })
}

/// The name of its field.
pub fn field(place: &LogPlace) -> String {
    match place {
        LogPlace::Celsius(body) => format!("{FIELD}celsius:{body}"),
        LogPlace::Room => format!("{FIELD}room:"),
        LogPlace::Amps(conductor) => format!("{FIELD}amps:{conductor}"),
        LogPlace::Watts(part) => format!("{FIELD}watts:{part}"),
    }
}

/// The place of a field, without the prefix of its name.
pub fn of_field(name: &str) -> Option<LogPlace> {
    let (quantity, place) = name.split_once(':')?;
    Some(match quantity {
        "celsius" => LogPlace::Celsius(place.into()),
        "room" => LogPlace::Room,
        "amps" => LogPlace::Amps(place.into()),
        "watts" => LogPlace::Watts(place.into()),
        _ => return None,
    })
}

/// What it is called on the page.
pub fn label(place: &LogPlace) -> String {
    match place {
        LogPlace::Celsius(body) => body.clone(),
        LogPlace::Room => "Air of the room".into(),
        LogPlace::Amps(conductor) => format!("Amps through {conductor}"),
        LogPlace::Watts(part) => format!("Watts of {part}"),
    }
}

/// A value as this visitor writes it, with its unit.
pub fn value_words(place: &LogPlace, value: f64, manner: Manner) -> String {
    match place {
        LogPlace::Celsius(_) | LogPlace::Room => manner.temperature(value),
        LogPlace::Amps(_) => manner.write(&format!("{value} A")),
        LogPlace::Watts(_) => manner.write(&format!("{value} W")),
    }
}

/// A figure as typed: with a point or a comma, nothing else.
pub fn figure(typed: &str) -> Option<f64> {
    typed.replacen(',', ".", 1).parse::<f64>().ok().filter(|value| value.is_finite())
}

/// A typed value in the unit of the job text.
///
/// # Errors
/// What is wrong with it; `row` says where.
pub fn value(place: &LogPlace, typed: &str, row: &str, manner: Manner) -> Result<f64, Trouble> {
    let refuse = |words: &str| Trouble::refused(format!("{row}: {}: '{typed}' {words}", label(place)));
    let figure = figure(typed).ok_or_else(|| {
        refuse("is no number.").mend("Write figures alone, such as 64.2. Leave a field empty where nothing was read.")
    })?;
    match place {
        LogPlace::Celsius(_) | LogPlace::Room => {
            let celsius = (manner.celsius(figure) * 100.0).round() / 100.0;
            if !POSSIBLE.contains(&celsius) {
                return Err(refuse("is no temperature that a sensor on such a unit shows.")
                    .mend(format!("Temperatures are read in {} here; look at the point.", manner.degrees())));
            }
            Ok(celsius)
        }
        LogPlace::Amps(_) | LogPlace::Watts(_) if (0.0..=MOST).contains(&figure) => Ok(figure),
        _ => Err(refuse("cannot be.").mend("Write amps and watts from zero up, without a sign.")),
    }
}
