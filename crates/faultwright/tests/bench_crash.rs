//! The bench is killed while people enter readings: what it had acknowledged is there when it opens again, once.
//!
//! Killing a program (SIGKILL) takes its memory away at a moment it cannot choose. It does not take away what the
//! operating system still holds for the disk: a power cut is another test, which needs another machine.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod bench_server;

use bench_server::{Client, DOUGH_PROOFER, Numbers, Server};
use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// Readings sent in the whole test, at least.
const WRITES: u64 = 1_000;
/// Which job each person works on: on the first two, two people get into each other's way.
const PEOPLE: [usize; 6] = [0, 0, 1, 1, 2, 3];
const JOBS: usize = 4;
/// Every reading shows another number of ohms, from here on: far above all that are in the job already.
const FIRST: u64 = 1_000_001;
/// A seed to bring a failed run back, as far as the system's own timing allows.
const SEED_VARIABLE: &str = "CRASH_SEED";

/// What is known of one job's readings.
#[derive(Default, Clone)]
struct Known {
    /// Answered in full with success, or seen in an export: must be there, once.
    acknowledged: BTreeSet<u64>,
    /// Sent, but the bench was killed before its answer was here: may be there, once.
    in_flight: BTreeSet<u64>,
}

impl Known {
    /// Holds an exported job text to what is known.
    ///
    /// # Errors
    /// What is lost, doubled or made up.
    fn check(&self, text: &str) -> Result<(), String> {
        let mut counts: BTreeMap<u64, usize> = BTreeMap::new();
        for shown in text.lines().filter_map(ohms_in).filter(|&ohms| ohms >= FIRST) {
            *counts.entry(shown).or_default() += 1;
        }
        for reading in &self.acknowledged {
            match counts.get(reading) {
                Some(1) => {}
                Some(count) => return Err(format!("acknowledged reading {reading} is there {count} times")),
                None => return Err(format!("acknowledged reading {reading} is lost")),
            }
        }
        for (reading, count) in counts {
            if !self.acknowledged.contains(&reading) && !self.in_flight.contains(&reading) {
                return Err(format!("reading {reading} was never entered here, or had gone once"));
            }
            if count > 1 {
                return Err(format!("reading {reading} is there {count} times"));
            }
        }
        bench::job::read("export", text).map(|_| ()).map_err(|problems| format!("unreadable: {problems:?}"))
    }

    /// Once a killed bench has opened again, what was in flight is there for good or gone for good. Gives
    /// how many are there.
    fn settle(&mut self, text: &str) -> usize {
        let there: BTreeSet<u64> = text.lines().filter_map(ohms_in).collect();
        let in_flight = std::mem::take(&mut self.in_flight);
        let kept: Vec<u64> = in_flight.intersection(&there).copied().collect();
        self.acknowledged.extend(&kept);
        kept.len()
    }
}

/// The ohms on a line of `readings`, by the letters of the file and not by our reader of it.
fn ohms_in(line: &str) -> Option<u64> {
    let (_, rest) = line.split_once("ohms = ")?;
    rest.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok()
}

fn enter(client: &Client, job: &str, ohms: u64) -> reqwest::Result<()> {
    let line = format!("M1.common M1.run {ohms}");
    let answer = client.try_post(&format!("{job}/readings"), &[("setup", "cold"), ("line", &line)])?;
    assert_eq!(answer.status, 200, "{}", answer.words());
    Ok(())
}

/// Enters readings until the bench does not answer any more.
fn enter_until_killed(client: &Client, job: &str, next: &AtomicU64) -> Known {
    let mut known = Known::default();
    loop {
        let reading = next.fetch_add(1, Ordering::Relaxed);
        match enter(client, job, reading) {
            Ok(()) => known.acknowledged.insert(reading),
            Err(_) => {
                known.in_flight.insert(reading);
                return known;
            }
        };
    }
}

/// Waits until so many readings have been sent, however fast the machine is, or until nothing goes on any more.
fn wait_for(next: &AtomicU64, goal: u64) {
    let begun = Instant::now();
    while next.load(Ordering::Relaxed) < goal && begun.elapsed() < Duration::from_secs(20) {
        std::thread::sleep(Duration::from_micros(200));
    }
}

fn check_all(client: &Client, jobs: &[(String, Known)]) {
    for (job, known) in jobs {
        known.check(&client.export(job)).unwrap_or_else(|wrong| panic!("{job}: {wrong}"));
    }
}

#[test]
fn what_was_acknowledged_survives_every_kill() {
    let clock = SystemTime::now().duration_since(UNIX_EPOCH).unwrap().as_nanos() as u64;
    let seed = std::env::var(SEED_VARIABLE).map_or(clock, |seed| seed.parse().unwrap());
    eprintln!("{SEED_VARIABLE}={seed}");
    let mut numbers = Numbers::seeded(seed);
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("bench.sqlite");

    let mut server = Server::start(&store);
    let mut people: Vec<Client> = PEOPLE.iter().map(|_| Client::new(&server)).collect();
    let mut jobs: Vec<(String, Known)> =
        (0..JOBS).map(|_| (people[0].import(DOUGH_PROOFER), Known::default())).collect();
    let next = AtomicU64::new(FIRST);
    let (mut kills, mut kills_at_start, mut was_in_flight, mut kept_unasked) = (0, 0, 0, 0);
    while next.load(Ordering::Relaxed) < FIRST + WRITES {
        let entered: Vec<Known> = std::thread::scope(|scope| {
            let enter = |person: usize| {
                let (client, job) = (&people[person], &jobs[PEOPLE[person]].0);
                scope.spawn(|| enter_until_killed(client, job, &next))
            };
            let working: Vec<_> = (0..PEOPLE.len()).map(enter).collect();
            wait_for(&next, next.load(Ordering::Relaxed) + numbers.between(1.0, 80.0) as u64);
            std::thread::sleep(Duration::from_secs_f64(numbers.between(0.0, 0.01)));
            server.kill();
            working.into_iter().map(|person| person.join().unwrap()).collect()
        });
        kills += 1;
        for (job, entered) in PEOPLE.iter().zip(entered) {
            was_in_flight += entered.in_flight.len();
            jobs[*job].1.acknowledged.extend(entered.acknowledged);
            jobs[*job].1.in_flight.extend(entered.in_flight);
        }
        while numbers.share() < 0.3 {
            Server::start_and_kill(&store, Duration::from_secs_f64(numbers.between(0.0, 0.05)));
            kills_at_start += 1;
        }
        // Sessions and the tokens of open forms live on, too: nobody asks for a page anew.
        server = Server::start(&store);
        for person in &mut people {
            person.moved_to(&server);
        }
        check_all(&people[0], &jobs);
        for (job, known) in &mut jobs {
            kept_unasked += known.settle(&people[0].export(job));
        }
    }
    let acknowledged: usize = jobs.iter().map(|(_, known)| known.acknowledged.len()).sum();
    eprintln!(
        "{} readings sent, {acknowledged} there at the end; {was_in_flight} were in flight in {kills} kills, \
         {kept_unasked} of them were saved; {kills_at_start} kills while opening",
        next.load(Ordering::Relaxed) - FIRST
    );
    // A test that killed a bench with nothing to lose would prove nothing.
    assert!(kills >= 8 && acknowledged > WRITES as usize / 2);
}

/// A checkpoint writes pages of the log into the file, the first page first (https://sqlite.org/wal.html#ckpt). A kill
/// just after that leaves a file whose first page counts pages that are in the log only: whole, but only together.
#[test]
fn a_kill_within_a_checkpoint_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("bench.sqlite");
    let mut server = Server::start(&store);
    let mut client = Client::new(&server);
    let job = client.import(DOUGH_PROOFER);
    let known = Known { acknowledged: (FIRST..FIRST + 5).collect(), ..Known::default() };
    for &reading in &known.acknowledged {
        enter(&client, &job, reading).unwrap();
    }
    server.kill();

    // Log and page layout: https://sqlite.org/fileformat2.html#walformat and #the_database_header.
    let log = std::fs::read(folder.path().join("bench.sqlite-wal")).unwrap();
    let number = |bytes: &[u8]| u32::from_be_bytes(bytes.try_into().unwrap());
    let page_size = number(&log[8..12]) as usize;
    let frames: Vec<&[u8]> = log[32..].chunks_exact(24 + page_size).collect();
    let first_page =
        &frames.iter().rfind(|frame| number(&frame[..4]) == 1).expect("the log holds the first page")[24..];
    let mut file = std::fs::OpenOptions::new().write(true).open(&store).unwrap();
    let pages_in_file = file.metadata().unwrap().len() / page_size as u64;
    assert!(
        u64::from(number(&first_page[28..32])) > pages_in_file,
        "the checkpoint would not have made the file longer"
    );
    file.write_all(first_page).unwrap();
    drop(file);

    let server = Server::start(&store);
    client.moved_to(&server);
    assert_eq!(known.check(&client.export(&job)), Ok(()));
}

/// The check itself can fail: an older copy of the store is a bench that has lost what came after it.
#[test]
fn a_lost_reading_would_be_noticed() {
    let (kept, old) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let store = kept.path().join("bench.sqlite");
    let mut server = Server::start(&store);
    let mut client = Client::new(&server);
    let job = client.import(DOUGH_PROOFER);
    enter(&client, &job, FIRST).unwrap();
    server.kill();
    copy_files(kept.path(), old.path());

    server = Server::start(&store);
    client.moved_to(&server);
    enter(&client, &job, FIRST + 1).unwrap();
    let known = Known { acknowledged: [FIRST, FIRST + 1].into(), ..Known::default() };
    let whole = client.export(&job);
    assert_eq!(known.check(&whole), Ok(()));
    server.kill();

    copy_files(old.path(), kept.path());
    server = Server::start(&store);
    client.moved_to(&server);
    let lost = known.check(&client.export(&job));
    assert_eq!(lost, Err(format!("acknowledged reading {} is lost", FIRST + 1)));

    let line = whole.lines().find(|line| ohms_in(line) == Some(FIRST)).unwrap();
    let doubled = whole.replace(line, &format!("{line}\n{line}"));
    assert_eq!(known.check(&doubled), Err(format!("acknowledged reading {FIRST} is there 2 times")));
    let stranger = whole.replace(line, &format!("{line}\n{}", line.replace(&FIRST.to_string(), "1999999")));
    assert!(known.check(&stranger).unwrap_err().contains("never entered"));
}

/// Makes a folder hold the files of another, and nothing else.
fn copy_files(from: &Path, to: &Path) {
    for file in std::fs::read_dir(to).unwrap() {
        std::fs::remove_file(file.unwrap().path()).unwrap();
    }
    for file in std::fs::read_dir(from).unwrap() {
        let file = file.unwrap();
        std::fs::copy(file.path(), to.join(file.file_name())).unwrap();
    }
}
