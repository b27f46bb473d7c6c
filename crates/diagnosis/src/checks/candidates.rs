//! Arrangements to measure in, and places to measure at.

use bench::heat::cooling::COLD_WITHIN_KELVIN;
use bench::{Job, Measure, Setup, TerminalId, Unit, sees_capacitor};

/// To discharge a capacitor and read its capacitance, minutes, its wires being off (engineering judgement).
const CAPACITANCE_MINUTES: f64 = 1.0;

/// A setup to measure in, and where.
pub(crate) struct CandidateSetup {
    pub(crate) setup: Setup,
    /// Where to measure in it.
    scope: Scope,
    /// Sister parts exchanged before it.
    pub(crate) swapped: Option<(usize, usize)>,
}

/// Where to measure in a setup.
enum Scope {
    Everywhere,
    /// At the terminals of one part only, to the frame included if the part has insulation to it.
    Part(usize),
    /// The current of the whole unit and the speeds only: does it work now?
    Feed,
}

/// All arrangements worth measuring in. Of the job's own with the supply off, those that say how warm the windings are count
/// only while they are.
pub(crate) fn candidate_setups(job: &Job, is_warm: bool) -> Vec<CandidateSetup> {
    let unit = &job.unit;
    let mut list: Vec<CandidateSetup> = Vec::new();
    let mut add = |setup: Setup, scope: Scope, swapped: Option<(usize, usize)>| {
        // An arrangement that the job already has goes by the job's name for it.
        let own = job.setups.iter().find(|own| Setup { name: setup.name.clone(), ..(*own).clone() } == setup);
        let setup = own.filter(|_| swapped.is_none()).cloned().unwrap_or(setup);
        list.push(CandidateSetup { setup, scope, swapped });
    };
    add(Setup::unplugged("unplugged"), Scope::Everywhere, None);
    for (part, entry) in unit.parts().iter().enumerate() {
        // A thermostat or cutout cannot be told to open; a switch can, and a shaft can be turned.
        if entry.kind.is_set_by_hand() {
            let ordinary = entry.kind.ordinary_position();
            for position in entry.kind.positions().into_iter().filter(|position| Some(position) != ordinary.as_ref()) {
                let mut setup = Setup::unplugged(format!("unplugged, {} at {position}", entry.name));
                setup.positions.insert(part, position);
                add(setup, Scope::Everywhere, None);
            }
        }
        let terminals = unit.terminals_of(part);
        if !entry.kind.feeds_unit() && terminals.len() >= 2 {
            let mut setup = Setup::unplugged(format!("unplugged, wires off {}", entry.name));
            setup.lifted = terminals.clone().map(TerminalId).collect();
            add(setup, Scope::Part(part), None);
        }
    }
    let cold = Setup::unplugged("").winding_celsius + COLD_WITHIN_KELVIN;
    let is_own_warm = |setup: &&Setup| is_warm && !setup.energised && setup.winding_celsius > cold;
    for setup in job.setups.iter().filter(is_own_warm) {
        add(setup.clone(), Scope::Everywhere, None);
    }
    let mut live: Vec<Setup> =
        job.setups.iter().filter(|setup| setup.energised && setup.jumpers.is_empty()).cloned().collect();
    if live.is_empty() {
        live.push(Setup { energised: true, ..Setup::unplugged("switched on") });
    }
    for setup in live {
        for part in (0..unit.parts().len()).filter(|&part| is_contact(unit, part)) {
            let first = unit.terminals_of(part).start;
            let mut bridged =
                Setup { name: format!("{}, jumper across {}", setup.name, unit.parts()[part].name), ..setup.clone() };
            bridged.jumpers.push((TerminalId(first), TerminalId(first + 1)));
            add(bridged, Scope::Feed, None);
        }
        for (a, b) in swappable_sisters(unit) {
            let (first, second) = (&unit.parts()[a].name, &unit.parts()[b].name);
            let swapped = Setup { name: format!("{}, {first} and {second} exchanged", setup.name), ..setup.clone() };
            add(swapped, Scope::Feed, Some((a, b)));
        }
        add(setup, Scope::Everywhere, None);
    }
    list
}

/// A part that is nothing but one contact or link: a cutout, a thermostat, a thermal fuse, a plain switch.
fn is_contact(unit: &Unit, part: usize) -> bool {
    let kind = &unit.parts()[part].kind;
    unit.terminals_of(part).len() == 2 && (kind.is_protector() || !kind.positions().is_empty())
}

/// Sister parts that take minutes to exchange; motors take too long.
fn swappable_sisters(unit: &Unit) -> Vec<(usize, usize)> {
    let parts = unit.parts();
    let alike = |a: usize, b: usize| {
        parts[a].provenance.make.is_some()
            && parts[a].provenance.make == parts[b].provenance.make
            && parts[a].kind.name() == parts[b].kind.name()
            && parts[a].kind.synchronous_rpm(unit.hertz()).is_none()
    };
    (0..parts.len()).flat_map(|a| (a + 1..parts.len()).map(move |b| (a, b))).filter(|&(a, b)| alike(a, b)).collect()
}

/// Minutes of a reading by itself, leads in hand, in the arrangement (engineering judgement).
const READ: f64 = 2.0;
/// More of it where the leads go to two parts; until a shaft stands still; to exchange two sister parts.
const TWO_PARTS: f64 = 0.5;
const UNTIL_STANDSTILL: f64 = 0.5;
const EXCHANGE: f64 = 8.0;

/// Places to measure at in a setup, with the minutes that each reading takes by itself.
pub(crate) fn places(unit: &Unit, candidate: &CandidateSetup) -> Vec<(Measure, f64)> {
    let setup = &candidate.setup;
    let supply = unit.supply();
    let terminals: Vec<TerminalId> = (0..unit.terminal_count())
        .map(TerminalId)
        .filter(|&terminal| match candidate.scope {
            Scope::Everywhere => true,
            Scope::Part(part) => {
                let is_insulated = unit.insulation_of(part).is_some();
                unit.part_of(terminal) == part || (is_insulated && terminal == unit.frame())
            }
            Scope::Feed => unit.parts()[unit.part_of(terminal)].kind.feeds_unit(),
        })
        .filter(|&terminal| setup.energised || unit.part_of(terminal) != supply)
        .collect();
    let mut list = Vec::new();
    let own = READ + if candidate.swapped.is_some() { EXCHANGE } else { 0.0 };
    if !setup.energised {
        for (at, &a) in terminals.iter().enumerate() {
            for &b in &terminals[at + 1..] {
                let apart = if unit.part_of(a) == unit.part_of(b) { 0.0 } else { TWO_PARTS };
                list.push((Measure::Ohms(a, b), own + apart));
                if sees_capacitor(unit, setup, [a, b]).is_ok() {
                    list.push((Measure::Microfarads(a, b), CAPACITANCE_MINUTES));
                }
            }
        }
        return list;
    }
    let neutral = reachable_neutral(unit);
    for (at, &a) in terminals.iter().enumerate() {
        if unit.part_of(a) == supply || a == neutral {
            continue;
        }
        if !matches!(candidate.scope, Scope::Feed) {
            list.push((Measure::Volts(a, neutral), own));
            for &b in terminals[at + 1..].iter().filter(|&&b| unit.part_of(b) == unit.part_of(a)) {
                list.push((Measure::Volts(a, b), own));
            }
        }
        if !setup.lifted.contains(&a) && a != unit.frame() {
            list.push((Measure::AmpsAtTerminal(a), own));
        }
    }
    if matches!(candidate.scope, Scope::Everywhere) {
        // A clamp goes around the cord's conductors in a moment where they can be reached; a touch-current network has two
        // leads to clip on.
        let cord = (0..unit.parts().len()).find(|&part| part != supply && unit.parts()[part].kind.feeds_unit());
        list.push((Measure::LeakageMilliamps(cord.unwrap_or(supply)), own));
        // A wattmeter goes between plug and outlet.
        list.push((Measure::Watts(cord.unwrap_or(supply)), own));
        list.push((Measure::TouchMilliamps(unit.frame()), own));
    }
    for (part, entry) in unit.parts().iter().enumerate() {
        if entry.kind.synchronous_rpm(unit.hertz()).is_some() {
            list.push((Measure::Rpm(part), own));
            if entry.kind.has_open_shaft() {
                list.push((Measure::RunDown(part), own + UNTIL_STANDSTILL));
            }
        }
    }
    list
}

/// The neutral that volts are taken to: where it enters the unit; the earth of a cord without neutral; else at the
/// supply.
fn reachable_neutral(unit: &Unit) -> TerminalId {
    let entering = |&part: &usize| part != unit.supply() && unit.parts()[part].kind.feeds_unit();
    let ends = ["neutral", "earth"].into_iter().flat_map(|end| {
        (0..unit.parts().len())
            .filter(entering)
            .filter_map(move |part| unit.find_terminal(&format!("{}.{end}", unit.parts()[part].name)))
    });
    ends.into_iter().next().unwrap_or(unit.neutral())
}
