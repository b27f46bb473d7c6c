//! The promises on PostgreSQL, and what only a server can do wrong.

use std::io::Write;
use std::net::TcpListener;
use std::thread;
use std::time::{Duration, Instant};

use store::{Place, StoreError, Trouble, open};

use crate::server::{Server, script, server};
use crate::{change, every_promise, new_job, together};

#[test]
fn a_database_keeps_every_promise() {
    let Some(server) = server() else { return };
    let database = server.database();
    every_promise(&*open(&database.place()).unwrap());
}

#[test]
fn several_benches_share_a_database() {
    let Some(server) = server() else { return };
    for _ in 0..3 {
        together::open_at_once_and_compete(&server.database().place());
    }
    together::another_bench_is_noticed(&server.database().place());
}

#[test]
fn what_was_kept_is_there_when_opened_again() {
    let Some(server) = server() else { return };
    let database = server.database();
    let job = open(&database.place()).unwrap().create(&new_job("Fan", "motor", "first")).unwrap();
    assert_eq!(open(&database.place()).unwrap().head(&job).unwrap().text, "first");
}

#[test]
fn a_cut_connection_is_made_anew() {
    let Some(server) = server() else { return };
    let database = server.database();
    let store = open(&database.place()).unwrap();
    let job = store.create(&new_job("Fan", "", "first")).unwrap();
    for base in 1..10 {
        assert_eq!(database.cut_connections(), 1);
        assert_eq!(store.append(&job, base, &change("Fan", "next", base)).unwrap(), base + 1);
        assert_eq!(database.cut_connections(), 1);
        assert_eq!(store.head(&job).unwrap().number, base + 1);
    }
}

/// Its own server, which it stops and starts.
#[test]
fn a_restart_of_the_server_is_survived() {
    if server().is_none() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    // The server's user must get there.
    let open_to_all = std::os::unix::fs::PermissionsExt::from_mode(0o755);
    std::fs::set_permissions(folder.path(), open_to_all).unwrap();
    let folder = folder.path().join("server");
    let server = Server::at(&script("start", &folder));
    let store = open(&Place::parse(&server.url_of("postgres")).unwrap()).unwrap();
    let job = store.create(&new_job("Fan", "", "first")).unwrap();

    script("stop", &folder);
    script("start", &folder);
    assert_eq!(store.append(&job, 1, &change("Fan", "second", 1)).unwrap(), 2);

    script("stop", &folder);
    let error = store.append(&job, 2, &change("Fan", "third", 2)).unwrap_err();
    assert!(is(&error, |trouble| matches!(trouble, Trouble::Unreachable(_))), "{error}");
    let error = store.head(&job).unwrap_err();
    assert!(is(&error, |trouble| matches!(trouble, Trouble::Unreachable(_))), "{error}");
    // It comes back while someone waits for an answer.
    let answer = thread::scope(|scope| {
        scope.spawn(|| script("start", &folder));
        (0..10).find_map(|_| store.head(&job).ok()).unwrap()
    });
    assert_eq!((answer.number, answer.text.as_str()), (2, "second"));
    drop(store);
    script("stop", &folder);
}

#[test]
fn a_wrong_address_is_told_apart() {
    let Some(server) = server() else { return };
    let (host, port) = server.host_and_port();
    let no_server = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    for (url, expected) in [
        (server.url_of("no_such_database"), "no such database"),
        (format!("postgresql://faultwright@{no_server}/postgres"), "cannot be reached"),
        (format!("postgresql://faultwright@no-such-host.invalid:{port}/postgres"), "cannot be reached"),
        (format!("postgresql://no_such_user@{host}:{port}/postgres"), "user and password"),
        (format!("postgresql://faultwright@{host}:{port}/postgres?sslmode=require"), "encrypt"),
        (format!("postgresql://faultwright@{host}:seventy/postgres"), "give the path of a file, or a URL"),
        (format!("postgresql://faultwright@{host}:{port}/postgres?colour=red"), "give the path of a file, or a URL"),
        ("postgresql:///postgres".to_owned(), "names no server"),
    ] {
        let error = open(&Place::parse(&url).unwrap()).map(drop).unwrap_err();
        assert!(error.to_string().contains(expected), "{url} gave: {error}");
    }
}

#[test]
fn a_wrong_password_is_told_and_never_shown() {
    let Some(server) = server() else { return };
    let (host, port) = server.host_and_port();
    // The role of the script's rule for passwords; a server that was made otherwise may let everybody in.
    let role = "faultwright_with_password";
    server
        .admin()
        .batch_execute(&format!("DROP ROLE IF EXISTS {role}; CREATE ROLE {role} LOGIN PASSWORD 'r1ght'"))
        .unwrap();
    let database = server.database_with(&format!("OWNER {role}"));
    let url = |login: &str| format!("postgresql://{login}@{host}:{port}/{}", database.name);
    assert!(open(&Place::parse(&url(&format!("{role}:r1ght"))).unwrap()).is_ok());
    for login in [format!("{role}:wr0ng"), role.to_owned()] {
        match open(&Place::parse(&url(&login)).unwrap()).map(drop) {
            Err(error) => {
                assert!(is(&error, |trouble| matches!(trouble, Trouble::WrongPassword(_))), "{error}");
                assert!(!format!("{error} {error:?}").contains("wr0ng"), "{error}");
            }
            Ok(()) => eprintln!("skipped: this server asks {role} for no password"),
        }
    }
    drop(database);
    server.admin().batch_execute(&format!("DROP ROLE {role}")).unwrap();
}

#[test]
fn another_service_on_the_port_is_told() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    thread::spawn(move || {
        for mut stream in listener.incoming().flatten() {
            let _ = stream.write_all(b"HTTP/1.1 400 Bad Request\r\n\r\n");
        }
    });
    let error = open(&Place::parse(&format!("postgresql://me@{address}/jobs")).unwrap()).map(drop).unwrap_err();
    assert!(is(&error, |trouble| matches!(trouble, Trouble::Unreachable(_))), "{error}");
}

#[test]
fn a_silent_service_is_not_waited_for() {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let address = listener.local_addr().unwrap();
    let begun = Instant::now();
    let url = format!("postgresql://me@{address}/jobs?connect_timeout=1");
    let error = open(&Place::parse(&url).unwrap()).map(drop).unwrap_err();
    assert!(is(&error, |trouble| matches!(trouble, Trouble::Unreachable(_))), "{error}");
    assert!(begun.elapsed() < Duration::from_secs(20));
}

#[test]
fn other_programs_tables_are_left_alone() {
    let Some(server) = server() else { return };
    let database = server.database();
    let mut other = database.client();
    other.batch_execute("CREATE TABLE public.jobs (id int); INSERT INTO public.jobs VALUES (7)").unwrap();
    let store = open(&database.place()).unwrap();
    let job = store.create(&new_job("Fan", "", "first")).unwrap();
    assert_eq!(store.head(&job).unwrap().text, "first");
    let ids: Vec<i32> = other.query("SELECT id FROM public.jobs", &[]).unwrap().iter().map(|row| row.get(0)).collect();
    assert_eq!(ids, [7]);
}

#[test]
fn a_database_that_cannot_serve_is_refused() {
    let Some(server) = server() else { return };
    let ascii = server.database_with("ENCODING 'SQL_ASCII' LC_COLLATE 'C' LC_CTYPE 'C' TEMPLATE template0");
    let error = open(&ascii.place()).map(drop).unwrap_err();
    assert!(is(&error, |trouble| *trouble == Trouble::NotUnicode("SQL_ASCII".to_owned())), "{error}");

    let read_only = server.database();
    let sql = format!("ALTER DATABASE {} SET default_transaction_read_only = on", read_only.name);
    server.admin().batch_execute(&sql).unwrap();
    let error = open(&read_only.place()).map(drop).unwrap_err();
    assert!(is(&error, |trouble| *trouble == Trouble::ReadOnly), "{error}");

    let newer = server.database();
    drop(open(&newer.place()).unwrap());
    let sql = "INSERT INTO faultwright.refinery_schema_history VALUES (999, 'later', '2099-01-01T00:00:00Z', '1')";
    newer.client().batch_execute(sql).unwrap();
    let error = open(&newer.place()).map(drop).unwrap_err();
    assert!(is(&error, |trouble| matches!(trouble, Trouble::Newer { found: 999, .. })), "{error}");
}

#[test]
fn a_user_who_may_not_is_told() {
    let Some(server) = server() else { return };
    let (host, port) = server.host_and_port();
    let role = "faultwright_stranger";
    server.admin().batch_execute(&format!("DROP ROLE IF EXISTS {role}; CREATE ROLE {role} LOGIN")).unwrap();
    let database = server.database();
    let place = Place::parse(&format!("postgresql://{role}@{host}:{port}/{}", database.name)).unwrap();
    let error = open(&place).map(drop).unwrap_err();
    assert!(is(&error, |trouble| matches!(trouble, Trouble::NotAllowed(_))), "{error}");
    drop(database);
    server.admin().batch_execute(&format!("DROP ROLE {role}")).unwrap();
}

#[test]
fn another_programs_lock_is_not_waited_for_long() {
    let Some(server) = server() else { return };
    let database = server.database();
    let store = open(&database.place()).unwrap();
    let job = store.create(&new_job("Fan", "", "first")).unwrap();
    let mut other = database.client();
    let mut lock = other.transaction().unwrap();
    lock.batch_execute("LOCK TABLE faultwright.jobs").unwrap();
    let begun = Instant::now();
    let error = store.append(&job, 1, &change("Fan", "second", 1)).unwrap_err();
    assert!(is(&error, |trouble| *trouble == Trouble::Locked), "{error}");
    assert!(begun.elapsed() < Duration::from_secs(20));
    lock.rollback().unwrap();
    assert_eq!(store.append(&job, 1, &change("Fan", "second", 1)).unwrap(), 2);
}

/// Whether an error is about the database, and of one kind.
pub fn is(error: &StoreError, kind: impl Fn(&Trouble) -> bool) -> bool {
    matches!(error, StoreError::Place { trouble, .. } if kind(trouble))
}
