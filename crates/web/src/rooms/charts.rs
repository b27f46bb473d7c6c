//! Charts of a ranking: suspects with what moved them, and readings against predictions.

use crate::assessment::{Assessment, ReadingView, SuspectView};
use draw::Drawing;
use draw::chart::{Comparison, Moved, Shown, SuspectBar, Verdict, comparisons, suspects};

/// Width of both: fits half a wide page, and a phone held upright at nearly full size.
const WIDTH: f64 = 380.0;
/// Readings named beside the first suspect.
const NAMED: usize = 5;
/// Readings that speak less, in nats, are not named.
const SPEAKS: f64 = 0.2;

/// The suspects as bars, the first with the readings that speak most about it.
pub fn bars(ranking: &Assessment) -> Drawing {
    let bar = |(rank, suspect): (usize, &SuspectView)| SuspectBar {
        label: suspect.label.clone(),
        probability: suspect.probability,
        moved: if rank == 0 { telling(ranking) } else { Vec::new() },
    };
    let bars: Vec<SuspectBar> = ranking.suspects.iter().enumerate().map(bar).collect();
    suspects("Suspects, and what the readings say of the first against its best rival", &bars, WIDTH)
}

fn telling(ranking: &Assessment) -> Vec<Moved> {
    let mut loudest: Vec<_> = ranking.support.iter().filter(|support| support.log_ratio.abs() >= SPEAKS).collect();
    loudest.sort_by(|a, b| b.log_ratio.abs().total_cmp(&a.log_ratio.abs()));
    let moved = loudest.into_iter().take(NAMED);
    moved
        .map(|support| Moved { words: format!("{} {}", support.shown, support.place), log_ratio: support.log_ratio })
        .collect()
}

/// How the readings fit a suspect.
pub fn fit(suspect: &SuspectView) -> Drawing {
    let rows: Vec<Comparison> = suspect.readings.iter().map(comparison).collect();
    comparisons(&format!("Readings against '{}'", suspect.label), &rows, WIDTH)
}

fn comparison(reading: &ReadingView) -> Comparison {
    Comparison {
        words: format!("{}: {}", reading.setup, reading.place),
        unit: reading.unit.to_owned(),
        predicted: reading.predicted_value,
        sigma: reading.sigma.unwrap_or(0.0),
        shown: reading.shown_value.map_or(Shown::Open, Shown::Number),
        verdict: match reading.verdict {
            "fits" => Verdict::Fits,
            "strained" => Verdict::Strained,
            _ => Verdict::DoesNotFit,
        },
    }
}
