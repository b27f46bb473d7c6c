//! What a process may not do: write to a file beyond a size, write to a folder, read a file. The test runs itself anew
//! under such limits; as root, to whom no permission applies, as user 65534 ("nobody").

#![allow(clippy::unwrap_used, clippy::panic)]
#![cfg(target_os = "linux")]

use std::fs::{self, Permissions};
use std::os::unix::fs::{MetadataExt, PermissionsExt};
use std::path::Path;
use std::process::{Command, Stdio};

use jiff::Timestamp;
use store::{Change, NewJob, Place, Store, open};

/// Set for the process under limits: the file to work on.
const FILE: &str = "FAULTWRIGHT_LIMITED_FILE";

fn new_job() -> NewJob {
    let [title, parts, who, what] = ["Fan", "", "Ada", "job begun"].map(str::to_owned);
    NewJob { title, parts, text: "x".repeat(20_000), who, what, at: Timestamp::UNIX_EPOCH }
}

/// The process under limits: opens the file, appends up to 100 times, and says how far it came.
#[test]
fn under_limits() {
    let Ok(file) = std::env::var(FILE) else { return };
    let store = match open(&Place::File(file.into())) {
        Ok(store) => store,
        Err(error) => return eprintln!("\nopen: {error}"),
    };
    eprintln!("\n{}", append_all(&*store));
}

fn append_all(store: &dyn Store) -> String {
    let NewJob { title, parts, text, who, what, at } = new_job();
    let change = Change { title, parts, text, who, what, at };
    let job = match store.create(&new_job()) {
        Ok(job) => job,
        Err(error) => return format!("create: {error}"),
    };
    for base in 1..=100 {
        if let Err(error) = store.append(&job, base, &change) {
            return format!("append {base} of {job}: {error}");
        }
    }
    "all done".to_owned()
}

/// Runs [`under_limits`] by a shell command that ends in `"$@"`, and gives what it says.
fn run(shell: &str, file: &Path) -> String {
    let this = std::env::current_exe().unwrap();
    let output = Command::new("sh")
        .args(["-c", shell, "sh"])
        .arg(this)
        .args(["--exact", "under_limits", "--nocapture"])
        .env(FILE, file)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{said}");
    said
}

/// A shell command that runs another one without root's powers; `None` where that cannot be done.
fn without_powers(folder: &Path) -> Option<&'static str> {
    if fs::metadata("/proc/self").unwrap().uid() != 0 {
        return Some(r#"exec "$@""#);
    }
    let nobody = r#"exec setpriv --reuid 65534 --regid 65534 --clear-groups "$@""#;
    let reachable = Command::new("sh")
        .args(["-c", nobody, "sh", "ls"])
        .args([folder, &std::env::current_exe().unwrap()])
        .output()
        .is_ok_and(|output| output.status.success());
    if !reachable {
        eprintln!("skipped: cannot become another user here, and nothing is forbidden to root");
    }
    reachable.then_some(nobody)
}

fn allow(path: &Path, mode: u32) {
    fs::set_permissions(path, Permissions::from_mode(mode)).unwrap();
}

#[test]
fn a_file_that_may_not_grow_is_told_and_stays_sound() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bench.sqlite");
    // Units of 512 bytes; the signal is ignored, so that writing fails instead of ending the process.
    let said = run(r#"trap '' XFSZ; ulimit -f 1000; exec "$@""#, &file);
    assert!(said.contains("append ") && said.contains("the disk could not be read or written"), "{said}");
    // What was acknowledged before is there.
    let (base, job) = said.split_once("append ").unwrap().1.split_once(" of ").unwrap();
    let (base, job) = (base.parse::<i64>().unwrap(), job[..36].parse().unwrap());
    assert!(base > 1);
    let store = open(&Place::File(file)).unwrap();
    assert_eq!(store.head(&job).unwrap().number, base);
    assert_eq!(append_all(&*store), "all done");
}

#[test]
fn what_may_not_be_written_or_read_is_told() {
    let folder = tempfile::tempdir().unwrap();
    allow(folder.path(), 0o755);
    let Some(without_powers) = without_powers(folder.path()) else { return };
    let inner = folder.path().join("inner");
    fs::create_dir(&inner).unwrap();
    let file = inner.join("bench.sqlite");

    allow(&inner, 0o555);
    let said = run(without_powers, &file);
    assert!(said.contains("open: ") && said.contains("it can be read but not written"), "no file yet: {said}");

    allow(&inner, 0o777);
    drop(open(&Place::File(file.clone())).unwrap());
    allow(&file, 0o444);
    let said = run(without_powers, &file);
    assert!(said.contains("open: ") && said.contains("it can be read but not written"), "file: {said}");

    allow(&file, 0o666);
    allow(&inner, 0o555);
    let said = run(without_powers, &file);
    assert!(said.contains("open: ") && said.contains("it can be read but not written"), "folder: {said}");

    allow(&inner, 0o777);
    allow(&file, 0o000);
    let said = run(without_powers, &file);
    assert!(said.contains("open: ") && said.contains("cannot be opened (Permission denied"), "{said}");

    allow(&file, 0o666);
    assert!(run(without_powers, &file).contains("all done"));
}
