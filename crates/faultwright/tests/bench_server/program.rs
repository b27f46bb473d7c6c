//! The program itself: started, killed, started again.

use std::fs::File;
use std::io::{BufRead, BufReader, Read, Seek};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

/// A pass-phrase for starts without a person at the terminal.
const PASSPHRASE_VARIABLE: &str = "FAULTWRIGHT_PASS_PHRASE";

fn command(arguments: &[&str], passphrase: Option<&str>) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_faultwright"));
    command.args(["bench", "--no-browser"]).args(arguments).stdin(Stdio::null());
    command.env_remove(PASSPHRASE_VARIABLE).envs(passphrase.map(|words| (PASSPHRASE_VARIABLE, words)));
    command
}

/// A bench that is open. It is killed when dropped, which also looks whether it ever panicked.
pub struct Server {
    child: Child,
    pub port: u16,
    /// What it said when it was ready.
    pub greeting: String,
    /// Kept: a bench that has nobody to talk to ends.
    _output: BufReader<ChildStdout>,
    errors: File,
}

impl Server {
    /// Opens a bench for this machine on a store.
    pub fn start(store: &Path) -> Self {
        Self::start_with(&["--port", "0", "--store", store.to_str().unwrap()], None)
    }

    /// Opens a bench with other arguments, and waits until it is ready.
    pub fn start_with(arguments: &[&str], passphrase: Option<&str>) -> Self {
        let errors = tempfile::tempfile().unwrap();
        let mut child =
            command(arguments, passphrase).stdout(Stdio::piped()).stderr(errors.try_clone().unwrap()).spawn().unwrap();
        let mut output = BufReader::new(child.stdout.take().unwrap());
        let mut greeting = String::new();
        while !greeting.contains("Stop with Ctrl+C.") {
            if output.read_line(&mut greeting).unwrap() == 0 {
                panic!("the bench did not open: {greeting}{}", all_of(errors));
            }
        }
        let (_, rest) = greeting.split_once("The bench is at http://localhost:").unwrap();
        let port = rest.split('/').next().unwrap().parse().unwrap();
        Self { child, port, greeting, _output: output, errors }
    }

    /// Begins to open a bench on a store, and kills it after a while, whatever it is doing then.
    pub fn start_and_kill(store: &Path, after: Duration) {
        let mut child = command(&["--port", "0", "--store", store.to_str().unwrap()], None)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(after);
        child.kill().unwrap();
        child.wait().unwrap();
    }

    /// Kills it at once (SIGKILL on Unix, TerminateProcess on Windows) and waits until it is gone.
    pub fn kill(&mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.kill();
        let errors = all_of(self.errors.try_clone().unwrap());
        assert!(std::thread::panicking() || !errors.contains("panicked"), "the bench panicked: {errors}");
    }
}

fn all_of(mut file: File) -> String {
    let mut text = String::new();
    file.rewind().unwrap();
    file.read_to_string(&mut text).unwrap();
    text
}

/// How a bench ended that did not open.
#[derive(Debug)]
pub struct Refused {
    pub code: Option<i32>,
    /// What it said on its error stream.
    pub words: String,
}

impl Refused {
    /// Holds it to wrong use, exit code 2, and to words that a person must see.
    #[track_caller]
    pub fn says(&self, words: &str) {
        assert_eq!(self.code, Some(2), "{self:?}");
        assert!(self.words.contains(words), "\"{words}\" is not in: {self:?}");
        assert!(!self.words.contains("panicked"), "{self:?}");
    }
}

/// Tries to open a bench that must not open.
pub fn refused(arguments: &[&str], passphrase: Option<&str>) -> Refused {
    let errors = tempfile::tempfile().unwrap();
    let mut child =
        command(arguments, passphrase).stdout(Stdio::null()).stderr(errors.try_clone().unwrap()).spawn().unwrap();
    let begun = Instant::now();
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return Refused { code: status.code(), words: all_of(errors) };
        }
        if begun.elapsed() > Duration::from_secs(30) {
            child.kill().unwrap();
            child.wait().unwrap();
            panic!("the bench opened, or took too long to refuse, with {arguments:?}");
        }
        std::thread::sleep(Duration::from_millis(10));
    }
}
