//! What insulation bears: thermal classes, limits of temperature and of rise, and the life that heat costs.
//!
//! A limit of rise means nothing without the ambient it is for, so every [`Limit`] carries its own, with its source.

mod class;
mod life;
mod limit;
mod rows;

pub use class::{ClassError, ThermalClass, hot_spot_allowance_kelvins};
pub use life::{
    HALVING_KELVINS, HALVING_RANGE_KELVINS, HALVING_SOURCE, HalvingRule, LifeError, LifeSpent, LogPoint, life_spent,
};
pub use limit::{Build, Limit, LimitError, LimitValue, Method, Narrow, Standard, State, limits};
