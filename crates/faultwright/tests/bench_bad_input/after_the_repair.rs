//! Heat runs, substitutes and what the shop has learnt: wrong input is told with its row, and nothing is lost.

use crate::Bench;
use crate::bench_server::Client;

/// The repaired sealer with three rows of its heat run.
fn sealer(bench: &Bench) -> String {
    let demo = include_str!("../../../../demos/heat-sealer.toml");
    let (head, tail) = demo.split_once("[[repaired.logs]]").unwrap();
    let (_, safety) = tail.split_once("# The safety tests").unwrap();
    let log = "[[repaired.logs]]\nrun = \"sealing after the repair\"\nminutes = [0, 2, 4]\nchannels = [{ celsius = [20.9, 26.9, 31.7], at = \"T1.winding\" }]";
    bench.person.import(&format!("{head}{log}\n\n# The safety tests{safety}"))
}

const RUN: (&str, &str) = ("run", "sealing after the repair");
const WINDING: &str = "value:celsius:T1.winding";

fn confirm(client: &Client, job: &str) {
    let fields = [("setup", "heat 3"), ("in-place", "yes")];
    assert_eq!(client.post(&format!("{job}/precautions"), &fields).status, 200);
}

#[test]
fn a_row_of_a_heat_run_that_is_none() {
    let bench = Bench::open();
    let job = sealer(&bench);
    let rows = format!("{job}/heat-run/rows");
    let good = [RUN, ("minute", "6"), (WINDING, "35.1")];
    bench.person.post(&rows, &good).says(422, "is live: confirm first");
    confirm(&bench.person, &job);
    let before = bench.person.export(&job);
    for (minute, value, words) in [
        ("6", "warm", "Row 4: T1.winding: 'warm' is no number."),
        ("6", "6,4,1", "Row 4: T1.winding: '6,4,1' is no number."),
        ("6", "NaN", "is no number"),
        ("6", "1e999", "is no number"),
        ("6", "6410", "is no temperature that a sensor on such a unit shows"),
        ("six", "64", "Row 4: 'six' is no time."),
        ("inf", "64", "is no time"),
        ("", "64", "Row 4: the minutes are missing."),
        ("-1", "64", "minutes are no time"),
        ("4", "64", "row 4, minute 4: row 3 is at minute 4 already"),
        ("3", "64", "row 3 is at minute 4 already, and time runs on"),
        ("1e9", "64", "two days"),
        ("6", "", "nothing was logged in it"),
    ] {
        bench.person.post(&rows, &[RUN, ("minute", minute), (WINDING, value)]).says(422, words);
    }
    for (field, value, words) in [
        ("value:celsius:T1.core.x", "50", "nothing called 'T1.core.x' warms"),
        ("value:celsius:M9.winding", "50", "nothing called 'M9.winding' warms"),
        ("value:amps:cord.hot", "-1", "cannot be"),
        ("value:watts:nobody", "5", "nobody"),
        ("value:furlongs:T1", "5", "cannot be logged"),
        ("value:room:", "900", "is no temperature"),
    ] {
        bench.person.post(&rows, &[RUN, ("minute", "6"), (field, value)]).says(422, words);
    }
    bench.person.post(&rows, &[("run", "walking"), ("minute", "6"), (WINDING, "35")]).says(422, "no run 'walking'");
    assert_eq!(bench.person.export(&job), before);
    // The page without script: taken, and sent back to the same run.
    let answer = bench.person.submit(&rows, &good);
    assert_eq!(answer.status, 303);
    assert!(answer.header("location").contains("/heat-run?run=sealing%20after%20the%20repair#standing"), "{answer:?}");
    let removal = format!("{job}/heat-run/rows/remove");
    let other = [("log", "0"), ("row", "3"), ("was", "row 4, minute 6, T1.winding 99 °C")];
    bench.person.post(&removal, &other).says(409, "Someone else has changed this row");
    bench.person.post(&removal, &[("log", "7"), ("row", "0"), ("was", "")]).says(409, "Someone else");
    bench.person.post(&removal, &[("log", "x"), ("row", "0")]).says(422, "is no number for log");
    let it = [("log", "0"), ("row", "3"), ("was", "row 4, minute 6, T1.winding 35.1 °C")];
    assert_eq!(bench.person.post(&removal, &it).status, 200);
    assert_eq!(bench.person.export(&job), before);
}

#[test]
fn a_heat_run_that_cannot_begin() {
    let bench = Bench::open();
    let begin = |job: &str, fields: &[(&str, &str)]| bench.person.post(&format!("{job}/heat-run/begin"), fields);
    let job = sealer(&bench);
    let before = bench.person.export(&job);
    begin(&job, &[("setup", "heat 3"), ("room", "20")]).says(422, "a name for the run is missing");
    begin(&job, &[("name", "x"), ("setup", "heat 3")]).says(422, "the temperature of the room is missing");
    begin(&job, &[("name", "x"), ("setup", "heat 3"), ("room", "mild")]).says(422, "'mild' is no number");
    begin(&job, &[("name", "x"), ("setup", "heat 3"), ("room", "200")]).says(422, "room_celsius between -40 and 80");
    begin(&job, &[("name", "x"), ("setup", "T1.n off"), ("room", "20")]).says(422, "no live setup 'T1.n off'");
    begin(&job, &[RUN, ("name", RUN.1), ("setup", "heat 3"), ("room", "20")]).says(422, "already");
    assert_eq!(bench.person.export(&job), before);
    // Without a repair there is nothing to prove.
    bench.person.get(&bench.at("/heat-run")).says(200, "First write what was done");
    assert_eq!(begin(&bench.job, &[("name", "x"), ("setup", "proofing"), ("room", "20")]).status, 303);
}

#[test]
fn a_class_that_does_not_exist() {
    let bench = Bench::open();
    let job = sealer(&bench);
    let before = bench.person.export(&job);
    for path in ["/heat-run/class", "/closing"] {
        let fields = [("work", "made new"), ("insulation_class", "Q")];
        bench.person.post(&format!("{job}{path}"), &fields).says(422, "no insulation class 'Q'");
    }
    assert_eq!(bench.person.export(&job), before);
    let noted = [("insulation_class", "H")];
    bench.person.post(&format!("{job}/heat-run/class"), &noted).says(200, "Held to: T1 class F (155 °C, on its plate)");
    // Without a class on the plate that of the job holds; written into the text by hand one is refused that does not exist.
    let of_plate = "insulation_class = \"F\"\n";
    let other = bench.person.import(&before.replace(of_plate, ""));
    bench.person.post(&format!("{other}/heat-run/class"), &noted).says(200, "Held to: T1 class H (180 °C, noted");
    let wrong = before.replace(of_plate, "insulation_class = \"Q\"\n");
    assert_ne!(wrong, before);
    bench.person.post("/jobs/import", &[("text", &wrong)]).says(422, "no insulation class 'Q'");
}

#[test]
fn a_loggers_file_that_cannot_be_used() {
    let bench = Bench::open();
    let job = sealer(&bench);
    let before = bench.person.export(&job);
    let paste = |text: &str, more: &[(&str, &str)]| {
        bench.person.post(&format!("{job}/heat-run/paste"), &[&[RUN, ("csv", text)], more].concat())
    };
    for (text, words) in [
        ("", "The log is empty"),
        ("no table at all", "columns"),
        ("0,20\n1,21\n", "numbers, but no headings"),
        ("time,winding [C]\n0,20\n1,21\n", "Row 2: the times in 'time' are numbers without a unit"),
        ("t [min],humidity %\n0,20\n1,21\n", "no column of temperatures"),
        ("t [min],winding [C]\n0,20\n1,warm\n2,22\n", "row 3: winding: 'warm' is no number"),
        ("t [min],winding [C]\n0,20\n2,22\n1,21\n3,23\n", "row 4: time runs backwards by 60 s"),
        ("t [min],winding [C]\n0,20\n1\n2,22\n", "row 3: 1 cells instead of 2"),
        ("t [min],shell [C]\n0,20\n1,21\n", "The heading 'shell' does not say which part"),
        ("t [min],winding [C],T1.winding [C]\n0,20,20\n1,21,21\n", "Two columns are for one place"),
        ("t [min],T1.winding [C],R [ohm]\n0,20,5\n1,21,6\n", "holds ohms"),
        ("t [min],winding [C]\n0,20\n1,21\n2,22\n3,400\n4,400\n5,-50\n6,400\n7,400\n", "sensor"),
    ] {
        paste(text, &[]).says(422, words);
    }
    assert_eq!(bench.person.export(&job), before);
    // What cannot be read is left out only if that is asked for, and said.
    let holed = "t [min],winding [C],room [C]\n0,20,20\n1,warm,20\n2,22,20.5\n";
    paste(holed, &[("leave_out", "yes")]).says(200, "row 3: winding: 'warm' is no number; the cell was left out");
    let text = bench.person.export(&job);
    assert!(text.contains("celsius = [20, \"none\", 22], at = \"T1.winding\""), "{text}");
    assert!(text.contains("celsius = [20, 20, 20.5], at = \"room\""), "{text}");
    paste("time,winding [C]\n0,20\n1,21\n", &[("time_unit", "h")]).says(200, "2 rows");
    assert!(bench.person.export(&job).contains("minutes = [0, 60]"));
}

#[test]
fn a_short_run_never_passes() {
    let bench = Bench::open();
    let job = sealer(&bench);
    // Ten minutes that look as flat as can be, far below any limit.
    let rows: String =
        (0..=40).map(|row| format!("{},{:.1}\n", f64::from(row) * 0.25, 21.0 + 0.1 * f64::from(row % 2))).collect();
    let fields = [RUN, ("csv", &format!("t [min],winding [C]\n{rows}"))];
    assert_eq!(bench.person.post(&format!("{job}/heat-run/paste"), &fields).status, 200);
    let page = bench.person.get(&format!("{job}/heat-run"));
    assert!(page.body_text().contains("data-verdict=\"not yet\""), "{}", page.words());
    page.says(200, "Not yet");
    assert!(!page.words().contains("you may"), "{}", page.words());
}

#[test]
fn a_substitute_that_cannot_be() {
    let bench = Bench::open();
    let ask = |part: &str, with: &str| {
        let with = with.replace(' ', "+").replace('=', "%3D").replace('"', "%22");
        bench.person.get(&bench.at(&format!("/closing/substitute?part={part}&with={with}")))
    };
    for (part, with, words) in [
        ("M1", "", "Nothing is different about M1"),
        ("M1", "plate.amps", "Plate.amps has no =; write the part, then what is different"),
        ("", "plate.amps=2", "rite the part, then what is different"),
        ("M9", "plate.amps=2", "there is no part 'M9'"),
        ("M1", "plate.furlongs=2", "has no field"),
        ("M1", "plate.amps=many", "many"),
        ("M1", "plate.rpm=1900", "rpm"),
        ("C1", "kind=zeppelin", "no kind of part 'zeppelin'"),
    ] {
        ask(part, with).says(422, words);
    }
}

#[test]
fn nothing_learnt_is_nothing_to_use() {
    let bench = Bench::open();
    bench.person.get("/learnt").says(200, "There is nothing to use yet");
    bench.person.post("/learnt/use", &[("use", "yes")]).says(422, "No closed job has a confirmed cause yet");
    bench.person.post("/learnt/use", &[("use", "perhaps")]).says(422, "neither yes, no, forget nor recall");
    let table = bench.person.get("/learnt/experience.csv");
    assert_eq!(table.body_text(), "kind,fault,confirmed,parts seen\n");
    let closed =
        format!("{}\n[repaired]\nwork = \"made new\"\nfaults = [\"C1 open\"]\n", crate::bench_server::DOUGH_PROOFER);
    bench.person.import(&closed);
    let table = bench.person.get("/learnt/experience.csv").body_text();
    assert!(table.contains("run-capacitor,open,1,1\n") && table.contains("heater,,0,1\n"), "{table}");
    // One person's choice is the shop's, and outlasts the session.
    assert_eq!(bench.person.submit("/learnt/use", &[("use", "yes")]).status, 303);
    bench.colleague("Bo").get("/learnt").says(200, "In use: rankings go by what the shop has learnt");
    bench.person.import(&closed);
    bench.person.get("/learnt").says(200, "older than the jobs below");
    assert_eq!(bench.person.submit("/learnt/use", &[("use", "no")]).status, 303);
    bench.person.get("/learnt").says(200, "Not in use: rankings go by the listed odds");
}
