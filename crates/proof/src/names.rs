//! Nearest names, for errors that say what was probably meant.

/// `did you mean ...?` if known names are near, else all that there are.
pub(crate) fn mend<'k>(typed: &str, known: impl IntoIterator<Item = &'k str>) -> String {
    let lower = typed.trim().to_lowercase();
    let mut scored: Vec<(f64, &str)> =
        known.into_iter().map(|name| (strsim::jaro_winkler(&lower, &name.to_lowercase()), name)).collect();
    let all: Vec<&str> = scored.iter().map(|(_, name)| *name).collect();
    // The same measure and bound as for names of a job file.
    scored.retain(|(score, _)| *score > 0.72);
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    let near: Vec<&str> = scored.iter().take(3).map(|(_, name)| *name).collect();
    if near.is_empty() {
        format!("there is {}", all.join(", "))
    } else {
        format!("did you mean {}?", near.join(" or "))
    }
}

/// What was typed, cut to a length that a message can hold.
pub(crate) fn short(typed: &str) -> String {
    const MOST: usize = 40;
    let mut text: String = typed.chars().take(MOST).collect();
    if typed.chars().count() > MOST {
        text.push_str("...");
    }
    text
}
