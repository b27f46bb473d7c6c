//! Runs the trials and writes their page.

use clap::Parser;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;
use trials::report::{Run, page};
use trials::strategy::Strategy;
use trials::trials::{Plan, many};

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
    /// Where to write the page.
    #[arg(long, default_value = "trials.md")]
    out: PathBuf,
    /// Folder in which cases whose true repair does not lead are left as job files.
    #[arg(long)]
    keep: Option<PathBuf>,
}

fn main() -> ExitCode {
    let Arguments { cases, seed, compared, sound, out, keep } = Arguments::parse();
    let began = Instant::now();
    let plan = Plan { cases, seed, compared, sound_share: sound };
    let (scored, failed) = many(&plan, |done| {
        if done.is_multiple_of(50) {
            eprintln!("{done} of {cases} cases, {:.0} s", began.elapsed().as_secs_f64());
        }
    });
    let run = Run { plan, failed, wall: began.elapsed() };
    let kept = keep.iter().flat_map(|folder| {
        let wrong = scored.iter().filter(|entry| entry.strategy == Strategy::Engine && entry.rank != Some(1));
        wrong.map(|entry| (folder.join(format!("case-{}.toml", entry.number)), entry.outcome.job_text.clone()))
    });
    for (path, text) in kept.chain([(out.clone(), page(&run, &scored))]) {
        if let Err(error) = std::fs::write(&path, text) {
            eprintln!("{}: {error}", path.display());
            return ExitCode::FAILURE;
        }
    }
    eprintln!("written to {}", out.display());
    ExitCode::SUCCESS
}
