//! Wiring, current paths and voltage levels.

use crate::{Findings, RecordError};
use bench::{FaultSet, PredictError, Setup};
use draw::Drawing;
use draw::wiring::{Mark, WiringView, flows};
use maud::{Markup, PreEscaped, html};

/// Setups that are drawn with currents and levels.
const DRAWN: usize = 2;
/// Largest magnification that fits the width of a page; drawings shrink to the page anyway.
const SCALE: f64 = 1.0;

/// The drawings.
///
/// # Errors
/// [`RecordError`] if a setup cannot be solved.
pub fn section(findings: &Findings<'_, '_>) -> Result<Markup, RecordError> {
    let job = findings.found.evidence.job;
    let unit = &job.unit;
    let none = FaultSet::none();
    let faults = findings.suspect.faults.as_ref().unwrap_or(&none);
    let marks: Vec<Mark> = faults
        .0
        .iter()
        .map(|&fault| Mark { place: unit.faults()[fault].place, words: unit.faults()[fault].mode.name.clone() })
        .collect();
    let mut wiring = WiringView::new(unit);
    wiring.suspects = &marks;
    let wiring = draw::wiring::draw(&wiring);
    let mut pictures: Vec<(String, Vec<(String, Drawing)>)> = Vec::new();
    if let Some(fit) = &findings.suspect.fit {
        let own = &fit.deviations[..findings.found.evidence.prior.count()];
        let deviations = findings.suspect.deviations(unit);
        for setup in told_by(findings).into_iter().take(DRAWN) {
            let paths = |faults: &FaultSet, values: &[f64]| -> Result<Drawing, PredictError> {
                let mut view = WiringView::new(unit);
                view.setup = Some(setup);
                view.flows = Some(flows(unit, setup, faults, values)?);
                Ok(draw::wiring::draw(&view))
            };
            let panels = vec![
                draw::level::panel(unit, setup, &none, own, "As it should be")?,
                draw::level::panel(unit, setup, faults, &deviations, "With the fault")?,
            ];
            pictures.push((
                setup.name.clone(),
                vec![
                    ("Current paths as they should be".into(), paths(&none, own)?),
                    ("Current paths with the fault".into(), paths(faults, &deviations)?),
                    (
                        "Voltage levels".into(),
                        draw::level::draw(&format!("Voltage levels, setup {}", setup.name), &panels),
                    ),
                ],
            ));
        }
    }
    let mut number = 0;
    let mut framed = |drawing: &Drawing| {
        number += 1;
        PreEscaped(drawing.inline_at(&format!("drawing-{number}"), SCALE))
    };
    Ok(html! {
        section #drawings {
            h2 { "Wiring" }
            figure { (framed(&wiring)) }
            @for (setup, drawings) in &pictures {
                h2 { "Setup " (setup) }
                @for (title, drawing) in drawings {
                    figure { figcaption { (title) } (framed(drawing)) }
                }
            }
        }
    })
}

/// Live setups of the job, those first in which most was read.
fn told_by<'f>(findings: &'f Findings<'_, '_>) -> Vec<&'f Setup> {
    let job = findings.found.evidence.job;
    let count = |place: usize| job.readings.iter().filter(|reading| reading.setup == place).count();
    let mut live: Vec<usize> = (0..job.setups.len()).filter(|&place| job.setups[place].energised).collect();
    live.sort_by_key(|&place| std::cmp::Reverse(count(place)));
    live.into_iter().map(|place| &job.setups[place]).collect()
}
