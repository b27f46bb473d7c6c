//! Odd requests that are easily answered wrongly.

use crate::Bench;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

#[test]
fn undo_of_the_least_number_there_is() {
    let bench = Bench::open();
    let answer = bench.person.post(&bench.at("/undo"), &[("revision", &i64::MIN.to_string())]);
    assert!([404, 409, 422].contains(&answer.status), "{}", answer.words());
}

#[test]
fn addresses_that_cannot_be_read_are_told_in_our_words() {
    let bench = Bench::open();
    for path in ["/?words=a&words=b", "/jobs/%ff", &bench.at("/history/abc"), &bench.at("/parts/form")] {
        let answer = bench.person.get(path);
        assert!((400..500).contains(&answer.status), "{path}: {answer:?}");
        assert!(answer.header("content-type").starts_with("text/html"), "{path}: {}", answer.body_text());
        assert!(answer.words().contains("All jobs"), "{path}: {}", answer.body_text());
    }
}

#[test]
fn who_is_refused_is_still_known() {
    let bench = Bench::open();
    let bo = bench.colleague("Bo");
    bo.get("/").says(200, "You: Bo");
    bo.get(&bench.at("/history/999")).says(404, "You: Bo");
}

#[test]
fn half_a_request_is_not_waited_for_without_end() {
    let bench = Bench::open();
    let mut stream = TcpStream::connect(("127.0.0.1", bench.server.port)).unwrap();
    stream.write_all(b"GET / HTTP/1.1\r\nHost: localhost\r\nCookie: ").unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(60))).unwrap();
    // Reading to the end goes on after an interruption; a single read would not.
    let closed = stream.read_to_end(&mut Vec::new());
    assert!(closed.is_ok(), "still open after a minute: {closed:?}");
}
