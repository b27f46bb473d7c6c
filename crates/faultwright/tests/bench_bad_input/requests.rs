//! Requests that no page of the bench makes.

use crate::Bench;
use crate::bench_server::{Client, Server};

#[test]
fn forms_need_their_own_sessions_token() {
    let bench = Bench::open();
    let before = bench.text();
    let token = &bench.person.token;
    let other = Client::new(&bench.server).token;
    assert_ne!(&other, token);
    let entry = ("line", "M1.common M1.run 13");
    let longer = format!("{token}0");
    for wrong in ["", "0", &other, &token.to_uppercase(), &longer, &token[1..]] {
        let fields = [("setup", "cold"), entry, ("form_token", wrong)];
        let answer = bench.person.send(bench.person.request("POST", &bench.at("/readings")).form(&fields));
        answer.says(403, "This form is out of date, or does not come from this bench.");
        answer.says(403, "Reload the page");
    }
    let none = bench.person.request("POST", &bench.at("/readings")).form(&[("setup", "cold"), entry]);
    assert_eq!(bench.person.send(none).status, 403);
    let no_cookie = Client::stranger(&bench.server);
    let fields = [("setup", "cold"), entry, ("form_token", token)];
    assert_eq!(no_cookie.send(no_cookie.request("POST", &bench.at("/readings")).form(&fields)).status, 403);
    for path in [
        "/jobs/new",
        "/jobs/import",
        "/you",
        "/logout",
        &bench.at("/remove"),
        &bench.at("/unremove"),
        &bench.at("/unit"),
        &bench.at("/parts"),
        &bench.at("/parts/rename"),
        &bench.at("/parts/remove"),
        &bench.at("/wires"),
        &bench.at("/wires/replace"),
        &bench.at("/wires/remove"),
        &bench.at("/setups"),
        &bench.at("/setups/remove"),
        &bench.at("/precautions"),
        &bench.at("/symptoms"),
        &bench.at("/expect"),
        &bench.at("/readings/remove"),
        &bench.at("/readings/correct"),
        &bench.at("/symptoms/remove"),
        &bench.at("/undo"),
        &bench.at("/checks/setup"),
        &bench.at("/checks/refuse"),
        &bench.at("/checks/allow"),
        &bench.at("/history/restore"),
        &bench.at("/photos/remove"),
        &bench.at("/heat-run/begin"),
        &bench.at("/heat-run/rows"),
        &bench.at("/heat-run/rows/remove"),
        &bench.at("/heat-run/paste"),
        &bench.at("/heat-run/class"),
        "/learnt/use",
        &bench.at("/text"),
        &bench.at("/text/check"),
    ] {
        let answer = bench.person.send(bench.person.request("POST", path).form(&[("form_token", &other)]));
        assert_eq!(answer.status, 403, "{path}");
    }
    let mut thief = bench.colleague("Bo");
    thief.token = token.clone();
    thief.upload(&bench.job, "photo.png", b"no matter").says(403, "This form is out of date");
    assert_eq!(bench.text(), before);
}

#[test]
fn names_that_are_not_ours() {
    let bench = Bench::open();
    let ask = |host: &str| {
        bench.person.raw(format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n").as_bytes())
    };
    let port = bench.server.port;
    for ours in ["localhost".to_owned(), format!("localhost:{port}"), format!("127.0.0.1:{port}"), "[::1]".to_owned()] {
        assert_eq!(ask(&ours).status, 200, "{ours}");
    }
    for foreign in
        ["evil.example", "localhost.evil.example", "127.0.0.1.evil.example", "192.168.1.7", "bench.local", ""]
    {
        ask(foreign).says(421, "This bench does not go by that name.");
    }
    assert_eq!(bench.person.raw(b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n").status, 421);
    assert_eq!(
        bench.person.raw(b"GET /bench.js HTTP/1.1\r\nHost: evil.example\r\nConnection: close\r\n\r\n").status,
        421
    );
}

#[test]
fn a_further_name_is_ours_and_nobody_elses() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("bench.sqlite");
    let arguments = ["--port", "0", "--store", store.to_str().unwrap(), "--host", "bench.example"];
    let server = Server::start_with(&arguments, None);
    let stranger = Client::stranger(&server);
    let ask = |host: &str| stranger.send(stranger.request("GET", "/").header("host", host)).status;
    assert_eq!(["bench.example", "BENCH.example:443", "localhost"].map(ask), [200; 3]);
    assert_eq!(["evil.example", "evil.bench.example", "bench.example.evil.example", "example"].map(ask), [421; 4]);
}

#[test]
fn other_sites_cannot_change_anything() {
    let bench = Bench::open();
    let before = bench.text();
    let fields = [("setup", "cold"), ("line", "M1.common M1.run 13")];
    let here = format!("http://127.0.0.1:{}", bench.server.port);
    for (name, value) in [
        ("origin", "http://evil.example"),
        ("origin", "null"),
        ("origin", "http://127.0.0.1:1"),
        ("origin", &format!("{here}.evil.example")),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
    ] {
        let answer = bench.person.send(bench.person.form(&bench.at("/readings"), &fields).header(name, value));
        answer.says(403, "That request came from another site.");
    }
    assert_eq!(bench.text(), before);
    let own = bench.person.form(&bench.at("/readings"), &fields).header("origin", here);
    assert_eq!(bench.person.send(own.header("sec-fetch-site", "same-origin")).status, 303);
}

#[test]
fn addresses_lead_nowhere_else() {
    let bench = Bench::open();
    let ask = |path: &str| {
        bench.person.raw(format!("GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n").as_bytes())
    };
    for path in ["/jobs/../../etc/passwd", "/../../etc/passwd", "/jobs/x/y/z", "/nowhere", "//", "/jobs", "/jobs/"] {
        ask(path).says(404, "There is no such page.");
    }
    let upper = bench.job.to_uppercase().replace("/JOBS/", "/jobs/");
    for path in [
        "/jobs/%2e%2e",
        "/jobs/..",
        "/jobs/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "/jobs/%00",
        "/jobs/1",
        "/jobs/'%20OR%201=1--",
        "/jobs/%2e%2e/job.toml",
        "/jobs/%2e%2e%2f/wiring.svg",
        "/jobs/00000000-0000-4000-8000-000000000000",
    ] {
        let answer = ask(path);
        assert_eq!(answer.status, 404, "{path}");
        assert!(answer.words().to_lowercase().contains("there is no"), "{path}: {}", answer.words());
    }
    // The same job in other letters is that job or none, never another.
    assert!([200, 404].contains(&ask(&upper).status));
    for length in [1_000, 10_000, 60_000] {
        ask(&format!("/jobs/{}", "a".repeat(length))).says(404, "There is no such job.");
        ask(&format!("{}/photos/{}", bench.job, "a".repeat(length))).says(404, "There is no such photo.");
    }
    for path in ["/photos/..%2f..%2fbench.sqlite", "/photos/1", "/history/0", "/history/-1", "/history/999"] {
        assert_eq!(ask(&bench.at(path)).status, 404, "{path}");
    }
    // Longer addresses and heads than these are refused below the bench, without a word.
    for (length, status) in [(70_000, 414), (2_000_000, 431)] {
        let head = format!("GET /{} HTTP/1.1\r\nHost: localhost\r\n\r\n", "a".repeat(length));
        let answer = bench.person.bare(head.as_bytes());
        assert!(answer.body.is_empty());
        assert_eq!(answer.status, status);
    }
    assert_eq!(ask("/").status, 200);
}

#[test]
fn odd_questions_get_an_answer() {
    let bench = Bench::open();
    bench.person.get("/?from=tomorrow").says(422, "\"tomorrow\" is not a date");
    bench.person.get("/?to=2025-02-30").says(422, "is not a date");
    let many: Vec<String> = (0..200).map(|n| format!("word{n}")).collect();
    bench.person.get(&format!("/?words={}", many.join("+"))).says(422, "use fewer");
    bench.person.get("/?words=%25%5F%27%22%3B--").says(200, "No jobs here.");
    bench.person.get("/?words=%ff%fe").says(200, "No jobs here.");
    bench.person.get("/?words=%00").says(422, "NUL");
    bench.person.get(&bench.at("/parts/form?kind=zeppelin")).says(404, "no such kind of part");
    bench.person.post("/jobs/new", &[("name", " ")]).says(422, "a name for the unit is missing");
    bench.person.post("/jobs/new", &[("name", "x"), ("starter", "zeppelin")]).says(422, "no such starter");
}

#[test]
fn wrong_methods_and_bodies() {
    let bench = Bench::open();
    let (job, readings) = (bench.job.clone(), bench.at("/readings"));
    let finding = bench.at("/finding");
    for (method, path, allowed) in [
        ("PUT", "/", "GET"),
        ("POST", "/", "GET"),
        ("DELETE", job.as_str(), "GET"),
        ("POST", &finding, "GET"),
        ("GET", &readings, "POST"),
        ("PATCH", &readings, "POST"),
        ("OPTIONS", &readings, "POST"),
        ("TRACE", "/", "GET"),
        ("BREW", "/", "GET"),
    ] {
        let answer = bench.person.send(bench.person.request(method, path));
        answer.says(405, "That page does not take such a request.");
        // RFC 9110, 15.5.6: the answer says which methods there are.
        assert!(answer.header("allow").contains(allowed), "{method} {path}: {answer:?}");
    }
    let body = format!("form_token={}&setup=cold&line=M1.common+M1.run+13", bench.person.token);
    for kind in [None, Some("application/json"), Some("text/plain"), Some("multipart/form-data"), Some("\u{fc}")] {
        let request = bench.person.request("POST", &readings).body(body.clone());
        let request = kind.into_iter().fold(request, |request, kind| request.header("content-type", kind));
        bench.person.send(request).says(415, "The form could not be read.");
    }
    let photo = bench.person.request("POST", &bench.at("/photos")).body(body.clone());
    bench.person.send(photo).says(422, "no form with a photo");
    let large = format!("line={}", "x".repeat(300_000));
    let answer = bench.person.raw_form(&readings, "application/x-www-form-urlencoded", large.as_bytes());
    answer.says(413, "too much text");
    // Half a form: the connection ends before the body does.
    let head = format!("POST {readings} HTTP/1.1\r\nHost: localhost\r\nContent-Length: 999\r\n\r\nform_token=");
    drop(std::net::TcpStream::connect(("127.0.0.1", bench.server.port)).map(|mut stream| {
        std::io::Write::write_all(&mut stream, head.as_bytes()).unwrap();
    }));
    assert_eq!(bench.person.bare(b"\x16\x03\x01 no HTTP at all\r\n\r\n").status, 400);
    assert!(!bench.text().contains("ohms = 13,"), "a wrong request was carried out");
    assert_eq!(bench.person.get(&job).status, 200);
}
