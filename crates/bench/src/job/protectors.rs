//! Protectors that heat moves and that cannot do so as they are described.

use super::load::{Job, Reader};
use crate::heat::HeatSource;

/// Hotter than any protector of such equipment opens, degrees Celsius: thermal fuses end at some 240, limiters of ovens and
/// heating elements at some 500 (common practice, no source).
const HOTTEST_CELSIUS: f64 = 1000.0;

impl Reader<'_, '_> {
    /// Refuses temperatures that no protector has; warns of one that nothing can warm, or that is open from the beginning.
    pub(super) fn check_protectors(&mut self, job: &Job) {
        let (unit, air) = (&job.unit, job.unit.air());
        let tells_of_heat = !(job.runs.is_empty() && air.touches.is_empty() && air.streams.is_empty());
        for (part, entry) in unit.parts().iter().enumerate() {
            let Some(contact) = entry.kind.heat_contact(&|_| None) else { continue };
            let is_feeler = unit.heat_of(part).bodies[contact.body].source == HeatSource::Nothing;
            let (Some(place), true) = (self.part_places.get(part).cloned(), is_feeler) else { continue };
            let (name, opens) = (&entry.name, contact.opens_celsius);
            if opens > HOTTEST_CELSIUS {
                let problem = self.problems.error(place, format!("'{name}' opens at {opens} degrees Celsius"));
                problem.expected(format!("at most {HOTTEST_CELSIUS}")).mend("degrees Celsius, as stamped on it");
                continue;
            }
            let warmest = job.runs.iter().map(|run| run.room_celsius).fold(air.room_celsius, f64::max);
            if tells_of_heat && opens <= warmest {
                let message =
                    format!("'{name}' opens at {opens} degrees in a room at {warmest}: it is open from the beginning");
                self.problems.warning(place.clone(), message).mend("read its temperature again: degrees Celsius");
            }
            let is_warmed = air.touches.iter().any(|touch| touch.part == part)
                || air.streams.iter().any(|stream| stream.parts.contains(&part));
            if tells_of_heat && !is_warmed {
                let problem =
                    self.problems.warning(place, format!("nothing warms '{name}', so that in a run it never opens"));
                problem.expected("it clamped to a body, or in a stream of air").mend(format!(
                    "under [heat] write clamped = {{ {name} = \"PART.BODY\" }}, or name it in a stream's passes"
                ));
            }
        }
    }
}
