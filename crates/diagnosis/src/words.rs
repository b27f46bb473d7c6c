//! Findings and checks as people say them.

use crate::blind_spots::{Seen, blind_spots};
use crate::checks::{Action, Check, Inseparable, Shown, Why};
pub use crate::explanations::explanation_lines;
use crate::flows::Consequences;
pub use crate::log_words::{ChannelLine, channel_lines, log_lines};
use crate::misreadings::{misreading_words, misreadings};
use crate::next::CheckPlan;
use crate::reading_model::Datum;
use crate::recurrence::{Standing, recurrence};
pub use crate::slip_words::fit_word;
pub use crate::verdict_words::verdict_lines;
use crate::{Diagnosis, NotLookedAt, Suspect};
use bench::recurrence::Condition;
use bench::{Job, Measure, Meter, Unit, words};

/// Slips that are named at a doubtful reading.
const SLIPS: usize = 2;
/// The word for a reading that is too far from what was predicted.
pub(crate) const DOES_NOT_FIT: &str = "does not fit";
/// A bound above this proves little.
const PROVED: f64 = 0.5;

/// A suspect's faults in words: `M2 common-open`, with the size where it has one.
pub fn suspect_words(found: &Diagnosis<'_>, suspect: &Suspect) -> String {
    let unit = &found.evidence.job.unit;
    match &suspect.faults {
        None => "none of the known faults".into(),
        Some(faults) if faults.0.is_empty() => "nothing is wrong".into(),
        Some(faults) => {
            let sizes = found.severities(suspect);
            let mut texts = Vec::new();
            for (position, &fault) in faults.0.iter().enumerate() {
                let mode = &unit.faults()[fault];
                let size = sizes.get(position).copied().flatten().zip(mode.mode.severity.as_ref());
                let size = size.map_or(String::new(), |(size, severity)| {
                    format!(" (about {} {})", words::number(size), severity.words)
                });
                texts.push(format!("{}{size}", mode.label()));
            }
            texts.join(" and ")
        }
    }
}

/// What a suspect says that a reading should show, with the spread of a right reading of that; over range is open.
pub fn predicted(measure: Measure, meter: &Meter, datum: &Datum, predicted: f64) -> String {
    match *datum {
        Datum::Open { limit, .. } if predicted > limit => words::over_range(measure).into(),
        Datum::Shown { sigma, .. } if predicted.is_finite() => {
            // Of a round from bar to bar the datum alone knows the spread.
            let is_round = matches!(measure, Measure::Bars(..));
            let sigma = if is_round { sigma } else { crate::reading_model::sigma(measure, meter, predicted) };
            let scale = match measure {
                Measure::Ohms(..) if predicted >= 1e6 => 1e6,
                Measure::Ohms(..) if predicted >= 1e4 => 1e3,
                _ => 1.0,
            };
            format!("{} +-{}", words::quantity(measure, predicted), words::number(sigma / scale))
        }
        _ => words::quantity(measure, predicted),
    }
}

/// Distance in standard deviations, and a word for it.
pub fn deviation(datum: &Datum, predicted: f64) -> (String, &'static str) {
    match *datum {
        Datum::Shown { value, sigma, .. } if predicted.is_finite() => off_words((value - predicted) / sigma),
        Datum::Shown { .. } => (String::new(), DOES_NOT_FIT),
        Datum::Open { limit, .. } => (String::new(), if predicted > limit { "fits" } else { DOES_NOT_FIT }),
    }
}

/// A distance in standard deviations, and a word for it.
pub(crate) fn off_words(off: f64) -> (String, &'static str) {
    let verdict = match off.abs() {
        d if d <= 2.0 => "fits",
        d if d <= 3.0 => "strained",
        _ => DOES_NOT_FIT,
    };
    (format!("{off:+.1} sd"), verdict)
}

/// How a condition behind a failure stands, and how to look at it; what was looked at says so.
pub fn condition_words(job: &Job, condition: &Condition, standing: Standing) -> String {
    let is_looked_at = job.repaired.as_ref().is_some_and(|repaired| repaired.looked_at.contains(&condition.label));
    match standing {
        Standing::Open if is_looked_at => {
            format!("{}: not excluded by the readings, but looked at and found well", condition.words)
        }
        Standing::Found => format!("{}: found", condition.words),
        Standing::Excluded => format!("{}: excluded by the readings", condition.words),
        Standing::Open => format!("{}: not excluded; {}", condition.words, condition.check),
    }
}

/// That a part of the leading suspect has failed before, what may stand behind it, and how to look; empty otherwise.
pub fn recurrence_lines(found: &Diagnosis<'_>) -> Vec<String> {
    let Some(again) = recurrence(found) else { return Vec::new() };
    let name = found.evidence.job.unit.place_name(again.place);
    let times = if again.times == 1 { "once".to_owned() } else { format!("{} times", again.times) };
    let mut lines = vec![format!("{name} has been replaced {times} before. A part that fails again needs its reason.")];
    lines.extend(
        again.conditions.iter().map(|(condition, standing)| condition_words(found.evidence.job, condition, *standing)),
    );
    lines
}

/// What probabilities rest on.
pub const SCOPE: &str = "Probabilities hold for this list of faults and their odds; three faults at once are looked at only \
    where two of them matter.";

/// How the ranking came about, in one line.
pub fn method(found: &Diagnosis<'_>) -> String {
    let work = found.work;
    let drawn = match found.suspects.iter().find_map(|suspect| suspect.error) {
        None => String::new(),
        Some(error) => {
            let factor = words::number(error.exp());
            format!("; those that lead weighed by draws, the first within a factor of {factor} (one standard error)")
        }
    };
    let threes = match work.triples {
        0 => String::new(),
        _ => format!(
            ", a third fault beside the leading pairs {} times of which {} fitted",
            work.triples, work.triple_fits
        ),
    };
    let NotLookedAt { estimate, at_most } = found.not_looked_at;
    let estimate =
        if estimate > 0.001 { words::percent(estimate) } else { format!("{} or less", words::percent(0.001)) };
    // A sum over what was screened is no bound for what was never looked at.
    let bound = match at_most {
        Some(bound) if bound < PROVED => {
            format!("at most {}, did it explain every reading perfectly", words::percent(bound.max(0.001)))
        }
        Some(bound) => format!("no bound better than {} is known", words::percent(bound)),
        None => "no bound is known where logs were weighed".into(),
    };
    format!(
        "Laplace, exact derivatives{drawn}; {} single faults, {} pairs of distinguishable faults of which {} fitted{threes}; probability left out estimated at {estimate} ({bound})",
        work.singles, work.pairs, work.pair_fits
    )
}

/// A reading that is probably wrong, in words, with slips that would explain it.
pub fn doubt_words(found: &Diagnosis<'_>, reading: usize, doubt: f64) -> String {
    let job = found.evidence.job;
    let entry = &found.evidence.taken[reading];
    let mut text = format!(
        "{} {} in setup {}; probably wrong ({})",
        words::shown(entry.measure, entry.value),
        words::place(&job.unit, entry.measure),
        job.setups[entry.setup].name,
        words::percent(doubt)
    );
    for slip in misreadings(found, reading).iter().take(SLIPS) {
        text.push_str("; ");
        text.push_str(&misreading_words(found, reading, slip));
    }
    text
}

/// Why no check tells suspects apart.
pub fn why_inseparable(found: &Diagnosis<'_>, group: &Inseparable) -> String {
    match group.why {
        Why::Refused => "One that is refused would".into(),
        Why::Close => "What they show differs, but by less than values and meters spread".into(),
        Why::InsidePart(part) => {
            format!(
                "They are joined inside {}: no terminal lies between them",
                found.evidence.job.unit.parts()[part].name
            )
        }
        Why::Same => "They show the same wherever one can measure".into(),
    }
}

/// Suspects that no check tells apart, a line each group.
pub fn inseparable_lines(found: &Diagnosis<'_>, plan: &CheckPlan) -> Vec<String> {
    let line = |group: &Inseparable| {
        let named = group.suspects.iter().map(|&index| {
            let suspect = &found.suspects[index];
            format!("{} {} ({})", suspect_words(found, suspect), words::percent(suspect.probability), suspect.repair)
        });
        let (named, why) = (named.collect::<Vec<_>>().join("; "), why_inseparable(found, group));
        format!("No check on this list tells these apart: {named}. {why}.")
    };
    plan.inseparable.iter().map(line).collect()
}

/// About how long a check takes, and what of it is not the check itself.
pub fn cost_words(job: &Job, check: &Check) -> String {
    let cost = &check.cost;
    let mut parts = Vec::new();
    if cost.cooling > 0.0 {
        parts.push(format!("after {} of cooling", words::whole_minutes(cost.cooling.round())));
    }
    if cost.change + cost.live > 0.0 {
        parts.push(format!("{} to arrange", words::whole_minutes(cost.change + cost.live)));
    }
    if !cost.housings.is_empty() {
        let names: Vec<&str> = cost.housings.iter().map(|&housing| job.housings[housing].name.as_str()).collect();
        parts.push(format!("{} to open {}", words::whole_minutes(cost.opening), names.join(" and ")));
    }
    let all = format!("about {} minutes", words::whole_minutes(cost.minutes()));
    if parts.is_empty() { all } else { format!("{all} ({})", parts.join(", ")) }
}

/// What is refused, and what that costs; nothing if nothing is.
pub fn refusal_lines(found: &Diagnosis<'_>, plan: &CheckPlan) -> Vec<String> {
    let job = found.evidence.job;
    if job.refused.is_empty() {
        return Vec::new();
    }
    let refused: Vec<String> = job.refused.iter().map(|refusal| refusal.words(job)).collect();
    let mut lines = vec![format!("Refused: {}.", refused.join("; "))];
    let tells = |check: &Check| {
        format!("{} bits in {} minutes", words::number(check.bits), words::whole_minutes(check.minutes))
    };
    lines.push(match (&plan.foregone, plan.checks.first()) {
        (None, _) => "That costs nothing now: no refused check is better than the first one.".into(),
        (Some(best), None) => {
            format!("Nothing is left. Refused is: {}, {}.", action_words(found, best), tells(best))
        }
        (Some(best), Some(first)) => format!(
            "Refused is a better one: {} in setup {}, {}; the first one that is left tells {}. A bit takes {} minutes \
             instead of {}, danger counted.",
            action_words(found, best),
            best.setup.name,
            tells(best),
            tells(first),
            words::whole_minutes(first.weighted_minutes() / first.bits),
            words::whole_minutes(best.weighted_minutes() / best.bits)
        ),
    });
    lines
}

/// What the readings taken would not have shown, in an otherwise sound unit: a line each, those unseen at any size
/// together.
pub fn unseen_lines(found: &Diagnosis<'_>) -> Vec<String> {
    let unit = &found.evidence.job.unit;
    let mut lines = Vec::new();
    let mut never = Vec::new();
    for spot in blind_spots(found) {
        let fault = &unit.faults()[spot.fault];
        match spot.seen {
            Seen::Always => {}
            Seen::Never => never.push(fault.label()),
            Seen::From(size) => {
                let unit_of_size = fault.mode.severity.as_ref().map_or("", |severity| severity.words);
                let size = words::number(size);
                lines.push(format!("{}: from about {size} {unit_of_size} ({})", fault.label(), fault.mode.words));
            }
        }
    }
    if !never.is_empty() {
        lines.push(format!("not at any size: {}", never.join(", ")));
    }
    lines
}

/// What is to be done, in words.
pub fn action_words(found: &Diagnosis<'_>, check: &Check) -> String {
    let job = found.evidence.job;
    let unit = &job.unit;
    match check.action {
        Action::Read(measure) => reading_words(job, measure),
        Action::Spin(part) => {
            format!("turn the shaft of {} by hand: does it turn freely?", unit.parts()[part].name)
        }
        Action::Push(part) => format!("give {} a push and see whether it runs", unit.parts()[part].name),
        Action::Wait(part) => format!("leave it running under watch and see whether {} trips", unit.parts()[part].name),
        Action::Swap(a, b, measure) => {
            let (first, second) = (&unit.parts()[a].name, &unit.parts()[b].name);
            format!("exchange {first} and {second}, then {}", reading_words(job, measure))
        }
    }
}

/// What is measured, and where, in words.
pub(crate) fn reading_words(job: &Job, measure: Measure) -> String {
    let what = match measure.unit() {
        "ohm" if job.meter_for(measure).tests_insulation() => "insulation ohms",
        "ohm" => "ohms",
        "uF" => "microfarads",
        "V" => "volts",
        "A" => "amps",
        "W" => "watts",
        "s" => "the seconds from switching off to standstill",
        "mA touch" => "the touch current",
        "mA leakage" => "the leakage",
        _ => "the speed",
    };
    format!("measure {what} {}", words::place(&job.unit, measure))
}

/// What a check may show, in words.
pub fn shown_words(check: &Check, shown: &Shown) -> String {
    match (shown, check.action) {
        (Shown::Open, Action::Read(measure) | Action::Swap(_, _, measure)) => words::over_range(measure).into(),
        (Shown::Open, _) => "open".into(),
        (Shown::Answer(yes), Action::Wait(_)) => if *yes { "it trips" } else { "it does not trip" }.into(),
        (Shown::Answer(yes), Action::Spin(_)) => {
            if *yes { "it turns freely" } else { "it does not turn freely" }.into()
        }
        (Shown::Answer(yes), _) => if *yes { "it runs" } else { "it does not run" }.into(),
        (Shown::Number { middle, low, high }, Action::Read(measure) | Action::Swap(_, _, measure)) => {
            let text = words::quantity(measure, *middle);
            let end = |value: f64| match measure {
                Measure::Ohms(..) => words::ohms(value),
                _ => words::number(value),
            };
            format!("about {text} ({} to {})", end(*low), end(*high))
        }
        (Shown::Number { middle, .. }, _) => words::number(*middle),
    }
}

/// What a suspect does to currents and powers, one line each, the most telling first.
pub fn consequence_lines(found: &Diagnosis<'_>, what: &Consequences) -> Vec<String> {
    let job = found.evidence.job;
    let setup = |index: usize| &job.setups[index].name;
    let part = |index: usize| &job.unit.parts()[index].name;
    let mut lines = Vec::new();
    for fed in what.fed_backwards.iter().take(4) {
        let giver = format!("{}'s {}", part(fed.giver), fed.giver_element);
        let sound = match fed.sound_watts {
            watts if watts < 0.05 => "idle".to_owned(),
            watts => format!("takes {} W", words::number(watts)),
        };
        let delivers = format!(
            "setup {}: {giver} delivers {} W (sound unit: {sound})",
            setup(fed.setup),
            words::number(fed.watts)
        );
        lines.push(match &fed.taker {
            Some((taker, element)) => {
                let (giver, taker) = (part(fed.giver), part(*taker));
                format!("{delivers} into {taker}'s {element}: {giver} feeds {taker} backwards")
            }
            None => delivers,
        });
    }
    for hot in what.runs_hotter.iter().take(3) {
        lines.push(format!(
            "setup {}: {} makes {} W of heat instead of {} W",
            setup(hot.setup),
            part(hot.part),
            words::number(hot.heat),
            words::number(hot.sound_heat)
        ));
    }
    lines.extend(what.cuts_off.iter().filter_map(|cut| {
        let words = words::cut_off(cut.breaker, cut.residual_trip)?;
        Some(format!("setup {}: {words}", setup(cut.setup)))
    }));
    lines
}

/// How strongly a reading speaks, from the logarithm of its likelihood ratio.
pub fn strength(log_ratio: f64) -> String {
    let times = match log_ratio.abs().exp() {
        times if times >= 1e4 => ">10000".into(),
        times if times >= 10.0 => format!("{times:.0}"),
        times => format!("{times:.1}"),
    };
    match log_ratio {
        ratio if ratio.abs() < 0.2 => "neither way".to_owned(),
        ratio if ratio > 0.0 => format!("{times} times"),
        _ => format!("against, {times} times"),
    }
}

/// Where the leads of a check go, as typed; a part for its speed or power; nothing for a check without a meter.
pub fn points(unit: &Unit, action: Action) -> Vec<String> {
    let (Action::Read(measure) | Action::Swap(_, _, measure)) = action else { return Vec::new() };
    match measure {
        Measure::Ohms(a, b) | Measure::Volts(a, b) | Measure::Microfarads(a, b) => {
            vec![unit.terminal_name(a), unit.terminal_name(b)]
        }
        Measure::AmpsAtTerminal(terminal) => vec![unit.terminal_name(terminal)],
        Measure::AmpsInWire(wire) => vec![unit.wires()[wire].name.clone()],
        Measure::TouchMilliamps(terminal) => vec![unit.terminal_name(terminal)],
        Measure::Watts(part)
        | Measure::Rpm(part)
        | Measure::RunDown(part)
        | Measure::LeakageMilliamps(part)
        | Measure::Bars(part, _) => vec![unit.parts()[part].name.clone()],
    }
}
