//! What is wrong with a job file, where, and how to mend it.

use std::fmt;
use std::ops::Range;

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Severity {
    /// The job cannot be used.
    Error,
    /// The job can be used, but this looks wrong.
    Warning,
}

/// One thing that is wrong with a job file.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Problem {
    /// How bad it is.
    pub severity: Severity,
    /// The file, as the user named it.
    pub file: String,
    /// Line, counted from 1.
    pub line: usize,
    /// Column in characters, counted from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What was expected there.
    pub expected: Option<String>,
    /// A likely mend.
    pub mend: Option<String>,
    /// Bytes of the file it concerns.
    #[serde(skip)]
    pub span: Range<usize>,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}: {}", self.file, self.line, self.column, self.message)?;
        if let Some(expected) = &self.expected {
            write!(f, "; expected {expected}")?;
        }
        if let Some(mend) = &self.mend {
            write!(f, "; {mend}")?;
        }
        Ok(())
    }
}

/// Everything that is wrong with a job file.
#[derive(Debug, Clone, PartialEq, Default, thiserror::Error)]
#[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))]
pub struct Problems(pub Vec<Problem>);

/// Collects problems of one text.
pub(super) struct Collector<'t> {
    file: &'t str,
    text: &'t str,
    pub(super) found: Vec<Problem>,
}

impl<'t> Collector<'t> {
    pub(super) fn new(file: &'t str, text: &'t str) -> Self {
        Collector { file, text, found: Vec::new() }
    }

    /// Notes an error at a place in the text.
    pub(super) fn error(&mut self, span: Range<usize>, message: impl Into<String>) -> &mut Problem {
        self.note(Severity::Error, span, message)
    }

    /// Notes a warning at a place in the text.
    pub(super) fn warning(&mut self, span: Range<usize>, message: impl Into<String>) -> &mut Problem {
        self.note(Severity::Warning, span, message)
    }

    fn note(&mut self, severity: Severity, span: Range<usize>, message: impl Into<String>) -> &mut Problem {
        let (line, column) = position(self.text, span.start);
        self.found.push(Problem {
            severity,
            file: self.file.to_owned(),
            line,
            column,
            message: message.into(),
            expected: None,
            mend: None,
            span,
        });
        let last = self.found.len() - 1;
        &mut self.found[last]
    }

    pub(super) fn has_errors(&self) -> bool {
        self.found.iter().any(|problem| problem.severity == Severity::Error)
    }

    pub(super) fn line(&self, at: usize) -> usize {
        position(self.text, at).0
    }
}

impl Problem {
    pub(super) fn expected(&mut self, expected: impl Into<String>) -> &mut Self {
        self.expected = Some(expected.into());
        self
    }

    pub(super) fn mend(&mut self, mend: impl Into<String>) -> &mut Self {
        self.mend = Some(mend.into());
        self
    }
}

/// Line and column, both from 1, of a byte in a text; past the end is the end.
pub(super) fn position(text: &str, at: usize) -> (usize, usize) {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let before = &text[..at];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    (line, column)
}
