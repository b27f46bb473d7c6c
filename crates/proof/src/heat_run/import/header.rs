//! What a column is, from its heading: name, quantity, unit.

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Time since something, or of day.
    Time,
    /// A day.
    Date,
    /// A temperature.
    Temperature,
    /// A current.
    Amps,
    /// A power.
    Watts,
    /// A resistance.
    Ohms,
}

/// A unit: the quantity, and what makes a number in it one in the unit used here (seconds, °C, A, W, ohm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// What it is a unit of.
    pub quantity: Quantity,
    /// Added first.
    pub offset: f64,
    /// Then multiplied.
    pub factor: f64,
}

impl Unit {
    const fn plain(quantity: Quantity, factor: f64) -> Self {
        Unit { quantity, offset: 0.0, factor }
    }

    /// A number in it, converted.
    pub fn convert(&self, number: f64) -> f64 {
        (number + self.offset) * self.factor
    }
}

/// Minutes, hours and so on.
pub const SECONDS: Unit = Unit::plain(Quantity::Time, 1.0);
/// A minute.
pub const MINUTES: Unit = Unit::plain(Quantity::Time, 60.0);
/// An hour.
pub const HOURS: Unit = Unit::plain(Quantity::Time, 3600.0);
/// Degrees Celsius.
pub const CELSIUS: Unit = Unit::plain(Quantity::Temperature, 1.0);
const FAHRENHEIT: Unit = Unit { quantity: Quantity::Temperature, offset: -32.0, factor: 1.0 / 1.8 };
const KELVIN: Unit = Unit { quantity: Quantity::Temperature, offset: -273.15, factor: 1.0 };

/// The unit of this name.
pub fn unit(text: &str) -> Option<Unit> {
    let lower = text.trim().trim_end_matches('.').to_lowercase().replace(['º', '˚'], "°");
    Some(match lower.as_str() {
        "ms" => Unit::plain(Quantity::Time, 1e-3),
        "s" | "sec" | "secs" | "second" | "seconds" | "sek" | "sekunden" => SECONDS,
        "min" | "mins" | "minute" | "minutes" | "minuten" | "mm:ss" => MINUTES,
        "h" | "hr" | "hrs" | "hour" | "hours" | "std" | "stunden" => HOURS,
        "°c" | "c" | "degc" | "deg c" | "celsius" | "grad" => CELSIUS,
        "°f" | "f" | "degf" | "deg f" | "fahrenheit" => FAHRENHEIT,
        "k" | "kelvin" => KELVIN,
        "a" | "amp" | "amps" | "ampere" | "amperes" => Unit::plain(Quantity::Amps, 1.0),
        "ma" => Unit::plain(Quantity::Amps, 1e-3),
        "w" | "watt" | "watts" => Unit::plain(Quantity::Watts, 1.0),
        "kw" => Unit::plain(Quantity::Watts, 1e3),
        "ohm" | "ohms" | "ω" => Unit::plain(Quantity::Ohms, 1.0),
        "mohm" | "mω" => Unit::plain(Quantity::Ohms, 1e-3),
        _ => return None,
    })
}

/// Words in headings that say what is in the column.
const WORDS: [(&str, Quantity); 36] = [
    ("date", Quantity::Date),
    ("datum", Quantity::Date),
    ("time", Quantity::Time),
    ("zeit", Quantity::Time),
    ("uhrzeit", Quantity::Time),
    ("elapsed", Quantity::Time),
    ("timestamp", Quantity::Time),
    ("zeitstempel", Quantity::Time),
    ("datetime", Quantity::Time),
    ("t", Quantity::Time),
    ("temp", Quantity::Temperature),
    ("temperature", Quantity::Temperature),
    ("temperatur", Quantity::Temperature),
    ("winding", Quantity::Temperature),
    ("coil", Quantity::Temperature),
    ("core", Quantity::Temperature),
    ("shell", Quantity::Temperature),
    ("case", Quantity::Temperature),
    ("frame", Quantity::Temperature),
    ("housing", Quantity::Temperature),
    ("bearing", Quantity::Temperature),
    ("heatsink", Quantity::Temperature),
    ("ambient", Quantity::Temperature),
    ("room", Quantity::Temperature),
    ("probe", Quantity::Temperature),
    ("thermocouple", Quantity::Temperature),
    ("wicklung", Quantity::Temperature),
    ("kern", Quantity::Temperature),
    ("gehäuse", Quantity::Temperature),
    ("lager", Quantity::Temperature),
    ("umgebung", Quantity::Temperature),
    ("raum", Quantity::Temperature),
    ("current", Quantity::Amps),
    ("strom", Quantity::Amps),
    ("power", Quantity::Watts),
    ("leistung", Quantity::Watts),
];

/// Words for the air of the room.
const ROOM_WORDS: [&str; 5] = ["ambient", "room", "umgebung", "raum", "lab"];

/// What a heading says.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// Its name, without the unit.
    pub name: String,
    /// What it holds, if that can be told.
    pub quantity: Option<Quantity>,
    /// Its unit, if it says one.
    pub unit: Option<Unit>,
    /// Whether it is the temperature of the room.
    pub is_room: bool,
}

/// Reads a heading such as `winding [°C]`, `core F`, `amps`, `t/min`, `Zeit (s)`.
pub fn heading(text: &str) -> Heading {
    let text = text.trim().trim_matches('\u{feff}').trim();
    let words = |text: &str| -> Vec<String> {
        text.to_lowercase().split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_owned).collect()
    };
    let quantity_of = |text: &str| {
        let words = words(text);
        let is_day_and_time = words.iter().any(|word| word == "date") && words.iter().any(|word| word == "time");
        let known = |word: &String| {
            let bare = word.trim_end_matches(|c: char| c.is_ascii_digit());
            WORDS.iter().find(|(known, _)| *known == bare).map(|&(_, quantity)| quantity)
        };
        if is_day_and_time { Some(Quantity::Time) } else { words.iter().find_map(known) }
    };
    let is_room = words(text).iter().any(|word| ROOM_WORDS.contains(&word.as_str()));
    let made = |name: &str, unit: Option<Unit>| {
        let quantity = unit.map(|unit| unit.quantity).or_else(|| quantity_of(name));
        let name = if name.is_empty() { text } else { name }.to_owned();
        Heading { name, quantity, unit, is_room: is_room && quantity == Some(Quantity::Temperature) }
    };
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let (Some(from), Some(to)) = (text.rfind(open), text.rfind(close))
            && from < to
            && let Some(found) = unit(&text[from + open.len_utf8()..to])
        {
            return made(text[..from].trim(), Some(found));
        }
    }
    if let Some(found) = unit(text) {
        return made(text, Some(found));
    }
    for sign in ['/', ' ', ',', '_'] {
        if let Some((name, last)) = text.rsplit_once(sign)
            && let Some(found) = unit(last)
            // `winding A` is a winding, not a current.
            && quantity_of(name).is_none_or(|quantity| quantity == found.quantity)
        {
            return made(name.trim(), Some(found));
        }
    }
    made(text, None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_as_they_are_written() {
        let of = |text: &str| {
            let heading = heading(text);
            (heading.name, heading.quantity, heading.unit.map(|unit| unit.convert(100.0)))
        };
        assert_eq!(of("winding [°C]"), ("winding".into(), Some(Quantity::Temperature), Some(100.0)));
        let (name, quantity, converted) = of("core F");
        assert_eq!((name.as_str(), quantity), ("core", Some(Quantity::Temperature)));
        assert!((converted.unwrap() - 37.777_777_8).abs() < 1e-6);
        assert_eq!(of("amps"), ("amps".into(), Some(Quantity::Amps), Some(100.0)));
        assert_eq!(of("t/min"), ("t".into(), Some(Quantity::Time), Some(6000.0)));
        assert_eq!(of("Zeit"), ("Zeit".into(), Some(Quantity::Time), None));
        assert_eq!(of("Current (mA)"), ("Current".into(), Some(Quantity::Amps), Some(0.1)));
        assert_eq!(of("winding A"), ("winding A".into(), Some(Quantity::Temperature), None));
        assert_eq!(of("Date/Time").1, Some(Quantity::Time));
        assert_eq!(of("humidity %"), ("humidity %".into(), None, None));
        assert_eq!(of("R [Ω]").1, Some(Quantity::Ohms));
        assert!(heading("Ambient [°C]").is_room && !heading("winding [°C]").is_room);
    }
}
