//! Names cut to fit, lines broken to fit.

/// A space at which no line is broken, such as that between a number and its unit.
pub(super) const HARD_SPACE: &str = "\u{a0}";

/// Cuts a text in the middle so that at most `longest` letters remain, the ellipsis included.
pub(super) fn shorten(text: &str, longest: usize) -> String {
    let letters: Vec<char> = text.chars().collect();
    if letters.len() <= longest {
        return text.to_owned();
    }
    let kept = longest.saturating_sub(1);
    let (head, tail) = (kept.div_ceil(2), kept / 2);
    letters[..head].iter().chain(&['…']).chain(&letters[letters.len() - tail..]).collect()
}

/// Breaks a text between words into lines of at most `longest` letters, and at most `lines` lines; longer words are cut,
/// and what does not fit ends in an ellipsis.
pub(super) fn wrap(text: &str, longest: usize, lines: usize) -> Vec<String> {
    let mut wrapped: Vec<String> = Vec::new();
    for word in text
        .split(|letter: char| letter.is_whitespace() && !HARD_SPACE.contains(letter))
        .filter(|word| !word.is_empty())
    {
        let word = shorten(word, longest);
        let is_full = wrapped.len() == lines;
        match wrapped.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= longest => {
                line.push(' ');
                line.push_str(&word);
            }
            Some(line) if is_full => {
                let fits: String = line.chars().take(longest.saturating_sub(1)).collect();
                *line = format!("{fits}…");
                break;
            }
            _ => wrapped.push(word),
        }
    }
    wrapped
}

/// The start of a sentence with a capital.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_names_keep_both_ends() {
        assert_eq!(shorten("door-switch-left", 9), "door…left");
        assert_eq!(shorten("K1", 9), "K1");
        assert_eq!(shorten("größer als", 4), "gr…s");
    }

    #[test]
    fn lines_break_between_words() {
        assert_eq!(wrap("230 V, 50 Hz, 0.62 A", 12, 3), ["230 V, 50", "Hz, 0.62 A"]);
        assert_eq!(wrap("one two three four", 5, 2), ["one", "two…"]);
        assert!(wrap("", 5, 2).is_empty());
    }
}
