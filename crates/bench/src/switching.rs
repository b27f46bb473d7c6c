//! Contacts that a unit moves by its own speed, volts and current, and the run-up in which they move.
//!
//! A part says under which law each of its own contacts leaves the state in which it rests. On switching on, rotors run
//! up from where they begin; when on the way a contact's law says that it moves, it moves, the unit is laid out anew, and
//! the run-up goes on from the speeds reached. One contact moves at a time, so of two relays that lock each other out one
//! wins, as on the bench.
//!
//! # Assumes
//! A contact moves at once; pick-up and drop-out are what the part states. Where a unit ends is decided by the order of
//! its moves, not by their time. Contacts that heat moves stay where they are meanwhile.

use crate::fault::Place;
use crate::unit::Unit;
use crate::wiring::{Conditions, Wired};
use circuit::{Factored, SolveError};
use machine::Steady;
use std::collections::BTreeMap;

/// Moves of one contact after which it is said to chatter; an ordinary start takes one or two.
const MOST_MOVES: usize = 6;

/// What drives a contact: it leaves rest above one value and returns below another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thresholds {
    /// Above this it leaves the state in which it rests.
    pub leaves: f64,
    /// Below this it returns; less than `leaves`, or it would chatter.
    pub returns: f64,
}

/// What a contact obeys. Elements are named by the label they have in the part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ContactLaw {
    /// Speed of the part's own rotor as a share of synchronous speed.
    Speed(Thresholds),
    /// Volts across an element of the part.
    Volts(&'static str, Thresholds),
    /// Amperes through an element of the part.
    Amps(&'static str, Thresholds),
    /// Watts that an element of the part takes and is warmed by: moves once everything else has settled.
    Warmth(&'static str, Thresholds),
    /// Volts across a heater of the part, which its warmth follows: moves once everything else has settled.
    HeaterVolts(&'static str, Thresholds),
}

/// A contact that a part moves by itself; one that heat moves in runs is a [`crate::heat::HeatContact`] there.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnContact {
    /// What has happened when it has left rest, in words: "the centrifugal switch has opened".
    pub moved_words: &'static str,
    /// What it obeys.
    pub law: ContactLaw,
}

/// A contact of a unit, by part and by its place among the part's own.
pub type ContactId = (usize, usize);

/// A contact of a unit, and what it obeys.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedContact {
    /// Which.
    pub id: ContactId,
    /// What it is.
    pub contact: OwnContact,
    /// Whether a run follows the warmth that moves it, so that it does not move by itself there.
    pub has_heat: bool,
}

impl PlacedContact {
    fn moves_by_itself(&self, conditions: &Conditions) -> bool {
        !(self.has_heat && conditions.follows_heat)
    }
}

/// A run-up with contacts that move.
pub(crate) struct Switching<'u> {
    contacts: &'u [PlacedContact],
    moves: BTreeMap<ContactId, usize>,
    chattering: Option<ContactId>,
}

impl ContactLaw {
    /// Whether a contact that obeys this has left rest, given where it is, at a state of the unit.
    fn is_moved(self, part: usize, is_moved: bool, wired: &Wired, state: &Steady<'_>) -> bool {
        let beyond = |value: f64, limits: Thresholds| value > if is_moved { limits.returns } else { limits.leaves };
        let element = |label: &str| wired.elements_of(Place::Part(part)).find(|element| element.label == label);
        let solution = state.solution();
        match self {
            ContactLaw::Speed(limits) => {
                beyond(wired.machine_of(part).map_or(0.0, |machine| state.speed_ratio(machine).abs()), limits)
            }
            ContactLaw::Volts(label, limits) | ContactLaw::HeaterVolts(label, limits) => {
                beyond(element(label).map_or(0.0, |element| solution.voltage(element.branch).norm()), limits)
            }
            ContactLaw::Amps(label, limits) => {
                beyond(element(label).map_or(0.0, |element| solution.current(element.branch).norm()), limits)
            }
            ContactLaw::Warmth(label, limits) => {
                beyond(element(label).map_or(0.0, |element| solution.power(element.branch).re), limits)
            }
        }
    }
}

impl<'u> Switching<'u> {
    pub(crate) fn new(unit: &'u Unit) -> Self {
        Switching { contacts: unit.own_contacts(), moves: BTreeMap::new(), chattering: None }
    }

    /// The contact that does not come to rest, if there is one.
    pub(crate) fn chattering(&self) -> Option<ContactId> {
        self.chattering
    }

    /// Begins again, for a unit whose breaker has opened: everything that current or speed moved is back at rest.
    pub(crate) fn begin_again(&mut self, conditions: &mut Conditions) {
        self.moves.clear();
        self.chattering = None;
        for placed in self.contacts {
            if placed.moves_by_itself(conditions) {
                conditions.moved_contacts.remove(&placed.id);
            }
        }
    }

    /// Runs up from given speeds until everything has settled or a contact wants to move; says which.
    ///
    /// After a contact has been found to chatter, none moves any more.
    pub(crate) fn run_up<'a>(
        &self,
        wired: &'a Wired,
        factored: &'a Factored<'a>,
        ratios: Vec<f64>,
        conditions: &Conditions,
    ) -> Result<(Steady<'a>, Option<ContactId>), SolveError> {
        let assembly = &wired.assembly;
        if self.contacts.is_empty() || self.chattering.is_some() {
            return Ok((assembly.settle_from(factored, ratios, |_| Ok(false))?, None));
        }
        let mut wants = None;
        let steady = assembly.settle_from(factored, ratios, |ratios| {
            wants = self.wanting(wired, conditions, &assembly.at_ratios(factored, ratios.to_vec())?, false);
            Ok(wants.is_some())
        })?;
        Ok((steady, wants))
    }

    /// The contact that has warmed by its own current in a settled unit.
    pub(crate) fn warmed(&self, wired: &Wired, conditions: &Conditions, steady: &Steady<'_>) -> Option<ContactId> {
        if self.chattering.is_some() { None } else { self.wanting(wired, conditions, steady, true) }
    }

    /// The first contact that is not where its law has it.
    fn wanting(
        &self,
        wired: &Wired,
        conditions: &Conditions,
        state: &Steady<'_>,
        by_warmth: bool,
    ) -> Option<ContactId> {
        let wants = |placed: &&PlacedContact| {
            let is_moved = conditions.moved_contacts.contains(&placed.id);
            let law = placed.contact.law;
            matches!(law, ContactLaw::Warmth(..) | ContactLaw::HeaterVolts(..)) == by_warmth
                && placed.moves_by_itself(conditions)
                && law.is_moved(placed.id.0, is_moved, wired, state) != is_moved
        };
        self.contacts.iter().find(wants).map(|placed| placed.id)
    }

    /// Moves a contact, or notes that it has moved too often.
    pub(crate) fn toggle(&mut self, contact: ContactId, conditions: &mut Conditions) {
        let moves = self.moves.entry(contact).or_default();
        *moves += 1;
        if *moves > MOST_MOVES {
            self.chattering = Some(contact);
        } else if !conditions.moved_contacts.remove(&contact) {
            conditions.moved_contacts.insert(contact);
        }
    }
}
