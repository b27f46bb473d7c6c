//! One heat run of a unit drawn at random, as a logger shows it, and what is true of it.

use super::network::{CORE, Network, SHELL, STEP_SECONDS, WINDING};
use crate::random::Random;
use proof::heat_run::forecast::Series;

/// Longest run of a usual unit, minutes; that of one that warms for hours lasts so many of its time constants.
const LONGEST_MINUTES: f64 = 420.0;
const LONGEST_CONSTANTS: f64 = 5.0;

/// A run and its truth.
#[derive(Debug, Clone)]
pub struct Run {
    /// What the logger wrote: minutes, temperature, room if logged.
    pub log: Series,
    /// Where the temperature would come to rest in the room as it is at each reading.
    pub finals: Vec<f64>,
    /// The limit that it is held to, degrees Celsius.
    pub limit_celsius: f64,
    /// Where it comes to rest in the room as it was at the start.
    pub final_celsius: f64,
}

impl Run {
    /// The part of the log up to a time.
    pub fn until(&self, minutes: f64) -> Series {
        let count = self.log.minutes.partition_point(|&t| t <= minutes);
        Series {
            minutes: self.log.minutes[..count].to_vec(),
            celsius: self.log.celsius[..count].to_vec(),
            room: self.log.room.as_ref().map(|room| room[..count].to_vec()),
            resolution_kelvin: self.log.resolution_kelvin,
        }
    }

    /// The true final temperature in the room as it is at a time.
    pub fn true_final(&self, minutes: f64) -> f64 {
        let count = self.log.minutes.partition_point(|&t| t <= minutes);
        self.finals.get(count.saturating_sub(1)).copied().unwrap_or(self.final_celsius)
    }
}

/// Draws a unit, a sensor, a room that drifts and mains that wander, and runs it. Invented; engineering judgement.
pub fn draw(random: &mut Random) -> Run {
    let network = Network::draw(random);
    let sensed = [WINDING, WINDING, WINDING, CORE, SHELL][random.below(5)];
    let every_seconds = random.pick(&[5.0, 10.0, 30.0, 60.0]);
    let quantum = random.pick(&[0.1, 0.1, 0.1, 0.5, 1.0]);
    let noise = random.about(0.12, 0.6);
    let lag_seconds = random.about(20.0, 0.6);
    let room_is_logged = random.chance(0.5);
    let room_at_start = random.between(17.0, 27.0);
    let drift = 0.6 / 3600.0 * random.normal();
    let (swing, period) = (random.between(0.0, 0.7), random.between(3600.0, 14400.0));
    let phase = random.between(0.0, std::f64::consts::TAU);
    let room_at = |seconds: f64| {
        // A room does not drift for ever: after three hours it stays.
        room_at_start
            + drift * seconds.min(10_800.0)
            + swing * ((phase + seconds / period * std::f64::consts::TAU).sin() - phase.sin())
    };
    let wander = random.between(0.0, 0.012);
    let wander_seconds = random.between(300.0, 2400.0);
    let steady = network.steady(room_at_start);
    // Every seventh run begins warm: it had been on a while before.
    let warmth = if random.chance(0.15) { random.between(0.05, 0.5) } else { 0.0 };
    let mut celsius: Vec<f64> = steady.iter().map(|value| room_at_start + warmth * (value - room_at_start)).collect();
    celsius[WINDING] = celsius[CORE];
    let response = network.steady(room_at_start + 1.0)[sensed] - steady[sensed];
    let mut sensor = celsius[sensed];
    let mut load = 0.0;
    let mut log =
        Series { minutes: vec![], celsius: vec![], room: room_is_logged.then(Vec::new), resolution_kelvin: quantum };
    let mut finals = Vec::new();
    let minutes = LONGEST_MINUTES.max(LONGEST_CONSTANTS * network.main_minutes);
    let steps = (minutes * 60.0 / STEP_SECONDS) as usize;
    for step in 0..=steps {
        let seconds = step as f64 * STEP_SECONDS;
        let room = room_at(seconds);
        if step.is_multiple_of((every_seconds / STEP_SECONDS) as usize) {
            log.minutes.push(seconds / 60.0);
            log.celsius.push(((sensor + noise * random.normal()) / quantum).round() * quantum);
            if let Some(logged) = &mut log.room {
                logged.push(((room + 0.1 * random.normal()) / 0.1).round() * 0.1);
            }
            finals.push(steady[sensed] + response * (room - room_at_start));
        }
        let fade = (-STEP_SECONDS / wander_seconds).exp();
        load = fade * load + (1.0 - fade * fade).sqrt() * wander * random.normal();
        network.step(&mut celsius, room, 1.0 + load);
        sensor += (celsius[sensed] - sensor) * (1.0 - (-STEP_SECONDS / lag_seconds).exp());
    }
    let final_celsius = steady[sensed];
    let away = if random.chance(0.5) {
        let far = random.between(10.0, 50.0);
        if random.chance(0.7) { far } else { -far.min(0.6 * (final_celsius - room_at_start)) }
    } else {
        5.0 * random.normal()
    };
    Run { log, finals, limit_celsius: final_celsius + away, final_celsius }
}
