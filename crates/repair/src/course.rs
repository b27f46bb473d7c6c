//! What a unit does in one position, from cold until its temperatures stand.

use bench::heat::simulate::Case;
use bench::heat::timeline::{End, What};
use bench::heat::{HeatScales, Run, RunStep, body::SHED_SPREAD, simulate};
use bench::kinds::Rating;
use bench::words::duration;
use bench::{FaultSet, Measure, Meter, Observed, PredictError, Setup, TerminalId, Unit};
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

/// Load of a part over what is written on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// The part.
    pub part: usize,
    /// Times its rating, at the highest.
    pub times: f64,
    /// Whether that is volts, not amps or watts.
    pub is_volts: bool,
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
    /// Watts it takes at the start.
    pub watts: f64,
    /// Its motors.
    pub motors: Vec<MotorCourse>,
    /// Watts of each part at the start.
    pub part_watts: Vec<f64>,
    /// Its bodies.
    pub bodies: Vec<BodyCourse>,
    /// Loads over ratings.
    pub loads: Vec<Load>,
    /// Parts whose contacts heat opened, each once, in order.
    pub opened: Vec<usize>,
    /// The part that burns out, which ends the course, and after how many seconds.
    pub burns_out: Option<(usize, f64)>,
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
                    Motion::Running => format!("{name} {}", motor.rpm.round()),
                    _ => format!("{name} stands"),
                }
            })
            .collect();
        let hottest = self.bodies.iter().max_by(|a, b| a.hottest_celsius.total_cmp(&b.hottest_celsius));
        let hottest = match (self.burns_out, hottest) {
            (Some((part, seconds)), _) => format!("{} burns out after {}", unit.parts()[part].name, duration(seconds)),
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
                format!("{:.2}", self.amps),
                format!("{:.0}", self.watts),
                if motors.is_empty() { "-".into() } else { motors.join(", ") },
                hottest,
            ],
        }
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
    let setups = [setup.clone()];
    let steps = vec![RunStep { seconds: 0.0, setup: 0 }];
    let run = Run { name: setup.name.clone(), steps, end_seconds: FOLLOWED_SECONDS, room_celsius, line: 0 };
    let scales = HeatScales::medians(unit);
    let case = Case { unit, setups: &setups, run: &run, faults, deviations, scales: &scales };
    let times: Vec<f64> = (0..=(FOLLOWED_SECONDS / STEP_SECONDS) as usize).map(|k| k as f64 * STEP_SECONDS).collect();
    let timeline = simulate(case, &times, |observed| moment(unit, observed))?;
    let bodies = timeline.nodes.iter().enumerate().filter_map(|(node, place)| {
        let (part, body) = (*place)?;
        if !unit.heat_of(part).bodies[body].has_celsius() {
            return None;
        }
        let sampled = timeline.samples.iter().map(|sample| sample.celsius[node]).fold(room_celsius, f64::max);
        let is_burnt = timeline.end == End::BurntOut(Some(part)) && unit.winding_of(part) == Some(body);
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
            What::BurntOut(part) => burns_out = Some((part, event.seconds)),
            What::BreakerTripped => cut_off_later = Some("the breaker opens, warmed by too much current"),
            _ => {}
        }
    }
    let mut loads: Vec<Load> = Vec::new();
    for sample in &timeline.samples {
        for load in &sample.look.loads {
            match loads.iter_mut().find(|known| known.part == load.part && known.is_volts == load.is_volts) {
                Some(known) => known.times = known.times.max(load.times),
                None => loads.push(*load),
            }
        }
    }
    let first = timeline.samples.into_iter().next().map(|sample| sample.look);
    let first = first.unwrap_or(Moment {
        cut_off: None,
        amps: 0.0,
        motors: Vec::new(),
        part_watts: vec![0.0; unit.parts().len()],
        loads: Vec::new(),
    });
    Ok(Course {
        position: setup.name.clone(),
        cut_off: first.cut_off.or(cut_off_later),
        amps: first.amps,
        watts: first.part_watts[unit.supply()],
        motors: first.motors,
        part_watts: first.part_watts,
        bodies,
        loads,
        opened,
        burns_out,
    })
}

fn moment(unit: &Unit, observed: &mut Observed<'_>) -> Moment {
    let motors = (0..unit.parts().len()).filter_map(|part| {
        let synchronous = observed.wired().reference_rpm(observed.wired().machine_of(part)?);
        let (motion, ratio) = (observed.motion(part)?, observed.speed_ratio(part)?);
        Some(MotorCourse { part, motion, rpm: ratio * synchronous })
    });
    let motors = motors.collect();
    let part_watts: Vec<f64> = (0..unit.parts().len()).map(|part| observed.watts(part)).collect();
    let loads = loads(unit, observed);
    Moment { cut_off: observed.cut_off_words(), amps: observed.feed_amps(), motors, part_watts, loads }
}

/// Loads of all parts with a rating, at this moment.
pub(crate) fn loads(unit: &Unit, observed: &mut Observed<'_>) -> Vec<Load> {
    let meter = Meter::handheld();
    let mut loads = Vec::new();
    for (part, entry) in unit.parts().iter().enumerate() {
        let terminal = |place: usize| TerminalId(unit.terminals_of(part).start + place);
        let amps = |place: usize| {
            let measure = Measure::AmpsAtTerminal(terminal(place));
            if observed.setup().lifted.contains(&terminal(place)) {
                return 0.0;
            }
            observed.value(measure, &meter).unwrap_or(0.0).abs()
        };
        let times = match entry.kind.rating() {
            Some(Rating::Amps { terminal, amps: rated }) => Some(amps(terminal) / rated),
            Some(Rating::AmpsAtAny { terminals, amps: rated }) => {
                Some((0..terminals).map(amps).fold(0.0, f64::max) / rated)
            }
            Some(Rating::Watts(rated)) => Some(observed.watts(part) / rated),
            None => None,
        };
        loads.extend(times.map(|times| Load { part, times, is_volts: false }));
        let volts = || observed.value(Measure::Volts(terminal(0), terminal(1)), &meter).unwrap_or(0.0).abs();
        loads.extend(entry.kind.rated_volts().map(|rated| Load { part, times: volts() / rated, is_volts: true }));
    }
    loads
}
