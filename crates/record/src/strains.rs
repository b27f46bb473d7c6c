//! What a fault has strained, in the words that record, page and terminal share.

use proof::insulation::HALVING_KELVINS;
use repair::Strained;

/// How far a part was driven past what it is made for, and for how long.
pub fn strain_words(entry: &Strained) -> String {
    let load = entry.load.map(|(times, is_volts)| {
        let of = if is_volts { "of its marked volts" } else { "of what is written on it" };
        format!("{} % {of}", (100.0 * times).round())
    });
    let winding = entry.winding.map(|(celsius, spread)| {
        let class = entry.class.short_words();
        format!("winding about {} °C (give or take {}), past {class}", celsius.round(), spread.round())
    });
    let said: Vec<String> = load.into_iter().chain(winding).collect();
    format!("{} for {} minutes, {}", said.join(", "), entry.minutes.round(), entry.place)
}

/// What that cost its insulation; nothing for a part without a winding past its class.
pub fn life_words(entry: &Strained) -> Option<String> {
    match (entry.life_hours, entry.winding) {
        (Some(hours), _) => {
            Some(format!("insulation aged as in {} h at the temperature of its class", bench::words::number(hours)))
        }
        (None, Some(_)) => Some("beyond any rule of ageing: take the insulation for burnt".into()),
        (None, None) => None,
    }
}

/// The rule that life goes by.
pub fn life_rule() -> String {
    format!("Life: insulation ages twice as fast for every {HALVING_KELVINS} K (Montsinger's rule).")
}
