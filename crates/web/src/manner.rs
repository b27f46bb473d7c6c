//! How a visitor likes things written and drawn: decimal comma, Fahrenheit, symbols.

use draw::wiring::Symbols;
use maud::{Markup, PreEscaped};

/// A visitor's way of writing figures and drawing symbols.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Manner {
    /// 27,1 instead of 27.1.
    pub decimal_comma: bool,
    /// Degrees Fahrenheit instead of Celsius.
    pub fahrenheit: bool,
    /// Symbols as common in North America instead of those of IEC 60617.
    pub american_symbols: bool,
}

impl Manner {
    /// From the cookie that keeps it.
    pub fn parse(text: &str) -> Self {
        Manner {
            decimal_comma: text.contains("comma"),
            fahrenheit: text.contains("fahrenheit"),
            american_symbols: text.contains("american"),
        }
    }

    /// For the cookie that keeps it.
    pub fn to_cookie(self) -> String {
        [("comma", self.decimal_comma), ("fahrenheit", self.fahrenheit), ("american", self.american_symbols)]
            .iter()
            .filter(|(_, chosen)| *chosen)
            .map(|(word, _)| *word)
            .collect::<Vec<_>>()
            .join("-")
    }

    /// A text with its figures written this way. Names such as `S1.2` are left alone: a figure begins with a digit.
    pub fn write(self, text: &str) -> String {
        if !self.decimal_comma {
            return text.to_owned();
        }
        let mut out = String::with_capacity(text.len());
        let mut in_figure = false;
        let mut previous = ' ';
        let mut rest = text.chars().peekable();
        while let Some(c) = rest.next() {
            if c.is_ascii_digit() {
                in_figure |= !(previous.is_alphanumeric() || matches!(previous, '.' | '_' | '-'))
                    || (previous == '-' && !in_figure);
            } else if c == '.' && in_figure && rest.peek().is_some_and(char::is_ascii_digit) {
                out.push(',');
                previous = c;
                continue;
            } else {
                in_figure = false;
            }
            out.push(c);
            previous = c;
        }
        out
    }

    /// A finished piece of a page with the figures in its texts written this way; attributes stay as they are.
    ///
    /// Only for pieces without fields to type in.
    pub fn write_piece(self, piece: Markup) -> Markup {
        if !self.decimal_comma {
            return piece;
        }
        let mut out = String::with_capacity(piece.0.len());
        for (index, run) in piece.0.split('<').enumerate() {
            // What is text was escaped: every '<' begins a tag, every '>' ends one.
            let (tag, text) = run.split_once('>').unwrap_or(("", run));
            if index > 0 {
                out.push('<');
                out.push_str(tag);
                out.push('>');
            }
            out.push_str(&self.write(text));
        }
        PreEscaped(out)
    }

    /// Degrees Celsius as this visitor writes them, with the unit.
    pub fn temperature(self, celsius: f64) -> String {
        let (value, unit) = if self.fahrenheit { (celsius * 1.8 + 32.0, "F") } else { (celsius, "C") };
        self.write(&format!("{} °{unit}", (value * 10.0).round() / 10.0))
    }

    /// A temperature in this visitor's unit as degrees Celsius.
    pub fn celsius(self, value: f64) -> f64 {
        if self.fahrenheit { (value - 32.0) / 1.8 } else { value }
    }

    /// Symbols to draw with.
    pub fn symbols(self) -> Symbols {
        if self.american_symbols { Symbols::NorthAmerican } else { Symbols::Iec }
    }

    /// The unit of temperatures.
    pub fn degrees(self) -> &'static str {
        if self.fahrenheit { "°F" } else { "°C" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const COMMA: Manner = Manner { decimal_comma: true, fahrenheit: true, american_symbols: false };

    #[test]
    fn figures_change_and_names_do_not() {
        assert_eq!(COMMA.write("S1.2 to M1.high 27.10 ohm +-0.352"), "S1.2 to M1.high 27,10 ohm +-0,352");
        assert_eq!(COMMA.write("about 0.5 (0.4 to 0.6)."), "about 0,5 (0,4 to 0,6).");
        assert_eq!(COMMA.write("-0.1 sd at the end 3."), "-0,1 sd at the end 3.");
        assert_eq!(Manner::default().write("27.1"), "27.1");
    }

    #[test]
    fn only_texts_of_a_piece_change() {
        let piece = maud::html! { p title="1.5 V" { "1.5 V < 2.5 & S1.2" } svg { text x="0.25" { "0.25 A" } } };
        let written = COMMA.write_piece(piece).0;
        assert_eq!(
            written,
            "<p title=\"1.5 V\">1,5 V &lt; 2,5 &amp; S1.2</p><svg><text x=\"0.25\">0,25 A</text></svg>"
        );
    }

    #[test]
    fn fahrenheit_has_its_fixed_points() {
        // Freezing and boiling point of water at 101.325 kPa: 32 and 212 degrees Fahrenheit (BIPM SI brochure, NIST SP 811).
        assert_eq!(COMMA.temperature(0.0), "32 °F");
        assert_eq!(COMMA.temperature(100.0), "212 °F");
        assert!((COMMA.celsius(212.0) - 100.0).abs() < 1e-9);
        assert_eq!(Manner::parse(&COMMA.to_cookie()), COMMA);
    }
}
