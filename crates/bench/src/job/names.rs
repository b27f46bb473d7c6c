//! Nearest names, for mends.

/// The known names nearest to what was typed, best first, at most three; empty if none is near.
pub(super) fn nearest<'k>(typed: &str, known: impl IntoIterator<Item = &'k str>) -> Vec<&'k str> {
    let lower = typed.to_lowercase();
    let mut scored: Vec<(f64, &str)> = known
        .into_iter()
        .map(|name| (strsim::jaro_winkler(&lower, &name.to_lowercase()), name))
        .filter(|(score, _)| *score > 0.72)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0));
    // A name that is there twice is named once.
    let mut seen = std::collections::BTreeSet::new();
    scored.retain(|(_, name)| seen.insert(*name));
    scored.truncate(3);
    scored.into_iter().map(|(_, name)| name).collect()
}

/// A mend in words: the nearest names, or else all of them if they are few.
pub fn mend(typed: &str, known: &[String]) -> Option<String> {
    let near = nearest(typed, known.iter().map(String::as_str));
    match (near.is_empty(), known.len()) {
        (false, _) => Some(format!("did you mean {}?", near.join(" or "))),
        (true, 1..=12) => Some(format!("there is {}", known.join(", "))),
        _ => None,
    }
}

/// `; did you mean ...?`, or nothing if no known name is near.
pub fn near_words(typed: &str, known: &[String]) -> String {
    let near = nearest(typed, known.iter().map(String::as_str));
    if near.is_empty() { String::new() } else { format!("; did you mean {}?", near.join(" or ")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_names_come_first_and_far_ones_not_at_all() {
        let known = ["M1.common", "M1.high", "M2.common", "switch.line"];
        assert_eq!(nearest("M1.comon", known)[0], "M1.common");
        assert!(nearest("zzz", known).is_empty());
        assert_eq!(mend("T.y", &["T.x".into(), "T.x".into()]), Some("did you mean T.x?".into()));
    }
}
