//! `levels`: every net at the height of its voltage, the sound unit beside the faulty one.

use crate::commands::{named, output};
use crate::exit::{CODES, Failure};
use crate::input;
use bench::FaultSet;
use bench::wiring::unknown_count;
use std::path::PathBuf;

/// Draw the voltage levels of a setup as SVG: nets at the height of their volts, parts between them.
///
/// Arrows point down where power is taken and up where it is delivered. With faults put in, the sound unit stands beside
/// the faulty one.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Levels {
    /// The job file.
    job: PathBuf,
    /// Name of the setup.
    #[arg(long)]
    setup: String,
    /// A fault to put in: "PLACE FAULT" or "PLACE FAULT SIZE"; may be given several times.
    #[arg(long = "fault")]
    faults: Vec<String>,
    /// File to write; without it the drawing goes to the standard output.
    #[arg(long)]
    out: Option<PathBuf>,
}

impl Levels {
    pub fn run(self) -> Result<(), Failure> {
        let job = input::read_file(&self.job)?.load()?;
        let setup = &job.setups[named::setup(&job, &self.setup)?];
        let (faults, deviations) = named::faults(&job, &self.faults)?;
        let sound = FaultSet::none();
        let medians = vec![0.0; unknown_count(&job.unit, &sound)];
        let mut panels = vec![draw::level::panel(&job.unit, setup, &sound, &medians, "Sound unit")?];
        if !faults.0.is_empty() {
            let title = self.faults.join(" and ");
            panels.push(draw::level::panel(&job.unit, setup, &faults, &deviations, &title)?);
        }
        let title = format!("Voltage levels, setup {}", setup.name);
        output::write(&draw::level::draw(&title, &panels), self.out.as_deref())
    }
}
