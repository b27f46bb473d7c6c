//! A connection that breaks just when a commit is sent: nobody can know what became of it, so that is what is said.

use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::thread;

use store::{Place, Trouble, open};

use crate::postgresql::is;
use crate::server::server;
use crate::{change, new_job};

/// What the wire does with the next commit.
const PASS: u8 = 0;
const LOSE_COMMIT: u8 = 1;
const LOSE_ANSWER: u8 = 2;
const LOSE_NEXT: u8 = 3;

#[test]
fn a_commit_without_an_answer_is_reported_as_such() {
    let Some(server) = server() else { return };
    let database = server.database();
    let (host, port) = server.host_and_port();
    let mode = Arc::new(AtomicU8::new(PASS));
    let wire = wire(format!("{host}:{port}"), Arc::clone(&mode));
    let url = database.url().replace(&format!("{host}:{port}"), &wire);
    assert!(url.contains(&wire));
    let store = open(&Place::parse(&url).unwrap()).unwrap();
    let job = store.create(&new_job("Fan", "", "first")).unwrap();

    for (fault, saved) in [(LOSE_COMMIT, false), (LOSE_ANSWER, true), (LOSE_COMMIT, false)] {
        let base = store.head(&job).unwrap().number;
        mode.store(fault, Ordering::SeqCst);
        let error = store.append(&job, base, &change("Fan", "next", base)).unwrap_err();
        assert!(is(&error, |trouble| *trouble == Trouble::MaybeSaved), "{error}");
        // The wire is whole again, and looking tells.
        assert_eq!(store.head(&job).unwrap().number, if saved { base + 1 } else { base });
    }
}

/// A relay to a server, that breaks as `mode` says, once each time.
fn wire(server: String, mode: Arc<AtomicU8>) -> String {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap().to_string();
    thread::spawn(move || {
        for client in listener.incoming().flatten() {
            let server = TcpStream::connect(&server).unwrap();
            let (from_server, to_client) = (server.try_clone().unwrap(), client.try_clone().unwrap());
            let (there, back) = (Arc::clone(&mode), Arc::clone(&mode));
            let is_commit = |bytes: &[u8]| bytes.windows(6).any(|six| six == b"COMMIT");
            // On the way there, a commit is lost, or let through so that the next answer is lost.
            thread::spawn(move || {
                relay(client, server, |bytes| {
                    is_commit(bytes) && {
                        let _ = there.compare_exchange(LOSE_ANSWER, LOSE_NEXT, Ordering::SeqCst, Ordering::SeqCst);
                        there.compare_exchange(LOSE_COMMIT, PASS, Ordering::SeqCst, Ordering::SeqCst).is_ok()
                    }
                })
            });
            thread::spawn(move || {
                relay(from_server, to_client, |_| {
                    back.compare_exchange(LOSE_NEXT, PASS, Ordering::SeqCst, Ordering::SeqCst).is_ok()
                })
            });
        }
    });
    address
}

/// Hands on what comes until an end closes or something is to be lost.
fn relay(mut from: TcpStream, mut to: TcpStream, is_lost: impl Fn(&[u8]) -> bool) {
    let mut buffer = [0; 65536];
    while let Ok(length @ 1..) = from.read(&mut buffer) {
        if is_lost(&buffer[..length]) || to.write_all(&buffer[..length]).is_err() {
            break;
        }
    }
    let _ = from.shutdown(Shutdown::Both);
    let _ = to.shutdown(Shutdown::Both);
}
