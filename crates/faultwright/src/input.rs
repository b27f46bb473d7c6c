//! Job files from disk, problems shown as they are found.

use crate::exit::Failure;
use bench::job::{LARGEST_FILE_BYTES, read_bytes};
use bench::{Job, Problem, Problems};
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, NamedSource, Severity, SourceCode};
use std::fmt;
use std::io::{IsTerminal, Read, Write};
use std::path::Path;

/// A job file's name and bytes.
pub struct JobText {
    name: String,
    bytes: Vec<u8>,
}

/// Reads a file, no more of it than could be a job file.
///
/// # Errors
/// [`Failure::WrongUse`] if there is no such file or it cannot be read.
pub fn read_file(path: &Path) -> Result<JobText, Failure> {
    let refuse = |error: std::io::Error| {
        let hint = if error.kind() == std::io::ErrorKind::NotFound {
            "; check the name, or try: faultwright demo"
        } else {
            ""
        };
        Failure::WrongUse(format!("cannot read {}: {error}{hint}", path.display()))
    };
    let file = std::fs::File::open(path).map_err(refuse)?;
    if file.metadata().map_err(refuse)?.is_dir() {
        return Err(Failure::WrongUse(format!("{} is a folder; name a job file in it", path.display())));
    }
    let mut bytes = Vec::new();
    file.take(LARGEST_FILE_BYTES + 1).read_to_end(&mut bytes).map_err(refuse)?;
    Ok(JobText { name: path.display().to_string(), bytes })
}

impl JobText {
    /// A job that comes with the program.
    pub fn embedded(name: &str, text: &str) -> Self {
        JobText { name: format!("demos/{name}.toml"), bytes: text.into() }
    }

    /// The text; what is no text in it is replaced.
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    /// The job, or everything that is wrong with the file.
    pub fn parse(&self) -> Result<Job, Problems> {
        read_bytes(&self.name, &self.bytes)
    }

    /// The job; problems and warnings are shown on the error stream.
    ///
    /// # Errors
    /// [`Failure::JobUnusable`], after the problems have been shown.
    pub fn load(&self) -> Result<Job, Failure> {
        match self.parse() {
            Ok(job) => {
                self.show(&job.warnings, &mut std::io::stderr())?;
                Ok(job)
            }
            Err(problems) => {
                self.show(&problems, &mut std::io::stderr())?;
                Err(problems.into())
            }
        }
    }

    /// The unmarked leads of a motor; problems and warnings are shown on the error stream.
    ///
    /// # Errors
    /// [`Failure::JobUnusable`], after the problems have been shown.
    pub fn load_leads(&self) -> Result<leads::Case, Failure> {
        match leads::file::read_bytes(&self.name, &self.bytes) {
            Ok((case, warnings)) => {
                self.show(&warnings, &mut std::io::stderr())?;
                Ok(case)
            }
            Err(problems) => {
                self.show(&problems, &mut std::io::stderr())?;
                Err(problems.into())
            }
        }
    }

    /// Shows problems with the lines they concern.
    ///
    /// # Errors
    /// If the stream cannot be written.
    pub fn show(&self, problems: &Problems, out: &mut (impl Write + IsTerminal)) -> std::io::Result<()> {
        let theme = if out.is_terminal() && std::env::var_os("NO_COLOR").is_none() {
            GraphicalTheme::unicode()
        } else {
            GraphicalTheme::unicode_nocolor()
        };
        let handler = GraphicalReportHandler::new_themed(theme).with_links(false);
        let source = NamedSource::new(&self.name, String::from_utf8_lossy(&self.bytes).into_owned());
        for problem in &problems.0 {
            let mut text = String::new();
            let shown = ShownProblem { problem, source: &source };
            if handler.render_report(&mut text, &shown).is_err() {
                text = format!("{problem}\n");
            }
            out.write_all(text.as_bytes())?;
        }
        Ok(())
    }
}

/// A problem as the error printer wants it.
#[derive(Debug)]
struct ShownProblem<'p> {
    problem: &'p Problem,
    source: &'p NamedSource<String>,
}

impl fmt::Display for ShownProblem<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: {}", self.problem.file, self.problem.line, self.problem.column, self.problem.message)
    }
}

impl std::error::Error for ShownProblem<'_> {}

impl Diagnostic for ShownProblem<'_> {
    fn severity(&self) -> Option<Severity> {
        Some(match self.problem.severity {
            bench::job::Severity::Error => Severity::Error,
            bench::job::Severity::Warning => Severity::Warning,
        })
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        self.problem.mend.as_ref().map(|mend| Box::new(mend) as Box<dyn fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let expected = self.problem.expected.as_ref().map(|expected| format!("expected {expected}"));
        // A span over many lines would print them all; its first line says enough.
        let length = self.problem.span.len().min(60);
        let label = LabeledSpan::new(expected, self.problem.span.start, length);
        Some(Box::new(std::iter::once(label)))
    }
}
