//! Numbers as loggers and people write them.

/// What a cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell<'c> {
    /// Nothing: the logger had no value.
    Empty,
    /// An open circuit or over range, as a meter shows it.
    Open,
    /// A number, with the unit that follows it if there is one.
    Number(f64, &'c str),
    /// Anything else.
    Text,
}

/// Words for no value.
const EMPTY: [&str; 7] = ["", "-", "--", "---", "nan", "n/a", "none"];
/// Words for an open circuit.
const OPEN: [&str; 6] = ["ol", "o.l", "open", "over", "overload", "err"];

/// Reads a cell. With `comma` a comma is the decimal sign (a point may be too, if it is the only one); without, it is not.
/// Signs of thousands are not guessed at: a cell with two signs is text.
pub fn cell(text: &str, comma: bool) -> Cell<'_> {
    let text = text.trim();
    // Most cells are plain numbers.
    if let Some(value) = plain(text.as_bytes(), comma) {
        return Cell::Number(value, "");
    }
    let lower = text.to_lowercase();
    if EMPTY.contains(&lower.as_str()) {
        return Cell::Empty;
    }
    if OPEN.contains(&lower.as_str()) {
        return Cell::Open;
    }
    let is_part = |character: char| character.is_ascii_digit() || "+-.,".contains(character);
    let Some((end, _)) = text.char_indices().find(|&(_, character)| !is_part(character)) else { return Cell::Text };
    let unit = text[end..].trim();
    // An exponent belongs to the number: `1.2e1` has been read above, what is left is no number.
    match plain(&text.as_bytes()[..end], comma) {
        Some(value) if unit.chars().all(|character| character.is_alphabetic() || "°%".contains(character)) => {
            Cell::Number(value, unit)
        }
        _ => Cell::Text,
    }
}

/// A number and nothing else. Short ones, as in most logs, are read digit by digit: that is exact below 2^53 and several
/// times as fast.
fn plain(text: &[u8], comma: bool) -> Option<f64> {
    let (negative, digits) = match text {
        [b'-', rest @ ..] => (true, rest),
        [b'+', rest @ ..] => (false, rest),
        rest => (false, rest),
    };
    if digits.len() > 15 || !digits.iter().all(|b| b.is_ascii_digit() || *b == b'.' || *b == b',') {
        return exponent(text, comma);
    }
    let (mut whole, mut scale, mut signs, mut any) = (0_u64, 0_usize, 0, false);
    for &byte in digits {
        match byte {
            b'0'..=b'9' => {
                whole = whole * 10 + u64::from(byte - b'0');
                scale += signs;
                any = true;
            }
            b',' if !comma => return None,
            _ => signs += 1,
        }
    }
    const TENS: [f64; 16] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    if !any || signs > 1 {
        return None;
    }
    let value = whole as f64 / TENS[scale];
    Some(if negative { -value } else { value })
}

fn exponent(text: &[u8], comma: bool) -> Option<f64> {
    let text = std::str::from_utf8(text).ok()?;
    if !text.bytes().all(|byte| byte.is_ascii_digit() || b"+-.,eE".contains(&byte)) {
        return None;
    }
    let value = match comma && text.contains(',') {
        true => text.replacen(',', ".", 1).parse::<f64>(),
        false => text.parse::<f64>(),
    };
    value.ok().filter(|value| value.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_they_are_written() {
        for (text, comma, value) in [
            ("23.5", false, 23.5),
            (" 23,5 ", true, 23.5),
            ("23.5", true, 23.5),
            ("-4", false, -4.0),
            ("+0.125", false, 0.125),
            ("1.2e1", false, 12.0),
            ("1,2E+1", true, 12.0),
            ("123456789.123456789", false, 123_456_789.123_456_79),
        ] {
            assert_eq!(cell(text, comma), Cell::Number(value, ""), "{text}");
        }
        assert_eq!(cell("74 °F", false), Cell::Number(74.0, "°F"));
        assert_eq!(cell("1.2A", false), Cell::Number(1.2, "A"));
    }

    #[test]
    fn what_is_no_number() {
        for text in ["1,234", "1.2.3", "hot", "12:30", ".", "1e999", "5 % of it"] {
            assert_eq!(cell(text, false), Cell::Text, "{text}");
        }
        assert_eq!(cell("1.234,5", true), Cell::Text);
        assert_eq!(cell("OL", false), Cell::Open);
        assert_eq!(cell(" --- ", false), Cell::Empty);
    }
}
