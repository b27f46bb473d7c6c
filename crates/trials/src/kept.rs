//! Cases already worked on, kept in a file so that a run of hours may be stopped and gone on with.
//!
//! A line of JSON with the plan, then a line for each case, in the order in which they were done.

use crate::trials::{Plan, Worked};
use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader, Write};
use std::path::Path;
use std::sync::{Mutex, PoisonError};

/// Why kept cases could not be used.
#[derive(Debug, thiserror::Error)]
pub enum KeptError {
    /// The file cannot be read or written.
    #[error("{path}: {source}")]
    File {
        /// Which file.
        path: String,
        /// What the system says.
        source: io::Error,
    },
    /// The file belongs to another run.
    #[error("{path} holds cases of another plan ({found:?}): give another file, or the same numbers as then")]
    OtherPlan {
        /// Which file.
        path: String,
        /// What it was written for.
        found: Box<Plan>,
    },
    /// The file is none of this program's.
    #[error("{path} does not begin with a plan: give another file")]
    NoPlan {
        /// Which file.
        path: String,
    },
}

/// A file of cases that grows while they are worked on.
#[derive(Debug)]
pub struct Kept {
    file: Mutex<File>,
}

impl Kept {
    /// Opens a file, or begins one, and answers with the cases that are in it. A last line that was cut off is left out.
    ///
    /// The number of cases may differ from that of the plan it was begun with.
    ///
    /// # Errors
    /// [`KeptError`].
    pub fn open(path: &Path, plan: &Plan) -> Result<(Self, BTreeMap<u64, Worked>), KeptError> {
        let name = path.display().to_string();
        let failed = |source| KeptError::File { path: name.clone(), source };
        let mut known = BTreeMap::new();
        let mut file = OpenOptions::new().read(true).append(true).create(true).open(path).map_err(failed)?;
        let mut lines = BufReader::new(&file).lines();
        match lines.next().transpose().map_err(failed)? {
            Some(line) => {
                let found: Plan = serde_json::from_str(&line).map_err(|_| KeptError::NoPlan { path: name.clone() })?;
                if (Plan { cases: plan.cases, ..found }) != *plan {
                    return Err(KeptError::OtherPlan { path: name, found: Box::new(found) });
                }
                for line in lines {
                    if let Ok((number, worked)) = serde_json::from_str(&line.map_err(failed)?) {
                        known.insert(number, worked);
                    }
                }
                // Whatever was cut off ends here.
                writeln!(file).map_err(failed)?;
            }
            None => {
                let line = serde_json::to_string(plan).map_err(|error| failed(error.into()))?;
                writeln!(file, "{line}").map_err(failed)?;
            }
        }
        Ok((Kept { file: Mutex::new(file) }, known))
    }

    /// Adds a case.
    ///
    /// # Errors
    /// What the system says.
    pub fn add(&self, number: u64, worked: &Worked) -> io::Result<()> {
        let line = serde_json::to_string(&(number, worked))?;
        let mut file = self.file.lock().unwrap_or_else(PoisonError::into_inner);
        writeln!(file, "{line}")
    }
}
