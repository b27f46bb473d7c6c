//! Currents and powers of a solved setup, by wire, terminal and part.

use super::conduction::{Conduction, End, Nature};
use super::form;
use bench::kinds::Rating;
use bench::observe::Observed;
use bench::wiring::{self, Owner, Wired};
use bench::{FaultSet, Place, PredictError, Setup, TerminalId, Unit, observe_values};
use circuit::Complex64;

/// Currents below this are none, amperes: what strays carry in a small unit.
pub(super) const IDLE_AMPS: f64 = 5e-4;
/// Powers below this are none, watts.
const IDLE_WATTS: f64 = 0.05;
/// What motors call the element that stands for their core loss; no winding of its own.
pub(super) const CORE_LOSS: &str = "core loss";
/// Times its rating above which a part is marked: mains and makers' tolerances reach that far (engineering judgement).
const PAST: f64 = 1.1;
/// Share of the supply volts below which a net counts as neutral.
const AT_NEUTRAL: f64 = 0.05;

/// Which way real power goes along a wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// From its `from` to its `to` end.
    Forward,
    /// From its `to` to its `from` end.
    Backward,
}

/// Current in a wire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WireFlow {
    /// Amperes.
    pub amps: f64,
    /// Which way real power goes; in a wire at the potential of neutral, which passes none, which way the current that
    /// carried it returns. `None` if next to nothing flows.
    pub direction: Option<Direction>,
}

/// Current and power of one element of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartFlow {
    /// The part.
    pub part: usize,
    /// What the part calls the element.
    pub label: String,
    /// The terminals it lies between in the sound part, where it lies between two.
    pub ends: Option<[TerminalId; 2]>,
    /// Amperes.
    pub amps: f64,
    /// Real power it takes in, watts; negative if it delivers.
    pub watts: f64,
}

/// A part carrying more than it is rated for.
#[derive(Debug, Clone, PartialEq)]
pub struct PastRating {
    /// The part.
    pub part: usize,
    /// How many times its rating.
    pub times: f64,
    /// What the rating is: "breaker amps".
    pub rating: String,
}

/// What flows in a unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Flows {
    /// By wire; `None` if it is broken.
    pub wires: Vec<Option<WireFlow>>,
    /// Amperes at every terminal, between its wires and the part.
    pub terminals: Vec<f64>,
    /// Elements of parts.
    pub elements: Vec<PartFlow>,
    /// Real power every part takes, watts; what the unit takes, for supply and cord.
    pub watts: Vec<f64>,
    /// Ways through parts that conduct in the sound unit and do not here.
    pub open: Vec<(usize, [TerminalId; 2])>,
    /// Terminals whose lead is broken inside the part.
    pub open_leads: Vec<TerminalId>,
    /// Parts past what is written on them, the breaker ahead of the supply included.
    pub past_rating: Vec<PastRating>,
    /// What cut the unit off, in words, so that what is shown is the dead unit.
    pub cut_off: Option<&'static str>,
}

impl Flows {
    /// The largest current in any wire or terminal, amperes.
    pub fn largest_amps(&self) -> f64 {
        let wires = self.wires.iter().flatten().map(|wire| wire.amps);
        wires.chain(self.terminals.iter().copied()).fold(0.0, f64::max)
    }
}

/// Solves `unit` in `setup` with `faults` at `deviations` (as [`bench::observe()`] takes them) and collects what flows.
///
/// # Errors
/// [`PredictError::Network`] if the setup cannot be solved.
pub fn flows(unit: &Unit, setup: &Setup, faults: &FaultSet, deviations: &[f64]) -> Result<Flows, PredictError> {
    let conduction = Conduction::of(unit);
    let mut flows = observe_values(unit, setup, faults, deviations, |observed| collect(unit, &conduction, observed))?;
    let open = open_ways(unit, &conduction, setup, faults, deviations);
    (flows.open, flows.open_leads) = (open.ways, open.leads);
    Ok(flows)
}

fn collect(unit: &Unit, conduction: &Conduction, observed: &Observed<'_>) -> Flows {
    let parts = unit.parts().len();
    let mut flows = Flows {
        wires: vec![Some(WireFlow { amps: 0.0, direction: None }); unit.wires().len()],
        terminals: vec![0.0; unit.terminal_count()],
        elements: Vec::new(),
        watts: (0..parts).map(|part| observed.watts(part)).collect(),
        open: Vec::new(),
        open_leads: Vec::new(),
        past_rating: Vec::new(),
        cut_off: observed.cut_off_words(),
    };
    let wired = observed.wired();
    for (wire, flow) in flows.wires.iter_mut().enumerate() {
        *flow = wired.wire_current(wire).map(|probe| {
            let Some(steady) = observed.steady() else { return WireFlow { amps: 0.0, direction: None } };
            let current = probe.value(steady.solution());
            WireFlow { amps: current.norm(), direction: direction(unit, observed, wire, current) }
        });
    }
    let Some(steady) = observed.steady() else { return flows };
    let solution = steady.solution();
    for (terminal, amps) in flows.terminals.iter_mut().enumerate() {
        *amps = wired.terminal_current(TerminalId(terminal)).map_or(0.0, |probe| probe.value(solution).norm());
    }
    for element in &wired.elements {
        let Owner::Place(Place::Part(part)) = element.owner else { continue };
        let (amps, watts) = (solution.current(element.branch).norm(), solution.power(element.branch).re);
        let path = conduction.paths[part].iter().find(|path| path.label == element.label);
        let ends = path.and_then(|path| match path.ends {
            [End::Terminal(a), End::Terminal(b)] => Some([a, b]),
            _ => None,
        });
        if unit.parts()[part].kind.feeds_unit() {
            // The plug has no wires to measure in; its pins carry what their conductor carries.
            let pin = format!("plug-{}", element.label);
            for terminal in unit.terminals_of(part).map(TerminalId) {
                let name = form::terminal_name(unit, terminal);
                if name == element.label || name == pin {
                    flows.terminals[terminal.0] = amps;
                }
            }
        }
        flows.elements.push(PartFlow { part, label: element.label.to_string(), ends, amps, watts });
    }
    flows.past_rating = past_plates(unit, &flows);
    if let Some(supply) = unit.parts()[unit.supply()].kind.supply() {
        let amps = flows.elements.iter().filter(|flow| flow.part == unit.supply()).map(|flow| flow.amps);
        let times = amps.fold(0.0, f64::max) / supply.breaker_amps;
        if times > 1.0 {
            flows.past_rating.push(PastRating { part: unit.supply(), times, rating: "breaker amps".into() });
        }
    }
    flows
}

/// Parts that take or carry more than their plates say.
fn past_plates(unit: &Unit, flows: &Flows) -> Vec<PastRating> {
    let mut past = Vec::new();
    for (index, part) in unit.parts().iter().enumerate() {
        let (times, rating) = match part.kind.rating() {
            Some(Rating::Amps { terminal, amps }) => {
                (flows.terminals[unit.terminals_of(index).start + terminal] / amps, "plate amps")
            }
            Some(Rating::AmpsAtAny { terminals, amps }) => {
                let first = unit.terminals_of(index).start;
                let most = flows.terminals[first..first + terminals].iter().copied().fold(0.0, f64::max);
                (most / amps, "plate amps")
            }
            Some(Rating::Watts(watts)) => (flows.watts[index] / watts, "rated watts"),
            Some(Rating::FeedAmps(amps)) => {
                let most = flows.terminals[unit.terminals_of(index)].iter().copied().fold(0.0, f64::max);
                (most / amps, "amps of its size")
            }
            None => continue,
        };
        if times > PAST {
            past.push(PastRating { part: index, times, rating: rating.into() });
        }
    }
    past
}

fn direction(unit: &Unit, observed: &Observed<'_>, wire: usize, current: Complex64) -> Option<Direction> {
    let solution = observed.steady()?.solution();
    let lifted = |terminal: &TerminalId| observed.setup().lifted.contains(terminal);
    let wire = &unit.wires()[wire];
    let terminal = [wire.from, wire.to].into_iter().find(|terminal| !lifted(terminal))?;
    let potential = |terminal: TerminalId| solution.potential(observed.wired().net_at(terminal));
    let neutral = potential(unit.neutral());
    let supply = potential(unit.live_terminals().next()?) - neutral;
    let volts = potential(terminal) - neutral;
    if current.norm() < IDLE_AMPS {
        return None;
    }
    let reference = if volts.norm() > AT_NEUTRAL * supply.norm() { volts } else { supply };
    let onward = (reference * current.conj()).re;
    Some(if onward >= 0.0 { Direction::Forward } else { Direction::Backward })
}

/// Whether a power is worth a word.
pub(super) fn is_power(watts: f64) -> bool {
    watts.abs() >= IDLE_WATTS
}

/// Ways through parts, and leads of terminals, that a fault has opened.
#[derive(Debug, Default)]
struct OpenWays {
    ways: Vec<(usize, [TerminalId; 2])>,
    leads: Vec<TerminalId>,
}

fn open_ways(unit: &Unit, conduction: &Conduction, setup: &Setup, faults: &FaultSet, deviations: &[f64]) -> OpenWays {
    let mut alone = Setup::unplugged("wires off");
    alone.positions = setup.positions.clone();
    alone.lifted = (0..unit.terminal_count()).map(TerminalId).collect();
    let none = FaultSet::none();
    let medians = vec![0.0; wiring::unknown_count(unit, &none)];
    let faulty = wiring::wire_up(unit, &alone, faults, deviations, &wiring::Conditions::default(), false);
    let sound = wiring::wire_up(unit, &alone, &none, &medians, &wiring::Conditions::default(), false);
    let (faulty, sound) = (Islands::of(&faulty), Islands::of(&sound));
    let mut open = OpenWays::default();
    for (part, paths) in conduction.paths.iter().enumerate() {
        for path in paths {
            let [End::Terminal(a), End::Terminal(b)] = path.ends else { continue };
            let blocks = path.nature == Nature::Capacitance || path.label == CORE_LOSS;
            if !sound.joined(a, b, blocks) || faulty.joined(a, b, blocks) {
                continue;
            }
            // An element that is still there is sound itself; what broke is the lead of a terminal cut off from all.
            let remains = faulty.wired.elements_of(Place::Part(part)).any(|element| element.label == path.label);
            let cut_off = |terminal: &TerminalId| {
                let others = unit.terminals_of(part).map(TerminalId).filter(|other| other != terminal);
                remains && others.into_iter().all(|other| !faulty.joined(*terminal, other, true))
            };
            let leads: Vec<TerminalId> = [a, b].into_iter().filter(cut_off).collect();
            if leads.is_empty() && path.label != CORE_LOSS && !open.ways.contains(&(part, [a, b])) {
                open.ways.push((part, [a, b]));
            }
            for lead in leads {
                if !open.leads.contains(&lead) {
                    open.leads.push(lead);
                }
            }
        }
    }
    open
}

/// Which nets hang together, for direct current and for alternating; insulation and strays join nothing.
struct Islands<'w> {
    wired: &'w Wired,
    direct: Vec<usize>,
    alternating: Vec<usize>,
}

impl<'w> Islands<'w> {
    fn of(wired: &'w Wired) -> Self {
        let network = &wired.assembly.network;
        let leaks: Vec<usize> = wired.elements.iter().filter(|one| one.is_leakage()).map(|one| one.branch.0).collect();
        let islands = |blocking: bool| {
            let mut root: Vec<usize> = (0..network.net_count()).collect();
            for (index, branch) in network.branches().iter().enumerate() {
                if leaks.contains(&index) || !(branch.passes_direct_current || blocking) {
                    continue;
                }
                let (a, b) = (root[branch.from.0], root[branch.to.0]);
                root.iter_mut().filter(|root| **root == a.max(b)).for_each(|root| *root = a.min(b));
            }
            root
        };
        Islands { wired, direct: islands(false), alternating: islands(true) }
    }

    fn joined(&self, a: TerminalId, b: TerminalId, alternating: bool) -> bool {
        let root = if alternating { &self.alternating } else { &self.direct };
        root[self.wired.net_at(a).0] == root[self.wired.net_at(b).0]
    }
}
