//! `plan`: the whole way from here to a settled repair.

use super::access::Access;
use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::plan;
use crate::waiting::diagnosed;
use diagnosis::plan::Limits;
use std::path::PathBuf;

/// Show the whole way from here to a settled repair: every check, its outcomes, and what follows each.
///
/// The tree is the one with the least expected minutes, energised ones counted dearer; housings are opened once. It is worked
/// out exactly for up to 16 groups of suspects, and beyond that by looking one check ahead.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Plan {
    /// The job file.
    job: PathBuf,
    /// Print the plan as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
    /// How many checks one after another to show.
    #[arg(long, default_value_t = Limits::default().depth)]
    depth: usize,
    #[command(flatten)]
    access: Access,
}

impl Plan {
    pub fn run(self) -> Result<(), Failure> {
        let mut job = input::read_file(&self.job)?.load()?;
        self.access.apply(&mut job)?;
        let found = diagnosed(&job)?;
        let made = diagnosis::plan(&found, Limits { depth: self.depth, ..Limits::default() });
        let mut page = page::standard();
        if self.json {
            page.raw(&format!("{:#}", plan::json(&found, made.as_ref())))?;
        } else {
            plan::show(&mut page, &found, made.as_ref())?;
        }
        Ok(())
    }
}
