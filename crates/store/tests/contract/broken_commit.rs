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
            let mode = Arc::clone(&mode);
            thread::spawn(move || relay(client, server, |bytes| broken(bytes, &mode)));
            thread::spawn(move || relay(from_server, to_client, |_| Fault::None));
        }
    });
    address
}

enum Fault {
    None,
    Before,
    After,
}

fn broken(bytes: &[u8], mode: &AtomicU8) -> Fault {
    if !bytes.windows(6).any(|six| six == b"COMMIT") {
        return Fault::None;
    }
    match mode.swap(PASS, Ordering::SeqCst) {
        LOSE_COMMIT => Fault::Before,
        LOSE_ANSWER => Fault::After,
        _ => Fault::None,
    }
}

fn relay(mut from: TcpStream, mut to: TcpStream, fault: impl Fn(&[u8]) -> Fault) {
    let mut buffer = [0; 65536];
    while let Ok(length @ 1..) = from.read(&mut buffer) {
        let bytes = &buffer[..length];
        match fault(bytes) {
            Fault::None => {
                if to.write_all(bytes).is_err() {
                    break;
                }
            }
            Fault::Before => break,
            Fault::After => {
                // The client hears nothing of it, the server does all of it.
                let _ = from.shutdown(Shutdown::Both);
                let _ = to.write_all(bytes);
                thread::sleep(std::time::Duration::from_millis(300));
                break;
            }
        }
    }
    let _ = from.shutdown(Shutdown::Both);
    let _ = to.shutdown(Shutdown::Both);
}
