//! The rows of a log, one by one.

use super::bins::Bins;
use super::current::Watch;
use super::guard::{Guard, Passed, Read as Reading};
use super::header::{CELSIUS, Quantity, Unit, unit};
use super::number::{Cell, cell};
use super::oddity::{Kind, Oddities};
use super::silence::Silence;
use super::sniff::Layout;
use super::time::{NoTime, Style, moment};
use super::{Channel, ImportError, Log, MOST_COLUMNS, Options, text_of};
use std::io::Read;

/// A gap is longer than so many usual intervals.
const GAP: f64 = 5.0;
/// The usual interval is the median of so many.
const INTERVALS: usize = 64;
/// Readings below the room by more than this are said, kelvins.
const BELOW_ROOM_KELVIN: f64 = 2.0;
/// A clock that goes back by more than this has passed midnight, seconds.
const HALF_DAY: f64 = 43_200.0;
/// One day, seconds.
const DAY: f64 = 86_400.0;

struct Column {
    place: usize,
    unit: Unit,
    guard: Guard,
    channel: Channel,
    room: Option<f64>,
    silence: Silence,
}

pub(super) struct Reader<'l> {
    layout: &'l Layout,
    style: Style,
    time: usize,
    date: Option<usize>,
    columns: Vec<Column>,
    watched: Option<usize>,
    watch: Watch,
    oddities: Oddities,
    clock: Clock,
    room_celsius: Option<f64>,
}

/// Where time stands.
#[derive(Default)]
struct Clock {
    first: Option<f64>,
    last: Option<f64>,
    midnights: f64,
    intervals: Vec<(f64, u64)>,
    usual: Option<f64>,
    rows: u64,
    last_row: u64,
    unreadable: Option<(u64, String)>,
}

impl<'l> Reader<'l> {
    pub(super) fn new(layout: &'l Layout, options: &Options) -> Result<Self, ImportError> {
        let row = layout.heading_line;
        let headings = &layout.headings;
        if headings.len() > MOST_COLUMNS {
            return Err(ImportError::TooManyColumns { row, count: headings.len() });
        }
        let found = || headings.iter().map(|heading| format!("'{}'", heading.name)).collect::<Vec<_>>().join(", ");
        let place_of = |quantity: Quantity| headings.iter().position(|heading| heading.quantity == Some(quantity));
        let date = place_of(Quantity::Date);
        let time = place_of(Quantity::Time).or(date).ok_or_else(|| ImportError::NoTime { row, found: found() })?;
        let mut oddities = Oddities::default();
        let mut columns = Vec::new();
        for (place, heading) in headings.iter().enumerate() {
            if place == time || Some(place) == date {
                continue;
            }
            let unused = |why: &str| format!("not used: {why}");
            let unit = match (heading.quantity, heading.unit) {
                (Some(Quantity::Time | Quantity::Date), _) => {
                    oddities.alone(Kind::Unused, Some(&heading.name), None, unused("another column has the times"));
                    continue;
                }
                (None, _) => {
                    let why = "its heading says neither quantity nor unit; write it such as 'winding [°C]'";
                    oddities.alone(Kind::Unused, Some(&heading.name), None, unused(why));
                    continue;
                }
                (Some(_), Some(unit)) => unit,
                (Some(Quantity::Temperature), None) => {
                    let words = "its heading has no unit; read as °C".to_owned();
                    oddities.alone(Kind::Assumed, Some(&heading.name), None, words);
                    CELSIUS
                }
                (Some(quantity), None) => Unit { quantity, offset: 0.0, factor: 1.0 },
            };
            let named = |name: &str, columns: &[Column]| {
                columns.iter().any(|column| column.channel.name.eq_ignore_ascii_case(name))
            };
            let mut name = heading.name.clone();
            if named(&name, &columns) {
                let free = (2..).map(|number| format!("{} {number}", heading.name));
                name = free.into_iter().find(|name| !named(name, &columns)).unwrap_or_default();
                let words = format!("a column of this name stands before it; called '{name}' here");
                oddities.alone(Kind::Assumed, Some(&heading.name), None, words);
            }
            let channel = Channel {
                name,
                quantity: unit.quantity,
                is_room: heading.is_room,
                bins: Bins::default(),
                lost_at: None,
                put_on_seconds: None,
            };
            let (guard, silence) = (Guard::default(), Silence::default());
            columns.push(Column { place, unit, guard, channel, room: None, silence });
        }
        let is_judged = |column: &Column| {
            matches!(column.channel.quantity, Quantity::Temperature | Quantity::Ohms) && !column.channel.is_room
        };
        if !columns.iter().any(is_judged) {
            return Err(ImportError::NoTemperature { row, found: found() });
        }
        let of = |quantity: Quantity| columns.iter().position(|column: &Column| column.channel.quantity == quantity);
        let watched = of(Quantity::Amps).or(of(Quantity::Watts));
        if layout.lines_ahead > 0 {
            let words = format!("{} lines ahead of the headings, not used", layout.lines_ahead);
            oddities.alone(Kind::Unused, None, None, words);
        }
        if layout.is_day_order_guessed {
            let words = "days read as month/day/year; that matters only where a run passes midnight".to_owned();
            oddities.alone(Kind::Assumed, None, None, words);
        }
        let style =
            Style { unit: headings[time].unit.or(options.time_unit), comma: layout.comma, day_first: layout.day_first };
        let (watch, clock, room_celsius) = (Watch::default(), Clock::default(), options.room_celsius);
        Ok(Reader { layout, style, time, date, columns, watched, watch, oddities, clock, room_celsius })
    }

    pub(super) fn read(mut self, source: impl Read) -> Result<Log, ImportError> {
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(self.layout.delimiter)
            .flexible(true)
            .has_headers(false)
            // Else lines that end in CR LF are counted from the wrong row; the CR goes with the blanks of its cell.
            .terminator(csv::Terminator::Any(b'\n'))
            .buffer_capacity(1 << 18)
            .from_reader(source);
        let mut record = csv::ByteRecord::new();
        loop {
            match reader.read_byte_record(&mut record) {
                Ok(false) => break,
                Ok(true) => {}
                Err(error) => return Err(ImportError::Unreadable(error.into())),
            }
            let row = record.position().map_or(0, csv::Position::line);
            if row > self.layout.heading_line && record.iter().any(|cell| !cell.trim_ascii().is_empty()) {
                self.row(&record, row)?;
            }
        }
        self.end()
    }

    fn row(&mut self, record: &csv::ByteRecord, row: u64) -> Result<(), ImportError> {
        if record.len() != self.layout.headings.len() {
            let (is, meant) = (record.len(), self.layout.headings.len());
            let words = || format!("{is} cells instead of {meant}; read as far as they go");
            self.oddities.note(Kind::Cells, None, row, words);
        }
        let Some(seconds) = self.seconds(record, row)? else { return Ok(()) };
        // Current first: whether it is off decides how fast a temperature may fall.
        let watched = self.watched;
        let others = (0..self.columns.len()).filter(|&index| Some(index) != watched);
        for index in watched.into_iter().chain(others) {
            self.value(index, record, row, seconds);
        }
        Ok(())
    }

    /// Seconds from the first row; `None` if the row cannot be placed in time, which has been noted.
    fn seconds(&mut self, record: &csv::ByteRecord, row: u64) -> Result<Option<f64>, ImportError> {
        let text = text_of(record.get(self.time).unwrap_or_default());
        let date =
            self.date.filter(|&date| date != self.time).map(|date| text_of(record.get(date).unwrap_or_default()));
        let column = || self.layout.headings[self.time].name.clone();
        let read = match moment(&text, date.as_deref(), self.style) {
            Ok(read) => read,
            Err(NoTime::NoUnit) if self.clock.last.is_none() => {
                return Err(ImportError::NoTimeUnit { row, column: column() });
            }
            Err(_) => {
                let words = || format!("'{}' is no time; the row was left out", text.trim());
                if self.clock.unreadable.is_none() {
                    self.clock.unreadable = Some((row, text.trim().to_owned()));
                }
                self.oddities.note(Kind::UnreadableTime, Some(&column()), row, words);
                return Ok(None);
            }
        };
        let clock = &mut self.clock;
        let mut now = read.seconds + clock.midnights * DAY;
        if let Some(last) = clock.last {
            if read.is_clock && now < last - HALF_DAY {
                clock.midnights += 1.0;
                now += DAY;
            }
            if now < last {
                let back = last - now;
                let words = || format!("time runs backwards by {}; the row was left out", span(back));
                self.oddities.note(Kind::BackwardTime, None, row, words);
                return Ok(None);
            }
            if now == last {
                let words = || "the same time as the row before; both were kept".to_owned();
                self.oddities.note(Kind::DuplicateTime, None, row, words);
            } else {
                self.interval(now - last, row);
            }
        }
        let clock = &mut self.clock;
        clock.last = Some(now);
        clock.last_row = row;
        clock.rows += 1;
        let first = *clock.first.get_or_insert(now);
        Ok(Some(now - first))
    }

    fn interval(&mut self, seconds: f64, row: u64) {
        if self.clock.usual.is_none() {
            self.clock.intervals.push((seconds, row));
            if self.clock.intervals.len() == INTERVALS {
                self.learn_usual();
            }
            return;
        }
        self.gap(seconds, row);
    }

    fn learn_usual(&mut self) {
        let intervals = std::mem::take(&mut self.clock.intervals);
        let mut sorted: Vec<f64> = intervals.iter().map(|&(seconds, _)| seconds).collect();
        sorted.sort_by(f64::total_cmp);
        self.clock.usual = sorted.get(sorted.len() / 2).copied();
        intervals.into_iter().for_each(|(seconds, row)| self.gap(seconds, row));
    }

    fn gap(&mut self, seconds: f64, row: u64) {
        if let Some(usual) = self.clock.usual.filter(|usual| seconds > GAP * usual) {
            let words = || format!("{} since the row before, where {} is usual", span(seconds), span(usual));
            self.oddities.note(Kind::Gap, None, row, words);
        }
    }

    fn value(&mut self, index: usize, record: &csv::ByteRecord, row: u64, seconds: f64) {
        let Reader { columns, oddities, watch, style, watched, .. } = self;
        let column = &mut columns[index];
        let text = record.get(column.place).map(text_of).unwrap_or_default();
        let Some(value) = number(column, &text, style.comma, row, oddities) else {
            column.silence.nothing(row);
            return;
        };
        if let Some(silent) = column.silence.heard() {
            let words = format!("no reading in {} rows; judged on from row {row}", silent.cells);
            oddities.alone(Kind::Gap, Some(&column.channel.name), Some(silent.row), words);
        }
        match column.channel.quantity {
            Quantity::Temperature => {
                let room = columns[index].room.or(self.room_celsius);
                let column = &mut columns[index];
                if let Some(room) = room.filter(|room| !column.channel.is_room && value < room - BELOW_ROOM_KELVIN) {
                    let words = || format!("{value:.1} °C is below the room's {room:.1} °C; kept");
                    oddities.note(Kind::BelowRoom, Some(&column.channel.name), row, words);
                }
                let is_room = column.channel.is_room;
                let read = Reading { seconds, celsius: value, row };
                let passed = column.guard.look(read, watch.is_off(), room);
                guarded(column, oddities, read, passed);
                if is_room && value.is_finite() {
                    columns.iter_mut().for_each(|column| column.room = Some(value));
                }
            }
            _ => {
                if Some(index) == *watched {
                    watch.look(seconds, value, row);
                }
                columns[index].channel.bins.add(seconds, value);
            }
        }
    }

    fn end(mut self) -> Result<Log, ImportError> {
        if self.clock.usual.is_none() {
            self.learn_usual();
        }
        let (Some(first), Some(last)) = (self.clock.first, self.clock.last) else {
            let words =
                self.clock.unreadable.map_or("there are no rows below the headings".to_owned(), |(row, text)| {
                    format!("row {row} has '{text}'; expected minutes, h:mm:ss or a date and a time")
                });
            return Err(ImportError::NoRows(words));
        };
        for column in &mut self.columns {
            match column.guard.end(column.room.or(self.room_celsius)) {
                Some(Passed::Lost(held, last)) => lost(column, &mut self.oddities, &held, last),
                Some(Passed::Cooled(held)) => cooled(column, &held),
                _ => {}
            }
            silenced(column, &mut self.oddities);
        }
        if self.clock.midnights > 0.0 {
            let words = "the clock passes midnight; read as the next day".to_owned();
            self.oddities.alone(Kind::Assumed, None, None, words);
        }
        Ok(Log {
            channels: self.columns.into_iter().map(|column| column.channel).collect(),
            oddities: self.oddities.0,
            rows: self.clock.rows,
            seconds: last - first,
            starts_at_seconds: first,
            current: self.watched.map(|_| self.watch),
        })
    }
}

/// What a cell says in the unit used here, an open circuit of a thermometer as one without end; `None` if it is no number,
/// which has been noted unless the cell is empty.
fn number(column: &Column, text: &str, comma: bool, row: u64, oddities: &mut Oddities) -> Option<f64> {
    let name = column.channel.name.as_str();
    let mut left_out = |why: &str| {
        oddities.note(Kind::Unreadable, Some(name), row, || format!("'{}' {why}; the cell was left out", text.trim()));
        None
    };
    match cell(text, comma) {
        Cell::Number(number, "") => Some(column.unit.convert(number)),
        Cell::Number(number, suffix) => {
            let Some(other) = unit(suffix).filter(|unit| unit.quantity == column.unit.quantity) else {
                return left_out("has a unit that does not fit");
            };
            let value = other.convert(number);
            if other != column.unit {
                let words = || format!("'{}' in another unit than the column; read as {value:.1}", text.trim());
                oddities.note(Kind::OtherUnit, Some(name), row, words);
            }
            Some(value)
        }
        Cell::Empty => None,
        // As far out as a thermometer's open circuit.
        Cell::Open if column.channel.quantity == Quantity::Temperature => Some(f64::INFINITY),
        Cell::Open => left_out("is over range"),
        Cell::Text => left_out("is no number"),
    }
}

/// Takes a temperature, or says why not.
fn guarded(column: &mut Column, oddities: &mut Oddities, read: Reading, passed: Passed) {
    let channel = &mut column.channel;
    match passed {
        Passed::Counts { spikes } => {
            for spike in spikes {
                let words = || format!("{} jumps away and back again; left out", shown(spike.celsius));
                oddities.note(Kind::Implausible, Some(&channel.name), spike.row, words);
            }
            channel.bins.add(read.seconds, read.celsius);
        }
        Passed::Cooled(held) => cooled(column, &held),
        Passed::Held => {}
        Passed::Lost(held, last) => lost(column, oddities, &held, last),
        Passed::PutOn(held, last) => {
            let words = format!(
                "jumps from {last:.1} to {} and stays (a sensor put on?); judged from there",
                shown(held[0].celsius)
            );
            oddities.alone(Kind::Implausible, Some(&channel.name), Some(held[0].row), words);
            channel.put_on_seconds = Some(held[0].seconds);
            held.iter().for_each(|held| channel.bins.add(held.seconds, held.celsius));
        }
        Passed::StillLost => {
            let is_converted = column.unit != CELSIUS && read.celsius.is_finite();
            let unit = if is_converted { ", or is the heading's unit not right?" } else { "" };
            let words = || format!("{} from the first row on: no sensor{unit}; left out", shown(read.celsius));
            oddities.note(Kind::SensorLost, Some(&channel.name), read.row, words);
        }
        Passed::Back(count) => {
            let words = format!("the sensor is back after {count} readings; judged on from there");
            oddities.alone(Kind::SensorBack, Some(&channel.name), Some(read.row), words);
            channel.lost_at = None;
            channel.bins.add(read.seconds, read.celsius);
        }
    }
}

fn cooled(column: &mut Column, held: &[Reading]) {
    held.iter().for_each(|held| column.channel.bins.add(held.seconds, held.celsius));
}

fn lost(column: &mut Column, oddities: &mut Oddities, held: &[Reading], last: f64) {
    let Some(first) = held.first() else { return };
    let words = format!(
        "the sensor fell off or opened: from {last:.1} °C to {}; what follows was left out",
        shown(first.celsius)
    );
    oddities.alone(Kind::SensorLost, Some(&column.channel.name), Some(first.row), words);
    held[1..].iter().for_each(|held| {
        oddities.note(Kind::SensorLost, Some(&column.channel.name), held.row, String::new);
    });
    column.channel.lost_at = Some(first.row);
}

/// A column that has stopped by the end of the log.
fn silenced(column: &mut Column, oddities: &mut Oddities) {
    let Some(silent) = column.silence.long() else { return };
    let channel = &mut column.channel;
    let (kind, words) = match channel.quantity {
        Quantity::Temperature if channel.lost_at.is_some() => return,
        Quantity::Temperature => (Kind::SensorLost, "its sensor fell off, or its logger stopped"),
        _ => (Kind::Gap, "what it did from there on is not known"),
    };
    let words = format!("no reading from here to the end of the log, {} rows: {words}", silent.cells);
    oddities.alone(kind, Some(&channel.name), Some(silent.row), words);
    if kind == Kind::SensorLost {
        channel.lost_at = Some(silent.row);
    }
}

fn shown(celsius: f64) -> String {
    if celsius.is_finite() { format!("{celsius:.1} °C") } else { "open circuit".into() }
}

/// A length of time in words.
fn span(seconds: f64) -> String {
    match seconds {
        _ if seconds < 120.0 => format!("{seconds:.0} s"),
        _ if seconds < 7200.0 => format!("{:.0} min", seconds / 60.0),
        _ => format!("{:.1} h", seconds / 3600.0),
    }
}
