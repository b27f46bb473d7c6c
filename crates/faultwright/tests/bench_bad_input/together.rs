//! Two people at one job: the later one is told, and nothing of the earlier one's is overwritten.

use crate::Bench;
use crate::bench_server::Client;
use crate::entries::saved_revision;

/// How the form of a wire on the page names the wire as it was when the page was made.
fn wire_as_seen(client: &Client, job: &str, index: usize) -> String {
    let page = client.get(job).body_text();
    let (_, table) = page.split_once("id=\"wire-table\"").unwrap();
    let form = table.split("</form>").nth(index).unwrap();
    let (_, rest) = form.split_once("name=\"was\" value=\"").unwrap();
    rest.split('"').next().unwrap().to_owned()
}

#[test]
fn one_wire_changed_by_two() {
    let bench = Bench::open();
    let bo = bench.colleague("Bo");
    let seen = wire_as_seen(&bench.person, &bench.job, 4);
    assert_eq!(seen, "H1.b to cord.neutral, white");
    let change = |client: &Client, colour: &str| {
        let fields =
            [("index", "4"), ("was", seen.as_str()), ("from", "H1.b"), ("to", "cord.neutral"), ("colour", colour)];
        client.post(&bench.at("/wires/replace"), &fields)
    };
    assert_eq!(change(&bo, "grey").status, 200);
    let after_bo = bench.text();
    let late = change(&bench.person, "violet");
    late.says(409, "You saw: H1.b to cord.neutral, white; now it is: H1.b to cord.neutral, grey.");
    late.says(409, "nothing was overwritten");
    let removal = [("index", "4"), ("was", seen.as_str())];
    bench.person.post(&bench.at("/wires/remove"), &removal).says(409, "Someone else has changed this wire");
    assert_eq!(bench.text(), after_bo);

    // A wire that is gone, and with it the number of all later ones.
    let seen = wire_as_seen(&bench.person, &bench.job, 11);
    let fields = [("index", "11"), ("was", seen.as_str())];
    assert_eq!(bo.post(&bench.at("/wires/remove"), &fields).status, 200);
    bench.person.post(&bench.at("/wires/remove"), &fields).says(409, "it is not there any more");
}

#[test]
fn one_part_or_setup_changed_by_two() {
    let bench = Bench::open();
    let page = bench.person.get(&bench.job).body_text();
    let was = |id: &str| {
        let (_, rest) = page.split_once(&format!("id=\"{id}\"")).unwrap();
        let (_, rest) = rest.split_once("name=\"was\" value=\"").unwrap();
        rest.split('"').next().unwrap().replace("&quot;", "\"").replace("&amp;", "&")
    };
    let (part, setup) = (was("part-H1"), was("setup-cold"));
    let bo = bench.colleague("Bo");
    let set_part = |client: &Client, watts: &str| {
        let fields =
            [("name", "H1"), ("kind", "heater"), ("was", &part), ("field:volts", "120"), ("field:watts", watts)];
        client.post(&bench.at("/parts"), &fields)
    };
    assert_eq!(set_part(&bo, "500").status, 200);
    set_part(&bench.person, "400").says(409, "Someone else has changed or removed part H1 meanwhile.");
    let set_setup = |client: &Client, celsius: &str| {
        let fields = [("name", "cold"), ("supply", "off"), ("was", &setup), ("winding", celsius)];
        client.post(&bench.at("/setups"), &fields)
    };
    assert_eq!(set_setup(&bo, "21").status, 200);
    set_setup(&bench.person, "22").says(409, "Someone else has changed or removed setup cold meanwhile.");
    let text = bench.text();
    assert!(text.contains("watts = 500") && text.contains("winding_celsius = 21"), "{text}");
    assert_eq!(bo.post(&bench.at("/parts/rename"), &[("name", "L1"), ("to", "lamp")]).status, 200);
    let late = [("name", "L1"), ("to", "light")];
    bench.person.post(&bench.at("/parts/rename"), &late).says(409, "There is no part 'L1' any more");
}

#[test]
fn one_text_edited_by_two() {
    let bench = Bench::open();
    let bo = bench.colleague("Bo");
    let (base, text) = (saved_revision(&bench), bench.text());
    let save = |client: &Client, name: &str| {
        let text = text.replace("Dough-proofing cabinet", name);
        client.submit(&bench.at("/text"), &[("base", &base), ("text", &text)])
    };
    assert_eq!(save(&bo, "Bo's cabinet").status, 303);
    let after_bo = bench.text();
    let late = save(&bench.person, "My cabinet");
    late.says(409, "Someone else has changed this job meanwhile; nothing was overwritten.");
    // Who it was, their text, and one's own.
    late.says(409, "text edited (Bo)");
    late.says(409, "name = \"Bo's cabinet\"");
    late.says(409, "name = \"My cabinet\"");
    assert_eq!(bench.text(), after_bo);
    for base in ["", "x", "-1", "99999999999999999999"] {
        let answer = bench.person.submit(&bench.at("/text"), &[("base", base), ("text", &text)]);
        assert_eq!(answer.status, 409, "{base}");
    }
    let broken = [("base", "2"), ("text", "wires = [")];
    bench.person.submit(&bench.at("/text"), &broken).says(422, "Not saved: mend what is listed below");
    assert_eq!(bench.text(), after_bo);
}

#[test]
fn undo_takes_back_ones_own_change_only() {
    let bench = Bench::open();
    let bo = bench.colleague("Bo");
    let enter = |client: &Client, line: &str| {
        let answer = client.post(&bench.at("/readings"), &[("setup", "cold"), ("line", line)]);
        assert_eq!(answer.status, 200, "{}", answer.words());
    };
    let before = bench.text();
    enter(&bench.person, "M1.common M1.run 14.1");
    let own = saved_revision(&bench);
    enter(&bo, "M1.common M1.start 36.3");
    let both = bench.text();
    let undo = |client: &Client, revision: &str| client.post(&bench.at("/undo"), &[("revision", revision)]);
    let late = undo(&bench.person, &own);
    late.says(409, "Someone else has made a change since: reading added: 36.3 ohm, M1.common to M1.start");
    late.says(409, "(Bo)");
    assert_eq!(bench.text(), both);
    assert_eq!(undo(&bo, &saved_revision(&bench)).status, 200);
    let answer = bench.person.post(&bench.at("/history/restore"), &[("number", "1")]);
    assert_eq!((answer.status, bench.text()), (303, before));
    for revision in ["", "x", "0", "-5", "999", "99999999999999999999"] {
        let answer = undo(&bench.person, revision);
        assert!([404, 409].contains(&answer.status), "{revision}: {}", answer.words());
    }
    bench.person.post(&bench.at("/history/restore"), &[("number", "999")]).says(404, "no revision 999");
}

#[test]
fn a_job_put_away_is_not_destroyed() {
    let bench = Bench::open();
    assert_eq!(bench.person.submit(&bench.at("/remove"), &[]).status, 303);
    bench.person.get("/").says(200, "No jobs here.");
    bench.person.get("/?away=1").says(200, "Dough-proofing cabinet");
    assert_eq!(bench.person.submit(&bench.at("/unremove"), &[]).status, 303);
    bench.person.get("/").says(200, "Dough-proofing cabinet");
    let nobody = "/jobs/00000000-0000-4000-8000-000000000000";
    for action in ["/remove", "/unremove", "/undo", "/readings", "/photos/remove"] {
        let fields = [("revision", "2"), ("setup", "cold"), ("line", "M1.run M1.common 5"), ("photo", &nobody[6..])];
        assert_eq!(bench.person.submit(&format!("{nobody}{action}"), &fields).status, 404, "{action}");
    }
}
