//! News of a job, as they happen, to everyone who has it open.

use crate::app::App;
use crate::live::News;
use crate::rooms::jobs::job_id;
use crate::trouble::Trouble;
use axum::extract::{Path, State};
use axum::response::sse::{Event, KeepAlive, Sse};
use futures_util::{Stream, StreamExt};
use serde_json::json;
use std::convert::Infallible;
use tokio_stream::wrappers::BroadcastStream;

fn event(news: &News) -> Event {
    let words = json!({ "revision": news.revision, "who": news.who, "what": news.what });
    Event::default().event("revision").data(words.to_string())
}

/// A stream of new revisions, the newest one first.
pub async fn listen(
    State(app): State<App>,
    Path(job): Path<String>,
) -> Result<Sse<impl Stream<Item = Result<Event, Infallible>>>, Trouble> {
    let id = job_id(&job)?;
    let asked = id.clone();
    let head = app.ask(move |store| store.head(&asked)).await?;
    let ears = app.live.listen(&id, head.number);
    let newest = News { revision: head.number, who: head.who, what: head.what };
    // Who missed some sees the next one, and the page then asks for everything anyway.
    let later = BroadcastStream::new(ears).filter_map(|news| async move { news.ok() });
    let all = futures_util::stream::once(async move { newest }).chain(later).map(|news| Ok(event(&news)));
    Ok(Sse::new(all).keep_alive(KeepAlive::default()))
}
