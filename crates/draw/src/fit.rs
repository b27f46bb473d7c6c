//! Making texts fit: cut, broken into lines, pushed apart.

use crate::svg::text_width;

/// The text, or as much of it as fits a width, with an ellipsis: at its end, or in the middle of a single word, since
/// names often differ in their ends only.
pub(crate) fn shortened(text: &str, size: f64, width: f64) -> String {
    if text_width(text, size) <= width {
        return text.to_owned();
    }
    let letters: Vec<char> = text.chars().collect();
    let word = !letters.iter().any(|letter| letter.is_whitespace());
    let cut = |kept: usize| {
        let tail = if word { kept / 2 } else { 0 };
        let head: String = letters[..kept - tail].iter().collect();
        let tail: String = letters[letters.len() - tail..].iter().collect();
        format!("{}\u{2026}{tail}", head.trim_end())
    };
    let fitting = (0..letters.len()).rev().map(cut).find(|cut| text_width(cut, size) <= width);
    fitting.unwrap_or_else(|| "\u{2026}".into())
}

/// The text in at most `most` lines that fit a width, broken at spaces; what is left over is cut with an ellipsis.
pub(crate) fn wrapped(text: &str, size: f64, width: f64, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(breaks).filter(|word| !word.is_empty()) {
        let full = lines.len() == most;
        match lines.last_mut() {
            // On the last line all is kept, so that cutting it shows that something is missing.
            Some(last) if full || text_width(&format!("{last} {word}"), size) <= width => {
                last.push(' ');
                last.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines.iter().map(|line| shortened(line, size, width)).collect()
}

/// Whether a line may be broken there: at white space, unless it is made not to break.
fn breaks(letter: char) -> bool {
    letter.is_whitespace() && letter != '\u{a0}'
}

/// Middles of things that must not overlap, as near as can be to where each is wanted (least squares).
///
/// `wanted` ascends; `sizes` are their extents. Less what the things before them take up, the middles must ascend too,
/// so this is isotonic regression, solved by pooling adjacent violators (Ayer et al., 1955).
pub(crate) fn spread(wanted: &[f64], sizes: &[f64]) -> Vec<f64> {
    let mut offsets = Vec::with_capacity(wanted.len());
    let mut taken = 0.0;
    for (index, size) in sizes.iter().enumerate() {
        taken += if index == 0 { 0.0 } else { (sizes[index - 1] + size) / 2.0 };
        offsets.push(taken);
    }
    let mut pools: Vec<(f64, usize)> = Vec::new();
    for (want, offset) in wanted.iter().zip(&offsets) {
        let mut pool = (want - offset, 1);
        while let Some(&(mean, count)) = pools.last().filter(|(mean, _)| *mean > pool.0) {
            pools.pop();
            let together = count + pool.1;
            pool = ((mean * count as f64 + pool.0 * pool.1 as f64) / together as f64, together);
        }
        pools.push(pool);
    }
    let means = pools.iter().flat_map(|&(mean, count)| std::iter::repeat_n(mean, count));
    means.zip(&offsets).map(|(mean, offset)| mean + offset).collect()
}

/// The same between two ends, which must be far enough apart to hold all sizes.
pub(crate) fn spread_within(wanted: &[f64], sizes: &[f64], low: f64, high: f64) -> Vec<f64> {
    let mut middles = spread(wanted, sizes);
    let mut free = low;
    for (middle, size) in middles.iter_mut().zip(sizes) {
        *middle = middle.max(free + size / 2.0);
        free = *middle + size / 2.0;
    }
    let mut free = high;
    for (middle, size) in middles.iter_mut().zip(sizes).rev() {
        *middle = middle.min(free - size / 2.0);
        free = *middle - size / 2.0;
    }
    middles
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_moves_that_has_room() {
        assert_eq!(spread(&[0.0, 20.0, 50.0], &[10.0, 10.0, 10.0]), [0.0, 20.0, 50.0]);
    }

    #[test]
    fn two_at_one_place_part_evenly() {
        assert_eq!(spread(&[10.0, 10.0], &[8.0, 8.0]), [6.0, 14.0]);
    }

    #[test]
    fn names_keep_their_ends() {
        let width = text_width("blow\u{2026}low", 11.0);
        assert_eq!(shortened("blower.low", 11.0, width), "blow\u{2026}low");
        assert_eq!(shortened("two words", 11.0, width), "two wor\u{2026}");
    }

    proptest! {
        #[test]
        fn spread_things_never_overlap(
            mut wanted in proptest::collection::vec(-300.0f64..300.0, 0..12),
            size in 1.0f64..40.0,
        ) {
            wanted.sort_by(f64::total_cmp);
            let sizes: Vec<f64> = (0..wanted.len()).map(|index| size + index as f64).collect();
            let middles = spread(&wanted, &sizes);
            for index in 1..middles.len() {
                let gap = middles[index] - middles[index - 1];
                prop_assert!(gap >= (sizes[index] + sizes[index - 1]) / 2.0 - 1e-9);
            }
            let moved: f64 = middles.iter().zip(&wanted).map(|(middle, want)| middle - want).sum();
            prop_assert!(moved.abs() < 1e-6, "pushed to one side");
        }

        #[test]
        fn spread_things_stay_within(mut wanted in proptest::collection::vec(-900.0f64..900.0, 1..12)) {
            wanted.sort_by(f64::total_cmp);
            let sizes = vec![10.0; wanted.len()];
            let middles = spread_within(&wanted, &sizes, 0.0, 120.0);
            for pair in middles.windows(2) {
                prop_assert!(pair[1] - pair[0] >= 10.0 - 1e-9);
            }
            prop_assert!(middles[0] >= 5.0 - 1e-9 && middles[middles.len() - 1] <= 115.0 + 1e-9);
        }

        #[test]
        fn no_line_is_wider_than_allowed(text in ".{0,80}", width in 20.0f64..200.0, most in 1usize..5) {
            let lines = wrapped(&text, 11.0, width, most);
            prop_assert!(lines.len() <= most);
            for line in lines {
                prop_assert!(crate::svg::text_width(&line, 11.0) <= width);
            }
        }
    }
}
