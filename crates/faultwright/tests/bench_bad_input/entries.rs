//! Readings that are none.

use crate::Bench;
use crate::bench_server::Client;

#[test]
fn nonsense_is_told_and_not_kept() {
    let bench = Bench::open();
    let before = bench.text();
    for (line, words) in [
        ("total nonsense", "unknown name 'total'"),
        ("5 5 5", "'5' stands where a name belongs"),
        ("M1.common M1.run", "no value after M1.common and M1.run"),
        ("M1.common M1.run NaN", "no value after M1.common and M1.run"),
        ("M1.common M1.run infinity", "no value after M1.common and M1.run"),
        ("M1.common M1.run 1e999", "'e999' after the number is not a unit"),
        ("M1.common M1.run 1e400 ohm", "is not a unit"),
        ("M1.common M1.run -5", "write the size without it"),
        ("M1.common M1.run -5 ohm", "write the size without it"),
        ("M1.common M1.run 1,234,5", "has a comma"),
        ("M1.common M1.run 27.1 furlongs", "the units are ohm, uF, V, A, W, rpm and s"),
        ("M1.common M1.common 5", "both probes at M1.common"),
        ("M1.common M1.run dead", "ohms cannot be dead"),
        ("M1.common M1.run 5 A", "amps"),
        ("H1 300 rpm", "'H1' does not turn"),
        ("M1 explodes", "no word for a symptom"),
        ("\u{0}", "unknown name"),
        ("M1.common M1.run 5\nM1.common M1.start 6", "unit"),
    ] {
        bench.person.post(&bench.at("/readings"), &[("setup", "cold"), ("line", line)]).says(422, words);
    }
    let far = "9".repeat(400);
    let answer =
        bench.person.post(&bench.at("/readings"), &[("setup", "cold"), ("line", &format!("M1.common M1.run {far}"))]);
    assert_eq!(answer.status, 422, "{}", answer.words());
    bench.person.post(&bench.at("/readings"), &[("setup", "cold"), ("line", " ")]).says(422, "is missing");
    bench
        .person
        .post(&bench.at("/readings"), &[("setup", "cold"), ("from", "M1.run")])
        .says(422, "what the meter shows");
    bench.person.post(&bench.at("/readings"), &[("line", "M1.common M1.run 13")]).says(422, "a setup is missing");
    let nowhere = [("setup", "warm"), ("line", "M1.common M1.run 13")];
    bench.person.post(&bench.at("/readings"), &nowhere).says(422, "There is no setup 'warm'");
    let whistles = [("setup", "cold"), ("part", "M1"), ("word", "whistles")];
    bench.person.post(&bench.at("/symptoms"), &whistles).says(422, "none of the words");
    assert_eq!(bench.text(), before);
}

#[test]
fn an_unknown_name_is_answered_with_the_nearest() {
    let bench = Bench::open();
    for (line, nearest) in [
        ("M1.comon M1.run 13", "did you mean M1.common"),
        ("M1.common M1.rum 13", "did you mean M1.run"),
        ("cord.neutrl H1.b 5", "did you mean cord.neutral"),
    ] {
        bench.person.post(&bench.at("/readings"), &[("setup", "cold"), ("line", line)]).says(422, nearest);
    }
    let wire = [("from", "M1.strat"), ("to", "C1.a")];
    bench.person.post(&bench.at("/wires"), &wire).says(422, "M1.start");
}

#[test]
fn a_correction_that_is_none() {
    let bench = Bench::open();
    // The page itself says how it names the reading of 13 ohms, the eighth in the job.
    let page = bench.person.get(&bench.job).body_text();
    let (_, form) = page.split_once("/readings/correct").unwrap();
    let (_, form) = form.split_once("name=\"index\" value=\"7\"").expect("the reading is listed");
    let (_, was) = form.split_once("name=\"was\" value=\"").unwrap();
    let was = was.split('"').next().unwrap();
    assert!(was.starts_with("13") && was.contains("M1.common to M1.run"), "{was}");
    let correct = |value: &str| {
        bench.person.post(&bench.at("/readings/correct"), &[("index", "7"), ("was", was), ("value", value)])
    };
    for value in ["NaN", "-13", "1e999", "thirteen", ""] {
        assert_eq!(correct(value).status, 422, "{value}");
    }
    correct("13.2").says(200, "13.2");
    // It is another one now.
    correct("13.4").says(409, "now it is: 13.2");
    for index in ["-1", "99999999999999999999", "x", ""] {
        let fields = [("index", index), ("was", was), ("value", "13.2")];
        bench.person.post(&bench.at("/readings/correct"), &fields).says(422, "is no number for index");
    }
    assert_eq!(bench.text().matches("ohms = 13.2").count(), 1);
}

#[test]
fn live_setups_ask_for_their_precautions_first() {
    let bench = Bench::open();
    let before = bench.text();
    let enter = |client: &Client| {
        client.post(&bench.at("/readings"), &[("setup", "proofing"), ("line", "M1.run M1.common 118.4")])
    };
    let precautions = |client: &Client, said: &str| {
        client.post(&bench.at("/precautions"), &[("setup", "proofing"), ("in-place", said)])
    };
    enter(&bench.person).says(422, "Setup proofing is live: confirm first that its precautions are in place.");
    let hums = [("setup", "proofing"), ("part", "M1"), ("word", "hums")];
    bench.person.post(&bench.at("/symptoms"), &hums).says(422, "is live: confirm first");
    precautions(&bench.person, "").says(422, "Tick the box first");
    // One person's word is not another's, nor one setup's.
    let colleague = bench.colleague("Bo");
    assert_eq!(precautions(&colleague, "yes").status, 200);
    enter(&bench.person).says(422, "is live: confirm first");
    assert_eq!(bench.text(), before);

    assert_eq!(precautions(&bench.person, "yes").status, 200);
    enter(&bench.person).says(200, "118.4 V");
    let push = [("setup", "after a push"), ("line", "M1 900 rpm")];
    bench.person.post(&bench.at("/readings"), &push).says(422, "is live: confirm first");
    // Ohms in it are wrong even so.
    let ohms = [("setup", "proofing"), ("line", "M1.run M1.common 13 ohm")];
    bench.person.post(&bench.at("/readings"), &ohms).says(422, "ohms in a setup where the supply is on");
    // A change to the setup makes it another one.
    let text = bench.text().replacen("winding_celsius = 40", "winding_celsius = 41", 1);
    let revision = saved_revision(&bench);
    assert_eq!(bench.person.submit(&bench.at("/text"), &[("base", &revision), ("text", &text)]).status, 303);
    enter(&bench.person).says(422, "is live: confirm first");
}

#[test]
fn setups_that_are_none() {
    let bench = Bench::open();
    let before = bench.text();
    for (winding, words) in [
        ("NaN", "not a finite number"),
        ("1e999", "not a finite number"),
        ("-500", "between"),
        ("hot", "no temperature"),
    ] {
        let fields = [("name", "odd"), ("supply", "off"), ("winding", winding)];
        bench.person.post(&bench.at("/setups"), &fields).says(422, words);
    }
    let half_a_jumper = [("jumper-from", "M1.run"), ("jumper-to", "")];
    let odd: [&[(&str, &str)]; 4] =
        [&[("position:switch", "sideways")], &[("lifted", "M1.nowhere")], &[("held", "M9")], &half_a_jumper];
    for fields in odd {
        let named = [("name", "odd"), ("supply", "off")];
        let answer = bench.person.post(&bench.at("/setups"), &[&named, fields].concat());
        assert_eq!(answer.status, 422, "{fields:?}: {}", answer.words());
    }
    bench
        .person
        .post(&bench.at("/setups"), &[("name", "cold"), ("supply", "on")])
        .says(422, "There is a setup 'cold' already");
    assert_eq!(bench.text(), before);
}

/// The number of the newest revision, as the page shows it.
pub fn saved_revision(bench: &Bench) -> String {
    let page = bench.person.get(&bench.job).body_text();
    let (_, rest) = page.split_once("id=\"saved\" data-revision=\"").unwrap();
    rest.split('"').next().unwrap().to_owned()
}

#[test]
fn a_refusal_is_written_and_taken_back_and_one_of_nothing_is_told() {
    let bench = Bench::open();
    let before = bench.text();
    bench.person.post(&bench.at("/checks/refuse"), &[("what", "amp")]).says(422, "did you mean amps");
    bench.person.post(&bench.at("/checks/allow"), &[("what", "amps")]).says(422, "no refusal");
    bench.person.post(&bench.at("/checks/refuse"), &[("what", "")]).says(422, "is missing");
    assert_eq!(bench.text(), before);
    assert_eq!(bench.person.post(&bench.at("/checks/refuse"), &[("what", "amps")]).status, 200);
    bench
        .person
        .post(&bench.at("/housings"), &[("name", "lid"), ("open", "yes")])
        .says(422, "there is no housing 'lid'");
    bench.person.post(&bench.at("/housings"), &[("name", ""), ("open", "yes")]).says(422, "is missing");
    bench.person.post(&bench.at("/housings"), &[("name", "lid"), ("open", "ajar")]).says(422, "yes or no");
    let refused = bench.text();
    assert!(refused.contains("\"amps\",") && refused != before, "{refused}");
    assert_eq!(bench.person.post(&bench.at("/checks/allow"), &[("what", "amps")]).status, 200);
    assert!(!bench.text().contains("\"amps\","));
}
