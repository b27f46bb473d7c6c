//! Names that are scripts stay names.

use crate::Bench;
use crate::bench_server::Answer;

/// Ends an attribute and a text field first.
const SCRIPT: &str = "x\"'></textarea><script>alert(1)</script>";

fn harmless(path: &str, answer: &Answer) {
    let body = answer.body_text().to_lowercase();
    assert!(!body.contains("<script>alert"), "{path}: {body}");
    assert!(!body.contains("x\"'>"), "{path}: {body}");
}

#[test]
fn names_are_never_run() {
    let bench = Bench::open();
    let (person, at) = (&bench.person, |rest: &str| bench.at(rest));
    assert_eq!(person.submit("/you", &[("name", SCRIPT)]).status, 303);
    let photo = include_bytes!("../../../../demos/dough-proofer.toml");
    harmless("a photo refused", &person.upload(&bench.job, SCRIPT, photo));
    for (path, fields) in [
        ("/unit", vec![("name", SCRIPT), ("note", SCRIPT)]),
        ("/wires", vec![("from", "M1.run"), ("to", "C1.a"), ("colour", SCRIPT), ("label", SCRIPT)]),
        ("/wires", vec![("from", SCRIPT), ("to", SCRIPT)]),
        ("/parts/rename", vec![("name", "H1"), ("to", SCRIPT)]),
        ("/parts/rename", vec![("name", SCRIPT), ("to", "H2")]),
        ("/parts", vec![("name", SCRIPT), ("kind", "heater"), ("field:volts", "120"), ("field:watts", "100")]),
        ("/parts", vec![("name", "H3"), ("kind", SCRIPT)]),
        ("/parts", vec![("name", "H3"), ("kind", "heater"), ("field:make", SCRIPT), ("field:volts", SCRIPT)]),
        ("/setups", vec![("name", SCRIPT), ("supply", "off")]),
        ("/setups", vec![("name", "odd"), ("supply", "off"), ("winding", SCRIPT), ("lifted", SCRIPT)]),
        ("/readings", vec![("setup", "cold"), ("line", SCRIPT)]),
        ("/readings", vec![("setup", SCRIPT), ("line", "M1.common M1.run 13")]),
        ("/symptoms", vec![("setup", "cold"), ("part", SCRIPT), ("word", SCRIPT)]),
        ("/precautions", vec![("setup", SCRIPT), ("in-place", "yes")]),
        ("/readings/remove", vec![("index", "0"), ("was", SCRIPT)]),
        ("/wires/replace", vec![("index", "0"), ("was", SCRIPT), ("from", SCRIPT), ("to", SCRIPT)]),
        ("/text/check", vec![("text", SCRIPT)]),
        ("/text", vec![("text", SCRIPT), ("base", SCRIPT)]),
        ("/undo", vec![("revision", SCRIPT)]),
        ("/history/restore", vec![("number", SCRIPT)]),
        ("/expect", vec![("setup", "cold"), ("from", SCRIPT), ("to", SCRIPT), ("value", SCRIPT)]),
    ] {
        harmless(path, &person.post(&at(path), &fields));
        harmless(path, &person.submit(&at(path), &fields));
    }
    harmless("/jobs/new", &person.submit("/jobs/new", &[("name", "x"), ("starter", SCRIPT)]));
    harmless("/jobs/import", &person.submit("/jobs/import", &[("text", SCRIPT)]));
    let encoded: String = SCRIPT.bytes().map(|byte| format!("%{byte:02X}")).collect();
    for path in [format!("/?words={encoded}&from={encoded}"), format!("/?words={encoded}"), format!("/jobs/{encoded}")]
    {
        harmless(&path, &person.get(&path));
    }
    harmless("/parts/form", &person.get(&at(&format!("/parts/form?kind={encoded}"))));

    // Those that are allowed are on the pages, as text.
    let escaped = "&lt;script&gt;alert(1)&lt;/script&gt;";
    for path in [
        "/",
        &bench.job,
        &at("/history"),
        &at("/text"),
        &at("/pieces"),
        &at("/history/2"),
        &at("/finding"),
        &at("/plan/tree"),
    ] {
        let page = person.get(path);
        assert_eq!(page.status, 200, "{path}: {}", page.words());
        harmless(path, &page);
        assert!(page.body_text().contains(escaped), "{path} does not show the name at all");
    }
    harmless("/you", &person.get("/you"));
    harmless("/wiring.svg", &person.get(&at("/wiring.svg")));
    // The file itself holds it as it is; it is to be kept, not to be looked at.
    let file = person.get(&at("/job.toml"));
    assert!(file.body_text().contains("<script>alert(1)</script>"));
    assert!(file.header("content-type").starts_with("application/toml"));
    let disposition = file.header("content-disposition");
    assert!(disposition.starts_with("attachment; filename=\"") && !disposition.contains(['<', '\'', '/']));
}
