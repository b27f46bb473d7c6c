//! `record`: the document of a repair, and whether the job may be closed.

use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use record::{Standing, closing, gather};
use std::path::PathBuf;

/// Write the record of a repair: one page for customer and file, which any browser shows and prints.
///
/// It holds finding, readings, drawings, repairs compared, strains, heat run and safety tests, and says whether the job is
/// proven or what is missing. What was done and what was read afterwards stands in its section repaired.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Record {
    /// The job file.
    job: PathBuf,
    /// File to write; without it only how the job stands is shown.
    #[arg(long)]
    out: Option<PathBuf>,
    /// Print how the job stands as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

impl Record {
    pub fn run(self) -> Result<(), Failure> {
        let text = input::read_file(&self.job)?;
        let job = text.load()?;
        let found = diagnosis::diagnose(&job)?;
        let findings = gather(&found, &text.text())?;
        let closing = closing(&findings);
        if let Some(path) = &self.out {
            let html = record::html(&findings)?;
            std::fs::write(path, html)
                .map_err(|error| Failure::WrongUse(format!("cannot write {}: {error}", path.display())))?;
        }
        let mut page = page::standard();
        let standing = |standing: Standing| match standing {
            Standing::Proven => "shown",
            Standing::Missing => "missing",
            Standing::Against => "against",
        };
        if self.json {
            let points: Vec<serde_json::Value> = closing
                .points
                .iter()
                .map(|point| {
                    serde_json::json!({
                        "name": point.name,
                        "standing": standing(point.standing),
                        "words": point.words,
                    })
                })
                .collect();
            let value = serde_json::json!({ "proven": closing.is_proven(), "points": points });
            return Ok(page.raw(&format!("{value:#}"))?);
        }
        page.heading(if closing.is_proven() { "Proven: the job may be closed" } else { "Not proven yet" })?;
        for point in &closing.points {
            page.item(2, &format!("{:>8}", standing(point.standing)), &format!("{}: {}", point.name, point.words))?;
        }
        if let Some(path) = &self.out {
            page.gap()?;
            page.text(2, &format!("The record is in {}; open it in a browser, and print it there.", path.display()))?;
        }
        Ok(())
    }
}
