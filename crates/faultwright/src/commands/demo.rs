//! `demo`: the main job, from wiring and readings to verdict and next check, on a shipped example.

use crate::demos::DEMOS;
use crate::exit::{CODES, Failure};
use crate::input::JobText;
use crate::page;
use crate::report::{checks, job, json, ranking};

/// Run the main job on a shipped example: unit, readings, suspects, next check.
///
/// Without a name the first example is shown. The job files are in demos/; copy one to start your own.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct Demo {
    /// Which example.
    name: Option<String>,
    /// List the examples.
    #[arg(long)]
    list: bool,
    /// Print ranking and checks as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

impl Demo {
    pub fn run(self) -> Result<(), Failure> {
        let mut page = page::standard();
        if self.list {
            let rows: Vec<Vec<String>> = DEMOS.iter().map(|demo| vec![demo.name.into(), demo.about.into()]).collect();
            return Ok(page.table(0, "<<", &rows)?);
        }
        let wanted = self.name.as_deref().unwrap_or(DEMOS[0].name);
        let Some(demo) = DEMOS.iter().find(|demo| demo.name == wanted) else {
            let names: Vec<&str> = DEMOS.iter().map(|demo| demo.name).collect();
            return Err(Failure::WrongUse(format!("no demo '{wanted}'; there is {}", names.join(", "))));
        };
        let job = JobText::embedded(demo.name, demo.text).load()?;
        let found = diagnosis::diagnose(&job)?;
        let plan = diagnosis::next_checks(&found, 2);
        if self.json {
            let value =
                serde_json::json!({ "ranking": json::ranking(&found, false), "next": json::plan(&found, &plan) });
            return Ok(page.raw(&format!("{value:#}"))?);
        }
        job::show(&mut page, &job)?;
        ranking::show(&mut page, &found, 1, false)?;
        checks::show(&mut page, &found, &plan)?;
        page.gap()?;
        page.text(0, &format!("This was demos/{}.toml. Others: faultwright demo --list", demo.name))?;
        Ok(())
    }
}
