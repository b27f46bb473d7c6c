//! A PostgreSQL database as a [`Connection`], not encrypted.
//!
//! Our tables are in a schema of their own, so that they never meet another program's. A lost connection is made anew: a
//! transaction that had not come to its commit is run again, one that broke during its commit is reported, for it may
//! have been saved.

use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use postgres::config::SslMode;
use postgres::types::{ToSql, Type};
use postgres::{Client, Config, NoTls};

use crate::connection::{Connection, Row, Statement, Value};
use crate::postgresql_trouble::{self, is_lost, with_causes};
use crate::{Trouble, migrate};

/// How long a server may take to accept a connection.
const CONNECT_TIMEOUT: Duration = Duration::from_secs(5);

/// How long to go on trying to reach a server that was reached before, such as one that is just being restarted.
const PATIENCE: Duration = Duration::from_secs(3);

/// How long to wait before trying again.
const PAUSE: Duration = Duration::from_millis(100);

/// How long a silent network may take to be noticed.
const SILENCE: Duration = Duration::from_secs(30);

/// Of the session: the schema; no endless wait for another program's lock; commits on the disk also where the server's
/// default is otherwise.
const SESSION: &str = "SET search_path TO faultwright; SET lock_timeout TO '5s'; \
    SELECT set_config('synchronous_commit', 'on', false) WHERE current_setting('synchronous_commit') = 'off'";

/// Benches that make the tables at the same time queue for this lock: "FWBN" in ASCII.
const MIGRATION_LOCK: i64 = 0x4657_424E;

/// A PostgreSQL database, connected to or about to be again.
pub(crate) struct PostgresConnection {
    config: Config,
    client: Option<Client>,
}

/// Why a transaction did not go through.
enum Failure {
    /// The connection was lost before the commit: nothing happened.
    Lost(String),
    /// Anything else.
    Trouble(Trouble),
}

impl PostgresConnection {
    /// Connects to the database that a URL names and makes or updates our tables there.
    pub(crate) fn open(url: &str) -> Result<Self, Trouble> {
        let mut config: Config = url.parse().map_err(|error| Trouble::NotAPlace { reason: with_causes(&error) })?;
        if config.get_hosts().is_empty() {
            return Err(Trouble::NotAPlace { reason: "the URL names no server".to_owned() });
        }
        if config.get_ssl_mode() == SslMode::Require {
            return Err(Trouble::NeedsEncryption);
        }
        if config.get_connect_timeout().is_none() {
            config.connect_timeout(CONNECT_TIMEOUT);
        }
        if config.get_tcp_user_timeout().is_none() {
            config.tcp_user_timeout(SILENCE).keepalives_idle(SILENCE);
        }
        config.application_name("faultwright");
        let mut client = connect(&config)?;
        prepare_database(&mut client)?;
        client.batch_execute(SESSION).map_err(|error| postgresql_trouble::of(&error))?;
        Ok(Self { config, client: Some(client) })
    }

    /// The connection, made anew where it was lost.
    fn client(&mut self) -> Result<&mut Client, Trouble> {
        let client = match self.client.take().filter(|client| !client.is_closed()) {
            Some(client) => client,
            None => self.connect_again()?,
        };
        Ok(self.client.insert(client))
    }

    fn connect_again(&self) -> Result<Client, Trouble> {
        let begun = Instant::now();
        loop {
            let connected = connect(&self.config).and_then(|mut client| {
                client.batch_execute(SESSION).map_err(|error| postgresql_trouble::of_connecting(&error))?;
                Ok(client)
            });
            match connected {
                Err(Trouble::Unreachable(_)) if begun.elapsed() < PATIENCE => thread::sleep(PAUSE),
                result => return result,
            }
        }
    }

    /// Runs `work`, once more on a new connection when the old one turns out to be lost.
    fn run<T>(&mut self, work: impl Fn(&mut Client) -> Result<T, Failure>) -> Result<T, Trouble> {
        let mut tried_before = false;
        loop {
            match work(self.client()?) {
                Ok(result) => return Ok(result),
                Err(Failure::Trouble(trouble)) => return Err(trouble),
                Err(Failure::Lost(detail)) => {
                    self.client = None;
                    if tried_before {
                        return Err(Trouble::ConnectionLost(detail));
                    }
                    tried_before = true;
                }
            }
        }
    }
}

impl Connection for PostgresConnection {
    fn read(&mut self, statement: &Statement) -> Result<Vec<Row>, Trouble> {
        self.run(|client| {
            let rows = client
                .query_typed(&numbered(&statement.sql), &parameters(statement))
                .map_err(|error| failure(&error))?;
            rows.iter().map(row).collect::<Result<_, _>>().map_err(|error| failure(&error))
        })
    }

    fn write(&mut self, statements: &[Statement]) -> Result<bool, Trouble> {
        self.run(|client| {
            let mut transaction = client.transaction().map_err(|error| failure(&error))?;
            for (index, statement) in statements.iter().enumerate() {
                let changed = transaction
                    .execute_typed(&numbered(&statement.sql), &parameters(statement))
                    .map_err(|error| failure(&error))?;
                if index == 0 && changed == 0 {
                    return Ok(false);
                }
            }
            transaction.commit().map_err(|error| match failure(&error) {
                Failure::Lost(_) => Failure::Trouble(Trouble::MaybeSaved),
                failure => failure,
            })?;
            Ok(true)
        })
    }
}

impl Drop for PostgresConnection {
    /// Closing blocks, and would panic on a thread that drives async tasks, where a program may well end.
    fn drop(&mut self) {
        if let Some(client) = self.client.take() {
            let _ = thread::spawn(move || drop(client)).join();
        }
    }
}

/// Connects, or gives up: the client itself waits without end for a service that takes the connection and says nothing.
fn connect(config: &Config) -> Result<Client, Trouble> {
    let addresses = u32::try_from(config.get_hosts().len()).unwrap_or(1);
    let patience = CONNECT_TIMEOUT + addresses * config.get_connect_timeout().copied().unwrap_or_default();
    let (sender, receiver) = mpsc::channel();
    let config = config.clone();
    // Where nobody waits any more, what it comes to is dropped.
    thread::spawn(move || {
        let _ = sender.send(config.connect(NoTls));
    });
    match receiver.recv_timeout(patience) {
        Ok(connected) => connected.map_err(|error| postgresql_trouble::of_connecting(&error)),
        Err(_) => Err(Trouble::Unreachable("it does not answer".to_owned())),
    }
}

/// Our schema and tables.
fn prepare_database(client: &mut Client) -> Result<(), Trouble> {
    let native = |error: postgres::Error| postgresql_trouble::of(&error);
    let encoding: String = client.query_one("SHOW server_encoding", &[]).map_err(native)?.get(0);
    if encoding != "UTF8" {
        return Err(Trouble::NotUnicode(encoding));
    }
    client.batch_execute(SESSION).map_err(native)?;
    client.execute("SELECT pg_advisory_lock($1)", &[&MIGRATION_LOCK]).map_err(native)?;
    // Whoever may only use the schema may not try to create it either, so it is looked for first.
    let schema = client.query_opt("SELECT 1 FROM pg_namespace WHERE nspname = 'faultwright'", &[]).map_err(native)?;
    if schema.is_none() {
        client.batch_execute("CREATE SCHEMA faultwright").map_err(native)?;
    }
    if migrate::is_behind(newest_migration(client)?)? {
        migrate::runner()
            .run(client)
            .map_err(|error| migrate::trouble(&error, |error: &postgres::Error| postgresql_trouble::of(error)))?;
    }
    client.execute("SELECT pg_advisory_unlock($1)", &[&MIGRATION_LOCK]).map_err(native)?;
    Ok(())
}

/// Number of the newest migration in this database; `None` when it has no tables yet.
fn newest_migration(client: &mut Client) -> Result<Option<i64>, Trouble> {
    let native = |error: postgres::Error| postgresql_trouble::of(&error);
    let history = client
        .query_opt(
            "SELECT 1 FROM pg_tables WHERE schemaname = 'faultwright' AND tablename = $1",
            &[&migrate::HISTORY_TABLE],
        )
        .map_err(native)?;
    if history.is_none() {
        return Ok(None);
    }
    let newest = format!("SELECT CAST(max(version) AS BIGINT) FROM {}", migrate::HISTORY_TABLE);
    client.query_one(&newest, &[]).and_then(|row| row.try_get(0)).map_err(native)
}

fn failure(error: &postgres::Error) -> Failure {
    if is_lost(error) { Failure::Lost(with_causes(error)) } else { Failure::Trouble(postgresql_trouble::of(error)) }
}

/// PostgreSQL writes `$1` where we write `?1`.
fn numbered(sql: &str) -> String {
    sql.replace('?', "$")
}

/// Values with their types: what PostgreSQL would make of `?1 >= 1` by itself is a smaller number.
fn parameters(statement: &Statement) -> Vec<(&(dyn ToSql + Sync), Type)> {
    fn parameter(value: &Value) -> (&(dyn ToSql + Sync), Type) {
        match value {
            Value::Text(text) => (text, Type::TEXT),
            Value::Integer(number) => (number, Type::INT8),
        }
    }
    statement.values.iter().map(parameter).collect()
}

fn row(row: &postgres::Row) -> Result<Row, postgres::Error> {
    let value = |(column, of): (usize, &postgres::Column)| match *of.type_() {
        Type::INT8 => row.try_get(column).map(Value::Integer),
        _ => row.try_get(column).map(Value::Text),
    };
    row.columns().iter().enumerate().map(value).collect::<Result<_, _>>().map(Row::new)
}
