//! One file per command: its arguments, its help, what it does.

pub mod demo;
pub mod next;
pub mod predict;
pub mod suspects;
pub mod validate;
