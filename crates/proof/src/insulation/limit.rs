//! Limits of temperature and of rise, looked up by class and standard.

use super::class::{ClassError, ThermalClass};
use super::rows::BLOCKS;
use crate::names::{mend, short};
use crate::source::Source;

/// A standard that sets limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standard {
    /// Rotating machines.
    Iec60034,
    /// Motors, North America.
    NemaMg1,
    /// Motor coils of power converters and the like, United States.
    Ul458,
    /// Fans, United States.
    Ul507,
    /// Household and similar appliances.
    Iec60335,
}

/// How the motor is built, in the words of its standard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Build {
    Ordinary,
    SmallOrUnventilated,
    ServiceFactor100,
    ServiceFactor115,
    SmallOpen,
    SmallEnclosed,
    Open,
    Enclosed,
    Winding,
}

/// How the temperature is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Mean of the winding, from its resistance cold and hot.
    Resistance,
    /// Thermocouple on the winding.
    Thermocouple,
}

/// In which state the limit holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Normal running.
    Running,
    /// Stalled, and its own impedance holds the current down; steady.
    ImpedanceProtected,
    /// Stalled, a protector cycles: highest in the first hour.
    FirstHourPeak,
    /// Stalled, a protector cycles: highest after the first hour.
    LaterPeak,
    /// Stalled, a protector cycles: mean after the first hour.
    LaterMean,
    /// Abnormal running that never settles: highest.
    Unsettled,
    /// Running with more load than it should have, as the protector just allows.
    RunningOverload,
}

/// What is limited.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LimitValue {
    /// Rise above the ambient, kelvins.
    RiseKelvins(f64),
    /// Temperature, degrees Celsius.
    Celsius(f64),
}

/// A limit with the ambient it is for.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs)]
pub struct Limit {
    pub class: ThermalClass,
    pub standard: Standard,
    pub build: Build,
    pub state: State,
    pub method: Method,
    pub value: LimitValue,
    /// The ambient that the figure is for, degrees Celsius; none for temperatures that hold in any room.
    pub ambient_celsius: Option<f64>,
    pub source: Source,
}

impl Limit {
    /// Highest permitted rise above the ambient, kelvins; none for temperatures that hold in any room.
    pub fn rise_kelvins(&self) -> Option<f64> {
        match (self.value, self.ambient_celsius) {
            (LimitValue::RiseKelvins(kelvins), _) => Some(kelvins),
            (LimitValue::Celsius(celsius), ambient) => ambient.map(|ambient| celsius - ambient),
        }
    }

    /// Highest permitted temperature in a room, degrees Celsius.
    ///
    /// In a cooler room than the limit is for, the rise counts: the motor would be as much hotter in a warmer one. In a warmer
    /// room the temperature counts, that of the limit's own ambient: insulation ages by temperature (engineering judgement;
    /// IEC 60034-1 lowers the rise likewise, from memory).
    pub fn celsius_in(&self, room_celsius: f64) -> f64 {
        match (self.value, self.rise_kelvins(), self.ambient_celsius) {
            (_, Some(rise), Some(ambient)) => rise + room_celsius.min(ambient),
            (LimitValue::Celsius(value) | LimitValue::RiseKelvins(value), ..) => value,
        }
    }
}

/// Which of several limits is wanted; what is `None` is not asked for.
#[derive(Debug, Clone, Copy, Default)]
#[allow(missing_docs)]
pub struct Narrow {
    pub build: Option<Build>,
    pub state: Option<State>,
    pub method: Option<Method>,
}

/// The limits of a class by a standard, in the order of the tables; at least one.
///
/// # Errors
/// [`LimitError`]: no such class or standard, or the standard has no limit for it.
pub fn limits(class: &str, standard: &str, narrow: Narrow) -> Result<Vec<Limit>, LimitError> {
    let class = ThermalClass::named(class)?;
    let standard = Standard::named(standard)?;
    let fits = |limit: &Limit| {
        narrow.build.is_none_or(|build| build == limit.build)
            && narrow.state.is_none_or(|state| state == limit.state)
            && narrow.method.is_none_or(|method| method == limit.method)
    };
    let all = || Limit::all().filter(|limit| limit.standard == standard);
    let found: Vec<Limit> = all().filter(|limit| limit.class == class && fits(limit)).collect();
    if !found.is_empty() {
        return Ok(found);
    }
    let mut has: Vec<String> = Vec::new();
    for limit in all().filter(fits) {
        let name = limit.class.to_string();
        if !has.contains(&name) {
            has.push(name);
        }
    }
    let has = if has.is_empty() { "no class at all as asked for".into() } else { has.join(", ") };
    Err(LimitError::NoLimit { class: class.to_string(), standard: standard.name(), has })
}

impl Limit {
    /// Every limit there is.
    pub fn all() -> impl Iterator<Item = Limit> {
        BLOCKS.iter().flat_map(|block| block.limits())
    }
}

/// Why there is no limit to give.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LimitError {
    /// No such class.
    #[error(transparent)]
    Class(#[from] ClassError),
    /// No such standard.
    #[error("there are no limits by '{typed}'; {mend}")]
    UnknownStandard {
        /// As typed.
        typed: String,
        /// The nearest names, or all.
        mend: String,
    },
    /// The standard has no limit for this class in this state.
    #[error("{standard} has no such limit for class {class}; it has {has}")]
    NoLimit {
        /// The class.
        class: String,
        /// The standard.
        standard: &'static str,
        /// The classes that it has.
        has: String,
    },
}

impl Standard {
    /// All of them.
    pub const ALL: [Standard; 5] =
        [Standard::Iec60034, Standard::NemaMg1, Standard::Ul458, Standard::Ul507, Standard::Iec60335];

    /// Its number: `IEC 60034-1`.
    pub fn name(self) -> &'static str {
        match self {
            Standard::Iec60034 => "IEC 60034-1",
            Standard::NemaMg1 => "NEMA MG 1",
            Standard::Ul458 => "UL 458",
            Standard::Ul507 => "UL 507",
            Standard::Iec60335 => "IEC 60335-1",
        }
    }

    /// Finds a standard; blanks, hyphens and capitals do not count.
    ///
    /// # Errors
    /// [`LimitError::UnknownStandard`] with the nearest names.
    pub fn named(typed: &str) -> Result<Self, LimitError> {
        let plain = |text: &str| text.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_lowercase();
        let found = Standard::ALL.into_iter().find(|standard| plain(standard.name()) == plain(typed));
        found.ok_or_else(|| LimitError::UnknownStandard {
            typed: short(typed),
            mend: mend(typed, Standard::ALL.map(Standard::name)),
        })
    }

    /// A temperature observed in one room as the standard wants it compared with its temperatures, if it does that: UL 507
    /// adds or subtracts the difference between 25 degrees Celsius and the room (46.1.9, read in a test report,
    /// manualshelf.com). Others compare rises, where the room is taken off anyway.
    pub fn corrected_celsius(self, observed_celsius: f64, room_celsius: f64) -> Option<f64> {
        matches!(self, Standard::Ul507).then_some(observed_celsius + 25.0 - room_celsius)
    }
}
