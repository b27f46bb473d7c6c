//! Programs end at any moment; what was acknowledged stays.
//!
//! The test runs itself anew as the program that writes, kills it (SIGKILL) at moments from a seeded generator, and
//! compares what is in the file with what was acknowledged. A power cut is not tried here: against that stand SQLite's
//! `synchronous=FULL` and the disk's word.

#![allow(clippy::unwrap_used, clippy::panic)]
#![cfg(unix)]

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::{Duration, Instant};

use jiff::Timestamp;
use store::{Change, JobId, NewJob, Place, StoreError, Trouble, open};

/// Set for the program that writes: the file.
const FILE: &str = "FAULTWRIGHT_CRASH_FILE";

/// Writes that must be acknowledged, over all lives.
const WRITES: usize = 1000;

/// The text of a revision: known from its number, different in length and content from its neighbours'.
fn text(number: i64) -> String {
    format!("revision {number}\r\n").repeat(1 + (number as usize * 7919) % 900)
}

/// The program that writes: goes on with the one job for ever, and says each revision that was acknowledged.
#[test]
fn writer() {
    let Ok(file) = std::env::var(FILE) else { return };
    let store = open(&Place::File(file.into())).unwrap();
    let job = match store.search("", None, None, 1).unwrap().pop() {
        Some(summary) => summary.job,
        None => {
            let [title, parts, who, what] = ["Fan", "", "Ada", "job begun"].map(str::to_owned);
            store.create(&NewJob { title, parts, text: text(1), who, what, at: Timestamp::UNIX_EPOCH }).unwrap()
        }
    };
    let mut number = store.head(&job).unwrap().number;
    let mut out = std::io::stdout();
    loop {
        writeln!(out, "\nwritten {number} {job}").unwrap();
        out.flush().unwrap();
        let [title, parts, who, what] = ["Fan", "", "Ada", "reading added"].map(str::to_owned);
        let change = Change { title, parts, text: text(number + 1), who, what, at: Timestamp::UNIX_EPOCH };
        number = store.append(&job, number, &change).unwrap();
    }
}

fn start_writer(file: &Path) -> (Child, Receiver<(i64, JobId)>) {
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "writer", "--nocapture"])
        .env(FILE, file)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let (sender, written) = channel();
    thread::spawn(move || {
        for line in lines.map_while(Result::ok) {
            let words: Vec<&str> = line.split(' ').collect();
            if let ["written", number, job] = words[..] {
                // A line that was cut short by the end of the program is no acknowledgement.
                if let (Ok(number), Ok(job)) = (number.parse(), job.parse()) {
                    let _ = sender.send((number, job));
                }
            }
        }
    });
    (child, written)
}

#[test]
fn killed_at_any_moment_nothing_acknowledged_is_lost() {
    let begun = Instant::now();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bench.sqlite");
    let mut acknowledged: BTreeMap<i64, JobId> = BTreeMap::new();
    let mut random = 88_172_645_463_325_252_u64;
    let mut below = |end: u64| {
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        random % end
    };
    let mut lives = 0;
    while acknowledged.len() < WRITES {
        let (mut child, written) = start_writer(&file);
        lives += 1;
        // Every third life ends by the clock, often while the file is being made or opened; the others after some
        // writes, at any moment of the next one.
        let mut heard = Vec::new();
        if below(3) == 0 {
            thread::sleep(Duration::from_micros(below(30_000)));
        } else {
            let writes = 1 + below(60);
            heard.extend((0..writes).map_while(|_| written.recv_timeout(Duration::from_secs(10)).ok()));
            thread::sleep(Duration::from_micros(below(3_000)));
        }
        child.kill().unwrap();
        child.wait().unwrap();
        heard.extend(written.iter());
        acknowledged.extend(heard);

        let store = open(&Place::File(file.clone())).unwrap();
        let Some((&last, job)) = acknowledged.last_key_value() else { continue };
        let head = store.head(job).unwrap().number;
        assert!(head == last || head == last + 1, "life {lives}: acknowledged {last}, found {head}");
        // What was not acknowledged is there whole, or not at all.
        for number in 1..=head {
            assert!(store.revision(job, number).unwrap().text == text(number), "life {lives}: revision {number}");
        }
        assert!(matches!(store.revision(job, head + 1), Err(StoreError::NoSuchRevision { .. })));
        assert_eq!(store.search("", None, None, 10).unwrap().len(), 1);
    }
    assert!(acknowledged.values().all(|job| Some(job) == acknowledged.values().next()));
    eprintln!("{} writes acknowledged in {lives} lives, {:.1} s", acknowledged.len(), begun.elapsed().as_secs_f64());
    assert!(lives > 20);
}

/// The same for the very first moments, in which the file is made.
#[test]
fn killed_while_the_file_is_made_it_opens() {
    for life in 0..60 {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("bench.sqlite");
        let (mut child, _written) = start_writer(&file);
        thread::sleep(Duration::from_micros(life * 400));
        child.kill().unwrap();
        child.wait().unwrap();
        match open(&Place::File(file)) {
            Ok(store) => assert!(store.search("", None, None, 10).unwrap().len() <= 1),
            Err(StoreError::Place { trouble: Trouble::Locked, .. }) => panic!("a dead program's lock"),
            Err(error) => panic!("life {life}: {error}"),
        }
    }
}
