//! Who may ask what.

pub mod headers;
pub mod hosts;
pub mod login;
pub mod passphrase;
pub mod precautions;
pub mod rate;
