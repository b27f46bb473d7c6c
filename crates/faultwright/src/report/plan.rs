//! The plan as text and as JSON: a tree of checks.

use super::json::{check_json, shown_json};
use crate::page::Page;
use bench::cautions::STANDING;
use bench::words;
use diagnosis::Diagnosis;
use diagnosis::plan::words::{end_words, isolated_cautions, summary_lines};
use diagnosis::plan::{Next, Node, Plan, Way};
use diagnosis::sequencing::Price;
use diagnosis::words as findings;
use serde_json::{Value as Json, json};
use std::io::{self, Write};

/// Further in than this the text goes no more.
const DEEPEST_INDENT: usize = 40;

/// The plan with its tree.
pub fn show<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, plan: Option<&Plan>) -> io::Result<()> {
    page.heading("Plan")?;
    let Some(plan) = plan else {
        return page.text(2, "There is no plan: no suspect could be worked out.");
    };
    for line in summary_lines(found, plan) {
        page.text(2, &line)?;
    }
    page.gap()?;
    let cautions = isolated_cautions(plan);
    if !cautions.is_empty() {
        page.text(2, "For every check that is isolated:")?;
    }
    for caution in cautions {
        page.item(2, "!", caution)?;
    }
    show_node(page, found, &plan.root, 2)?;
    if plan.is_cut {
        page.text(
            2,
            "Where it says 'and so on' the plan goes further than is shown; ask again from there, or with --depth.",
        )?;
    }
    page.gap()?;
    page.text(2, STANDING)
}

fn show_node<W: Write>(page: &mut Page<W>, found: &Diagnosis<'_>, node: &Node, indent: usize) -> io::Result<()> {
    let at = indent.min(DEEPEST_INDENT);
    match &node.next {
        Next::Check(check, branches) => {
            let text = format!(
                "{}, setup {}; {}, {}",
                findings::action_words(found, check),
                check.setup.name,
                findings::cost_words(found.evidence.job, check),
                check.hazard.words()
            );
            page.strong(at, "?", &text)?;
            for caution in check.cautions.iter().filter(|_| check.setup.energised) {
                page.item(at + 2, "!", caution)?;
            }
            for branch in branches {
                let shown = findings::shown_words(check, &branch.shown);
                page.item(at + 2, ">", &format!("if {shown} ({}):", words::percent(branch.probability)))?;
                show_node(page, found, &branch.node, indent + 4)?;
            }
            Ok(())
        }
        end => {
            let mark = if matches!(end, Next::Cut) { "-" } else { "=" };
            page.item(at, mark, &end_words(node).unwrap_or_default())
        }
    }
}

pub fn price_json(price: Price) -> Json {
    json!({ "minutes": price.minutes, "danger_weighted_minutes": price.weighted })
}

/// The plan; `null` where there is none.
pub fn json(found: &Diagnosis<'_>, plan: Option<&Plan>) -> Json {
    let Some(plan) = plan else { return Json::Null };
    let over_optimum =
        |price: Price| plan.optimum.map(|best| if best.weighted > 0.0 { price.weighted / best.weighted } else { 1.0 });
    let job = found.evidence.job;
    json!({
        "way": match plan.way { Way::Optimum => "optimum", Way::Rollout => "rollout" },
        "expected": price_json(plan.expected),
        "optimum": plan.optimum.map(price_json),
        "rollout": price_json(plan.rollout),
        "rollout_over_optimum": over_optimum(plan.rollout),
        "greedy": price_json(plan.greedy),
        "greedy_over_optimum": over_optimum(plan.greedy),
        "groups": plan.groups,
        "checks": plan.checks,
        "left_out_probability": plan.left_out,
        "inseparable_probability": plan.inseparable,
        "expected_minutes_in_vain": plan.in_vain,
        "cut": plan.is_cut,
        "refused": job.refused.iter().map(|refusal| refusal.words(job)).collect::<Vec<_>>(),
        "tree": node_json(found, &plan.root),
        "caution": STANDING,
    })
}

fn node_json(found: &Diagnosis<'_>, node: &Node) -> Json {
    let (end, minutes) = match &node.next {
        Next::Check(..) => ("check", None),
        Next::Settled { minutes, .. } => ("settled", Some(*minutes)),
        Next::Inseparable { in_vain } => ("inseparable", Some(*in_vain)),
        Next::Cut => ("cut", None),
        Next::TakeAgain => ("take again", None),
    };
    let mut map = json!({
        "probability": node.probability,
        "expected": price_json(node.expected),
        "leaves": node.left.iter().map(|&(suspect, probability)| json!({
            "suspect": findings::suspect_words(found, &found.suspects[suspect]), "probability": probability,
        })).collect::<Vec<_>>(),
        "repairs": node.repairs.iter()
            .map(|(repair, probability)| json!({ "repair": repair, "probability": probability })).collect::<Vec<_>>(),
        "next": end,
        "settled": match &node.next {
            Next::Settled { repair, share, .. } => json!({ "repair": repair, "probability": share }),
            _ => Json::Null,
        },
        "minutes_in_vain": minutes,
    });
    if let (Next::Check(check, branches), Some(fields)) = (&node.next, map.as_object_mut()) {
        fields.insert("check".into(), check_json(found, check));
        let outcomes = branches.iter().map(|branch| {
            json!({
                "shown": shown_json(check, &branch.shown),
                "words": findings::shown_words(check, &branch.shown),
                "probability": branch.probability,
                "then": node_json(found, &branch.node),
            })
        });
        fields.insert("outcomes".into(), Json::Array(outcomes.collect()));
    }
    map
}
