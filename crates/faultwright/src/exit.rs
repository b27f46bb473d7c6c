//! How the program ends: exit codes and last words.

use bench::{PredictError, Problems};
use diagnosis::DiagnosisError;
use std::io;
use std::process::ExitCode;

/// Shown below every help text.
pub const CODES: &str = "Exit codes: 0 done; 1 the job file has problems that make it unusable; 2 wrong use.";

/// Why a command could not do what it was asked.
#[derive(Debug)]
pub enum Failure {
    /// The job file has problems; they have been shown.
    JobUnusable,
    /// The command was used wrongly; what is wrong and what to do.
    WrongUse(String),
    /// The setup or unit cannot be solved.
    Unsolvable(String),
    /// Nobody reads the output any more.
    OutputClosed,
    /// The output could not be written.
    Output(io::Error),
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe { Failure::OutputClosed } else { Failure::Output(error) }
    }
}

impl From<DiagnosisError> for Failure {
    fn from(error: DiagnosisError) -> Self {
        Failure::Unsolvable(error.to_string())
    }
}

impl From<PredictError> for Failure {
    fn from(error: PredictError) -> Self {
        Failure::Unsolvable(error.to_string())
    }
}

impl From<repair::RepairError> for Failure {
    fn from(error: repair::RepairError) -> Self {
        match error {
            repair::RepairError::Predict(error) => error.into(),
            repair::RepairError::Exchange { .. } => Failure::WrongUse(error.to_string()),
        }
    }
}

impl From<record::RecordError> for Failure {
    fn from(error: record::RecordError) -> Self {
        match error {
            record::RecordError::Predict(error) => error.into(),
            record::RecordError::Repair(error) => error.into(),
            other => Failure::WrongUse(other.to_string()),
        }
    }
}

impl From<Problems> for Failure {
    fn from(_: Problems) -> Self {
        Failure::JobUnusable
    }
}

/// Says the last words on the error stream and gives the exit code.
pub fn code(outcome: Result<(), Failure>) -> ExitCode {
    let say = |words: &str| {
        // Nothing sensible is left to do if the error stream is closed as well.
        let _ = io::Write::write_all(&mut io::stderr(), format!("faultwright: {words}\n").as_bytes());
    };
    match outcome {
        Ok(()) | Err(Failure::OutputClosed) => ExitCode::SUCCESS,
        Err(Failure::JobUnusable) => ExitCode::from(1),
        Err(Failure::Unsolvable(words)) => {
            say(&words);
            ExitCode::from(1)
        }
        Err(Failure::WrongUse(words)) => {
            say(&words);
            ExitCode::from(2)
        }
        Err(Failure::Output(error)) => {
            say(&format!("cannot write: {error}"));
            ExitCode::from(2)
        }
    }
}
