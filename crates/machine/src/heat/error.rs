//! What can be wrong with a heat network or a run.

use thiserror::Error;

/// Something wrong with capacities or links.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NetworkError {
    /// No nodes at all.
    #[error("there is nothing to heat: a heat network needs at least one node")]
    Empty,
    /// A heat capacity that is no positive number.
    #[error("heat node {node} has a capacity of {capacity} J/K; it must be a positive number")]
    Capacity {
        /// The node.
        node: usize,
        /// Its capacity, J/K.
        capacity: f64,
    },
    /// A link to a node that there is not.
    #[error("heat link {link} leads to node {node}, but there are only {nodes} nodes (counted from 0)")]
    NoSuchNode {
        /// The link.
        link: usize,
        /// The node that it names.
        node: usize,
        /// How many there are.
        nodes: usize,
    },
    /// A link from a node to itself.
    #[error("heat link {link} leads from a node to the same node; it should join two")]
    ToItself {
        /// The link.
        link: usize,
    },
}

/// Something wrong with what a plant gave for a moment.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RegimeError {
    /// Too many or too few values.
    #[error("{given} {what} were given where {expected} are needed")]
    Length {
        /// What the values are.
        what: &'static str,
        /// How many the network needs.
        expected: usize,
        /// How many were given.
        given: usize,
    },
    /// Heat that is no finite number.
    #[error("the heat into node {node} is not a finite number of watts")]
    Watts {
        /// The node.
        node: usize,
    },
    /// A conductance that is negative or no finite number.
    #[error("heat link {link} has a conductance of {watts_per_kelvin} W/K; it must be zero or more")]
    Conductance {
        /// The link.
        link: usize,
        /// Its conductance, W/K.
        watts_per_kelvin: f64,
    },
    /// A fixed temperature that is no finite number.
    #[error("fixed temperature {place} is not a finite number of degrees")]
    FixedCelsius {
        /// Its place among the fixed temperatures.
        place: usize,
    },
}

/// Why a run ended before its time; `E` is the plant's own error.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RunError<E> {
    /// The network itself is wrong.
    #[error(transparent)]
    Network(#[from] NetworkError),
    /// A length of the run, time between outputs or tolerance that is no positive number.
    #[error("the {what} of a heat run is {value}; it must be a positive number")]
    Setting {
        /// Which setting.
        what: &'static str,
        /// What was given.
        value: f64,
    },
    /// More outputs than anyone reads.
    #[error("an output every {every_seconds} s for {until_seconds} s is too many; give a longer time between outputs")]
    TooManyOutputs {
        /// Seconds between outputs.
        every_seconds: f64,
        /// Length of the run, s.
        until_seconds: f64,
    },
    /// Starting temperatures that are too few, too many, or no finite numbers.
    #[error("the run starts from {given} finite temperatures, but there are {nodes} heat nodes")]
    Start {
        /// How many finite temperatures were given.
        given: usize,
        /// How many nodes there are.
        nodes: usize,
    },
    /// The plant could not say what holds at a moment.
    #[error("after {seconds:.1} s: {cause}")]
    Plant {
        /// The moment.
        seconds: f64,
        /// The plant's error.
        cause: E,
    },
    /// What the plant gave does not fit.
    #[error("after {seconds:.1} s: {cause}")]
    Regime {
        /// The moment.
        seconds: f64,
        /// What is wrong.
        cause: RegimeError,
    },
    /// A threshold at a node that there is not, or at no number.
    #[error(
        "switching temperature {index} is {celsius} degrees at heat node {node} of {nodes}; it must be a number, at a node that there is (counted from 0)"
    )]
    Threshold {
        /// Its place in the plant's list.
        index: usize,
        /// The node that it names.
        node: usize,
        /// Its temperature, degrees Celsius.
        celsius: f64,
        /// How many nodes there are.
        nodes: usize,
    },
    /// The next change of the plant is not later than the moment at which it was asked for.
    #[error("after {seconds} s the next change is given for {next} s; changes must come in order of time")]
    ChangeNotLater {
        /// The moment.
        seconds: f64,
        /// The change's moment, s.
        next: f64,
    },
    /// Switching without end.
    #[error(
        "after {seconds:.1} s something switches to and fro without end at {celsius} degrees (switching temperature {index}); a temperature of opening must be above that of closing again"
    )]
    Chatter {
        /// The moment.
        seconds: f64,
        /// Place of the last threshold in the plant's list.
        index: usize,
        /// Its temperature, degrees Celsius.
        celsius: f64,
    },
    /// The heat changes more steeply than can be followed.
    #[error("after {seconds:.1} s the heat changes with temperature more steeply than can be followed")]
    TooSteep {
        /// The moment.
        seconds: f64,
    },
    /// Hotter than anything the model holds for.
    #[error(
        "after {seconds:.1} s heat node {node} is at {celsius:.0} degrees and still has no balance; by then it has burnt out"
    )]
    Runaway {
        /// The moment.
        seconds: f64,
        /// The hottest node.
        node: usize,
        /// Its temperature, degrees Celsius.
        celsius: f64,
    },
}
