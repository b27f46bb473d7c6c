//! The verdict as people say it: what is decided, what is left, what a mistake would cost.

use crate::checks::Check;
use crate::next::CheckPlan;
use crate::repairs::{NO_REPAIR, RepairShare, SETTLED, UNKNOWN_REPAIR};
use crate::slip_words::slip_lines;
use crate::suspects::Diagnosis;
use crate::unexplained::unexplained_lines;
use crate::verdict::{IfWrong, Missed, Verdict};
use crate::words::{action_words, shown_words};
use bench::newly_fitted::Blame;
use bench::{Place, words};

/// Faults named in one line.
const NAMED: usize = 3;
/// Less than this is not worth a word.
const WORTH_A_WORD: f64 = 0.001;
/// Alternating current that about half of all people begin to feel, milliamperes (IEC 60479, from memory).
const PERCEIVED_MILLIAMPS: f64 = 0.5;
/// From this probability on it is said that the unit itself is not to blame.
const BLAMED: f64 = 0.5;
/// Outcomes of the deciding check that are told.
const OUTCOMES: usize = 2;

/// The verdict, a line each; without a plan the deciding check is left to who asks for one.
pub fn verdict_lines(found: &Diagnosis<'_>, verdict: &Verdict, plan: Option<&CheckPlan>) -> Vec<String> {
    let mut lines = Vec::new();
    match &verdict.settled {
        Some(share) => {
            lines.push(format!("Finding is done: {} ({}).", share.repair, words::percent(share.probability)));
        }
        None => lines.extend(open_lines(found, verdict, plan)),
    }
    lines.extend(slip_lines(found));
    lines.extend(verdict.blame.iter().filter(|(_, probability)| *probability >= BLAMED).map(blame_words));
    lines.extend(new_part_lines(found, verdict));
    if let Some(if_wrong) = &verdict.if_wrong {
        lines.extend(cost_lines(found, if_wrong));
    }
    lines.extend(hidden_line(found, verdict));
    lines.extend(proof_line(found, verdict));
    lines
}

fn open_lines(found: &Diagnosis<'_>, verdict: &Verdict, plan: Option<&CheckPlan>) -> Vec<String> {
    let mut lines = Vec::new();
    let is_known = |share: &&RepairShare| verdict.unexplained.is_none() || share.repair != UNKNOWN_REPAIR;
    let shares: Vec<String> = verdict
        .left
        .iter()
        .filter(is_known)
        .map(|share| format!("{} ({})", in_short(&share.repair), words::percent(share.probability)))
        .collect();
    let rest = 1.0 - verdict.left.iter().map(|share| share.probability).sum::<f64>();
    let rest = if rest >= 0.01 { format!(" | others together ({})", words::percent(rest)) } else { String::new() };
    match &verdict.unexplained {
        Some(unexplained) => {
            lines.extend(unexplained_lines(found, unexplained));
            if !shares.is_empty() {
                lines.push(format!("Of the known ones are left: {}{rest}.", shares.join(" | ")));
            }
        }
        None if verdict.left.is_empty() => lines.push("Not decided: nothing stands out yet.".to_owned()),
        None => lines.push(format!("Not decided. Left are: {}{rest}.", shares.join(" | "))),
    }
    if let Some(needed) = &verdict.needed {
        lines.push(format!(
            "In any case needed ({}): {}. What is not decided is whether that is all.",
            words::percent(needed.probability),
            needed.repair
        ));
    }
    if let Some(plan) = plan {
        lines.extend(match plan.checks.first() {
            Some(check) => Some(deciding_words(found, check, &plan.checks)),
            None if verdict.unexplained.is_some() => None,
            None => Some({
                let way = "do the cheapest of them first, and prove it by the readings that showed the fault";
                format!("No check on this list would decide it: {way}.")
            }),
        });
    }
    lines
}

/// A whole repair as one of a list.
fn in_short(repair: &str) -> String {
    repair.replace("; ", ", and also ")
}

fn deciding_words(found: &Diagnosis<'_>, check: &Check, listed: &[Check]) -> String {
    let surest = check.outcomes.iter().map(|outcome| outcome.repair.1).fold(0.0, f64::max);
    let verb = if surest >= SETTLED {
        "The check that would decide"
    } else if listed.iter().all(|other| other.bits <= check.bits) {
        "The check that narrows it down most"
    } else {
        "The best check for what it costs"
    };
    let outcomes: Vec<String> = check
        .outcomes
        .iter()
        .take(OUTCOMES)
        .map(|outcome| {
            let shown = shown_words(check, &outcome.shown);
            format!("{shown}: {} ({})", in_short(&outcome.repair.0), words::percent(outcome.repair.1))
        })
        .collect();
    format!(
        "{verb}: {}, setup {}. {}.",
        action_words(found, check),
        check.setup.name,
        words::sentence(&outcomes.join(" | ")).trim_end_matches('.')
    )
}

fn blame_words(&(blame, probability): &(Blame, f64)) -> String {
    let sure = words::percent(probability);
    match blame {
        Blame::Supply => format!(
            "The unit itself is sound, as far as these readings tell ({sure}): the fault is ahead of it, in outlet, fuse, \
             breaker pole or line."
        ),
        Blame::HookUp => format!(
            "No part has failed, as far as these readings tell ({sure}): wires are on the wrong terminals of a part that \
             was changed."
        ),
        Blame::WrongPart => {
            format!(
                "No part has worn out, as far as these readings tell ({sure}): one is fitted that does not belong there."
            )
        }
        Blame::Unit => String::new(),
    }
}

/// What a part that was just changed says, and what it does not.
fn new_part_lines(found: &Diagnosis<'_>, verdict: &Verdict) -> Vec<String> {
    let unit = &found.evidence.job.unit;
    let is_sound = found.suspects.first().is_some_and(|first| first.repair == NO_REPAIR);
    let parts = unit.parts().iter().enumerate().filter(|(_, part)| part.provenance.is_new);
    parts
        .map(|(index, part)| {
            let name = &part.name;
            if is_sound && let Some(seen) = seen_otherwise(found) {
                return format!(
                    "By the readings the unit is a sound one with the new {name}, but that is not what was seen of it: \
                     {seen}. Look at that again before it goes out."
                );
            }
            if is_sound {
                return format!(
                    "With the new {name} the unit reads as a sound one. That is no proof that the old one was bad: what was \
                     moved in changing it may hold for a while. Read the old one off its wires, and let the unit run as \
                     long as it took to fail."
                );
            }
            let at_part = |fault: usize| unit.faults()[fault].place == Place::Part(index);
            let still: f64 = found
                .suspects
                .iter()
                .filter(|suspect| suspect.faults.iter().flat_map(|set| &set.0).any(|&fault| at_part(fault)))
                .map(|suspect| suspect.probability)
                .sum();
            if still >= BLAMED {
                return format!(
                    "{name} is new and the fault is most likely at it all the same ({}): in its wires, in what it is, or in \
                     the new one itself.",
                    words::percent(still)
                );
            }
            let among = if verdict.settled.is_some() { "" } else { ": the others keep their odds among each other" };
            format!(
                "{name} is new and the fault is still there. That makes {name} unlikely, though not impossible ({}), and \
                 convicts no other part{among}.",
                words::percent(still)
            )
        })
        .collect()
}

/// The words noted of the unit, where a sound one would not have earned them.
fn seen_otherwise(found: &Diagnosis<'_>) -> Option<String> {
    let job = found.evidence.job;
    let sound = found.suspects.first()?.fit.as_ref()?;
    // As likely as not for each word; one that is far off outweighs several that fit.
    if sound.outlook.symptoms >= 0.5f64.ln() * job.symptoms.len() as f64 {
        return None;
    }
    let seen = job.symptoms.iter().map(|symptom| {
        let part = &job.unit.parts()[symptom.part].name;
        format!("{part} {} in setup {}", symptom.word.as_str(), job.setups[symptom.setup].name)
    });
    Some(seen.collect::<Vec<_>>().join(", "))
}

fn cost_lines(found: &Diagnosis<'_>, if_wrong: &IfWrong) -> Vec<String> {
    let mut lines = Vec::new();
    let minutes = words::whole_minutes(if_wrong.minutes);
    let instead = if_wrong.instead.as_ref().filter(|share| share.probability >= WORTH_A_WORD).map(|share| {
        let what = if share.repair == NO_REPAIR { share.repair.clone() } else { in_short(&share.repair) };
        format!("; most likely instead: {what} ({})", words::percent(share.probability))
    });
    lines.push(format!(
        "If that is wrong ({}), about {minutes} minutes and what was fitted were in vain{}.",
        words::percent(if_wrong.in_vain),
        instead.unwrap_or_default()
    ));
    let (dangerous, others): (Vec<&Missed>, Vec<&Missed>) = if_wrong
        .missed
        .iter()
        .filter(|missed| missed.probability >= WORTH_A_WORD)
        .partition(|missed| missed.danger.is_some());
    let named = |list: &[&Missed], words: &dyn Fn(&Missed) -> String| -> Vec<String> {
        list.iter().take(NAMED).map(|missed| words(missed)).collect()
    };
    let label = |missed: &Missed| {
        format!("{} ({})", found.evidence.job.unit.faults()[missed.fault].label(), words::percent(missed.probability))
    };
    if !others.is_empty() {
        lines.push(format!(
            "It would leave in {}: {}.",
            words::percent(if_wrong.misses),
            named(&others, &label).join(", ")
        ));
    }
    if dangerous.is_empty() {
        lines.push(
            "Nothing dangerous of those that are known would be left in more than one case in a thousand.".into(),
        );
    } else {
        lines.push(format!("Dangerous if left: {}.", by_danger(&dangerous, &label).join("; ")));
    }
    lines
}

/// Dangerous faults, those of one danger together, with what a person who touches the metal would carry at most.
fn by_danger(missed: &[&Missed], label: &dyn Fn(&Missed) -> String) -> Vec<String> {
    let mut dangers: Vec<&str> = missed.iter().filter_map(|missed| missed.danger).collect();
    let mut seen = Vec::new();
    dangers.retain(|danger| {
        !seen.contains(danger) && {
            seen.push(*danger);
            true
        }
    });
    let line = |danger: &&str| {
        let alike: Vec<&&Missed> = missed.iter().filter(|missed| missed.danger == Some(danger)).collect();
        let labels: Vec<String> = alike.iter().take(NAMED).map(|missed| label(missed)).collect();
        let touch = alike.iter().filter_map(|missed| missed.touch_milliamps).fold(0.0, f64::max);
        let touch = match touch {
            milliamps if milliamps >= PERCEIVED_MILLIAMPS => {
                format!(", up to {} mA through a person who touches it", words::number(milliamps))
            }
            _ => String::new(),
        };
        format!("{} ({danger}{touch})", labels.join(", "))
    };
    dangers.iter().take(NAMED).map(line).collect()
}

fn hidden_line(found: &Diagnosis<'_>, verdict: &Verdict) -> Option<String> {
    let all: f64 = verdict.hidden.iter().map(|(_, probability)| probability).sum();
    if all < 0.01 {
        return None;
    }
    let unit = &found.evidence.job.unit;
    let most: Vec<String> = verdict
        .hidden
        .iter()
        .take(NAMED)
        .map(|&(fault, probability)| format!("{} ({})", unit.faults()[fault].label(), words::percent(probability)))
        .collect();
    Some(format!(
        "A second fault may hide behind the first suspect, where none of these readings could show it ({}), such as {}. Ask \
         for it before the unit goes out.",
        words::percent(all),
        most.join(", ")
    ))
}

fn proof_line(found: &Diagnosis<'_>, verdict: &Verdict) -> Option<String> {
    let is_work =
        verdict.settled.as_ref().is_some_and(|share| share.repair != NO_REPAIR && share.repair != UNKNOWN_REPAIR);
    if !is_work {
        return None;
    }
    let gone = "That the trouble is gone afterwards is not yet proof";
    let Some(proof) = verdict.proof else { return Some(format!("{gone}: take the readings again, and the logs.")) };
    let (job, taken) = (found.evidence.job, &found.evidence.taken[proof.reading]);
    Some(format!(
        "{gone}. Take line {} again ({} in setup {}): it showed {} and should then show {}.",
        taken.line,
        words::place(&job.unit, taken.measure),
        job.setups[taken.setup].name,
        words::shown(taken.measure, taken.value),
        words::quantity(taken.measure, proof.repaired)
    ))
}
