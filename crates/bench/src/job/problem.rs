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

/// More problems than this in one file are counted, not listed: such a file is something else, or needs one mend.
const MOST_PROBLEMS: usize = 200;

/// Collects problems of one text.
pub struct Collector<'t> {
    file: &'t str,
    text: &'t str,
    /// Bytes of the file ahead of the text.
    skipped: usize,
    /// Where each line starts, so that thousands of problems in a long file are placed quickly.
    line_starts: Vec<usize>,
    found: Vec<Problem>,
    has_errors: bool,
    has_more: bool,
    /// What lies here is a consequence of a problem already noted.
    hidden: Vec<Range<usize>>,
    /// The last problem that is not listed, for its finder to finish.
    unlisted: Option<Problem>,
}

impl<'t> Collector<'t> {
    /// `skipped` bytes of the file come before the text.
    pub fn new(file: &'t str, text: &'t str, skipped: usize) -> Self {
        let line_starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Collector {
            file,
            text,
            skipped,
            line_starts,
            found: Vec::new(),
            has_errors: false,
            has_more: false,
            hidden: Vec::new(),
            unlisted: None,
        }
    }

    /// Notes an error at a place in the text.
    pub fn error(&mut self, span: Range<usize>, message: impl Into<String>) -> &mut Problem {
        self.note(Severity::Error, span, message)
    }

    /// Notes a warning at a place in the text.
    pub fn warning(&mut self, span: Range<usize>, message: impl Into<String>) -> &mut Problem {
        self.note(Severity::Warning, span, message)
    }

    fn note(&mut self, severity: Severity, span: Range<usize>, message: impl Into<String>) -> &mut Problem {
        // The span stays in the text's own bytes until `sorted` makes it the file's.
        let (line, column) = self.position(span.start);
        let hidden = self.hidden.iter().any(|hidden| hidden.contains(&span.start));
        let file = self.file.to_owned();
        let problem =
            Problem { severity, file, line, column, message: message.into(), expected: None, mend: None, span };
        self.has_errors |= severity == Severity::Error;
        if hidden || self.found.len() >= MOST_PROBLEMS {
            self.has_more |= !hidden;
            return self.unlisted.insert(problem);
        }
        self.found.push(problem);
        let last = self.found.len() - 1;
        &mut self.found[last]
    }

    /// Whether there is no use in looking for further problems.
    pub fn is_enough(&self) -> bool {
        self.has_errors && self.has_more
    }

    /// Whether what was read cannot be used.
    pub fn has_errors(&self) -> bool {
        self.has_errors
    }

    /// Leaves out whatever is noted in a place from now on.
    pub(super) fn hide(&mut self, place: Range<usize>) {
        self.hidden.push(place);
    }

    /// The line of a byte, counted from 1.
    pub fn line(&self, at: usize) -> usize {
        self.line_starts.partition_point(|&start| start <= at)
    }

    /// The bytes of the line that a byte is on.
    pub(super) fn bytes_of_line(&self, at: usize) -> Range<usize> {
        let line = self.line(at);
        self.line_starts[line - 1]..self.line_starts.get(line).copied().unwrap_or(self.text.len())
    }

    /// Line and column, both from 1, of a byte; past the end is the end.
    fn position(&self, at: usize) -> (usize, usize) {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let line = self.line(at);
        (line, self.text[self.line_starts[line - 1]..at].chars().count() + 1)
    }

    /// All problems in the order of the file.
    pub fn sorted(mut self) -> Problems {
        self.found.sort_by_key(|problem| problem.span.start);
        if let (true, Some(last)) = (self.has_more, self.found.last()) {
            let message = format!("there are more problems than the {MOST_PROBLEMS} listed here");
            let mend = Some("check that this is the file you meant; else mend these first".to_owned());
            self.found.push(Problem { message, mend, expected: None, ..last.clone() });
        }
        for problem in &mut self.found {
            problem.span = problem.span.start + self.skipped..problem.span.end + self.skipped;
        }
        Problems(self.found)
    }
}

impl Problem {
    /// Says what was expected there.
    pub fn expected(&mut self, expected: impl Into<String>) -> &mut Self {
        self.expected = Some(expected.into());
        self
    }

    /// Says how it can be mended.
    pub fn mend(&mut self, mend: impl Into<String>) -> &mut Self {
        self.mend = Some(mend.into());
        self
    }
}
