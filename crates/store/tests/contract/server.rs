//! The PostgreSQL server that tests use, and databases on it that are dropped afterwards.

use std::process::Command;
use std::sync::atomic::{AtomicU32, Ordering};

use postgres::config::Host;
use postgres::{Client, Config, NoTls};
use store::Place;

/// Names a server by URL, in the plain form `postgresql://user@host:port/database`; its user may create databases.
const VARIABLE: &str = "FAULTWRIGHT_TEST_POSTGRES";

pub struct Server {
    url: String,
}

/// The server, or a remark that there is none.
pub fn server() -> Option<Server> {
    let url = std::env::var(VARIABLE).ok();
    if url.is_none() {
        eprintln!("skipped: {VARIABLE} names no PostgreSQL server (see tools/postgres-for-tests.sh)");
    }
    url.map(|url| Server { url })
}

impl Server {
    pub fn at(url: &str) -> Self {
        Self { url: url.to_owned() }
    }

    /// A connection of its own, to prepare and to disturb.
    pub fn admin(&self) -> Client {
        Client::connect(&self.url, NoTls).unwrap()
    }

    pub fn host_and_port(&self) -> (String, u16) {
        let config: Config = self.url.parse().unwrap();
        match &config.get_hosts()[0] {
            Host::Tcp(host) => (host.clone(), config.get_ports()[0]),
            other => panic!("{VARIABLE} must name a host, not {other:?}"),
        }
    }

    /// The URL of another database on this server.
    pub fn url_of(&self, database: &str) -> String {
        format!("{}/{database}", self.url.rsplit_once('/').unwrap().0)
    }

    pub fn database(&self) -> Database<'_> {
        self.database_with("")
    }

    /// A new database, created with options.
    pub fn database_with(&self, options: &str) -> Database<'_> {
        static NUMBER: AtomicU32 = AtomicU32::new(0);
        let number = NUMBER.fetch_add(1, Ordering::Relaxed);
        let name = format!("faultwright_test_{}_{number}", std::process::id());
        self.admin().batch_execute(&format!("CREATE DATABASE {name} {options}")).unwrap();
        Database { server: self, name }
    }
}

pub struct Database<'s> {
    server: &'s Server,
    pub name: String,
}

impl Database<'_> {
    pub fn place(&self) -> Place {
        Place::parse(&self.url()).unwrap()
    }

    pub fn url(&self) -> String {
        self.server.url_of(&self.name)
    }

    pub fn client(&self) -> Client {
        Client::connect(&self.url(), NoTls).unwrap()
    }

    /// Cuts all connections to it, as a restart of the server does.
    pub fn cut_connections(&self) -> usize {
        let sql =
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = $1 AND pid <> pg_backend_pid()";
        self.server.admin().query(sql, &[&self.name]).unwrap().len()
    }
}

impl Drop for Database<'_> {
    fn drop(&mut self) {
        self.server.admin().batch_execute(&format!("DROP DATABASE {} WITH (FORCE)", self.name)).unwrap();
    }
}

/// Runs the script that makes throw-away servers, and gives what it prints.
pub fn script(action: &str, folder: &std::path::Path) -> String {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tools/postgres-for-tests.sh");
    // Its messages go to a file: a server that outlives the script would hold a pipe open.
    let log = std::fs::File::create(folder.with_extension("log")).unwrap();
    let output = Command::new(script).arg(action).arg(folder).stderr(log).output().unwrap();
    assert!(output.status.success(), "{}", std::fs::read_to_string(folder.with_extension("log")).unwrap());
    String::from_utf8(output.stdout).unwrap().trim().to_owned()
}
