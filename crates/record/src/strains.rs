//! What a fault has strained, in the words that record, page and terminal share.

use proof::insulation::HALVING_KELVINS;
use repair::Strained;

/// How far a part was driven past what it is made for, and for how long.
pub fn strain_words(entry: &Strained) -> String {
    let lasting = match entry.burns_after_minutes {
        Some(_) => String::new(),
        None => format!("; for {}", lasting_words(entry)),
    };
    format!("{}{lasting}, {}", entry.words(), entry.place)
}

/// For how long: to the minute, or to the second within the first one.
pub fn lasting_words(entry: &Strained) -> String {
    match entry.minutes.round() {
        ..1.0 => bench::words::duration(60.0 * entry.minutes),
        1.0 => "1 minute".into(),
        minutes => format!("{minutes} minutes"),
    }
}

/// What that cost its insulation; nothing for a part without a winding past its class.
pub fn life_words(entry: &Strained) -> Option<String> {
    match (entry.life_hours, entry.winding) {
        (Some(hours), _) => {
            let aged = match hours {
                ..0.1 => bench::words::duration(3600.0 * hours),
                _ => format!("{} h", bench::words::number(hours)),
            };
            Some(format!("insulation aged as in {aged} at the temperature of its class"))
        }
        (None, Some(_)) => Some("beyond any rule of ageing: take the insulation for burnt".into()),
        (None, None) => None,
    }
}

/// The rule that life goes by.
pub fn life_rule() -> String {
    format!("Life: insulation ages twice as fast for every {HALVING_KELVINS} K (Montsinger's rule).")
}
