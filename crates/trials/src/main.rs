//! Runs the trials and writes their page.

use clap::Parser;
use std::collections::BTreeMap;
use std::error::Error;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Instant;
use trials::kept::Kept;
use trials::report::{Run, page};
use trials::strategy::Strategy;
use trials::trials::{Plan, Worked, many};

/// Simulated repairs: is the diagnosis right, and does it know how sure it is?
#[derive(Debug, Parser)]
struct Arguments {
    /// How many cases to draw.
    #[arg(long, default_value_t = 200)]
    cases: u64,
    /// Seed; the same seed gives the same cases and readings.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Of so many rounds through the families one is also worked on in the other ways; 0 for none.
    #[arg(long, default_value_t = 10)]
    compared: u64,
    /// Share of units in which nothing is wrong.
    #[arg(long, default_value_t = 0.0)]
    sound: f64,
    /// File in which cases are kept while they are worked on: stopped and started again, the run goes on from there.
    #[arg(long)]
    scores: Option<PathBuf>,
    /// Work on no further case: the page is made of what is kept.
    #[arg(long, requires = "scores")]
    no_more: bool,
    /// Where to write the page.
    #[arg(long, default_value = "trials.md")]
    out: PathBuf,
    /// Folder in which cases whose true repair does not lead are left as job files.
    #[arg(long)]
    keep: Option<PathBuf>,
}

fn main() -> ExitCode {
    match run(&Arguments::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn run(arguments: &Arguments) -> Result<(), Box<dyn Error>> {
    let Arguments { cases, seed, compared, sound, out, keep, scores, no_more } = arguments;
    let plan = Plan { cases: *cases, seed: *seed, compared: *compared, sound_share: *sound };
    let (kept, known) = match scores {
        Some(path) => Kept::open(path, &plan).map(|(kept, known)| (Some(kept), known))?,
        None => (None, BTreeMap::new()),
    };
    let worked = if *no_more { known } else { work(plan, kept.as_ref(), known)? };
    let (run, scored) = Run::of(plan, worked);
    if let Some(folder) = keep {
        let wrong = scored.iter().filter(|entry| entry.strategy == Strategy::Engine && entry.rank != Some(1));
        for entry in wrong {
            std::fs::write(folder.join(format!("case-{}.toml", entry.number)), &entry.outcome.job_text)?;
        }
    }
    std::fs::write(out, page(&run, &scored))?;
    eprintln!("written to {}", out.display());
    Ok(())
}

/// Works on what is open, saying how far it is.
fn work(plan: Plan, kept: Option<&Kept>, known: BTreeMap<u64, Worked>) -> std::io::Result<BTreeMap<u64, Worked>> {
    let began = Instant::now();
    let done = AtomicUsize::new(known.len());
    let failed = Mutex::new(None);
    let all = many(&plan, known, |number, worked| {
        if let Some(Err(error)) = kept.map(|kept| kept.add(number, worked)) {
            *failed.lock().unwrap_or_else(PoisonError::into_inner) = Some(error);
        }
        let done = done.fetch_add(1, Ordering::Relaxed) + 1;
        if done.is_multiple_of(50) {
            eprintln!("{done} of {} cases, {:.0} s", plan.cases, began.elapsed().as_secs_f64());
        }
    });
    failed.into_inner().unwrap_or_else(PoisonError::into_inner).map_or(Ok(all), Err)
}
