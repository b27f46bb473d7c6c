//! The bench on the web: one page a job, saved at every entry, seen live by everyone at it.
//!
//! Knows screens and sessions; leaves physics and probability to `diagnosis`, drawing to `draw`, keeping to `store`.
//!
//! - [`App`]: everything a request needs; [`serve`] answers requests until told to stop.
//! - `guard`: who may ask what: hosts, origins, rates, pass-phrase, headers.
//! - `desk`: the job of the moment and changes to it, one after the other; `live`: who else has to hear of them.
//! - `weighing`: rankings, computed once each, cancelled when nobody waits; `assessment`: what a page shows of one.
//! - `experience`: what the shop's closed jobs teach, and whether rankings use it.
//! - `posted`: a form sent about a job, and the answers to it.
//! - `rooms`: the page in the order of the job, one file a room, with what it shows and what it accepts.

mod app;
mod assessment;
mod connections;
mod desk;
mod experience;
mod fields;
mod guard;
mod layouts;
mod live;
mod manner;
mod plan_view;
mod posted;
mod rooms;
mod routes;
mod shell;
mod supply_change;
mod trouble;
mod visitor;
mod weighing;

pub use app::{App, Reach};
pub use guard::passphrase::{PassphraseError, SHORTEST_PASSPHRASE};

use std::future::Future;
use std::io;
use tokio::net::TcpListener;

/// Answers requests on `listener` until `stop` is done; requests under way are finished first.
///
/// # Errors
/// If the listener fails.
pub async fn serve(listener: TcpListener, app: App, stop: impl Future<Output = ()> + Send + 'static) -> io::Result<()> {
    let watch = tokio::spawn(live::watch_other_benches(app.clone()));
    let served = connections::answer(listener, routes::routes(app.clone()), async {
        stop.await;
        app.live.close();
    });
    let served = served.await;
    watch.abort();
    served
}
