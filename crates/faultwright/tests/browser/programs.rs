//! Programs that a test starts, and that end with it.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Command, Stdio};

/// A program under way, killed when dropped.
struct Running {
    child: Child,
    /// Held open: a program may end when it cannot write.
    output: BufReader<ChildStdout>,
}

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Starts a program and reads its output up to a line in which `port_in` finds the port it listens on.
fn start(command: &mut Command, port_in: impl Fn(&str) -> Option<u16>) -> (Running, u16) {
    let mut child = command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
    let output = BufReader::new(child.stdout.take().unwrap());
    let mut running = Running { child, output };
    let mut said = String::new();
    loop {
        let before = said.len();
        let read = running.output.read_line(&mut said).unwrap();
        assert!(read > 0, "{command:?} ended before it listened, and said: {said:?}");
        if let Some(port) = port_in(&said[before..]) {
            return (running, port);
        }
    }
}

/// The digits after some words.
fn number_after(line: &str, words: &str) -> Option<u16> {
    let rest = &line[line.find(words)? + words.len()..];
    rest.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok()
}

/// The bench, on a store of its own.
pub struct Server {
    running: Option<Running>,
    port: u16,
    folder: tempfile::TempDir,
}

impl Server {
    pub fn start() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (running, port) = serve(folder.path(), 0);
        Server { running: Some(running), port, folder }
    }

    /// An address on it; the path begins with a slash.
    pub fn address(&self, path: &str) -> String {
        format!("http://localhost:{}{path}", self.port)
    }

    /// Ends it without a warning (SIGKILL), as a power cut would.
    pub fn kill(&mut self) {
        self.running = None;
    }

    /// Starts it anew on the same store and port.
    pub fn start_again(&mut self) {
        assert!(self.running.is_none(), "it is still running");
        self.running = Some(serve(self.folder.path(), self.port).0);
    }
}

fn serve(folder: &Path, port: u16) -> (Running, u16) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_faultwright"));
    command.args(["bench", "--no-browser", "--port", &port.to_string(), "--store"]).arg(folder.join("jobs.sqlite"));
    start(&mut command, |line| number_after(line, "http://localhost:"))
}

/// A driver for browsers.
pub struct Driver {
    _running: Running,
    port: u16,
}

impl Driver {
    pub fn start() -> Self {
        let program = needed(&["chromedriver"]);
        let (running, port) =
            start(Command::new(program).arg("--port=0"), |line| number_after(line, "started successfully on port "));
        Driver { _running: running, port }
    }

    pub fn address(&self) -> String {
        format!("http://localhost:{}", self.port)
    }
}

/// The browser's program.
pub fn chromium() -> PathBuf {
    needed(&["chromium", "chromium-browser", "google-chrome"])
}

/// The first of some programs that is installed.
fn needed(names: &[&str]) -> PathBuf {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    let places = names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name)));
    places.into_iter().find(|place| place.is_file()).unwrap_or_else(|| {
        panic!(
            "none of {names:?} is installed. On Debian and its kin: apt-get install chromium chromium-driver; on others, \
             install Chromium and the chromedriver of the same version. To leave the tests in a browser out, set \
             FAULTWRIGHT_WITHOUT_BROWSER=1."
        )
    })
}
