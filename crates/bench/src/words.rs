//! Numbers, places and measures in words.

use crate::bars::BarPair;
use crate::fault::{Fault, FaultSet, Place};
use crate::reading::{Measure, Value};
use crate::setup::Setup;
use crate::switching::PlacedContact;
use crate::unit::Unit;

/// A number to about four figures, never in scientific notation; thousands as k and M for ohms.
pub fn number(value: f64) -> String {
    let size = value.abs();
    let decimals = match size {
        _ if size >= 1000.0 => 0,
        _ if size >= 100.0 => 1,
        _ if size >= 1.0 => 2,
        _ => 3,
    };
    let text = format!("{value:.decimals$}");
    // Minus zero is zero.
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        text.trim_start_matches('-').into()
    } else {
        text
    }
}

/// A value of a measure with its unit; infinite ohms are open, an infinite capacitance is over range.
pub fn quantity(measure: Measure, value: f64) -> String {
    match measure {
        Measure::Ohms(..) | Measure::Bars(_, BarPair::Typical) => ohms(value),
        Measure::Bars(..) if !value.is_finite() => "open".into(),
        _ if !value.is_finite() => over_range(measure).into(),
        _ => format!("{} {}", number(value), measure.unit()),
    }
}

/// Ohms in words.
pub fn ohms(value: f64) -> String {
    match value {
        _ if !value.is_finite() => "open".into(),
        _ if value >= 1e6 => format!("{} Mohm", number(value / 1e6)),
        _ if value >= 1e4 => format!("{} kohm", number(value / 1e3)),
        _ => format!("{} ohm", number(value)),
    }
}

/// What a measure that is over range is called.
pub fn over_range(measure: Measure) -> &'static str {
    if let Measure::Microfarads(..) = measure { "over range" } else { "open" }
}

/// What a meter showed.
pub fn shown(measure: Measure, value: Value) -> String {
    match value {
        Value::Open => over_range(measure).into(),
        Value::Number(number) => as_read(measure, number),
    }
}

/// A figure as the meter showed it: no digits that were not there.
fn as_read(measure: Measure, value: f64) -> String {
    if let Measure::Bars(..) = measure {
        // A median or a ratio, not a figure that stood on the display.
        return quantity(measure, value);
    }
    let (value, unit) = match (measure, value) {
        (Measure::Ohms(..), ohms) if ohms >= 1e6 => (ohms / 1e6, "Mohm"),
        (Measure::Ohms(..), ohms) if ohms >= 1e4 => (ohms / 1e3, "kohm"),
        _ => (value, measure.unit()),
    };
    // Nine decimals take away what binary fractions add, and no meter shows that many.
    let text = format!("{value:.9}");
    format!("{} {unit}", text.trim_end_matches('0').trim_end_matches('.'))
}

/// A moment of a run in minutes and seconds: `7:30 min`.
pub fn minutes(seconds: f64) -> String {
    let whole = seconds.round() as i64;
    format!("{}:{:02} min", whole / 60, whole % 60)
}

/// How many minutes something takes, without digits that nobody means: `40`, `4.7`.
pub fn whole_minutes(minutes: f64) -> String {
    let text = if minutes.abs() < 19.95 { format!("{minutes:.1}") } else { format!("{minutes:.0}") };
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// About how long: `12 s`, `4 min`, `3 h`.
pub fn duration(seconds: f64) -> String {
    match seconds {
        _ if seconds < 1.0 => "less than 1 s".into(),
        _ if seconds < 100.0 => format!("{seconds:.0} s"),
        _ if seconds < 6000.0 => format!("{:.0} min", seconds / 60.0),
        _ => format!("{:.0} h", seconds / 3600.0),
    }
}

/// Where a measure is taken: "M1.common to M1.high", "through cord.hot".
pub fn place(unit: &Unit, measure: Measure) -> String {
    match measure {
        Measure::Ohms(a, b) | Measure::Volts(a, b) | Measure::Microfarads(a, b) => {
            format!("{} to {}", unit.terminal_name(a), unit.terminal_name(b))
        }
        Measure::AmpsAtTerminal(terminal) => format!("through {}", unit.terminal_name(terminal)),
        Measure::AmpsInWire(wire) => format!("through {}", unit.wires()[wire].name),
        Measure::Watts(part) | Measure::Rpm(part) | Measure::RunDown(part) | Measure::LeakageMilliamps(part) => {
            format!("of {}", unit.parts()[part].name)
        }
        Measure::TouchMilliamps(terminal) => format!("at {}", unit.terminal_name(terminal)),
        Measure::Bars(part, pair) => {
            let which = match pair {
                BarPair::Typical => "most pairs",
                BarPair::Odd => "the pair that differs most, over the others",
                BarPair::Neighbour => "the pair beside it, over the others",
            };
            format!("{} bar to bar, {which}", unit.parts()[part].name)
        }
    }
}

/// What a contact does that the unit itself has called on to move, with faults put in: `the centrifugal switch has opened`.
pub fn moved_contact(unit: &Unit, placed: &PlacedContact, faults: &FaultSet) -> String {
    let (part, contact) = placed.id;
    let is_in = |name: &str| {
        let of_part = |fault: &Fault| fault.place == Place::Part(part) && fault.mode.name == name;
        faults.0.iter().any(|&fault| of_part(&unit.faults()[fault]))
    };
    let hindered = unit.parts()[part].kind.hindered_words(contact, &is_in);
    hindered.unwrap_or_else(|| placed.contact.moved_words.to_owned())
}

/// What to say of linear iron that gets so many times its rated volts.
pub fn saturated(name: &str, times: f64) -> String {
    format!(
        "the iron of {name} gets {times:.1} times its rated volts and saturates; real amps are far higher than shown: do not \
         apply power"
    )
}

/// What has cut a unit off in a setup, in words; `None` if nothing has.
pub fn cut_off(breaker_opened: bool, residual_trip_opened: bool) -> Option<&'static str> {
    match (breaker_opened, residual_trip_opened) {
        (false, false) => None,
        (true, false) => Some("the breaker opens at once"),
        (false, true) => Some("the earth-leakage trip opens"),
        (true, true) => Some("the breaker and the earth-leakage trip open at once"),
    }
}

/// A sentence: the first letter large, a full stop at the end.
pub fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| format!("{}{}.", first.to_uppercase(), letters.as_str()))
}

/// A probability in per cent, honest at both ends.
pub fn percent(probability: f64) -> String {
    match probability {
        p if p >= 0.9995 => ">99.9 %".into(),
        p if p >= 0.995 => ">99 %".into(),
        p if p >= 0.1 => format!("{:.0} %", 100.0 * p),
        p if p >= 0.001 => format!("{:.1} %", 100.0 * p),
        _ => "<0.1 %".into(),
    }
}

/// A setup in words.
pub fn setup_words(unit: &Unit, setup: &Setup) -> String {
    let mut words = vec![if setup.energised { "LIVE, supply on".to_owned() } else { "unplugged".to_owned() }];
    let name = |part: usize| unit.parts()[part].name.clone();
    words.extend(setup.positions.iter().map(|(&part, position)| format!("{} at {position}", name(part))));
    if !setup.lifted.is_empty() {
        let lifted: Vec<String> = setup.lifted.iter().map(|&terminal| unit.terminal_name(terminal)).collect();
        words.push(format!("wires off {}", lifted.join(", ")));
    }
    words.extend(
        setup.jumpers.iter().map(|&(a, b)| format!("jumper {} to {}", unit.terminal_name(a), unit.terminal_name(b))),
    );
    words.extend(setup.held.iter().map(|&part| format!("{} held", name(part))));
    words.extend(setup.pushed.iter().map(|&part| format!("{} pushed", name(part))));
    words.push(format!("windings at {} C", setup.winding_celsius));
    words.join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_have_no_digits_that_nobody_means() {
        for (minutes, text) in
            [(40.0, "40"), (3.0, "3"), (4.7, "4.7"), (0.25, "0.2"), (19.97, "20"), (106.4, "106"), (0.0, "0")]
        {
            assert_eq!(whole_minutes(minutes), text);
        }
    }

    #[test]
    fn what_was_read_gains_no_digits() {
        let ohms = Measure::Ohms(crate::TerminalId(0), crate::TerminalId(1));
        let text = |measure, value| shown(measure, Value::Number(value));
        assert_eq!(text(ohms, 27.1), "27.1 ohm");
        assert_eq!(text(ohms, 0.1), "0.1 ohm");
        assert_eq!(text(ohms, 12_345.0), "12.345 kohm");
        assert_eq!(text(Measure::Watts(0), 229.0), "229 W");
        assert_eq!(text(Measure::Watts(0), 100.0), "100 W");
        assert_eq!(text(Measure::Watts(0), 0.0), "0 W");
    }

    #[test]
    fn numbers_read_like_a_meter() {
        assert_eq!(number(0.0), "0.000");
        assert_eq!(number(-0.0), "0.000");
        assert_eq!(number(27.1), "27.10");
        assert_eq!(number(229.86), "229.9");
        assert_eq!(number(1310.4), "1310");
        assert_eq!(ohms(f64::INFINITY), "open");
        assert_eq!(ohms(12_000.0), "12.00 kohm");
        assert_eq!(percent(0.998), ">99 %");
        assert_eq!(percent(0.99999), ">99.9 %");
    }
}
