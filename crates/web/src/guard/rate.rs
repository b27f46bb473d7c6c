//! How often one address may ask.

use crate::app::App;
use crate::trouble::Trouble;
use axum::extract::{ConnectInfo, Request, State};
use axum::http::StatusCode;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::collections::HashMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

/// Requests that one address on the network may make each second, and how many at once.
const NETWORK: Allowance = Allowance { each_second: 40.0, at_once: 400.0 };
/// The same for this machine, where several people may come through one door.
const THIS_MACHINE: Allowance = Allowance { each_second: 2000.0, at_once: 8000.0 };
/// Pass-phrases that one address may try: one in ten seconds, five at once.
const LOGIN: Allowance = Allowance { each_second: 0.1, at_once: 5.0 };
/// Addresses remembered before those that have been quiet are forgotten.
const REMEMBERED: usize = 4096;

#[derive(Clone, Copy)]
struct Allowance {
    each_second: f64,
    at_once: f64,
}

struct Bucket {
    left: f64,
    since: Instant,
}

/// What every address has left.
#[derive(Default)]
pub struct Rate {
    requests: Mutex<HashMap<IpAddr, Bucket>>,
    logins: Mutex<HashMap<IpAddr, Bucket>>,
}

impl Rate {
    fn may_ask(&self, address: IpAddr, now: Instant) -> bool {
        take(&self.requests, address, if address.is_loopback() { THIS_MACHINE } else { NETWORK }, now)
    }

    /// Whether an address may try a pass-phrase.
    pub fn may_log_in(&self, address: IpAddr, now: Instant) -> bool {
        take(&self.logins, address, LOGIN, now)
    }
}

fn take(buckets: &Mutex<HashMap<IpAddr, Bucket>>, address: IpAddr, allowance: Allowance, now: Instant) -> bool {
    let mut buckets = buckets.lock().unwrap_or_else(PoisonError::into_inner);
    let filled = |bucket: &Bucket| {
        let waited = now.saturating_duration_since(bucket.since).as_secs_f64();
        (bucket.left + waited * allowance.each_second).min(allowance.at_once)
    };
    if buckets.len() >= REMEMBERED {
        buckets.retain(|_, bucket| filled(bucket) < allowance.at_once);
    }
    let bucket = buckets.entry(address).or_insert(Bucket { left: allowance.at_once, since: now });
    let left = filled(bucket);
    *bucket = Bucket { left: if left >= 1.0 { left - 1.0 } else { left }, since: now };
    left >= 1.0
}

/// Refuses who asks too often.
pub async fn limit(
    State(app): State<App>,
    ConnectInfo(peer): ConnectInfo<SocketAddr>,
    request: Request,
    next: Next,
) -> Response {
    if app.rate.may_ask(peer.ip(), Instant::now()) {
        return next.run(request).await;
    }
    Trouble::new(StatusCode::TOO_MANY_REQUESTS, "Too many requests from this address.")
        .mend("Wait a few seconds and try again.")
        .into_response()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::Duration;

    #[test]
    fn who_asks_too_often_has_to_wait() {
        let rate = Rate::default();
        let (start, stranger, other) = (Instant::now(), IpAddr::from([192, 168, 1, 7]), IpAddr::from([192, 168, 1, 8]));
        for _ in 0..5 {
            assert!(rate.may_log_in(stranger, start));
        }
        assert!(!rate.may_log_in(stranger, start));
        assert!(rate.may_log_in(other, start));
        assert!(!rate.may_log_in(stranger, start + Duration::from_secs(9)));
        assert!(rate.may_log_in(stranger, start + Duration::from_secs(20)));
        let asked = (0..1000).filter(|_| rate.may_ask(stranger, start)).count();
        assert_eq!(asked, 400);
    }
}
