//! Words and days that a search is made of.

use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::StoreError;

/// A search may hold this many different words. More make no search better, and SQLite limits the depth of a condition
/// (1000: <https://sqlite.org/limits.html>).
pub const MOST_WORDS: usize = 64;

/// Small letters in every script that has them, one by one, so that a word reads the same inside another: the databases
/// themselves disagree about all letters but A to Z. Accents stay, and "ß" is not "ss".
pub(crate) fn small(text: &str) -> String {
    text.chars().flat_map(char::to_lowercase).map(|letter| if letter == 'ς' { 'σ' } else { letter }).collect()
}

/// The different words of a search in small letters.
pub(crate) fn words(text: &str) -> Result<Vec<String>, StoreError> {
    let mut words: Vec<String> = text.split_whitespace().map(small).collect();
    words.sort();
    words.dedup();
    if words.len() > MOST_WORDS { Err(StoreError::TooManyWords) } else { Ok(words) }
}

/// The first microsecond of `from` and the first one after `to`, since 1970-01-01 00:00 UTC; without a day, as early or
/// as late as can be.
pub(crate) fn bounds(from: Option<&str>, to: Option<&str>, zone: &TimeZone) -> Result<(i64, i64), StoreError> {
    let first = match from {
        Some(day) => midnight(date(day)?, zone, i64::MIN),
        None => i64::MIN,
    };
    let end = match to {
        // There is no day after 9999-12-31.
        Some(day) => date(day)?.tomorrow().map_or(i64::MAX, |next| midnight(next, zone, i64::MAX)),
        None => i64::MAX,
    };
    Ok((first, end))
}

/// When a day begins in a zone, or `otherwise` where that is outside of what time stamps can say.
fn midnight(day: Date, zone: &TimeZone, otherwise: i64) -> i64 {
    day.to_zoned_datetime(zone.clone()).map_or(otherwise, |begin| begin.timestamp().as_microsecond())
}

fn date(text: &str) -> Result<Date, StoreError> {
    let not_a_date = || StoreError::NotADate(text.chars().take(40).collect());
    let shape = |(place, byte): (usize, u8)| if matches!(place, 4 | 7) { byte == b'-' } else { byte.is_ascii_digit() };
    if text.len() == 10 && text.bytes().enumerate().all(shape) {
        text.parse().map_err(|_| not_a_date())
    } else {
        Err(not_a_date())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::tz;

    fn microseconds(text: &str) -> i64 {
        text.parse::<jiff::Timestamp>().unwrap().as_microsecond()
    }

    #[test]
    fn letters_of_every_script_become_small() {
        assert_eq!(small("Lüfter ÄRGER МОТОР ΣΊΣΥΦΟΣ"), "lüfter ärger мотор σίσυφοσ");
        assert_eq!(words(" Fan  fan\tMOTOR\n").unwrap(), ["fan", "motor"]);
        assert!(words("  ").unwrap().is_empty());
    }

    #[test]
    fn too_many_words_are_refused() {
        let many = |count: usize| (0..count).map(|word| format!("w{word} ")).collect::<String>();
        assert_eq!(words(&many(MOST_WORDS)).unwrap().len(), MOST_WORDS);
        assert!(matches!(words(&many(MOST_WORDS + 1)), Err(StoreError::TooManyWords)));
        assert_eq!(words(&"same ".repeat(1000)).unwrap().len(), 1);
    }

    #[test]
    fn a_day_is_a_day_of_the_zone() {
        let five_behind = tz::offset(-5).to_time_zone();
        assert_eq!(
            bounds(Some("2025-03-28"), Some("2025-03-28"), &five_behind).unwrap(),
            (microseconds("2025-03-28T05:00:00Z"), microseconds("2025-03-29T05:00:00Z"))
        );
        assert_eq!(
            bounds(Some("2024-02-29"), Some("2024-12-31"), &TimeZone::UTC).unwrap(),
            (microseconds("2024-02-29T00:00:00Z"), microseconds("2025-01-01T00:00:00Z"))
        );
        assert_eq!(bounds(None, None, &TimeZone::UTC).unwrap(), (i64::MIN, i64::MAX));
        assert_eq!(bounds(None, Some("9999-12-31"), &five_behind).unwrap().1, i64::MAX);
        assert!(bounds(Some("0000-01-01"), None, &five_behind).is_ok());
    }

    #[test]
    fn what_is_no_day_is_refused() {
        let long = "9".repeat(1_000_000);
        for wrong in [
            "",
            "2025-3-28",
            "2025-02-29",
            "2025-13-01",
            "28.03.2025",
            "20250328",
            "2025-03-28T10:00",
            &long,
            "２025-03-28",
        ] {
            assert!(matches!(bounds(Some(wrong), None, &TimeZone::UTC), Err(StoreError::NotADate(_))), "{wrong:.20}");
            assert!(matches!(bounds(None, Some(wrong), &TimeZone::UTC), Err(StoreError::NotADate(_))), "{wrong:.20}");
        }
    }
}
