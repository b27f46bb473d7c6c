//! What is odd about a log: nothing is dropped without being said, and a million oddities are said in one line.

use std::fmt;

/// What kind of oddity it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A cell that should be a number and is not.
    Unreadable,
    /// A cell in another unit than its column; it was converted.
    OtherUnit,
    /// A row whose time cannot be read; the row was left out.
    UnreadableTime,
    /// A row at an earlier time than one before it; the row was left out.
    BackwardTime,
    /// A row at the time of the row before it; both were kept.
    DuplicateTime,
    /// Much longer between two rows, or two readings of one column, than usual.
    Gap,
    /// A value that jumps and comes back, or that no sensor shows; it was left out.
    Implausible,
    /// From here on the sensor shows something else or nothing: it fell off or its circuit opened. What follows was left out.
    SensorLost,
    /// A sensor shows the old temperature again.
    SensorBack,
    /// A temperature below that of the room.
    BelowRoom,
    /// A row with more or fewer cells than the header.
    Cells,
    /// A column that is not used, and why.
    Unused,
    /// Something about the file as a whole that was taken to be so.
    Assumed,
    /// The current stops or comes back.
    Current,
}

impl Kind {
    /// For programs.
    pub fn key(self) -> &'static str {
        match self {
            Kind::Unreadable => "unreadable",
            Kind::OtherUnit => "other-unit",
            Kind::UnreadableTime => "unreadable-time",
            Kind::BackwardTime => "backward-time",
            Kind::DuplicateTime => "duplicate-time",
            Kind::Gap => "gap",
            Kind::Implausible => "implausible",
            Kind::SensorLost => "sensor-lost",
            Kind::SensorBack => "sensor-back",
            Kind::BelowRoom => "below-room",
            Kind::Cells => "cells",
            Kind::Unused => "unused",
            Kind::Assumed => "assumed",
            Kind::Current => "current",
        }
    }
}

/// One kind of oddity in one column, with the rows where it was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Oddity {
    /// What kind.
    pub kind: Kind,
    /// Name of the column, if it concerns one.
    pub column: Option<String>,
    /// First rows, as lines of the file from 1; at most [`MOST_ROWS`].
    pub rows: Vec<u64>,
    /// How many rows there are in all.
    pub count: u64,
    /// What was found in the first row and what was done, in words.
    pub words: String,
}

/// Rows that are named for one oddity.
pub const MOST_ROWS: usize = 5;

impl fmt::Display for Oddity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rows: Vec<String> = self.rows.iter().map(u64::to_string).collect();
        match self.rows.len() {
            0 => {}
            1 => write!(f, "row {}: ", rows[0])?,
            _ => write!(f, "rows {}: ", rows.join(", "))?,
        }
        if let Some(column) = &self.column {
            write!(f, "{column}: ")?;
        }
        write!(f, "{}", self.words)?;
        match self.count as usize > self.rows.len() && !self.rows.is_empty() {
            true => write!(f, " ({} rows in all)", self.count),
            false => Ok(()),
        }
    }
}

/// Collects oddities.
#[derive(Debug, Clone, Default)]
pub struct Oddities(pub Vec<Oddity>);

impl Oddities {
    /// Notes one in a row, with the last of its kind in its column if there is one; `words` are made for the first of its kind in its column only.
    pub fn note(&mut self, kind: Kind, column: Option<&str>, row: u64, words: impl FnOnce() -> String) {
        let same = |oddity: &&mut Oddity| oddity.kind == kind && oddity.column.as_deref() == column;
        if let Some(oddity) = self.0.iter_mut().rev().find(same) {
            oddity.count += 1;
            if oddity.rows.len() < MOST_ROWS {
                oddity.rows.push(row);
            }
            return;
        }
        let column = column.map(str::to_owned);
        self.0.push(Oddity { kind, column, rows: vec![row], count: 1, words: words() });
    }

    /// Notes one by itself, even if there are others of its kind.
    pub fn alone(&mut self, kind: Kind, column: Option<&str>, row: Option<u64>, words: String) {
        let column = column.map(str::to_owned);
        self.0.push(Oddity { kind, column, rows: row.into_iter().collect(), count: 1, words });
    }
}
