//! What stands between a technician and a check: housings to open first, and what cannot or must not be done.

use crate::job::Job;
use crate::reading::Measure;
use crate::setup::Setup;
use crate::unit::{TerminalId, Unit};

/// Something to be opened once before anything behind it can be reached.
#[derive(Debug, Clone, PartialEq)]
pub struct Housing {
    /// Its name.
    pub name: String,
    /// Minutes to open it when whatever it is behind stands open, as the job says.
    pub minutes: f64,
    /// Whether it stands open now.
    pub is_open: bool,
    /// Housing that it is itself behind.
    pub behind: Option<usize>,
    /// Parts behind it with all that belongs to them, shafts included.
    pub parts: Vec<usize>,
    /// Terminals behind it, those of its parts included.
    pub terminals: Vec<TerminalId>,
}

/// A sort of check, by what it needs: a meter, a hand, a tool.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Manner {
    Ohms,
    Microfarads,
    Volts,
    Amps,
    Watts,
    Rpm,
    RunDown,
    Touch,
    Leakage,
    /// Turning a shaft by hand.
    Spin,
    /// Giving a motor a push with the supply on.
    Push,
    /// Leaving a unit on until it trips.
    Wait,
    /// Exchanging sister parts.
    Swap,
    /// Bridging a contact.
    Jumper,
    /// Taking wires off.
    Lift,
}

impl Manner {
    /// All, with their words in a job file and what is missing without them.
    pub const ALL: [(Manner, &'static str, &'static str); 15] = [
        (Manner::Ohms, "ohms", "ohms"),
        (Manner::Microfarads, "microfarads", "capacitances"),
        (Manner::Volts, "volts", "volts"),
        (Manner::Amps, "amps", "amps"),
        (Manner::Watts, "watts", "watts"),
        (Manner::Rpm, "rpm", "speeds"),
        (Manner::RunDown, "run-down", "run-downs"),
        (Manner::Touch, "touch", "touch currents"),
        (Manner::Leakage, "leakage", "leakage currents"),
        (Manner::Spin, "spin", "shafts turned by hand"),
        (Manner::Push, "push", "pushes"),
        (Manner::Wait, "wait", "waits for a trip"),
        (Manner::Swap, "swap", "exchanges of parts"),
        (Manner::Jumper, "jumper", "jumpers"),
        (Manner::Lift, "lift", "wires taken off"),
    ];

    /// What a reading needs.
    pub fn of(measure: Measure) -> Self {
        match measure {
            Measure::Ohms(..) | Measure::Bars(..) => Manner::Ohms,
            Measure::Microfarads(..) => Manner::Microfarads,
            Measure::Volts(..) => Manner::Volts,
            Measure::AmpsAtTerminal(_) | Measure::AmpsInWire(_) => Manner::Amps,
            Measure::Watts(_) => Manner::Watts,
            Measure::Rpm(_) => Manner::Rpm,
            Measure::RunDown(_) => Manner::RunDown,
            Measure::TouchMilliamps(_) => Manner::Touch,
            Measure::LeakageMilliamps(_) => Manner::Leakage,
        }
    }
}

/// Something that the technician cannot or will not do.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// A sort of check: no meter for it, or no wish.
    Manner(Manner),
    /// Everything with the supply on.
    Energised,
    /// Everything at a part.
    Part(usize),
    /// Everything at a terminal.
    Terminal(TerminalId),
    /// A setup of the job, and what builds upon it.
    Setup(String),
    /// Opening a housing.
    Housing(usize),
}

/// What a check touches.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Reach {
    /// Terminals that leads, clamps, jumpers or screwdrivers go to.
    pub terminals: Vec<TerminalId>,
    /// Parts whose shafts are watched or turned, or that are exchanged.
    pub parts: Vec<usize>,
    /// What it needs.
    pub manners: Vec<Manner>,
}

impl Reach {
    /// What arranging a setup touches.
    pub fn of_setup(setup: &Setup) -> Self {
        let mut reach = Reach { terminals: setup.lifted.clone(), ..Reach::default() };
        reach.terminals.extend(setup.jumpers.iter().flat_map(|&(a, b)| [a, b]));
        reach.parts.extend(setup.held.iter().chain(&setup.pushed));
        let needs = [(!setup.lifted.is_empty(), Manner::Lift), (!setup.jumpers.is_empty(), Manner::Jumper)];
        reach.manners.extend(needs.into_iter().filter(|(is_needed, _)| *is_needed).map(|(_, manner)| manner));
        reach
    }

    /// The same with a reading in it. A plug-in wattmeter and a leakage clamp on the cord reach nothing within.
    #[must_use]
    pub fn with_reading(mut self, unit: &Unit, measure: Measure) -> Self {
        self.manners.push(Manner::of(measure));
        match measure {
            Measure::Ohms(a, b) | Measure::Microfarads(a, b) | Measure::Volts(a, b) => self.terminals.extend([a, b]),
            Measure::AmpsAtTerminal(a) | Measure::TouchMilliamps(a) => self.terminals.push(a),
            Measure::AmpsInWire(wire) => self.terminals.push(unit.wires()[wire].from),
            Measure::Watts(part) if !unit.parts()[part].kind.feeds_unit() => {
                self.terminals.extend(unit.terminals_of(part).map(TerminalId));
            }
            Measure::Watts(_) => {}
            Measure::Rpm(part) | Measure::RunDown(part) | Measure::LeakageMilliamps(part) | Measure::Bars(part, _) => {
                self.parts.push(part);
            }
        }
        self
    }
}

impl Refusal {
    /// Whether it stands in the way of a check in a setup; `opened` are the housings that the check needs.
    pub fn forbids(&self, unit: &Unit, setup: &Setup, reach: &Reach, opened: &[usize]) -> bool {
        match self {
            Refusal::Manner(manner) => reach.manners.contains(manner),
            Refusal::Energised => setup.energised,
            Refusal::Part(part) => {
                reach.parts.contains(part) || reach.terminals.iter().any(|&terminal| unit.part_of(terminal) == *part)
            }
            Refusal::Terminal(terminal) => reach.terminals.contains(terminal),
            // What is proposed upon a setup is called after it: 'high, M1 pushed'.
            Refusal::Setup(name) => {
                setup.name.strip_prefix(name.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with(", "))
            }
            Refusal::Housing(housing) => opened.contains(housing),
        }
    }

    /// As it stands in a job file.
    pub fn text(&self, job: &Job) -> String {
        match self {
            Refusal::Manner(manner) => {
                let known = Manner::ALL.iter().find(|(other, ..)| other == manner);
                known.map_or(String::new(), |(_, word, _)| (*word).to_owned())
            }
            Refusal::Energised => "energised".into(),
            Refusal::Part(part) => job.unit.parts()[*part].name.clone(),
            Refusal::Terminal(terminal) => job.unit.terminal_name(*terminal),
            Refusal::Setup(name) => format!("setup {name}"),
            Refusal::Housing(housing) => format!("housing {}", job.housings[*housing].name),
        }
    }

    /// In words: what is left out.
    pub fn words(&self, job: &Job) -> String {
        match self {
            Refusal::Manner(manner) => {
                let known = Manner::ALL.iter().find(|(other, ..)| other == manner);
                format!("no {}", known.map_or("checks of this sort", |(_, _, words)| words))
            }
            Refusal::Energised => "nothing with the supply on".into(),
            Refusal::Part(part) => format!("nothing at {}", job.unit.parts()[*part].name),
            Refusal::Terminal(terminal) => format!("nothing at {}", job.unit.terminal_name(*terminal)),
            Refusal::Setup(name) => format!("not in setup {name}"),
            Refusal::Housing(housing) => format!("{} not to be opened", job.housings[*housing].name),
        }
    }
}

impl Job {
    /// Finds what a refusal names.
    ///
    /// # Errors
    /// All that could have been meant, for a mend.
    pub fn find_refusal(&self, text: &str) -> Result<Refusal, Vec<String>> {
        if let Some((manner, ..)) = Manner::ALL.iter().find(|(_, word, _)| *word == text) {
            return Ok(Refusal::Manner(*manner));
        }
        if text == "energised" {
            return Ok(Refusal::Energised);
        }
        if let Some(name) = text.strip_prefix("setup ")
            && self.find_setup(name).is_some()
        {
            return Ok(Refusal::Setup(name.to_owned()));
        }
        if let Some(name) = text.strip_prefix("housing ")
            && let Some(housing) = self.find_housing(name)
        {
            return Ok(Refusal::Housing(housing));
        }
        // `frame` is both a part and its terminal; as a part it stands for everything at it.
        let part = self.unit.find_part(text).map(Refusal::Part);
        let found = part.or_else(|| self.unit.find_terminal(text).map(Refusal::Terminal));
        found.ok_or_else(|| {
            let words = Manner::ALL.iter().map(|(_, word, _)| (*word).to_owned()).chain(["energised".to_owned()]);
            let setups = self.setups.iter().map(|setup| format!("setup {}", setup.name));
            let housings = self.housings.iter().map(|housing| format!("housing {}", housing.name));
            let parts = self.unit.parts().iter().map(|part| part.name.clone());
            let terminals = (0..self.unit.terminal_count()).map(|index| self.unit.terminal_name(TerminalId(index)));
            words.chain(setups).chain(housings).chain(parts).chain(terminals).collect()
        })
    }

    /// Finds a housing by name.
    pub fn find_housing(&self, name: &str) -> Option<usize> {
        self.housings.iter().position(|housing| housing.name == name)
    }

    /// Housings that are ahead of what a check touches, open or not, each once, in the order of the file.
    pub fn housings_ahead(&self, reach: &Reach) -> Vec<usize> {
        let holds = |housing: &Housing| {
            housing.parts.iter().any(|part| reach.parts.contains(part))
                || housing.terminals.iter().any(|terminal| reach.terminals.contains(terminal))
        };
        let mut ahead = vec![false; self.housings.len()];
        for at in (0..self.housings.len()).filter(|&at| holds(&self.housings[at])) {
            let mut next = Some(at);
            while let Some(housing) = next.filter(|&housing| !ahead[housing]) {
                ahead[housing] = true;
                next = self.housings[housing].behind;
            }
        }
        (0..ahead.len()).filter(|&housing| ahead[housing]).collect()
    }
}
