//! Repairs and strains as JSON.

use bench::Place;
use bench::winding_class::SaidBy;
use diagnosis::recurrence::{Standing, behind};
use diagnosis::{Diagnosis, Suspect};
use repair::compare::Remark;
use repair::hook_ups::{Mistake, WrongHookUp};
use repair::options::{RepairOption, Work};
use repair::stress::{Exposure, Reckoner, Strained};
use repair::substitute::Fits;
use serde_json::{Value, json};

/// All of `options`.
pub fn options(
    found: &Diagnosis<'_>,
    suspect: &Suspect,
    options: &[RepairOption],
    exposure: &Exposure,
    strained: &[Strained],
) -> Value {
    let unit = &found.evidence.job.unit;
    let name = |part: usize| unit.parts()[part].name.clone();
    let remarks = |list: &[Remark]| -> Vec<Value> {
        list.iter()
            .map(|remark| {
                json!({
                    "positions": remark.positions,
                    "is_risk": remark.what.is_risk(),
                    "words": remark.what.words(unit),
                })
            })
            .collect()
    };
    let wrong = |wrong: &WrongHookUp| {
        let (interchanged, astray) = match &wrong.mistake {
            Mistake::Interchanged(terminals) => (Some(terminals), None),
            Mistake::OnAnother { lead, on, belongs_on } => {
                (None, Some(json!({ "lead": lead, "on": on, "belongs_on": belongs_on })))
            }
        };
        json!({
            "interchanged": interchanged,
            "astray": astray,
            "words": wrong.mistake.words(),
            "remarks": remarks(&wrong.remarks),
        })
    };
    let one = |option: &RepairOption| {
        json!({
            "work": match &option.work {
                Work::Leave => "leave",
                Work::LikeForLike => "like-for-like",
                Work::TakeOut(_) => "take-out",
                Work::Substitute(_) => "substitute",
            },
            "words": option.words,
            "remarks": remarks(&option.remarks),
            "compared": option.compared.iter().map(|compared| json!({
                "field": compared.field,
                "before": compared.before,
                "after": compared.after,
                "fits": match compared.fits { Fits::Yes => "yes", Fits::Doubtful => "doubtful", Fits::No => "no" },
                "why": compared.why,
            })).collect::<Vec<_>>(),
            "wrong_hook_ups": option.wrong_hook_ups.iter().map(wrong).collect::<Vec<_>>(),
            "positions": option.courses.iter().map(|course| json!({
                "position": course.position,
                "cut_off": course.cut_off,
                "amps": course.amps,
                "amps_spread": course.amps_spread,
                "watts": course.watts,
                "watts_spread": course.watts_spread,
                "motors": course.motors.iter().map(|motor| json!({
                    "part": name(motor.part),
                    "runs": motor.motion == machine::Motion::Running,
                    "rpm": motor.rpm,
                    "rpm_spread": motor.rpm_spread,
                    "start_torque": motor.start_torque,
                })).collect::<Vec<_>>(),
                "bodies": course.bodies.iter().map(|body| json!({
                    "body": unit.body_name(body.part, body.body),
                    "hottest_celsius": body.hottest_celsius,
                    "spread_kelvin": body.spread_kelvin,
                })).collect::<Vec<_>>(),
                "burns_out": course.burns_out.map(|(part, body, seconds)| json!({
                    "part": name(part), "body": unit.body_name(part, body), "after_minutes": seconds / 60.0,
                })),
                "opened": course.opened.iter().map(|&part| name(part)).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        })
    };
    let runs = (!exposure.logged.is_empty()).then_some(&exposure.logged);
    let reckoned_by = exposure.reckoned.map(|(_, reckoner)| match reckoner {
        Reckoner::Asker => "asker",
        Reckoner::Job => "job",
        Reckoner::Nobody => "nobody",
    });
    json!({
        "suspect": diagnosis::words::suspect_words(found, suspect),
        "probability": suspect.probability,
        "options": options.iter().map(one).collect::<Vec<_>>(),
        "exposure": {
            "logged_runs": runs,
            "reckoned_minutes": exposure.reckoned.map(|(minutes, _)| minutes),
            "reckoned_by": reckoned_by,
        },
        "reasons": behind(found, suspect).iter().map(|reasons| json!({
            "part": unit.place_name(reasons.place),
            "replaced_before": reasons.times,
            "conditions": reasons.conditions.iter().map(|(condition, standing)| json!({
                "words": condition.words,
                "standing": match standing {
                    Standing::Found => "found",
                    Standing::Excluded => "excluded",
                    Standing::Open => "open",
                },
                "check": condition.check,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "strained": strained.iter().map(|entry| json!({
            "part": match entry.what { Place::Part(part) => Some(name(part)), Place::Wire(_) => None },
            "wire": match entry.what { Place::Wire(_) => Some(unit.place_name(entry.what)), Place::Part(_) => None },
            "is_repaired": entry.is_repaired,
            "loads": entry.loads.iter().map(|(against, times)| json!({
                "against": against.name(),
                "times": times.times,
                "spread": times.spread,
            })).collect::<Vec<_>>(),
            "surroundings_celsius": entry.about.map(|about| about.celsius),
            "surroundings_spread_kelvin": entry.about.map(|about| about.spread_kelvin),
            "max_celsius": entry.about.map(|about| about.max_celsius),
            "made_for_seconds": entry.left_in,
            "winding": entry.winding.map(|_| entry.winding_name),
            "winding_celsius": entry.winding.map(|winding| winding.0),
            "winding_spread_kelvin": entry.winding.filter(|_| entry.burns_after_minutes.is_none()).map(|winding| winding.1),
            "burns_out_after_minutes": entry.burns_after_minutes,
            "winding_limit_celsius": entry.winding.and(entry.limit).map(|limit| limit.celsius),
            "insulation_class": entry.winding.and(entry.limit).map(|limit| limit.class.class.to_string()),
            "insulation_class_said_by": entry.winding.and(entry.limit).map(|limit| match limit.class.said_by {
                SaidBy::Plate => "plate",
                SaidBy::Job => "job",
                SaidBy::Nothing => "nothing",
            }),
            "where": entry.place,
            "minutes": entry.minutes,
            "life_hours": entry.life_hours,
            "check": entry.check(unit),
        })).collect::<Vec<_>>(),
        "caution": "A repair is proven by a heat run and the safety tests only. Local codes and licensed practice prevail.",
    })
}
