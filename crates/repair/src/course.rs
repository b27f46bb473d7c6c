//! What a unit does in one position, from cold until its temperatures stand.

use crate::knowledge::Knowledge;
use crate::loads::{Load, busiest_line, loads, spreads_of_loads};
use crate::surroundings::{Surroundings, hottest};
use bench::heat::simulate::Case;
use bench::heat::timeline::{End, What};
use bench::heat::words::burning_words;
use bench::heat::{HeatScales, Run, RunStep, body::SHED_SPREAD, simulate};
use bench::words::duration;
use bench::{FaultSet, Measure, Meter, Observed, PredictError, Setup, Unit, observe, observe_values};
use machine::Motion;

/// How long a unit is followed, seconds: small machines stand after two to three hours (common practice, no source).
const FOLLOWED_SECONDS: f64 = 10_800.0;
/// Seconds between looks.
const STEP_SECONDS: f64 = 120.0;

/// One motor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotorCourse {
    /// The part.
    pub part: usize,
    /// What it does at the start.
    pub motion: Motion,
    /// Its speed at the start, revolutions per minute; negative backwards.
    pub rpm: f64,
    /// Standard deviation of that.
    pub rpm_spread: f64,
    /// Torque that it makes at rest, newton metres; `None` if the unit is cut off while it stands.
    pub start_torque: Option<f64>,
}

/// One body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BodyCourse {
    /// Its part.
    pub part: usize,
    /// Its place among the bodies of the part.
    pub body: usize,
    /// The highest temperature it comes to, degrees Celsius.
    pub hottest_celsius: f64,
    /// By how much that may be off, kelvins: one standard deviation of what is not known of how it sheds heat.
    pub spread_kelvin: f64,
}

/// What a unit does in a position.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// The position.
    pub position: String,
    /// What cuts the unit off, in words.
    pub cut_off: Option<&'static str>,
    /// Current it takes at the start, amperes.
    pub amps: f64,
    /// Standard deviation of that.
    pub amps_spread: f64,
    /// Watts it takes at the start.
    pub watts: f64,
    /// Standard deviation of that.
    pub watts_spread: f64,
    /// Its motors.
    pub motors: Vec<MotorCourse>,
    /// Watts of each part at the start.
    pub part_watts: Vec<f64>,
    /// Its bodies.
    pub bodies: Vec<BodyCourse>,
    /// Loads over ratings.
    pub loads: Vec<Load>,
    /// How hot it gets about capacitors.
    pub surroundings: Vec<Surroundings>,
    /// Parts whose contacts heat opened, each once, in order.
    pub opened: Vec<usize>,
    /// What burns out, which ends the course: part, body, and after how many seconds.
    pub burns_out: Option<(usize, usize, f64)>,
}

/// What stands over the columns of [`Course::row`].
pub const HEADINGS: [&str; 5] = ["position", "A", "W", "motors", "hottest"];

impl Course {
    /// As a row of a table.
    pub fn row(&self, unit: &Unit) -> [String; 5] {
        let motors: Vec<String> = self
            .motors
            .iter()
            .map(|motor| {
                let name = &unit.parts()[motor.part].name;
                match motor.motion {
                    Motion::Running => format!("{name} {}", give_or_take(motor.rpm, motor.rpm_spread, 0)),
                    _ => format!("{name} stands"),
                }
            })
            .collect();
        let hottest = self.bodies.iter().max_by(|a, b| a.hottest_celsius.total_cmp(&b.hottest_celsius));
        let hottest = match (self.burns_out, hottest) {
            (Some((part, body, seconds)), _) => {
                format!("{} burns out after {}", burning_words(unit, part, body), duration(seconds))
            }
            (None, Some(body)) => {
                let name = unit.body_name(body.part, body.body);
                format!("{name} {} ± {} °C", body.hottest_celsius.round(), body.spread_kelvin.round())
            }
            (None, None) => String::new(),
        };
        let hottest = match self.opened.first() {
            Some(&part) => format!("{hottest}, {} opens", unit.parts()[part].name),
            None => hottest,
        };
        match self.cut_off {
            Some(words) => [self.position.clone(), String::new(), String::new(), words.into(), hottest],
            None => [
                self.position.clone(),
                give_or_take(self.amps, self.amps_spread, 2),
                give_or_take(self.watts, self.watts_spread, 0),
                if motors.is_empty() { "-".into() } else { motors.join(", ") },
                hottest,
            ],
        }
    }
}

/// A figure with its spread, where one is known.
fn give_or_take(value: f64, spread: f64, decimals: usize) -> String {
    match spread > 0.0 {
        true => format!("{value:.decimals$} ± {spread:.decimals$}"),
        false => format!("{value:.decimals$}"),
    }
}

struct Moment {
    cut_off: Option<&'static str>,
    amps: f64,
    motors: Vec<MotorCourse>,
    part_watts: Vec<f64>,
    loads: Vec<Load>,
}

/// Follows a unit in a position until it has warmed through.
///
/// # Errors
/// [`PredictError`] if it cannot be solved.
pub fn course(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    room_celsius: f64,
) -> Result<Course, PredictError> {
    follow(unit, setup, faults, deviations, room_celsius)
}

/// The same with the spread of its figures, by what is known of the unit's values. That of a load is the share by which it is
/// off at the start.
///
/// # Errors
/// As [`course`].
pub fn course_with_spreads(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    room_celsius: f64,
    known: &Knowledge<'_>,
) -> Result<Course, PredictError> {
    let mut course = follow(unit, setup, faults, deviations, room_celsius)?;
    observe(unit, setup, faults, deviations, |observed| {
        if observed.is_cut_off() {
            return Ok(());
        }
        let meter = Meter::handheld();
        let spread = |observed: &mut Observed<'_>, measure: Measure| -> Result<f64, PredictError> {
            Ok(known.spread(&observed.measure(measure, &meter)?.gradient))
        };
        course.amps_spread = match busiest_line(unit, observed, &meter) {
            Some(line) => spread(observed, line)?,
            None => 0.0,
        };
        course.watts_spread = spread(observed, Measure::Watts(unit.supply()))?;
        for motor in &mut course.motors {
            motor.rpm_spread = spread(observed, Measure::Rpm(motor.part))?;
        }
        for share in spreads_of_loads(unit, observed, known)? {
            let same = course.loads.iter_mut().filter(|load| load.is_same(&share));
            same.for_each(|load| load.spread = share.spread * load.times);
        }
        Ok(())
    })??;
    Ok(course)
}

fn follow(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    room_celsius: f64,
) -> Result<Course, PredictError> {
    let setups = [setup.clone()];
    let steps = vec![RunStep { seconds: 0.0, setup: 0 }];
    let run = Run { name: setup.name.clone(), steps, end_seconds: FOLLOWED_SECONDS, room_celsius, line: 0 };
    let scales = HeatScales::medians(unit);
    let case = Case { unit, setups: &setups, run: &run, faults, deviations, scales: &scales };
    let times: Vec<f64> = (0..=(FOLLOWED_SECONDS / STEP_SECONDS) as usize).map(|k| k as f64 * STEP_SECONDS).collect();
    let timeline = simulate(case, &times, |observed| moment(unit, observed))?;
    let held: Vec<usize> = (0..unit.parts().len()).filter(|&part| unit.is_motor(part)).collect();
    let starting = start_torques(unit, &Setup { held, ..setup.clone() }, faults, deviations)?;
    let bodies = timeline.nodes.iter().enumerate().filter_map(|(node, place)| {
        let (part, body) = (*place)?;
        if !unit.heat_of(part).bodies[body].has_celsius() {
            return None;
        }
        let end = timeline.end_celsius[node].max(room_celsius);
        let sampled = timeline.samples.iter().map(|sample| sample.celsius[node]).fold(end, f64::max);
        let is_burnt =
            timeline.end == End::BurntOut(Some((part, body))) && unit.heat_of(part).bodies[body].is_winding();
        let hottest = if is_burnt { unit.winding_class(part).burns_celsius() } else { sampled };
        let spread_kelvin = SHED_SPREAD * (hottest - room_celsius);
        Some(BodyCourse { part, body, hottest_celsius: hottest, spread_kelvin })
    });
    let bodies: Vec<BodyCourse> = bodies.collect();
    let mut opened = Vec::new();
    let mut burns_out = None;
    let mut cut_off_later = None;
    for event in &timeline.events {
        match event.what {
            What::Opened(part) if !opened.contains(&part) => opened.push(part),
            What::BurntOut(part, body) => burns_out = Some((part, body, event.seconds)),
            What::BreakerTripped => cut_off_later = Some("the breaker opens, warmed by too much current"),
            _ => {}
        }
    }
    let mut loads: Vec<Load> = Vec::new();
    for sample in &timeline.samples {
        for load in &sample.look.loads {
            match loads.iter_mut().find(|known| known.is_same(load)) {
                Some(known) => known.times = known.times.max(load.times),
                None => loads.push(*load),
            }
        }
    }
    let surroundings = hottest(unit, &timeline);
    let first = timeline.samples.into_iter().next().map(|sample| sample.look);
    let first = first.unwrap_or(Moment {
        cut_off: None,
        amps: 0.0,
        motors: Vec::new(),
        part_watts: vec![0.0; unit.parts().len()],
        loads: Vec::new(),
    });
    let mut motors = first.motors;
    for motor in &mut motors {
        motor.start_torque = starting.iter().find(|(part, _)| *part == motor.part).map(|(_, torque)| *torque);
    }
    Ok(Course {
        position: setup.name.clone(),
        cut_off: first.cut_off.or(cut_off_later),
        amps: first.amps,
        amps_spread: 0.0,
        watts: first.part_watts[unit.supply()],
        watts_spread: 0.0,
        motors,
        part_watts: first.part_watts,
        bodies,
        loads,
        surroundings,
        opened,
        burns_out,
    })
}

/// Torque of each motor with all of them held at rest; nothing of a unit that is cut off then.
fn start_torques(
    unit: &Unit,
    held: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
) -> Result<Vec<(usize, f64)>, PredictError> {
    observe_values(unit, held, faults, deviations, |observed| {
        let torque = |&part: &usize| Some((part, observed.steady()?.torque(observed.wired().machine_of(part)?)));
        if observed.is_cut_off() { Vec::new() } else { held.held.iter().filter_map(torque).collect() }
    })
}

fn moment(unit: &Unit, observed: &mut Observed<'_>) -> Moment {
    let motors = (0..unit.parts().len()).filter_map(|part| {
        let synchronous = observed.wired().reference_rpm(observed.wired().machine_of(part)?);
        let (motion, ratio) = (observed.motion(part)?, observed.speed_ratio(part)?);
        Some(MotorCourse { part, motion, rpm: ratio * synchronous, rpm_spread: 0.0, start_torque: None })
    });
    let motors = motors.collect();
    let part_watts: Vec<f64> = (0..unit.parts().len()).map(|part| observed.watts(part)).collect();
    let loads = loads(unit, observed);
    Moment { cut_off: observed.cut_off_words(), amps: observed.feed_amps(), motors, part_watts, loads }
}
