//! Requests must be meant for this bench and come from its own pages.
//!
//! A name that an attacker's server lets point to this machine (DNS rebinding) is not ours: only `localhost`, plain
//! addresses, on a network also names without dots or under `.local` and `.lan`, and names given at the start are.

use crate::app::{App, Reach};
use crate::trouble::Trouble;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::IpAddr;

/// Lets through what is meant for this bench and, if it changes anything, comes from it.
pub async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    let host = request
        .headers()
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .or_else(|| request.uri().authority().map(|authority| authority.as_str()));
    if !host.is_some_and(|host| is_ours(host, app.reach, &app.names)) {
        return Trouble::new(StatusCode::MISDIRECTED_REQUEST, "This bench does not go by that name.")
            .mend("Use the address that it printed when it started.")
            .into_response();
    }
    let changes = !matches!(*request.method(), Method::GET | Method::HEAD);
    if changes && !is_from_here(request.headers(), host.unwrap_or_default()) {
        return Trouble::new(StatusCode::FORBIDDEN, "That request came from another site.").into_response();
    }
    next.run(request).await
}

fn is_ours(host: &str, reach: Reach, names: &[String]) -> bool {
    let name = without_port(host);
    if names.iter().any(|own| own.eq_ignore_ascii_case(name)) {
        return true;
    }
    let address = name.trim_start_matches('[').trim_end_matches(']').parse::<IpAddr>();
    match (reach, address) {
        (_, Err(_)) if name.eq_ignore_ascii_case("localhost") => true,
        (Reach::Loopback, Ok(address)) => address.is_loopback(),
        (Reach::Network, Ok(_)) => true,
        (Reach::Loopback, Err(_)) => false,
        (Reach::Network, Err(_)) => {
            let name = name.to_ascii_lowercase();
            !name.is_empty() && (!name.contains('.') || name.ends_with(".local") || name.ends_with(".lan"))
        }
    }
}

fn without_port(host: &str) -> &str {
    match host.rsplit_once(':') {
        Some((name, port)) if port.chars().all(|c| c.is_ascii_digit()) => name,
        _ => host,
    }
}

/// Browsers say where a request comes from; programs that are no browser say nothing and must hold the token anyway.
fn is_from_here(headers: &HeaderMap, host: &str) -> bool {
    let text = |name: &str| headers.get(name).and_then(|value| value.to_str().ok());
    let site_fits = text("sec-fetch-site").is_none_or(|site| matches!(site, "same-origin" | "none"));
    let origin_fits =
        text("origin").is_none_or(|origin| origin.split_once("://").is_some_and(|(_, name)| name == host));
    site_fits && origin_fits
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_names_of_this_bench_are_served() {
        for host in ["localhost:8714", "127.0.0.1:8714", "[::1]:8714", "LOCALHOST"] {
            assert!(is_ours(host, Reach::Loopback, &[]), "{host}");
            assert!(is_ours(host, Reach::Network, &[]), "{host}");
        }
        for host in ["evil.example", "192.168.1.7:8714", "", "bench"] {
            assert!(!is_ours(host, Reach::Loopback, &[]), "{host}");
        }
        for host in ["192.168.1.7:8714", "bench", "bench.local:80", "[fe80::1]:80"] {
            assert!(is_ours(host, Reach::Network, &[]), "{host}");
        }
        for host in ["evil.example", "192.168.1.7.evil.example", ""] {
            assert!(!is_ours(host, Reach::Network, &[]), "{host}");
        }
    }

    #[test]
    fn a_bench_can_be_given_a_name() {
        let names = ["bench.example".to_owned()];
        assert!(is_ours("bench.example:443", Reach::Network, &names));
        assert!(is_ours("Bench.Example", Reach::Loopback, &names));
        assert!(!is_ours("evil.bench.example", Reach::Network, &names));
    }

    #[test]
    fn changes_come_from_our_own_pages() {
        let headers = |pairs: &[(&'static str, &str)]| -> HeaderMap {
            let pair = |&(name, value): &(&'static str, &str)| (name.parse().unwrap(), value.parse().unwrap());
            pairs.iter().map(pair).collect()
        };
        let host = "localhost:8714";
        assert!(is_from_here(&headers(&[]), host));
        assert!(is_from_here(
            &headers(&[("origin", "http://localhost:8714"), ("sec-fetch-site", "same-origin")]),
            host
        ));
        assert!(!is_from_here(&headers(&[("origin", "http://evil.example")]), host));
        assert!(!is_from_here(&headers(&[("origin", "null")]), host));
        assert!(!is_from_here(&headers(&[("origin", "http://localhost:9999")]), host));
        assert!(!is_from_here(&headers(&[("sec-fetch-site", "cross-site")]), host));
    }
}
