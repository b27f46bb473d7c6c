//! In which position the windings of the repaired unit get hottest: that is where a heat run has to be made.

use crate::HeatRun;
use bench::{FaultSet, Job, PredictError};
use repair::RepairOption;
use repair::course::{Course, course};
use repair::options::{ROOM_CELSIUS, Work};

/// A run in a position whose windings are predicted so near to the hottest ones is as good: kelvins, or this share of their
/// rise. Engineering judgement; how parts shed heat is known to a quarter.
const NEAR_KELVIN: f64 = 5.0;
const NEAR_SHARE: f64 = 0.1;
/// A winding that is predicted to warm by less has nothing to prove, kelvins: coils of relays, timer motors. Engineering
/// judgement.
const WORTH_KELVIN: f64 = 20.0;

/// The hottest winding of a unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Winding {
    /// The winding, such as `M1.winding`.
    pub name: String,
    /// The position of the switches, or the setup.
    pub position: String,
    /// The highest temperature that is predicted of it, from a room of [`ROOM_CELSIUS`].
    pub celsius: f64,
}

/// What is predicted of the windings of the repaired unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Windings {
    /// The hottest one of all positions.
    pub hottest: Winding,
    /// The hottest one in the setup of each heat run; nothing for one that is never live.
    pub runs: Vec<Option<Winding>>,
}

impl Windings {
    /// Whether a heat run is made where the windings get as hot as anywhere, or nearly.
    pub fn is_hot_enough(&self, run: usize) -> bool {
        let near = NEAR_KELVIN.max(NEAR_SHARE * (self.hottest.celsius - ROOM_CELSIUS));
        self.runs.get(run).and_then(Option::as_ref).is_some_and(|own| own.celsius >= self.hottest.celsius - near)
    }
}

/// Works it out; nothing for a unit without a winding that warms to speak of. `own` are the values of the unit as the readings
/// tell them.
///
/// # Errors
/// [`PredictError`] if the unit cannot be solved in the setup of a run.
pub fn windings(
    job: &Job,
    options: &[RepairOption],
    runs: &[HeatRun],
    own: &[f64],
) -> Result<Option<Windings>, PredictError> {
    let repaired = options.iter().find(|option| option.work == Work::LikeForLike);
    let hottest = repaired.into_iter().flat_map(|option| &option.courses).filter_map(|course| of(job, course));
    let Some(hottest) = hottest.max_by(|a, b| a.celsius.total_cmp(&b.celsius)) else { return Ok(None) };
    if hottest.celsius - ROOM_CELSIUS < WORTH_KELVIN {
        return Ok(None);
    }
    let in_run = |run: &HeatRun| -> Result<Option<Winding>, PredictError> {
        let Some(setup) = run.setup else { return Ok(None) };
        let course = course(&job.unit, &job.setups[setup], &FaultSet::none(), own, ROOM_CELSIUS)?;
        Ok(of(job, &course))
    };
    let runs = runs.iter().map(in_run).collect::<Result<_, _>>()?;
    Ok(Some(Windings { hottest, runs }))
}

/// The hottest winding of a course.
fn of(job: &Job, course: &Course) -> Option<Winding> {
    let wound = course.bodies.iter().filter(|body| job.unit.heat_of(body.part).bodies[body.body].is_winding());
    let hottest = wound.max_by(|a, b| a.hottest_celsius.total_cmp(&b.hottest_celsius))?;
    Some(Winding {
        name: job.unit.body_name(hottest.part, hottest.body),
        position: course.position.clone(),
        celsius: hottest.hottest_celsius,
    })
}
