//! What a repair costs if it was the wrong one.

/// Minutes of a repair by its words, the first that fits; all engineering judgement for small appliances on a bench, parts at
/// hand. What a part costs is not counted.
const MINUTES: [(&str, f64); 19] = [
    ("nothing to repair", 0.0),
    ("look again", 0.0),
    ("replace the motor", 40.0),
    ("replace the compressor", 120.0),
    ("replace the armature", 40.0),
    ("replace the transformer", 30.0),
    ("replace", 20.0),
    ("find what overloaded", 40.0),
    ("find", 25.0),
    ("remake", 10.0),
    ("mend", 10.0),
    ("clean", 10.0),
    ("clear", 10.0),
    ("free", 15.0),
    ("dry", 60.0),
    ("balance", 15.0),
    ("set", 3.0),
    ("have the outlet", 30.0),
    ("", 10.0),
];

/// Minutes of a whole repair, all its single ones.
pub(crate) fn minutes(repair: &str) -> f64 {
    let single = |text: &str| MINUTES.iter().find(|(words, _)| text.starts_with(words)).map_or(0.0, |entry| entry.1);
    repair.split("; ").map(single).sum()
}

/// Expected minutes in vain if repairs are done one after another until one helps, and the best order for that: by
/// probability over minutes, as an exchange of neighbours shows. The last is not in vain.
pub(super) fn in_order(repairs: &mut [(String, f64)]) -> f64 {
    repairs.sort_by(|(a, p), (b, q)| (q * minutes(a)).total_cmp(&(p * minutes(b))));
    let (mut in_vain, mut remaining) = (0.0, 1.0);
    for (repair, probability) in repairs.iter() {
        remaining -= probability;
        in_vain += f64::max(remaining, 0.0) * minutes(repair);
    }
    in_vain
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cheap_likely_repair_comes_first() {
        // Remaking a joint takes 10 minutes, a motor 40: at even odds the joint first loses 5, the motor first 20.
        let mut repairs = vec![("replace the motor M1".to_owned(), 0.5), ("remake the splice J".to_owned(), 0.5)];
        assert!((in_order(&mut repairs) - 5.0).abs() < 1e-12);
        assert_eq!(repairs[0].0, "remake the splice J");
        assert_eq!(minutes("remake the splice J; replace the motor M1"), 50.0);
    }
}
