//! How a log is laid out: what parts the cells, where the headings are, which sign is the decimal one.

use super::header::{Heading, Quantity, heading, unit};
use super::number::{Cell, cell};
use super::time::day_order;
use super::{ImportError, text_of};

/// What parts cells, the least ambiguous first: a comma may also be the decimal sign.
const DELIMITERS: [u8; 3] = [b'\t', b';', b','];
/// Records that are looked at.
const LOOKED_AT: usize = 60;
/// Of the records at least this share has as many cells as most.
const ALIKE: f64 = 0.5;

/// How a log is laid out.
#[derive(Debug, Clone)]
pub struct Layout {
    /// What parts the cells.
    pub delimiter: u8,
    /// The headings.
    pub headings: Vec<Heading>,
    /// Line of the headings, or of the units below them; what is ahead of it is no data.
    pub heading_line: u64,
    /// Lines ahead of the headings.
    pub lines_ahead: u64,
    /// Whether a comma is the decimal sign.
    pub comma: bool,
    /// Whether days are written ahead of months.
    pub day_first: bool,
    /// Whether there are dates that might be read either way.
    pub is_day_order_guessed: bool,
}

struct Record {
    line: u64,
    cells: Vec<String>,
}

fn records(head: &[u8], delimiter: u8) -> Vec<Record> {
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(delimiter)
        .flexible(true)
        .has_headers(false)
        .terminator(csv::Terminator::Any(b'\n'))
        .from_reader(head);
    reader
        .byte_records()
        .take(LOOKED_AT)
        .filter_map(Result::ok)
        .filter(|record| record.iter().any(|cell| !cell.trim_ascii().is_empty()))
        .map(|record| Record {
            line: record.position().map_or(0, csv::Position::line),
            cells: record.iter().map(|cell| text_of(cell).into_owned()).collect(),
        })
        .collect()
}

/// Finds out from the beginning of a file.
///
/// # Errors
/// [`ImportError`] if there are no cells or no headings.
pub fn layout(head: &[u8]) -> Result<Layout, ImportError> {
    let found = DELIMITERS.iter().find_map(|&delimiter| {
        let records = records(head, delimiter);
        let usual = most_usual(&records)?;
        let alike = records.iter().filter(|record| record.cells.len() == usual).count();
        (alike as f64 >= ALIKE * records.len() as f64).then_some((delimiter, records, usual))
    });
    let (delimiter, records, usual) = found.ok_or(ImportError::NoColumns)?;
    let is_wide = |record: &&Record| record.cells.len() == usual;
    // Some loggers write about themselves first, in cells as well: the headings have a time among them.
    let has_time = |record: &&Record| record.cells.iter().any(|text| is_word(text) && is_time(&heading(text)));
    let named = records.iter().position(|record| is_wide(&record) && has_time(&record));
    let first = named.or_else(|| records.iter().position(|record| is_wide(&record))).ok_or(ImportError::NoColumns)?;
    let names = &records[first];
    let is_heading = names.cells.iter().any(|text| matches!(cell(text, true), Cell::Text) && is_word(text));
    if !is_heading {
        return Err(ImportError::NoHeadings { row: names.line });
    }
    let units = records.get(first + 1).filter(|record| {
        is_wide(record)
            && record.cells.iter().any(|text| unit(strip(text)).is_some())
            && record.cells.iter().all(|text| text.trim().is_empty() || unit(strip(text)).is_some())
    });
    let headings =
        names.cells.iter().enumerate().map(|(place, name)| match units.map(|units| strip(&units.cells[place])) {
            Some(unit) if !unit.is_empty() => heading(&format!("{name} [{unit}]")),
            _ => heading(name),
        });
    let headings: Vec<Heading> = headings.collect();
    let data = &records[first + 1 + usize::from(units.is_some())..];
    let is_decimal = |sign: char| {
        let other = if sign == ',' { '.' } else { ',' };
        data.iter().flat_map(|record| &record.cells).any(|text| {
            let around = text.trim().split_once(sign);
            around.is_some_and(|(whole, part)| {
                !text.contains(other)
                    && !whole.is_empty()
                    && whole.trim_start_matches('-').bytes().all(|byte| byte.is_ascii_digit())
                    && part.bytes().take_while(u8::is_ascii_digit).count() > 0
            })
        })
    };
    let orders: Vec<Option<bool>> = data
        .iter()
        .flat_map(|record| &record.cells)
        .filter(|text| text.matches('/').count() == 2)
        .map(|text| day_order(text))
        .collect();
    Ok(Layout {
        delimiter,
        headings,
        heading_line: units.unwrap_or(names).line,
        lines_ahead: names.line.saturating_sub(1),
        comma: is_decimal(',') && !is_decimal('.'),
        day_first: orders.contains(&Some(true)),
        is_day_order_guessed: !orders.is_empty() && orders.iter().all(Option::is_none),
    })
}

fn is_time(heading: &Heading) -> bool {
    matches!(heading.quantity, Some(Quantity::Time | Quantity::Date))
}

fn strip(text: &str) -> &str {
    text.trim().trim_matches(['[', ']', '(', ')'])
}

/// Whether it has a letter and is no time.
fn is_word(text: &str) -> bool {
    text.chars().any(char::is_alphabetic) && !text.trim_start().starts_with(|c: char| c.is_ascii_digit())
}

/// The most usual count of cells above one.
fn most_usual(records: &[Record]) -> Option<usize> {
    let counts: Vec<usize> = records.iter().map(|record| record.cells.len()).filter(|&count| count > 1).collect();
    counts.iter().copied().max_by_key(|count| counts.iter().filter(|other| *other == count).count())
}
