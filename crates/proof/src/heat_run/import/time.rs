//! Times as loggers write them: numbers, clocks, dates.

use super::header::{HOURS, MINUTES, Unit};
use super::number::{Cell, cell};
use jiff::civil::{Date, DateTime};

/// Seconds from some beginning; whether it is the time of a day, which begins anew at midnight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Seconds.
    pub seconds: f64,
    /// Whether midnight puts it back to zero.
    pub is_clock: bool,
}

/// How the times of a log are to be read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Unit of plain numbers, and of the first figure of `12:30`.
    pub unit: Option<Unit>,
    /// Whether a comma is the decimal sign.
    pub comma: bool,
    /// Whether `03/04/2026` is the third of April.
    pub day_first: bool,
}

/// Why a time cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoTime {
    /// It is a number, and nothing says of what.
    NoUnit,
    /// It is no time.
    Text,
}

/// Reads the time of a row; `date` is the cell of a column for the day, if there is one.
pub fn moment(text: &str, date: Option<&str>, style: Style) -> Result<Moment, NoTime> {
    let text = text.trim();
    if date.is_none()
        && let Cell::Number(number, suffix) = cell(text, style.comma)
    {
        let unit = if suffix.is_empty() { style.unit } else { super::header::unit(suffix) };
        let unit = unit.ok_or(if suffix.is_empty() { NoTime::NoUnit } else { NoTime::Text })?;
        return Ok(Moment { seconds: unit.convert(number), is_clock: false });
    }
    if let Some(date) = date {
        let (day, clock) = (day(date.trim(), style.day_first), clock(text, style));
        let (day, clock) = day.zip(clock).ok_or(NoTime::Text)?;
        return Ok(Moment { seconds: day + clock, is_clock: false });
    }
    if let Some(seconds) = clock(text, style) {
        return Ok(Moment { seconds, is_clock: true });
    }
    date_time(text, style).map(|seconds| Moment { seconds, is_clock: false }).ok_or(NoTime::Text)
}

/// `h:mm`, `h:mm:ss`, `h:mm:ss.fff`, with AM or PM; of two figures in a column of minutes `m:ss`.
fn clock(text: &str, style: Style) -> Option<f64> {
    let lower = text.to_lowercase();
    let (figures, noon) = match lower.strip_suffix("pm").map(|rest| (rest, 12.0)) {
        Some(afternoon) => afternoon,
        None => (lower.strip_suffix("am").unwrap_or(&lower), 0.0),
    };
    let has_half = figures.len() < lower.len();
    let mut parts = [0.0; 3];
    let mut count = 0;
    for part in figures.trim().split(':') {
        let Cell::Number(number, "") = cell(part, true) else { return None };
        if count == 3 || number < 0.0 || (count > 0 && number >= 60.0) {
            return None;
        }
        parts[count] = number;
        count += 1;
    }
    let unit = if count == 2 && style.unit == Some(MINUTES) { MINUTES } else { HOURS };
    if count < 2 || (has_half && parts[0] > 12.0) {
        return None;
    }
    let hours = if has_half { parts[0] % 12.0 + noon } else { parts[0] };
    Some(unit.factor * (hours + parts[1] / 60.0 + parts[2] / 3600.0))
}

/// ISO 8601 with or without an offset, or a day and a clock with a blank between.
fn date_time(text: &str, style: Style) -> Option<f64> {
    let since = |moment: DateTime| {
        let day = days(moment.date());
        let time = moment.time();
        let clock = f64::from(time.hour()) * 3600.0 + f64::from(time.minute()) * 60.0 + f64::from(time.second());
        day + clock + f64::from(time.subsec_nanosecond()) * 1e-9
    };
    if let Ok(stamp) = text.parse::<jiff::Timestamp>() {
        return Some(stamp.as_millisecond() as f64 * 1e-3);
    }
    if let Ok(moment) = text.parse::<DateTime>() {
        return text.contains(':').then(|| since(moment));
    }
    let (date, time) = text.split_once([' ', 'T'])?;
    Some(day(date, style.day_first)? + clock(time.trim(), style)?)
}

/// Seconds from 1970 to a day: `2026-04-03`, `03.04.2026`, `3/4/26`.
fn day(text: &str, day_first: bool) -> Option<f64> {
    let text = text.trim_end_matches([',', '.']);
    let parts: Vec<i16> = text.split(['-', '/', '.']).map(|part| part.parse().ok()).collect::<Option<_>>()?;
    let [first, second, third] = parts[..] else { return None };
    let (year, month, day) = if first > 31 {
        (first, second, third)
    } else if text.contains('.') || day_first {
        (third, second, first)
    } else {
        (third, first, second)
    };
    let year = if year < 100 { year + 2000 } else { year };
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok().map(days)
}

fn days(date: Date) -> f64 {
    let epoch = Date::constant(1970, 1, 1);
    date.since(epoch).map_or(f64::NAN, |span| f64::from(span.get_days()) * 86_400.0)
}

/// Whether a day of a cell such as `25/4/2026` can only be written day first (`Some(true)`), month first, or either.
pub fn day_order(text: &str) -> Option<bool> {
    let date = text.trim().split([' ', 'T', ',']).next()?;
    let mut parts = date.split('/').map(|part| part.parse::<u16>().unwrap_or_default());
    let (first, second) = (parts.next()?, parts.next()?);
    match (first > 12 && first < 32, second > 12) {
        (true, _) => Some(true),
        (_, true) => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STYLE: Style = Style { unit: None, comma: false, day_first: false };

    fn seconds(text: &str) -> f64 {
        moment(text, None, STYLE).unwrap_or_else(|_| panic!("{text}")).seconds
    }

    #[test]
    fn times_as_they_are_written() {
        assert_eq!(seconds("0:05:30"), 330.0);
        assert_eq!(seconds("1:30"), 5400.0);
        assert_eq!(seconds("12:05:00 AM"), 300.0);
        assert_eq!(seconds("2:00 PM"), 50_400.0);
        assert_eq!(seconds("10 s"), 10.0);
        let start = seconds("2026-03-01T10:00:00");
        for (text, later) in [
            ("2026-03-01 10:00:10", 10.0),
            ("2026-03-01T10:00:00.5", 0.5),
            ("2026-03-01T11:00:30+01:00", 30.0),
            ("01.03.2026 10:01:00", 60.0),
            ("3/1/2026 10:01:00 AM", 60.0),
            ("2026/03/02 10:00", 86_400.0),
        ] {
            assert!((seconds(text) - start - later).abs() < 1e-6, "{text}");
        }
        let minutes = Style { unit: Some(MINUTES), ..STYLE };
        assert_eq!(moment("5:30", None, minutes).unwrap().seconds, 330.0);
        assert_eq!(moment("2.5", None, minutes).unwrap().seconds, 150.0);
        assert_eq!(moment("0:00:10", Some("02.01.1970"), STYLE).unwrap().seconds, 86_410.0);
    }

    #[test]
    fn what_is_no_time() {
        assert_eq!(moment("12.5", None, STYLE), Err(NoTime::NoUnit));
        for text in ["", "noon", "10:75", "2026-13-01 10:00:00", "30.02.2026 10:00", "1:2:3:4", "5 V"] {
            assert_eq!(moment(text, None, STYLE), Err(NoTime::Text), "{text}");
        }
        assert_eq!(day_order("25/4/2026 10:00"), Some(true));
        assert_eq!(day_order("4/25/2026"), Some(false));
        assert_eq!(day_order("4/5/2026"), None);
    }
}
