//! Who has to hear of a change: everyone who has the job open, here or at another bench on the same store.

use crate::app::App;
use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use std::time::Duration;
use store::JobId;
use tokio::sync::broadcast;

/// How often changes made by other benches are looked for.
const LOOK_EVERY: Duration = Duration::from_secs(2);
/// News that a slow listener may miss before it has to ask for the whole page again.
const KEPT: usize = 64;

/// A new revision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct News {
    /// Its number.
    pub revision: i64,
    /// Who made it.
    pub who: String,
    /// What was changed.
    pub what: String,
}

struct Channel {
    sender: broadcast::Sender<News>,
    revision: i64,
}

/// Listeners by job.
#[derive(Default)]
pub struct Live {
    channels: Mutex<HashMap<JobId, Channel>>,
}

impl Live {
    /// Listens to a job whose newest revision is known to be `revision`.
    pub fn listen(&self, job: &JobId, revision: i64) -> broadcast::Receiver<News> {
        let mut channels = self.channels.lock().unwrap_or_else(PoisonError::into_inner);
        channels.retain(|_, channel| channel.sender.receiver_count() > 0);
        let channel = channels.entry(job.clone());
        channel.or_insert_with(|| Channel { sender: broadcast::Sender::new(KEPT), revision }).sender.subscribe()
    }

    /// Tells all listeners, each revision once.
    pub fn tell(&self, job: &JobId, news: News) {
        let mut channels = self.channels.lock().unwrap_or_else(PoisonError::into_inner);
        let Some(channel) = channels.get_mut(job) else { return };
        if channel.revision < news.revision {
            channel.revision = news.revision;
            // Nobody listening is fine.
            let _ = channel.sender.send(news);
        }
    }

    /// Ends all listening, so that the program can stop.
    pub fn close(&self) {
        self.channels.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }

    fn listened_to(&self) -> Vec<(JobId, i64)> {
        let channels = self.channels.lock().unwrap_or_else(PoisonError::into_inner);
        let open = channels.iter().filter(|(_, channel)| channel.sender.receiver_count() > 0);
        open.map(|(job, channel)| (job.clone(), channel.revision)).collect()
    }
}

/// Looks for changes that other benches make in the same store, for as long as it runs.
pub async fn watch_other_benches(app: App) {
    loop {
        tokio::time::sleep(LOOK_EVERY).await;
        let known: HashMap<JobId, i64> = app.live.listened_to().into_iter().collect();
        if known.is_empty() {
            continue;
        }
        let jobs: Vec<JobId> = known.keys().cloned().collect();
        // A store that does not answer is reported by the next request that needs it.
        let Ok(heads) = app.ask(move |store| store.heads(&jobs)).await else { continue };
        for (job, head) in heads.into_iter().filter(|(job, head)| known.get(job).is_some_and(|known| known < head)) {
            let asked = job.clone();
            let Ok(newest) = app.ask(move |store| store.revision(&asked, head)).await else { continue };
            app.live.tell(&job, News { revision: newest.number, who: newest.who, what: newest.what });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn id(digit: &str) -> JobId {
        JobId::parse(&format!(
            "{0}{0}{0}{0}{0}{0}{0}{0}-{0}{0}{0}{0}-4{0}{0}{0}-8{0}{0}{0}-{0}{0}{0}{0}{0}{0}{0}{0}{0}{0}{0}{0}",
            digit
        ))
        .unwrap()
    }

    #[test]
    fn news_come_once_and_only_to_their_job() {
        let (live, job, other) = (Live::default(), id("a"), id("b"));
        let mut ears = live.listen(&job, 3);
        let news = |revision| News { revision, who: "Ann".into(), what: "reading added".into() };
        live.tell(&job, news(3));
        live.tell(&other, news(9));
        assert!(ears.try_recv().is_err());
        live.tell(&job, news(4));
        live.tell(&job, news(4));
        assert_eq!(ears.try_recv().unwrap(), news(4));
        assert!(ears.try_recv().is_err());
        live.close();
        assert!(matches!(ears.try_recv(), Err(broadcast::error::TryRecvError::Closed)));
    }
}
