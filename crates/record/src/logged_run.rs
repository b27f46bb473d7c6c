//! What was logged in a run of a job, as a log that `proof` judges.

use bench::heat::{self, Logged, Run};
use bench::{Job, Measure};
use proof::heat_run::import::bins::Bins;
use proof::heat_run::import::current::Watch;
use proof::heat_run::import::header::Quantity;
use proof::heat_run::import::silence::Silence;
use proof::heat_run::import::{Channel, Log};
use std::ops::Range;

/// Name of the channel that holds the air of the room.
const ROOM: &str = "room";

/// The last stretch of a run in which the supply was on without a change of the setup, seconds.
pub fn live_stretch(job: &Job, run: &Run) -> Range<f64> {
    let last = run.steps.iter().rposition(|step| job.setups[step.setup].energised).unwrap_or_default();
    let end = run.steps.get(last + 1).map_or(f64::INFINITY, |step| step.seconds);
    run.steps.get(last).map_or(0.0, |step| step.seconds)..end
}

/// The setup in which a run is live for the last time; nothing for a run in which the supply is never on.
pub fn live_setup(job: &Job, run: &Run) -> Option<usize> {
    run.steps.iter().rev().map(|step| step.setup).find(|&setup| job.setups[setup].energised)
}

/// Logs of one run put together: its temperatures from the last time the unit was switched on, and when the current
/// flowed, by the first amps that were logged, or else the first watts.
pub fn logged<'l>(job: &Job, run: usize, logs: impl IntoIterator<Item = &'l heat::Log>) -> Log {
    let stretch = live_stretch(job, &job.runs[run]);
    let mut log =
        Log { channels: vec![], oddities: vec![], rows: 0, seconds: 0.0, starts_at_seconds: 0.0, current: None };
    let mut watts = None;
    for entry in logs {
        log.rows += entry.seconds.len() as u64;
        let within = |values: &[Option<f64>]| -> Vec<Entry> {
            let rows = (1..).zip(&entry.seconds).zip(values);
            rows.filter(|&((_, &seconds), _)| stretch.contains(&seconds))
                .map(|((row, &seconds), &value)| (row, seconds - stretch.start, value))
                .collect()
        };
        for channel in &entry.channels {
            let values = within(&channel.values);
            match channel.logged {
                Logged::Celsius(..) | Logged::Air(_) => {
                    add(&mut log, channel.logged.celsius_place(&job.unit).unwrap_or_default(), false, &values);
                }
                Logged::Electric(Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_)) if log.current.is_none() => {
                    log.current = Some(watched(&values));
                }
                Logged::Electric(Measure::Watts(_)) if watts.is_none() => watts = Some(watched(&values)),
                Logged::Electric(_) => {}
            }
        }
        if let Some(room) = &entry.room {
            add(&mut log, ROOM.into(), true, &within(room));
        }
    }
    log.current = log.current.or(watts);
    log
}

/// One cell of a log: its row, seconds, and what was read.
type Entry = (u64, f64, Option<f64>);

fn add(log: &mut Log, name: String, is_room: bool, cells: &[Entry]) {
    let (mut bins, mut silence) = (Bins::default(), Silence::default());
    for &(row, seconds, value) in cells {
        match value {
            Some(value) => {
                silence.heard();
                bins.add(seconds, value);
                log.seconds = log.seconds.max(seconds);
            }
            None => silence.nothing(row),
        }
    }
    let (quantity, lost_at) = (Quantity::Temperature, silence.long().map(|silent| silent.row));
    log.channels.push(Channel { name, quantity, is_room, bins, lost_at, put_on_seconds: None });
}

fn watched(cells: &[Entry]) -> Watch {
    let mut watch = Watch::default();
    let read = cells.iter().filter_map(|&(row, seconds, value)| value.map(|value| (row, seconds, value)));
    read.for_each(|(row, seconds, value)| watch.look(seconds, value, row));
    watch
}
