//! Which address leads to which room.

use crate::app::App;
use crate::guard::{headers, hosts, rate};
use crate::rooms::{
    assets, checks, closing, entry, events, expect, finding, heat_run, history, home, housings, jobs, learnt, login,
    parts, photos, pictures, plan, readings, refusals, runs, safety, setups, substitutes, text, wiring, you,
};
use crate::trouble;
use crate::visitor;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::{get, post};
use std::time::Duration;
use tower_http::compression::CompressionLayer;
use tower_http::timeout::RequestBodyTimeoutLayer;

/// Forms are small; job texts and photos have limits of their own.
const LARGEST_FORM_BYTES: usize = 256 * 1024;
/// A job text four times over: a form writes some characters as three.
const LARGEST_TEXT_BYTES: usize = 4 * bench::job::LARGEST_FILE_BYTES as usize;
/// A little over the largest photo, so that its own message is seen.
const LARGEST_UPLOAD_BYTES: usize = store::MOST_UPLOAD_BYTES + 64 * 1024;

/// A request that sends nothing more of its body for this long is given up.
const BODY_WITHIN: Duration = Duration::from_secs(30);

/// All rooms behind all guards.
pub fn routes(app: App) -> Router {
    let texts = Router::new()
        .route("/jobs/import", post(home::import))
        .route("/jobs/{job}/text", get(text::show).post(text::save))
        .route("/jobs/{job}/text/check", post(text::check))
        .route("/jobs/{job}/heat-run/paste", post(heat_run::paste))
        .layer(DefaultBodyLimit::max(LARGEST_TEXT_BYTES));
    let uploads =
        Router::new().route("/jobs/{job}/photos", post(photos::add)).layer(DefaultBodyLimit::max(LARGEST_UPLOAD_BYTES));
    let rooms = Router::new()
        .route("/", get(home::show))
        .route("/jobs/new", post(home::begin))
        .route("/jobs/{job}", get(jobs::show))
        .route("/jobs/{job}/pieces", get(jobs::pieces))
        .route("/jobs/{job}/events", get(events::listen))
        .route("/jobs/{job}/job.toml", get(jobs::export))
        .route("/jobs/{job}/remove", post(jobs::remove))
        .route("/jobs/{job}/unremove", post(jobs::unremove))
        .route("/jobs/{job}/unit", post(parts::name_unit))
        .route("/jobs/{job}/parts", post(parts::set))
        .route("/jobs/{job}/parts/rename", post(parts::rename))
        .route("/jobs/{job}/parts/remove", post(parts::remove))
        .route("/jobs/{job}/parts/form", get(parts::form))
        .route("/jobs/{job}/wires", post(wiring::add))
        .route("/jobs/{job}/wires/replace", post(wiring::replace))
        .route("/jobs/{job}/wires/remove", post(wiring::remove))
        .route("/jobs/{job}/setups", post(setups::set))
        .route("/jobs/{job}/setups/remove", post(setups::remove))
        .route("/jobs/{job}/precautions", post(setups::confirm))
        .route("/jobs/{job}/readings", post(entry::add))
        .route("/jobs/{job}/symptoms", post(entry::add_symptom))
        .route("/jobs/{job}/expect", post(expect::show))
        .route("/jobs/{job}/readings/remove", post(readings::remove))
        .route("/jobs/{job}/readings/correct", post(readings::correct))
        .route("/jobs/{job}/symptoms/remove", post(readings::remove_symptom))
        .route("/jobs/{job}/undo", post(history::undo))
        .route("/jobs/{job}/finding", get(finding::show))
        .route("/jobs/{job}/finding/progress", get(finding::progress))
        .route("/jobs/{job}/checks/setup", post(checks::make_setup))
        .route("/jobs/{job}/checks/refuse", post(refusals::refuse))
        .route("/jobs/{job}/checks/allow", post(refusals::allow))
        .route("/jobs/{job}/plan", get(plan::show))
        .route("/jobs/{job}/plan/tree", get(plan::tree))
        .route("/jobs/{job}/plan/progress", get(plan::progress))
        .route("/jobs/{job}/housings", post(housings::set))
        .route("/jobs/{job}/pictures", get(pictures::show))
        .route("/jobs/{job}/wiring.svg", get(pictures::wiring_file))
        .route("/jobs/{job}/runs", get(runs::show))
        .route("/jobs/{job}/closing", get(closing::show).post(closing::set))
        .route("/jobs/{job}/closing/standing", get(closing::standing))
        .route("/jobs/{job}/closing/readings", post(closing::add))
        .route("/jobs/{job}/closing/readings/remove", post(closing::remove))
        .route("/jobs/{job}/closing/substitute", get(substitutes::show))
        .route("/jobs/{job}/record.html", get(closing::record_page))
        .route("/jobs/{job}/heat-run", get(heat_run::show))
        .route("/jobs/{job}/heat-run/standing", get(heat_run::standing))
        .route("/jobs/{job}/heat-run/begin", post(heat_run::begin))
        .route("/jobs/{job}/heat-run/rows", post(heat_run::add))
        .route("/jobs/{job}/heat-run/rows/remove", post(heat_run::remove))
        .route("/jobs/{job}/heat-run/class", post(heat_run::class))
        .route("/jobs/{job}/safety", get(safety::show).post(safety::set))
        .route("/jobs/{job}/safety/tests", post(safety::add))
        .route("/jobs/{job}/safety/remove", post(safety::remove))
        .route("/jobs/{job}/history", get(history::show))
        .route("/jobs/{job}/history/{number}", get(history::look))
        .route("/jobs/{job}/history/restore", post(history::restore))
        .route("/jobs/{job}/photos/{photo}", get(photos::look))
        .route("/jobs/{job}/photos/remove", post(photos::remove))
        .route("/learnt", get(learnt::show))
        .route("/learnt/experience.csv", get(learnt::export))
        .route("/learnt/use", post(learnt::use_or_not))
        .route("/you", get(you::show).post(you::save))
        .route("/login", get(login::show).post(login::enter))
        .route("/logout", post(login::leave))
        .layer(DefaultBodyLimit::max(LARGEST_FORM_BYTES));
    // A request passes these from the last to the first.
    rooms
        .merge(texts)
        .merge(uploads)
        .layer(from_fn(trouble::dress))
        .layer(from_fn_with_state(app.clone(), visitor::recognise))
        .route("/bench.css", get(assets::style))
        .route("/bench.js", get(assets::script))
        .layer(from_fn_with_state(app.clone(), hosts::check))
        .layer(from_fn_with_state(app.clone(), rate::limit))
        .layer(from_fn(trouble::dress))
        .layer(RequestBodyTimeoutLayer::new(BODY_WITHIN))
        .layer(CompressionLayer::new())
        .layer(from_fn(headers::add))
        .with_state(app)
}
