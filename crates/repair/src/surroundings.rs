//! How hot it gets about parts that are marked with the hottest they may get: capacitors.
//!
//! # Assumes
//! The part is as hot as what it sits on, or the air about it: a run capacitor loses a thousandth or two of what it
//! carries, and a start capacitor is in circuit for seconds. The heat of its neighbours reaches it no other way.

use crate::compare::NEAR;
use crate::knowledge::chance_past;
use bench::heat::Timeline;
use bench::heat::body::SHED_SPREAD;
use bench::{Unit, words};

/// The hottest about one part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// The part.
    pub part: usize,
    /// Degrees Celsius.
    pub celsius: f64,
    /// By how much that may be off, kelvins: one standard deviation.
    pub spread_kelvin: f64,
    /// The hottest it may get, degrees Celsius.
    pub max_celsius: f64,
}

impl Surroundings {
    /// Whether it comes within a spread of what it may get, or past that.
    pub fn is_near_limit(self) -> bool {
        self.chance() >= NEAR
    }

    fn chance(self) -> f64 {
        chance_past(self.celsius, self.spread_kelvin, self.max_celsius)
    }

    /// How hot against what it may get, in words.
    pub fn words(self) -> String {
        format!(
            "about {} °C (give or take {}), {} likely past the {} °C that it may get",
            self.celsius.round(),
            self.spread_kelvin.round(),
            words::percent(self.chance()),
            words::number(self.max_celsius)
        )
    }
}

/// What a run comes to about each part that is marked so.
pub fn hottest<T>(unit: &Unit, timeline: &Timeline<T>) -> Vec<Surroundings> {
    marked(unit)
        .map(|(part, max_celsius)| {
            let about = timeline.samples.iter().map(|sample| timeline.celsius_about(unit, part, sample));
            at(part, about.fold(timeline.room_celsius, f64::max), timeline.room_celsius, max_celsius)
        })
        .collect()
}

/// What it is about each such part at one moment of a run, by its place among the samples.
pub(crate) fn at_sample<T>(unit: &Unit, timeline: &Timeline<T>, sample: usize) -> Vec<Surroundings> {
    let (sample, room) = (&timeline.samples[sample], timeline.room_celsius);
    marked(unit).map(|(part, max)| at(part, timeline.celsius_about(unit, part, sample), room, max)).collect()
}

fn marked(unit: &Unit) -> impl Iterator<Item = (usize, f64)> + '_ {
    unit.parts().iter().enumerate().filter_map(|(part, entry)| Some((part, entry.kind.max_celsius()?)))
}

fn at(part: usize, celsius: f64, room_celsius: f64, max_celsius: f64) -> Surroundings {
    Surroundings { part, celsius, spread_kelvin: SHED_SPREAD * (celsius - room_celsius), max_celsius }
}
