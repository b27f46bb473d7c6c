//! The bench as a person at a browser has it: each test starts the program on a store of its own and works on its pages
//! with a real browser.
//!
//! Chromium and its driver are needed; `FAULTWRIGHT_WITHOUT_BROWSER=1` leaves these tests out, and says so. Pictures of
//! what was seen are left in the folder that cargo keeps for tests, under `screens`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod accessibility;
mod browser;
mod closing;
mod decimals_and_degrees;
mod first_view;
mod heat_run;
mod job_page;
mod keyboard_alone;
mod learnt;
mod plan;
mod printing;
mod programs;
mod runs;
mod safety;
mod text_of_drawings;
mod two_people;
mod whole_job;
mod without_script;

/// The demo with the most in its drawings.
const AIR_CURTAIN: &str = include_str!("../../../../demos/air-curtain.toml");
