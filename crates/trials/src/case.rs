//! One case: a unit of a family, what is wrong with it, and what its user says.

use crate::families::{Drawn, FAMILIES, surroundings};
use crate::random::Random;
use crate::truth::parts::TruePart;
use crate::truth::{Put, State, Surroundings, World};
use bench::fault::SeverityShape;
use bench::{Job, Symptom, Word};
use diagnosis::repairs::NO_REPAIR;

/// Faults that truth has no figures for, and that are never drawn.
pub const UNDRAWN: [&str; 2] = ["out-of-balance", "bearing-worn"];

/// Share of cases with two faults.
const DOUBLE_SHARE: f64 = 0.1;
/// Share of words that are said against the facts.
const SLIP: f64 = 0.03;
/// Amperes that somebody feels (threshold of perception of IEC 60479-1, from memory).
const FELT_AMPS: f64 = 0.5e-3;

/// A case.
pub struct Case {
    /// Index of its family.
    pub family: usize,
    /// The unit as drawn.
    pub drawn: Drawn,
    /// Its job, for the topology that truth needs.
    pub job: Job,
    /// What is wrong.
    pub faults: Vec<Put>,
    /// Joints, wires, strays.
    pub surroundings: Surroundings,
    /// What is said of it.
    pub complaint: Vec<Symptom>,
}

impl Case {
    /// Draws a case, sound in a share of all; `None` if the unit could not be laid out, which is counted.
    pub fn draw(seed: u64, number: u64, sound_share: f64) -> Option<Case> {
        let mut random = Random::new(seed, number);
        let family = (number % FAMILIES.len() as u64) as usize;
        let drawn = (FAMILIES[family].draw)(&mut random);
        let job = bench::job::read("trial", &drawn.text).ok()?;
        let is_sound = random.chance(sound_share);
        let faults = if is_sound { Vec::new() } else { faults(&mut random, &job) };
        let surroundings = surroundings(&mut random, &job.unit);
        let mut case = Case { family, drawn, job, faults, surroundings, complaint: Vec::new() };
        case.complaint = case.complain(&mut random)?;
        Some(case)
    }

    /// The unit as it really is.
    pub fn world(&self) -> World<'_> {
        let unit = &self.job.unit;
        let parts: Vec<Option<TruePart>> =
            unit.parts().iter().map(|part| self.drawn.parts.get(&part.name).cloned()).collect();
        World {
            unit,
            parts,
            surroundings: self.surroundings.clone(),
            faults: self.faults.clone(),
            hertz: self.drawn.hertz,
        }
    }

    /// The repair of each fault, without doubles; of a sound unit, that there is nothing to repair.
    pub fn true_repairs(&self) -> Vec<String> {
        if self.faults.is_empty() {
            return vec![NO_REPAIR.into()];
        }
        let mut repairs: Vec<String> =
            self.faults.iter().map(|put| self.job.unit.faults()[put.index].repair()).collect();
        repairs.sort();
        repairs.dedup();
        repairs
    }

    /// Whether a repair, in words, contains all that are needed.
    pub fn is_mended_by(&self, repair: &str) -> bool {
        self.true_repairs().iter().all(|own| repair.contains(own.as_str()))
    }

    /// What is wrong, with sizes, for people.
    pub fn fault_words(&self) -> String {
        let words = |put: &Put| {
            let size = put.size.map_or(String::new(), |size| format!(" ({})", bench::words::number(size)));
            format!("{}{size}", self.job.unit.faults()[put.index].label())
        };
        if self.faults.is_empty() {
            "nothing".into()
        } else {
            self.faults.iter().map(words).collect::<Vec<_>>().join(" and ")
        }
    }

    /// Whether the complaint says that anything is amiss.
    pub fn is_visible(&self) -> bool {
        self.complaint.iter().any(|symptom| symptom.word != Word::Normal)
    }

    fn complain(&self, random: &mut Random) -> Option<Vec<Symptom>> {
        let world = self.world();
        let sound = world.sound();
        let unit = &self.job.unit;
        let mut complaint: Vec<Symptom> = Vec::new();
        for name in &self.drawn.live_setups {
            let setup = self.job.find_setup(name)?;
            let (now, before) =
                (State::of(&world, &self.job.setups[setup])?, State::of(&sound, &self.job.setups[setup])?);
            let mut others = Vec::new();
            for part in self.drawn.seen.iter().filter_map(|seen| unit.find_part(seen)) {
                let word = self.word(random, part, &now, &before);
                match word {
                    Some(Word::Normal) => others.push(Symptom { setup, part, word: Word::Normal, line: 0 }),
                    Some(word) if complaint.len() < 2 => complaint.push(Symptom { setup, part, word, line: 0 }),
                    _ => {}
                }
            }
            if now.frame_touch_amps() > FELT_AMPS && random.chance(0.7) {
                complaint.push(Symptom { setup, part: unit.part_of(unit.frame()), word: Word::Shocks, line: 0 });
            }
            if !complaint.is_empty() {
                complaint.extend(others.into_iter().filter(|_| random.chance(0.5)));
                return Some(complaint);
            }
        }
        let setup = self.job.find_setup(self.drawn.live_setups.first()?)?;
        let part = unit.find_part(self.drawn.seen.first()?)?;
        let early = self.faults.iter().any(|put| put.name == "trips-early");
        let word = if early { Word::Trips } else { Word::Normal };
        complaint.push(Symptom { setup, part, word, line: 0 });
        Some(complaint)
    }

    /// What a user says of a part; `None` if no word fits.
    fn word(&self, random: &mut Random, part: usize, now: &State<'_>, before: &State<'_>) -> Option<Word> {
        let (watts, sound_watts) = (now.watts(part).abs(), before.watts(part).abs());
        if now.breaker_open {
            return Some(Word::Trips);
        }
        let is_powered = watts > 0.02 * sound_watts.max(1.0);
        let Some((speed, sound_speed)) = now.speed_ratio(part).zip(before.speed_ratio(part)) else {
            return match (is_powered, sound_watts < 1.0 && sound_watts < 0.1 * watts) {
                (true, true) => Some(Word::RunsHot),
                (false, _) if sound_watts < 1e-3 => None,
                (false, _) => Some(Word::Dead),
                (true, false) => {
                    let is_usual = (watts / sound_watts - 1.0).abs() < random.between(0.15, 0.3);
                    is_usual.then_some(Word::Normal)
                }
            };
        };
        let (slow_from, hot_from, smells_from) =
            (random.between(0.06, 0.16), random.between(1.3, 1.8), random.between(1.6, 2.4));
        let heat = now.copper_watts(part) / before.copper_watts(part).max(1e-9);
        let slower = 1.0 - speed / sound_speed;
        let fact = if !is_powered {
            Word::Dead
        } else if speed == 0.0 {
            Word::Hums
        } else if slower > 1.0 {
            // It turns backward: there is no word for that.
            return None;
        } else if heat > smells_from {
            Word::SmellsHot
        } else if slower > slow_from {
            Word::Slow
        } else if heat > hot_from {
            Word::RunsHot
        } else {
            Word::Normal
        };
        Some(match fact {
            Word::Normal if random.chance(SLIP) => Word::Slow,
            Word::Slow if random.chance(SLIP) => Word::Normal,
            fact => fact,
        })
    }
}

/// One fault by its odds, or two at different places.
fn faults(random: &mut Random, job: &Job) -> Vec<Put> {
    let unit = &job.unit;
    let is_drawn = |fault: &bench::Fault| !UNDRAWN.contains(&fault.mode.name.as_str());
    let odds_of = |fault: &bench::Fault| if is_drawn(fault) { fault.mode.odds } else { 0.0 };
    let odds: Vec<f64> = unit.faults().iter().map(odds_of).collect();
    let first = random.weighted(&odds);
    let mut chosen = vec![first];
    if random.chance(DOUBLE_SHARE) {
        let apart: Vec<f64> = unit
            .faults()
            .iter()
            .map(|fault| if fault.place == unit.faults()[first].place { 0.0 } else { odds_of(fault) })
            .collect();
        chosen.push(random.weighted(&apart));
    }
    chosen.sort_unstable();
    let put = |index: usize, random: &mut Random| {
        let fault = &unit.faults()[index];
        let size = fault.mode.severity.as_ref().map(|severity| {
            let raw = random.about(severity.median, severity.log_spread);
            match severity.shape {
                SeverityShape::Plain => raw,
                SeverityShape::Share => raw / (1.0 + raw),
            }
        });
        Put { index, place: fault.place, name: fault.mode.name.clone(), size }
    };
    chosen.into_iter().map(|index| put(index, random)).collect()
}
