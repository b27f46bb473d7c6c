//! Runs the trials of heat runs and writes their page.

use clap::Parser;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;
use trials::heat_runs::report::page;
use trials::heat_runs::score::many;

/// Simulated heat runs: is the interval honest, how much shorter do runs get, is a pass ever false?
#[derive(Debug, Parser)]
struct Arguments {
    /// How many runs to draw.
    #[arg(long, default_value_t = 1000)]
    runs: u64,
    /// Seed; the same seed gives the same runs.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Where to write the page.
    #[arg(long, default_value = "heat-run-trials.md")]
    out: PathBuf,
}

fn main() -> ExitCode {
    let Arguments { runs, seed, out } = Arguments::parse();
    let began = Instant::now();
    let text = page(&many(runs, seed), seed);
    if let Err(error) = std::fs::write(&out, text) {
        eprintln!("{}: {error}", out.display());
        return ExitCode::FAILURE;
    }
    eprintln!("written to {}, {:.0} s", out.display(), began.elapsed().as_secs_f64());
    ExitCode::SUCCESS
}
