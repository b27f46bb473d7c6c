//! Faultwright at the command line: a job file in, findings and drawings out; or the bench on the web.

mod commands;
mod demos;
mod exit;
mod input;
mod page;
mod report;
mod waiting;

use clap::{Parser, Subcommand};
use std::process::ExitCode;

/// Finds electrical faults in small mains-powered, motor-driven and heating equipment.
///
/// Describe the unit, how it is wired and what your meter showed in a job file (docs/job-file.md); Faultwright solves
/// the real circuit and says which part failed, which readings say so, and what to measure next.
///
/// Start with: faultwright demo, or with the page in your browser: faultwright bench
#[derive(Parser)]
#[command(name = "faultwright", version, arg_required_else_help = true, after_help = exit::CODES)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    Demo(commands::demo::Demo),
    Validate(commands::validate::Validate),
    Predict(commands::predict::Predict),
    Suspects(commands::suspects::Suspects),
    Next(commands::next::Next),
    Plan(commands::plan::Plan),
    Options(commands::options::Options),
    Experience(commands::experience::ExperienceOf),
    Safety(commands::safety::Safety),
    Record(commands::record::Record),
    Wiring(commands::wiring::Wiring),
    Paths(commands::paths::Paths),
    Levels(commands::levels::Levels),
    Leads(commands::leads::Leads),
    Heatrun(Box<commands::heatrun::HeatRun>),
    Bench(commands::bench::Bench),
}

fn main() -> ExitCode {
    let outcome = match Cli::parse().command {
        Command::Demo(demo) => demo.run(),
        Command::Validate(validate) => validate.run(),
        Command::Predict(predict) => predict.run(),
        Command::Suspects(suspects) => suspects.run(),
        Command::Next(next) => next.run(),
        Command::Plan(plan) => plan.run(),
        Command::Options(options) => options.run(),
        Command::Experience(experience) => experience.run(),
        Command::Safety(safety) => safety.run(),
        Command::Record(record) => record.run(),
        Command::Wiring(wiring) => wiring.run(),
        Command::Paths(paths) => paths.run(),
        Command::Levels(levels) => levels.run(),
        Command::Leads(leads) => leads.run(),
        Command::Heatrun(heat_run) => heat_run.run(),
        Command::Bench(bench) => bench.run(),
    };
    exit::code(outcome)
}
