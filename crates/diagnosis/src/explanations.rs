//! Volts that look odd and are what the first suspect makes them: where they come from, in words.
//!
//! Every figure is worked out from the solved circuit, of the first suspect and of the sound unit with the same values. What
//! is explained are readings that fit; those that do not are the business of [`crate::misreadings`].

use crate::reading_model::sigma;
use crate::suspects::Diagnosis;
use bench::{FaultSet, Job, Measure, Meter, PredictError, Reading, TerminalId, Unit, Value, observe_values, words};

/// Input of a meter that loads what it reads, ohms: a low-impedance setting has about as much (makers' manuals, from
/// memory: 3 kilohms).
pub const LOW_IMPEDANCE_OHMS: f64 = 3000.0;
/// Meters from this input on take ghosts for volts, ohms.
const HIGH_IMPEDANCE_OHMS: f64 = 1e5;
/// Input of a meter that takes nothing, ohms.
const IDEAL_OHMS: f64 = 1e12;
/// Volts that a low-impedance meter brings below this share are a ghost.
const GHOST_SHARE: f64 = 0.25;
/// Shares of rated volts from which on volts are full, and up to which they are next to nothing.
const FULL: f64 = 0.5;
const NEXT_TO_NOTHING: f64 = 0.05;
/// Volts above this share of the sound unit's are as good as those.
const AS_SOUND: f64 = 0.9;
/// Volts above rated that are more than the supply can have by itself, as a factor: beyond the +10 % of EN 50160.
const MORE_THAN_SUPPLY: f64 = 1.15;
/// Share of the sound unit's amps below which no current flows, and the least amps that count as some.
const NO_CURRENT: f64 = 0.02;
const SOME_AMPS: f64 = 0.02;
/// A reading fits within so many standard deviations.
const FITS: f64 = 3.0;

/// Why volts are what they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Explanation {
    /// Next to nothing feeds it: stray capacitance, insulation, a glow lamp.
    Ghost {
        /// What a low-impedance meter shows, volts.
        loaded: f64,
        /// About what stands between it and what feeds it, ohms.
        behind: f64,
    },
    /// The path is open between the probes, and all of the volts stand there.
    OpenBetween,
    /// The volts are there and no current flows between the probes: what is between them is open.
    NoCurrentThrough {
        /// Amperes there in the sound unit.
        sound_amps: f64,
    },
    /// To ground, on the way back: open further on, so that the volts come through a part without current.
    OpenBehind {
        /// The part, by index.
        part: usize,
        /// Volts there in the sound unit.
        sound_volts: f64,
    },
    /// To ground, ahead of what is open: full volts without current.
    OpenFurtherOn {
        /// The part, by index.
        part: usize,
        /// Amperes there in the sound unit.
        sound_amps: f64,
    },
    /// To ground, behind what is open: fed backwards, through other parts, and no current.
    FedBack {
        /// Volts there in the sound unit.
        sound_volts: f64,
        /// Amperes there in the sound unit.
        sound_amps: f64,
    },
    /// More than the supply has; windings make it.
    MoreThanSupply {
        /// Volts there in the sound unit.
        sound_volts: f64,
    },
}

/// What a reading's place shows under one set of faults.
struct Shown {
    volts: f64,
    /// By a meter that takes nothing.
    unloaded: f64,
    loaded: f64,
    amps: [Option<f64>; 2],
}

/// Odd volts with their explanation, by reading.
pub fn explanations(found: &Diagnosis<'_>) -> Vec<(usize, Explanation)> {
    let Some(fit) = found.suspects.first().and_then(|suspect| suspect.fit.as_ref()) else { return Vec::new() };
    let job = found.evidence.job;
    let own = &fit.deviations[..=job.unit.unknowns().len()];
    let volts =
        found.evidence.taken.iter().enumerate().filter(|(_, taken)| matches!(taken.measure, Measure::Volts(..)));
    volts
        .filter_map(|(index, taken)| {
            let Value::Number(shown) = taken.value else { return None };
            let predicted = fit.outlook.predictions[index].value;
            let spread = sigma(taken.measure, &job.meters[taken.meter], shown);
            if (shown - predicted).abs() > FITS * spread {
                return None;
            }
            let faulty = look(job, taken, &fit.faults, &fit.deviations).ok()?;
            let sound = look(job, taken, &FaultSet::none(), own).ok()?;
            Some((index, explain(&job.unit, taken, &job.meters[taken.meter], &faulty, &sound)?))
        })
        .collect()
}

fn look(job: &Job, taken: &Reading, faults: &FaultSet, deviations: &[f64]) -> Result<Shown, PredictError> {
    let meter = &job.meters[taken.meter];
    let Measure::Volts(a, b) = taken.measure else {
        return Ok(Shown { volts: 0.0, unloaded: 0.0, loaded: 0.0, amps: [None; 2] });
    };
    let of_input = |ohms: f64| Meter { volts_input_ohms: ohms, ..meter.clone() };
    let (loading, ideal) = (of_input(LOW_IMPEDANCE_OHMS), of_input(IDEAL_OHMS));
    observe_values(&job.unit, &job.setups[taken.setup], faults, deviations, |observed| {
        let by = |meter: &Meter| observed.value(taken.measure, meter);
        let amps = [a, b].map(|terminal| observed.value(Measure::AmpsAtTerminal(terminal), meter).ok());
        Ok(Shown { volts: by(meter)?, unloaded: by(&ideal)?, loaded: by(&loading)?, amps })
    })?
}

fn explain(unit: &Unit, taken: &Reading, meter: &Meter, faulty: &Shown, sound: &Shown) -> Option<Explanation> {
    let Measure::Volts(a, b) = taken.measure else { return None };
    let rated = unit.parts()[unit.supply()].kind.supply().map_or(230.0, |supply| supply.volts);
    let volts = faulty.volts;
    if volts > NEXT_TO_NOTHING * rated
        && meter.volts_input_ohms >= HIGH_IMPEDANCE_OHMS
        && faulty.loaded < GHOST_SHARE * volts
    {
        let behind = LOW_IMPEDANCE_OHMS * faulty.unloaded / faulty.loaded.max(f64::MIN_POSITIVE);
        return Some(Explanation::Ghost { loaded: faulty.loaded, behind });
    }
    if volts > MORE_THAN_SUPPLY * rated {
        return Some(Explanation::MoreThanSupply { sound_volts: sound.volts });
    }
    let is_full = volts >= FULL * rated * live_share(unit);
    let stopped = |end: usize| match (faulty.amps[end], sound.amps[end]) {
        (Some(now), Some(sound)) if sound >= SOME_AMPS && now < NO_CURRENT * sound => Some(sound),
        _ => None,
    };
    let feeds = |terminal: TerminalId| unit.parts()[unit.part_of(terminal)].kind.feeds_unit();
    if unit.part_of(a) == unit.part_of(b) {
        let sound_amps = stopped(0).or(stopped(1)).filter(|_| is_full && !feeds(a))?;
        return Some(match sound.volts < NEXT_TO_NOTHING * rated {
            true => Explanation::OpenBetween,
            false => Explanation::NoCurrentThrough { sound_amps },
        });
    }
    // One probe on ground, the other on a part.
    let (terminal, end) = match (is_ground(unit, a), is_ground(unit, b)) {
        (false, true) if !feeds(a) => (a, 0),
        (true, false) if !feeds(b) => (b, 1),
        _ => return None,
    };
    let part = unit.part_of(terminal);
    let sound_amps = stopped(end)?;
    // Where several conductors are live, full volts may come from another one.
    let is_one_live = unit.parts()[unit.supply()].kind.live_conductors() == 1;
    match sound.volts {
        sound_volts if is_full && is_one_live && sound_volts < FULL * volts => {
            Some(Explanation::OpenBehind { part, sound_volts })
        }
        sound_volts if is_full && is_one_live && volts > AS_SOUND * sound_volts => {
            Some(Explanation::OpenFurtherOn { part, sound_amps })
        }
        sound_volts if volts > NEXT_TO_NOTHING * rated && volts < AS_SOUND * sound_volts => {
            Some(Explanation::FedBack { sound_volts, sound_amps })
        }
        _ => None,
    }
}

/// Volts of a live conductor to neutral over rated, at least.
fn live_share(unit: &Unit) -> f64 {
    if unit.parts()[unit.supply()].kind.live_conductors() > 1 { 0.5 } else { 1.0 }
}

/// Neutral or earth where it comes in, and the metal.
fn is_ground(unit: &Unit, terminal: TerminalId) -> bool {
    let feeds = unit.parts()[unit.part_of(terminal)].kind.feeds_unit();
    let name = unit.terminal_of(terminal);
    terminal == unit.frame() || (feeds && (name.ends_with("neutral") || name.ends_with("earth")))
}

/// An explanation in words, the reading ahead of it.
pub fn explanation_words(found: &Diagnosis<'_>, reading: usize, explanation: &Explanation) -> String {
    let (job, taken) = (found.evidence.job, &found.evidence.taken[reading]);
    let unit = &job.unit;
    let head = format!(
        "line {}: {} {} in setup {}",
        taken.line,
        words::shown(taken.measure, taken.value),
        words::place(unit, taken.measure),
        job.setups[taken.setup].name
    );
    let name = |part: usize| unit.parts()[part].name.as_str();
    let figure = words::number;
    let why = match *explanation {
        Explanation::Ghost { loaded, behind } => format!(
            "a ghost that stands behind about {}, such as stray capacitance, insulation or a glow lamp; a low-impedance \
             meter ({} ohm) would show about {} V",
            words::ohms(behind),
            figure(LOW_IMPEDANCE_OHMS),
            figure(loaded)
        ),
        Explanation::OpenBetween => {
            "no current flows, and all of the volts stand where the path is open: between these probes".to_owned()
        }
        Explanation::NoCurrentThrough { sound_amps } => format!(
            "the volts are there and no current follows them, where a sound unit has {} A: open between these probes",
            figure(sound_amps)
        ),
        Explanation::OpenBehind { part, sound_volts } => format!(
            "the way back is open behind it, so the volts come through {} without any current and nothing drops in it; a \
             sound unit shows {} V. It neither clears nor convicts {}",
            name(part),
            figure(sound_volts),
            name(part)
        ),
        Explanation::OpenFurtherOn { part, sound_amps } => format!(
            "volts to ground without current (a sound unit has {} A there): the way to here is whole, the way on is open. \
             It neither clears nor convicts {}",
            figure(sound_amps),
            name(part)
        ),
        Explanation::FedBack { sound_volts, sound_amps } => format!(
            "no current flows here, where a sound unit has {} A at {} V: the way from the supply is open, and the volts \
             come backwards through other parts",
            figure(sound_amps),
            figure(sound_volts)
        ),
        Explanation::MoreThanSupply { sound_volts } => format!(
            "more than the supply has: windings in series with it, or a capacitor, make it; a sound unit shows {} V",
            figure(sound_volts)
        ),
    };
    format!("{head}: {why}")
}

/// All of them in words.
pub fn explanation_lines(found: &Diagnosis<'_>) -> Vec<String> {
    explanations(found).iter().map(|(reading, why)| format!("{}.", explanation_words(found, *reading, why))).collect()
}
