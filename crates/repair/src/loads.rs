//! What parts and wires carry over what they are made to carry.
//!
//! What is not marked, and follows from no size, is held against nothing.

use crate::knowledge::Knowledge;
use bench::kinds::Rating;
use bench::observe::Carried;
use bench::{FaultSet, Measure, Meter, Observed, Place, PredictError, Prediction, Setup, TerminalId, Unit, observe};

/// What a load is held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    /// Amps, watts or volt-amperes written on the part.
    Mark,
    /// Amps that a cord or wire of its size may carry.
    Size,
    /// Volts written on the part.
    Volts,
    /// Amps that each of its contacts may carry.
    Contacts,
}

impl Against {
    /// 'of what is written on it'.
    pub fn words(self) -> &'static str {
        match self {
            Against::Mark => "of what is written on it",
            Against::Size => "of what its size may carry",
            Against::Volts => "of its marked volts",
            Against::Contacts => "of what its contacts may carry",
        }
    }

    /// In a word.
    pub fn name(self) -> &'static str {
        match self {
            Against::Mark => "mark",
            Against::Size => "size",
            Against::Volts => "volts",
            Against::Contacts => "contacts",
        }
    }
}

/// A part by its name, a wire by its two ends and its label if it has one.
pub fn place_words(unit: &Unit, place: Place) -> String {
    let name = unit.place_name(place);
    let Place::Wire(wire) = place else { return name.to_owned() };
    let wire = &unit.wires()[wire];
    let ends = format!("wire {} to {}", unit.terminal_name(wire.from), unit.terminal_name(wire.to));
    if name.contains('~') { ends } else { format!("{ends} ({name})") }
}

/// Load of a part or wire over what it is made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// The part or wire.
    pub place: Place,
    /// What it is held against.
    pub against: Against,
    /// Times that, at the highest.
    pub times: f64,
    /// Standard deviation of that.
    pub spread: f64,
}

impl Load {
    /// Whether it is the same load at another moment.
    pub fn is_same(&self, other: &Load) -> bool {
        (self.place, self.against) == (other.place, other.against)
    }
}

/// Loads of all parts and wires that are made for something, at this moment.
pub(crate) fn loads(unit: &Unit, observed: &mut Observed<'_>) -> Vec<Load> {
    let load = |rated: Rated| {
        let times = rated.held.value(observed).abs() / rated.rating;
        Load { place: rated.place, against: rated.against, times, spread: 0.0 }
    };
    rated(unit, observed).into_iter().map(load).collect()
}

/// By what share each load of a unit in a setup may be off, in place of its spread.
pub(crate) fn load_spreads(
    unit: &Unit,
    setup: &Setup,
    faults: &FaultSet,
    deviations: &[f64],
    known: &Knowledge<'_>,
) -> Result<Vec<Load>, PredictError> {
    observe(unit, setup, faults, deviations, |observed| spreads_of_loads(unit, observed, known))?
}

/// The same of a unit that is solved.
pub(crate) fn spreads_of_loads(
    unit: &Unit,
    observed: &mut Observed<'_>,
    known: &Knowledge<'_>,
) -> Result<Vec<Load>, PredictError> {
    let mut shares = Vec::new();
    for rated in rated(unit, observed) {
        let held = rated.held.with_slopes(observed)?;
        let value = held.value.abs();
        if value > 0.0 {
            let spread = known.spread(&held.gradient) / value;
            shares.push(Load { place: rated.place, against: rated.against, times: value / rated.rating, spread });
        }
    }
    Ok(shares)
}

/// What is held against a rating.
enum Held {
    Measured(Measure),
    Inside(Carried),
}

impl Held {
    fn value(&self, observed: &Observed<'_>) -> f64 {
        match self {
            Held::Measured(measure) => observed.value(*measure, &Meter::handheld()).unwrap_or(0.0),
            Held::Inside(carried) => observed.carried(carried),
        }
    }

    fn with_slopes(&self, observed: &mut Observed<'_>) -> Result<Prediction, PredictError> {
        match self {
            Held::Measured(measure) => observed.measure(*measure, &Meter::handheld()),
            Held::Inside(carried) => observed.carried_with_slopes(carried),
        }
    }
}

struct Rated {
    place: Place,
    against: Against,
    held: Held,
    rating: f64,
}

/// What is held against the ratings of all parts and wires that have one; of several terminals the one with most current.
fn rated(unit: &Unit, observed: &Observed<'_>) -> Vec<Rated> {
    let meter = Meter::handheld();
    let mut list = Vec::new();
    for (part, entry) in unit.parts().iter().enumerate() {
        let kind = entry.kind.as_ref();
        let terminal = |place: usize| TerminalId(unit.terminals_of(part).start + place);
        let amps = |place: usize| {
            let terminal = terminal(place);
            (!observed.setup().lifted.contains(&terminal)).then_some(Measure::AmpsAtTerminal(terminal))
        };
        let held = match kind.rating() {
            Some(Rating::Amps { terminal, amps: rating }) => amps(terminal).map(|of| (of, Against::Mark, rating)),
            Some(Rating::AmpsAtAny { terminals, amps: rating }) => {
                most(observed, (0..terminals).filter_map(amps), &meter).map(|of| (of, Against::Mark, rating))
            }
            Some(Rating::Watts(rating)) => Some((Measure::Watts(part), Against::Mark, rating)),
            Some(Rating::FeedAmps(rating)) => {
                busiest_line(unit, observed, &meter).map(|of| (of, Against::Size, rating))
            }
            None => None,
        };
        let volts = kind.rated_volts().map(|rating| (Measure::Volts(terminal(0), terminal(1)), Against::Volts, rating));
        let measured = held.into_iter().chain(volts).map(|(of, against, rating)| (Held::Measured(of), against, rating));
        let contacts = kind.rated_contact_amps().zip(observed.busiest_contact(part));
        let contacts = contacts.map(|(rating, carried)| (Held::Inside(carried), Against::Contacts, rating));
        let output = kind.rated_output().and_then(|output| {
            Some((Held::Inside(observed.output(part, &output)?), Against::Mark, output.volt_amperes))
        });
        let place = Place::Part(part);
        let all = measured.chain(contacts).chain(output);
        list.extend(all.map(|(held, against, rating)| Rated { place, against, held, rating }));
    }
    for (wire, entry) in unit.wires().iter().enumerate() {
        let rating = entry.size.and_then(bench::wire_size::WireSize::amps);
        list.extend(rating.map(|rating| Rated {
            place: Place::Wire(wire),
            against: Against::Size,
            held: Held::Measured(Measure::AmpsInWire(wire)),
            rating,
        }));
    }
    list
}

/// Amperes in the conductor ahead of the unit that carries most: at the ends of its cord, or at its supply.
pub(crate) fn busiest_line(unit: &Unit, observed: &Observed<'_>, meter: &Meter) -> Option<Measure> {
    let feeding = (0..unit.parts().len()).filter(|&part| unit.parts()[part].kind.feeds_unit());
    let terminals = feeding.flat_map(|part| unit.terminals_of(part));
    most(observed, terminals.map(|terminal| Measure::AmpsAtTerminal(TerminalId(terminal))), meter)
}

fn most(observed: &Observed<'_>, measures: impl Iterator<Item = Measure>, meter: &Meter) -> Option<Measure> {
    let value = |measure: &Measure| observed.value(*measure, meter).unwrap_or(0.0).abs();
    measures.max_by(|a, b| value(a).total_cmp(&value(b)))
}
