//! Runs the trials and writes their page.

use clap::Parser;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;
use trials::report::{Run, page};
use trials::trials::many;

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
    #[arg(long, default_value_t = 5)]
    compared: u64,
    /// Where to write the page.
    #[arg(long, default_value = "trials.md")]
    out: PathBuf,
}

fn main() -> ExitCode {
    let Arguments { cases, seed, compared, out } = Arguments::parse();
    let began = Instant::now();
    let (scored, failed) = many(seed, cases, compared, |done| {
        if done.is_multiple_of(10) {
            eprintln!("{done} of {cases} cases, {:.0} s", began.elapsed().as_secs_f64());
        }
    });
    let run = Run { cases, seed, compared, failed, wall: began.elapsed() };
    if let Err(error) = std::fs::write(&out, page(&run, &scored)) {
        eprintln!("{}: {error}", out.display());
        return ExitCode::FAILURE;
    }
    eprintln!("written to {}", out.display());
    ExitCode::SUCCESS
}
