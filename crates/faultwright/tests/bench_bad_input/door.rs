//! The door of a bench on a network.

use crate::bench_server::{Client, Server, refused};
use std::time::Instant;

const WORDS: &str = "copper brush window tide";

fn lan(store: &str) -> [&str; 5] {
    ["--lan", "--port", "0", "--store", store]
}

/// What the cookie of a name is set to, with its attributes.
fn cookie<'a>(answer: &'a crate::bench_server::Answer, name: &str) -> &'a str {
    let set = answer.headers.iter().filter(|(header, _)| header == "set-cookie");
    set.map(|(_, value)| value.as_str()).find(|value| value.starts_with(&format!("{name}="))).unwrap_or_default()
}

fn try_words(client: &Client, words: &str) -> crate::bench_server::Answer {
    client.submit("/login", &[("words", words)])
}

#[test]
fn no_pass_phrase_no_network() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("bench.sqlite");
    let store = store.to_str().unwrap();
    let told = refused(&lan(store), None);
    told.says("--lan needs a pass-phrase");
    told.says("FAULTWRIGHT_PASS_PHRASE");
    for too_short in ["", "short", "14 characters!"] {
        refused(&lan(store), Some(too_short)).says("must have 15");
    }
    refused(&["--new-pass-phrase", "--port", "0", "--store", store], Some(WORDS)).says("--lan");
    // None of these has set one.
    refused(&lan(store), None).says("--lan needs a pass-phrase");
}

#[test]
fn only_who_knows_the_words_comes_in() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("bench.sqlite");
    let server = Server::start_with(&lan(store.to_str().unwrap()), Some(WORDS));
    let mut person = Client::stranger(&server);
    for path in ["/", "/you", "/jobs/00000000-0000-4000-8000-000000000000", "/jobs/../login", "/login/", "/%6cogin"] {
        let answer = person.raw(format!("GET {path} HTTP/1.0\r\nHost: localhost\r\n\r\n").as_bytes());
        assert_eq!((answer.status, answer.header("location")), (303, "/login"), "{path}");
        assert!(answer.body.is_empty());
    }
    let refused = person.submit("/jobs/import", &[("text", "x")]);
    assert_eq!((refused.status, refused.header("location")), (303, "/login"));

    // Without the token of the form, or with another session's, the words are not even looked at.
    assert_eq!(try_words(&person, WORDS).status, 403);
    person.token = Client::stranger(&server).token_on("/login");
    try_words(&person, WORDS).says(403, "This form is out of date");
    let outside = person.get("/login");
    let before = cookie(&outside, "bench_session").split(';').next().unwrap().to_owned();
    person.token = person.token_on("/login");
    try_words(&person, "copper brush window tides").says(403, "not the pass-phrase");
    assert_eq!(person.get("/").status, 303);

    let inside = try_words(&person, WORDS);
    assert_eq!((inside.status, inside.header("location")), (303, "/"));
    let session = cookie(&inside, "bench_session").to_owned();
    for attribute in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(session.contains(attribute), "{session}");
    }
    assert!(!session.contains("Secure"), "a browser would not send it back unencrypted: {session}");
    let session = session.split(';').next().unwrap();
    assert_ne!(session, before, "a session from before the login was let in");
    person.get("/").says(200, "Jobs on the bench");
    let others = Client::stranger(&server);
    assert_eq!(others.get("/").status, 303);
    // Behind a proxy that encrypts, the cookie never travels in the clear.
    let encrypted = others.send(others.request("GET", "/login").header("x-forwarded-proto", "https"));
    assert!(cookie(&encrypted, "bench_session").contains("Secure"), "{encrypted:?}");

    person.token = person.token_on("/you");
    let left = person.submit("/logout", &[]);
    assert_eq!((left.status, left.header("location")), (303, "/login"));
    assert!(cookie(&left, "bench_session").contains("Max-Age=0"), "{left:?}");
    // Nor does it help to have kept the cookie.
    let kept = others.send(others.request("GET", "/").header("cookie", session));
    assert_eq!((kept.status, kept.header("location")), (303, "/login"));
}

#[test]
fn guessing_is_slow() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("bench.sqlite");
    let server = Server::start_with(&lan(store.to_str().unwrap()), Some(WORDS));
    let mut person = Client::stranger(&server);
    person.token = person.token_on("/login");
    let begun = Instant::now();
    let mut tries = 0;
    let last = loop {
        let answer = try_words(&person, &format!("guess number {tries}, long enough"));
        if answer.status != 403 {
            break answer;
        }
        tries += 1;
        // Five at once, and one more every ten seconds.
        let allowed = 5 + begun.elapsed().as_secs() / 10;
        assert!(tries <= allowed, "{tries} tries in {:?}", begun.elapsed());
    };
    assert!(tries >= 5);
    last.says(429, "Too many tries");
    // A new session or the right words do not help either.
    let mut again = Client::stranger(&server);
    again.token = again.token_on("/login");
    if begun.elapsed().as_secs() < 8 {
        try_words(&again, WORDS).says(429, "Wait half a minute");
    }
}
