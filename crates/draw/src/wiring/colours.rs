//! Colours of insulation, as words or as the letters of IEC 60757.

/// A colour of insulation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Colour {
    /// Its class in the style sheet.
    pub(super) class: &'static str,
}

/// Words, IEC 60757 letters, class.
const COLOURS: [(&[&str], &str, &str); 15] = [
    (&["black"], "BK", "black"),
    (&["brown"], "BN", "brown"),
    (&["red"], "RD", "red"),
    (&["orange"], "OG", "orange"),
    (&["yellow"], "YE", "yellow"),
    (&["green"], "GN", "green"),
    (&["blue"], "BU", "blue"),
    (&["violet", "purple"], "VT", "violet"),
    (&["grey", "gray"], "GY", "grey"),
    (&["white"], "WH", "white"),
    (&["pink"], "PK", "pink"),
    (&["gold"], "GD", "gold"),
    (&["turquoise", "teal"], "TQ", "turquoise"),
    (&["silver"], "SR", "silver"),
    (&["natural", "clear", "transparent"], "NC", "silver"),
];

/// The colours named in a text, at most two; none for words that are no colours.
pub(super) fn parse(text: &str) -> Vec<Colour> {
    let mut colours: Vec<Colour> = Vec::new();
    for word in text.split(|letter: char| !letter.is_alphabetic()).filter(|word| !word.is_empty()) {
        let lower = word.to_lowercase();
        match COLOURS.iter().find(|(words, ..)| words.contains(&lower.as_str())) {
            Some(&(_, _, class)) => colours.push(Colour { class }),
            None => colours.extend(letters(&word.to_uppercase())),
        }
    }
    colours.dedup();
    colours.truncate(2);
    colours
}

/// A word made of IEC 60757 letters only, such as `GNYE`.
fn letters(word: &str) -> Vec<Colour> {
    let pairs: Vec<char> = word.chars().collect();
    let found: Vec<Colour> = pairs
        .chunks(2)
        .filter_map(|pair| {
            let code: String = pair.iter().collect();
            COLOURS.iter().find(|(_, letters, _)| **letters == code).map(|&(_, _, class)| Colour { class })
        })
        .collect();
    if found.len() * 2 == pairs.len() { found } else { Vec::new() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn classes(text: &str) -> Vec<&'static str> {
        parse(text).into_iter().map(|colour| colour.class).collect()
    }

    #[test]
    fn words_and_letters_mean_the_same() {
        assert_eq!(classes("Brown"), ["brown"]);
        assert_eq!(classes("gray"), classes("grey"));
        assert_eq!(classes("purple"), classes("violet"));
        assert_eq!(classes("BN"), ["brown"]);
        // IEC 60757:2021, bicolour: green-and-yellow is GNYE.
        for text in ["green-yellow", "green/yellow", "GNYE", "gnye", "green and yellow", "GN YE"] {
            assert_eq!(classes(text), ["green", "yellow"], "{text}");
        }
        assert_eq!(classes("light blue"), ["blue"]);
    }

    #[test]
    fn other_words_are_no_colour() {
        assert!(classes("striped").is_empty());
        assert!(classes("").is_empty());
        assert!(classes("\"><script>").is_empty());
        assert_eq!(classes("red red red blue green"), ["red", "blue"]);
    }
}
