//! Logs of heat runs as loggers and spreadsheets write them: read once, row by row, in little memory, and nothing dropped
//! without being said.

pub mod bins;
pub mod current;
pub mod guard;
pub mod header;
pub mod number;
pub mod oddity;
mod reader;
pub mod silence;
mod sniff;
pub mod time;

use bins::Bins;
use current::Watch;
use header::{Quantity, Unit};
use oddity::Oddity;
use std::borrow::Cow;
use std::io::{Cursor, Read};

/// What is known of a log beside its text.
#[derive(Debug, Clone, Copy, Default)]
pub struct Options {
    /// Unit of the times, for a column that does not say.
    pub time_unit: Option<Unit>,
    /// Temperature of the room, if it is not in the log.
    pub room_celsius: Option<f64>,
}

/// One column of a log.
#[derive(Debug, Clone)]
pub struct Channel {
    /// Its heading without the unit.
    pub name: String,
    /// What it holds: temperature, amps, watts or ohms.
    pub quantity: Quantity,
    /// Whether it is the temperature of the room.
    pub is_room: bool,
    /// Its readings, averaged if they are many; seconds from the first row.
    pub bins: Bins,
    /// Row at which its sensor fell off or its readings stop, if that lasts to the end.
    pub lost_at: Option<u64>,
    /// From here on it was on what it measures, seconds.
    pub put_on_seconds: Option<f64>,
}

/// A log.
#[derive(Debug, Clone)]
pub struct Log {
    /// Its columns of values, in the order of the file.
    pub channels: Vec<Channel>,
    /// What is odd about it.
    pub oddities: Vec<Oddity>,
    /// Rows with a time.
    pub rows: u64,
    /// From the first row to the last, seconds.
    pub seconds: f64,
    /// What the first row says its time is, seconds; of a log of ohms, since switching off.
    pub starts_at_seconds: f64,
    /// When the current flowed; `None` if neither amps nor watts were logged.
    pub current: Option<Watch>,
}

/// Why a log cannot be used at all.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// The file cannot be read.
    #[error("cannot read the log: {0}")]
    Unreadable(#[from] std::io::Error),
    /// There is nothing in it.
    #[error("the log is empty; expected a line of headings and rows of numbers, such as: time [min],winding [°C]")]
    Empty,
    /// It is no text, or in another encoding.
    #[error("the log is no plain text ({0}); save it as comma-separated values in UTF-8")]
    NotText(&'static str),
    /// No sign parts it into columns.
    #[error("no columns found; expected cells parted by commas, semicolons or tabs, as many in each row")]
    NoColumns,
    /// The first row is numbers.
    #[error("row {row}: numbers, but no headings above them; put a line there such as: time [min],winding [°C],amps")]
    NoHeadings {
        /// Line of the file.
        row: u64,
    },
    /// No column is a time.
    #[error("row {row}: no column of times among {found}; name one of them 'time [min]', [s] or [h], or 'date/time'")]
    NoTime {
        /// Line of the headings.
        row: u64,
        /// The headings.
        found: String,
    },
    /// Times are plain numbers without a unit.
    #[error(
        "row {row}: the times in '{column}' are numbers without a unit; write '{column} [min]', [s] or [h], or use --time-unit"
    )]
    NoTimeUnit {
        /// Line of the first time.
        row: u64,
        /// The heading.
        column: String,
    },
    /// No column is a temperature or a resistance.
    #[error(
        "row {row}: no column of temperatures or ohms among {found}; write its unit with it, such as 'winding [°C]'"
    )]
    NoTemperature {
        /// Line of the headings.
        row: u64,
        /// The headings.
        found: String,
    },
    /// Too many columns.
    #[error("row {row}: {count} columns; at most {MOST_COLUMNS} are read, delete those that are not needed")]
    TooManyColumns {
        /// Line of the headings.
        row: u64,
        /// Columns.
        count: usize,
    },
    /// No row could be used.
    #[error("no row has a time that can be read; {0}")]
    NoRows(String),
}

/// Most columns.
pub const MOST_COLUMNS: usize = 64;
/// So much of a file is looked at to find out how it is laid out, bytes.
const HEAD_BYTES: u64 = 64 * 1024;

/// Reads a log.
///
/// # Errors
/// [`ImportError`] if nothing can be made of it; everything else that is wrong is an [`Oddity`] of the log.
pub fn read(mut source: impl Read, options: &Options) -> Result<Log, ImportError> {
    let mut head = Vec::new();
    source.by_ref().take(HEAD_BYTES).read_to_end(&mut head)?;
    if head.starts_with(&[0xff, 0xfe]) || head.starts_with(&[0xfe, 0xff]) {
        return Err(ImportError::NotText("UTF-16"));
    }
    if head.contains(&0) {
        return Err(ImportError::NotText("it holds zero bytes: a spreadsheet's own file?"));
    }
    if head.iter().all(u8::is_ascii_whitespace) {
        return Err(ImportError::Empty);
    }
    // The last line of the head may be cut off.
    let whole = if head.len() as u64 == HEAD_BYTES { head.iter().rposition(|&byte| byte == b'\n') } else { None };
    let layout = sniff::layout(&head[..whole.unwrap_or(head.len())])?;
    reader::Reader::new(&layout, options)?.read(Cursor::new(head).chain(source))
}

/// A cell as text: UTF-8, or else Latin-1, as older loggers write their degree signs.
fn text_of(cell: &[u8]) -> Cow<'_, str> {
    match std::str::from_utf8(cell) {
        Ok(text) => Cow::Borrowed(text),
        Err(_) => Cow::Owned(cell.iter().map(|&byte| char::from(byte)).collect()),
    }
}
