//! `paths`: where current flows and power goes, on the wiring.

use crate::commands::wiring::SymbolChoice;
use crate::commands::{named, output};
use crate::exit::{CODES, Failure};
use crate::input;
use draw::wiring::{WiringView, flows};
use std::path::PathBuf;

/// Draw the current paths of a setup on the wiring, as SVG: width is current, arrows go where power goes.
///
/// Healthy unless faults are put in, as with predict.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Paths {
    /// The job file.
    job: PathBuf,
    /// Name of the setup.
    #[arg(long)]
    setup: String,
    /// A fault to put in: "PLACE FAULT" or "PLACE FAULT SIZE"; may be given several times.
    #[arg(long = "fault")]
    faults: Vec<String>,
    /// Symbols to draw with.
    #[arg(long, value_enum, default_value_t = SymbolChoice::Iec)]
    symbols: SymbolChoice,
    /// File to write; without it the drawing goes to the standard output.
    #[arg(long)]
    out: Option<PathBuf>,
}

impl Paths {
    pub fn run(self) -> Result<(), Failure> {
        let job = input::read_file(&self.job)?.load()?;
        let setup = &job.setups[named::setup(&job, &self.setup)?];
        let (faults, deviations) = named::faults(&job, &self.faults)?;
        let mut view = WiringView::new(&job.unit);
        view.setup = Some(setup);
        view.symbols = self.symbols.into();
        view.flows = Some(flows(&job.unit, setup, &faults, &deviations)?);
        output::write(&draw::wiring::draw(&view), self.out.as_deref())
    }
}
