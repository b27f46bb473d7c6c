//! The plan as people say it.

use super::{MOST_EXACT, Next, Node, Plan, Way};
use crate::Diagnosis;
use crate::sequencing::Price;
use crate::unexplained::{unexplained, unexplained_lines};
use bench::words::{percent, whole_minutes};

/// Repairs named where no check tells them apart.
const NAMED_REPAIRS: usize = 4;

/// What the plan is expected to take and how it came about, a line each.
pub fn summary_lines(found: &Diagnosis<'_>, plan: &Plan) -> Vec<String> {
    if let Some(unexplained) = unexplained(found) {
        let mut lines = unexplained_lines(found, &unexplained);
        lines.push("There is nothing to plan before that.".into());
        return lines;
    }
    let weighted = |price: Price| whole_minutes(price.weighted);
    let mut lines = vec![
        format!(
            "Expected: {} minutes, {} with danger counted; {} groups of suspects, {} checks in play.",
            whole_minutes(plan.expected.minutes),
            weighted(plan.expected),
            plan.groups,
            plan.checks
        ),
        way_words(plan),
    ];
    if let Some(best) = plan.optimum {
        lines.push(format!(
            "With danger counted the least possible is {}; looking one check ahead costs {} ({} times), the check that tells \
             most a minute each time {} ({} times).",
            weighted(best),
            weighted(plan.rollout),
            ratio(plan.rollout, best),
            weighted(plan.greedy),
            ratio(plan.greedy, best)
        ));
    }
    if plan.inseparable > 0.0 || plan.in_vain >= 0.05 {
        lines.push(format!(
            "It ends with repairs that no check worth doing tells apart in {} of cases; {} minutes of repairs in vain are to be expected.",
            percent(plan.inseparable),
            whole_minutes(plan.in_vain)
        ));
    }
    if plan.left_out >= 0.005 {
        let share = percent(plan.left_out);
        lines.push(format!("Suspects that hold {share} together are left out of the plan."));
    }
    let job = found.evidence.job;
    let refused: Vec<String> = job.refused.iter().map(|refusal| refusal.words(job)).collect();
    if !refused.is_empty() {
        lines.push(format!("Refused: {}.", refused.join("; ")));
    }
    lines
}

fn way_words(plan: &Plan) -> String {
    match plan.way {
        Way::Optimum => "This is the cheapest order there is for them, every one weighed.".into(),
        Way::Rollout if plan.groups > MOST_EXACT => {
            format!("More than {MOST_EXACT} groups: found by looking one check ahead, not by weighing every order.")
        }
        Way::Rollout => "Too many orders to weigh: found by looking one check ahead.".into(),
    }
}

fn ratio(price: Price, best: Price) -> String {
    if best.weighted > 0.0 { format!("{:.3}", price.weighted / best.weighted) } else { "1".into() }
}

/// What to heed in checks with the supply off, each once; those of live ones stand at each.
pub fn isolated_cautions(plan: &Plan) -> Vec<&str> {
    let mut list = Vec::new();
    gather_cautions(&plan.root, &mut list);
    list
}

fn gather_cautions<'n>(node: &'n Node, list: &mut Vec<&'n str>) {
    let Next::Check(check, branches) = &node.next else { return };
    for caution in check.cautions.iter().filter(|_| !check.setup.energised) {
        if !list.contains(&caution.as_str()) {
            list.push(caution);
        }
    }
    branches.iter().for_each(|branch| gather_cautions(&branch.node, list));
}

/// Where the plan ends at a point, or is not shown further; nothing where a check follows.
pub fn end_words(node: &Node) -> Option<String> {
    match &node.next {
        Next::Check(..) => None,
        Next::TakeAgain => Some("take the doubtful readings again, then ask again".into()),
        Next::Settled { repair, share, minutes } => {
            let mut text = format!("settled: {repair} ({})", percent(*share));
            if *share < 0.9995 && *minutes > 0.0 {
                text += &format!("; in vain in {}, {} minutes then", percent(1.0 - *share), whole_minutes(*minutes));
            }
            Some(text)
        }
        Next::Inseparable { in_vain } => {
            let named = node.repairs.iter().take(NAMED_REPAIRS);
            let named: Vec<String> = named.map(|(repair, share)| format!("{repair} ({})", percent(*share))).collect();
            Some(format!(
                "cannot be told apart by any check worth doing; in this order: {}; {} minutes in vain to be expected",
                named.join("; then "),
                whole_minutes(*in_vain)
            ))
        }
        Next::Cut => {
            let (repair, share) = node.repairs.first().map_or(("", 0.0), |(repair, share)| (repair.as_str(), *share));
            let expected = whole_minutes(node.expected.minutes);
            Some(format!("and so on, about {expected} minutes more; {repair} leads ({})", percent(share)))
        }
    }
}
