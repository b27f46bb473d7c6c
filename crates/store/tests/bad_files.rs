//! Files that are damaged, another program's, newer, locked, or out of reach: told apart in plain words, never changed,
//! never a panic.

#![allow(clippy::unwrap_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use rusqlite::Connection;
use store::{Change, JobId, NewJob, Place, Store, StoreError, Trouble, open};
use tempfile::TempDir;

fn opened(path: &Path) -> Result<Box<dyn Store>, StoreError> {
    open(&Place::File(path.to_owned()))
}

/// The trouble with opening a file, whose message names the file and a mend.
fn trouble(path: &Path) -> Trouble {
    match opened(path).map(drop) {
        Err(StoreError::Place { place, trouble }) => {
            let message = StoreError::Place { place, trouble: trouble.clone() }.to_string();
            assert!(message.starts_with(&path.display().to_string()) && message.contains(';'), "{message}");
            trouble
        }
        other => panic!("{} gave {other:?}", path.display()),
    }
}

fn text() -> String {
    "[[reading]]\nvolts = 181.9\n".repeat(800)
}

fn change(title: &str) -> Change {
    Change {
        title: title.to_owned(),
        parts: "motor".to_owned(),
        text: text(),
        who: "Ada".to_owned(),
        what: "reading added".to_owned(),
        at: Timestamp::UNIX_EPOCH,
    }
}

fn new_job() -> NewJob {
    let Change { title, parts, text, who, what, at } = change("Fan");
    NewJob { title, parts, text, who, what, at }
}

/// A closed store with some jobs in it.
fn sound_file(folder: &TempDir) -> (PathBuf, JobId) {
    let path = folder.path().join("bench.sqlite");
    let store = opened(&path).unwrap();
    let jobs: Vec<JobId> = (0..5).map(|_| store.create(&new_job()).unwrap()).collect();
    for job in &jobs {
        store.append(job, 1, &change("Fan hums")).unwrap();
    }
    (path, jobs[0].clone())
}

/// xorshift64: the same bytes in every run.
fn noise(seed: u64, length: usize) -> Vec<u8> {
    let mut state = seed;
    let mut next = || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 32) as u8
    };
    (0..length).map(|_| next()).collect()
}

#[test]
fn what_is_no_database_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("file");
    let contents =
        [b"x".to_vec(), noise(1, 99), noise(2, 4096), noise(3, 1_000_000), b"[unit]\nname = \"fan\"\n".to_vec(), {
            let mut cut = b"SQLite format 3\0".to_vec();
            cut.extend(noise(4, 5000));
            cut
        }];
    for bytes in contents {
        fs::write(&path, &bytes).unwrap();
        assert!(matches!(trouble(&path), Trouble::Damaged(_)));
        assert!(fs::read(&path).unwrap() == bytes);
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "a file was left beside it");
    }
}

#[test]
fn an_empty_file_becomes_a_store() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("empty");
    fs::write(&path, "").unwrap();
    let job = opened(&path).unwrap().create(&new_job()).unwrap();
    assert_eq!(opened(&path).unwrap().head(&job).unwrap().text, text());
}

/// Whatever page is overwritten, it is noticed when the file is opened.
#[test]
fn every_overwritten_page_is_noticed() {
    const PAGE: usize = 4096;
    let folder = tempfile::tempdir().unwrap();
    let (path, _) = sound_file(&folder);
    let sound = fs::read(&path).unwrap();
    assert!(sound.len() > 20 * PAGE);
    for page in 0..sound.len() / PAGE {
        let mut damaged = sound.clone();
        damaged[page * PAGE..][..PAGE].copy_from_slice(&noise(page as u64 + 1, PAGE));
        fs::write(&path, &damaged).unwrap();
        assert!(matches!(trouble(&path), Trouble::Damaged(_)), "page {page}");
        assert!(fs::read(&path).unwrap() == damaged, "page {page}");
    }
    fs::write(&path, &sound[..sound.len() / 2]).unwrap();
    assert!(matches!(trouble(&path), Trouble::Damaged(_)));
}

/// Damage that happens while the file is open, or in a few bytes only: an error or an answer, never a panic.
#[test]
fn scattered_damage_never_panics() {
    let folder = tempfile::tempdir().unwrap();
    let (path, job) = sound_file(&folder);
    let sound = fs::read(&path).unwrap();
    let mut noticed = 0;
    for seed in 1..200 {
        let mut damaged = sound.clone();
        for bytes in noise(seed, 64).chunks_exact(8) {
            let place = usize::from_le_bytes(bytes.try_into().unwrap()) % damaged.len();
            damaged[place] ^= bytes[0] | 1;
        }
        fs::write(&path, &damaged).unwrap();
        let answers = opened(&path).and_then(|store| {
            store.head(&job)?;
            store.history(&job)?;
            store.search("fan", None, None, 100)?;
            store.photos(&job)?;
            store.append(&job, 2, &change("Fan"))
        });
        noticed += usize::from(answers.is_err());
        for beside in ["-wal", "-shm", "-journal"] {
            let _ = fs::remove_file(format!("{}{beside}", path.display()));
        }
    }
    assert!(noticed > 20, "{noticed}");
}

#[test]
fn another_programs_database_is_left_alone() {
    for setup in [
        "CREATE TABLE recipes (name TEXT); INSERT INTO recipes VALUES ('soup')",
        "PRAGMA application_id = 1196444487; CREATE TABLE features (name TEXT)",
        "PRAGMA application_id = 7",
        "PRAGMA journal_mode = WAL; CREATE TABLE jobs (name TEXT); INSERT INTO jobs VALUES ('x')",
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("other.sqlite");
        Connection::open(&path).unwrap().execute_batch(setup).unwrap();
        let before = fs::read(&path).unwrap();
        assert_eq!(trouble(&path), Trouble::Foreign, "{setup}");
        assert!(fs::read(&path).unwrap() == before, "{setup}");
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "a file was left beside it: {setup}");
    }
}

#[test]
fn a_newer_versions_file_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let (path, _) = sound_file(&folder);
    Connection::open(&path)
        .unwrap()
        .execute_batch("INSERT INTO refinery_schema_history VALUES (999, 'later', '2099-01-01T00:00:00Z', '1')")
        .unwrap();
    assert!(matches!(trouble(&path), Trouble::Newer { found: 999, known: 1 }));
    assert!(matches!(trouble(&path), Trouble::Newer { found: 999, known: 1 }));
}

#[test]
fn a_locked_file_is_told_after_a_while() {
    let folder = tempfile::tempdir().unwrap();
    let (path, job) = sound_file(&folder);
    let store = opened(&path).unwrap();
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let error = store.append(&job, 2, &change("Fan")).unwrap_err();
    assert!(matches!(error, StoreError::Place { trouble: Trouble::Locked, .. }), "{error}");
    // Reading goes on, and so does writing after it.
    assert_eq!(store.head(&job).unwrap().number, 2);
    other.execute_batch("COMMIT").unwrap();
    assert_eq!(store.append(&job, 2, &change("Fan")).unwrap(), 3);
}

#[test]
fn columns_that_hold_something_else_are_damage() {
    let folder = tempfile::tempdir().unwrap();
    let (path, job) = sound_file(&folder);
    for setup in [
        "UPDATE revisions SET text = x'ff00fe'",
        "UPDATE revisions SET text = CAST(x'ff41' AS TEXT)",
        "UPDATE revisions SET at = 'noon'",
        "UPDATE revisions SET at = 9223372036854775807",
        "UPDATE revisions SET number = 1.5 WHERE number = 2; UPDATE jobs SET head = 1.5",
    ] {
        Connection::open(&path).unwrap().execute_batch(setup).unwrap();
        let error = opened(&path).and_then(|store| store.head(&job)).unwrap_err();
        assert!(matches!(error, StoreError::Place { trouble: Trouble::Damaged(_), .. }), "{setup}: {error}");
    }
}

#[test]
fn places_without_a_file_are_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(trouble(folder.path()), Trouble::NotAFile);
    assert_eq!(trouble(Path::new("/")), Trouble::NotAFile);
    assert_eq!(trouble(&folder.path().join("no/bench.sqlite")), Trouble::FolderMissing);
    fs::write(folder.path().join("file"), "x").unwrap();
    assert_eq!(trouble(&folder.path().join("file/bench.sqlite")), Trouble::FolderMissing);
    let long = folder.path().join("x".repeat(300));
    assert!(matches!(trouble(&long), Trouble::CannotOpen(_)));
    assert!(matches!(opened(Path::new("")).map(drop), Err(StoreError::Place { trouble: Trouble::NotAFile, .. })));
}

#[cfg(target_os = "linux")]
#[test]
fn devices_are_no_files_and_proc_takes_none() {
    for device in ["/dev/full", "/dev/null", "/dev/zero"] {
        assert_eq!(trouble(Path::new(device)), Trouble::NotAFile);
    }
    assert!(matches!(trouble(Path::new("/proc/bench.sqlite")), Trouble::CannotOpen(_)));
}
