//! The bench as the program that it is, and people at it: what several test programs share.
// Each test program uses its part of this.
#![allow(dead_code, unused_imports)]

mod answer;
mod client;
mod numbers;
mod program;

pub use answer::Answer;
pub use client::Client;
pub use numbers::Numbers;
pub use program::{Refused, Server, refused};

/// A job with a motor, two live setups and one unplugged one. The data in it are invented.
pub const DOUGH_PROOFER: &str = include_str!("../../../../demos/dough-proofer.toml");
