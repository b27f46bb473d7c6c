//! Wrong input, mishaps and mischief at the bench, each over the real program: a clear word, the right status, nothing
//! changed that should not be.
//!
//! That every answer carries the headers that keep browsers from doing harm is held in `bench_server::Answer`, and that
//! the bench never panicked in `bench_server::Server`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "../bench_server/mod.rs"]
mod bench_server;

mod after_the_repair;
mod door;
mod entries;
mod odd_requests;
mod requests;
mod scripts;
mod starting;
mod together;
mod uploads;

use bench_server::{Client, DOUGH_PROOFER, Server};
use tempfile::TempDir;

/// A bench with one job on it and one person at it.
struct Bench {
    server: Server,
    person: Client,
    job: String,
    _folder: TempDir,
}

impl Bench {
    fn open() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let server = Server::start(&folder.path().join("bench.sqlite"));
        let person = Client::new(&server);
        let job = person.import(DOUGH_PROOFER);
        Self { server, person, job, _folder: folder }
    }

    /// An address below the job's.
    fn at(&self, rest: &str) -> String {
        format!("{}{rest}", self.job)
    }

    fn text(&self) -> String {
        self.person.export(&self.job)
    }

    /// Someone else at the same bench, who calls themselves by a name.
    fn colleague(&self, name: &str) -> Client {
        let colleague = Client::new(&self.server);
        assert_eq!(colleague.submit("/you", &[("name", name)]).status, 303);
        colleague
    }
}
