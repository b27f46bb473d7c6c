//! `wiring`: the wiring as a drawing.

use crate::commands::{named, output};
use crate::exit::{CODES, Failure};
use crate::input;
use clap::ValueEnum;
use draw::wiring::{Symbols, WiringView};
use std::path::PathBuf;

/// Draw the wiring as SVG, laid out so that a person can follow hot to neutral.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Wiring {
    /// The job file.
    job: PathBuf,
    /// Show it as it stands in this setup: switch positions, wires taken off, jumpers.
    #[arg(long)]
    setup: Option<String>,
    /// Symbols to draw with.
    #[arg(long, value_enum, default_value_t = SymbolChoice::Iec)]
    symbols: SymbolChoice,
    /// File to write; without it the drawing goes to the standard output.
    #[arg(long)]
    out: Option<PathBuf>,
}

/// Symbols by region.
#[derive(Clone, Copy, ValueEnum)]
pub enum SymbolChoice {
    /// IEC 60617.
    Iec,
    /// As common in North America.
    NorthAmerican,
}

impl From<SymbolChoice> for Symbols {
    fn from(choice: SymbolChoice) -> Self {
        match choice {
            SymbolChoice::Iec => Symbols::Iec,
            SymbolChoice::NorthAmerican => Symbols::NorthAmerican,
        }
    }
}

impl Wiring {
    pub fn run(self) -> Result<(), Failure> {
        let job = input::read_file(&self.job)?.load()?;
        let setup = self.setup.as_deref().map(|name| named::setup(&job, name)).transpose()?;
        let mut view = WiringView::new(&job.unit);
        view.setup = setup.map(|index| &job.setups[index]);
        view.symbols = self.symbols.into();
        output::write(&draw::wiring::draw(&view), self.out.as_deref())
    }
}
