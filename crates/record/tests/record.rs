//! When a job may be closed, and what its record holds.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use diagnosis::diagnose;
use record::{Closing, RecordError, Standing, closing, gather, html};

const HEAT_SEALER: &str = include_str!("../../../demos/heat-sealer.toml");
const DOUGH_PROOFER: &str = include_str!("../../../demos/dough-proofer.toml");

fn closed(text: &str) -> Closing {
    let job = bench::job::read("test", text).unwrap_or_else(|problems| panic!("{problems}"));
    let found = diagnose(&job).unwrap();
    closing(&gather(&found, text).unwrap_or_else(|error| panic!("{error}")))
}

fn standing(closing: &Closing, name: &str) -> Standing {
    closing.points.iter().find(|point| point.name == name).unwrap().standing
}

#[test]
fn a_job_in_which_everything_agrees_is_proven() {
    let closing = closed(HEAT_SEALER);
    assert!(closing.is_proven(), "{closing:#?}");
}

#[test]
fn each_thing_that_is_missing_or_speaks_against_it_keeps_a_job_open() {
    let without = |from: &str, to: &str| {
        assert!(HEAT_SEALER.contains(from), "{from}");
        closed(&HEAT_SEALER.replace(from, to))
    };
    // The band gets no volts at heat 2, as with the fault.
    let against = without("volts = 19.3", "volts = 0.0");
    assert_eq!(standing(&against, "readings after"), Standing::Against);
    let against = without("value = \"0.09 ohm\"", "value = \"0.9 ohm\"");
    assert_eq!(standing(&against, "electrical safety"), Standing::Against);
    let missing = without("{ test = \"polarity\", value = \"ok\", date = \"2026-04-09\" },", "");
    assert_eq!(standing(&missing, "electrical safety"), Standing::Missing);
    // A log of ten minutes cannot tell where a slow transformer is going.
    let (head, tail) = HEAT_SEALER.split_once("[[repaired.logs]]").unwrap();
    let (_, safety) = tail.split_once("# The safety tests").unwrap();
    let short = format!(
        "{head}[[repaired.logs]]\nrun = \"sealing after the repair\"\nminutes = [0, 2, 4, 6, 8, 10]\nchannels = [{{ celsius = [21, 22, 23, 24, 25, 26], at = \"T1.core\" }}]\n# The safety tests{safety}"
    );
    assert_eq!(standing(&closed(&short), "heat run"), Standing::Missing);
    for closing in [against, missing, closed(&short)] {
        assert!(!closing.is_proven());
    }
}

#[test]
fn a_symptom_that_is_gone_proves_nothing() {
    // Nothing was read after the repair, or only what the fault never moved.
    let (head, tail) = HEAT_SEALER.split_once("readings = [\n  { setup = \"heat 2\", volts = 19.3").unwrap();
    let (_, tail) = tail.split_once("]\n\n[[repaired.logs]]").unwrap();
    let quiet = format!(
        "{head}readings = [\n  {{ setup = \"heat 3\", volts = 22.8, between = [\"band.a\", \"band.b\"] }},\n]\n\n[[repaired.logs]]{tail}"
    );
    assert_eq!(standing(&closed(&quiet), "readings after"), Standing::Missing);
    let nothing = closed(DOUGH_PROOFER);
    assert_eq!(standing(&nothing, "repair"), Standing::Missing);
    assert_eq!(standing(&nothing, "readings after"), Standing::Missing);
    assert!(!nothing.is_proven());
}

#[test]
fn a_cause_that_the_readings_exclude_is_refused_with_what_they_point_to() {
    let text = HEAT_SEALER.replace("faults = [\"T1 high-medium-open\"]", "faults = [\"band open\"]");
    let job = bench::job::read("test", &text).unwrap();
    let found = diagnose(&job).unwrap();
    match gather(&found, &text) {
        Err(RecordError::NoSuspect(words)) => {
            assert!(words.contains("band open") && words.contains("T1 high-medium-open"), "{words}");
        }
        Ok(_) => panic!("the band is whole at heat 3"),
        Err(other) => panic!("{other}"),
    }
}

#[test]
fn the_page_stands_by_itself_and_every_mark_has_its_line() {
    let job = bench::job::read("test", HEAT_SEALER).unwrap();
    let found = diagnose(&job).unwrap();
    let page = html(&gather(&found, HEAT_SEALER).unwrap()).unwrap();
    for foreign in ["<script", "src=\"http", "href=\"http", "url(http", "<link"] {
        assert!(!page.contains(foreign), "{foreign}");
    }
    for number in 1..=job.readings.len() {
        assert!(page.contains(&format!(">R{number}<")), "reading {number}");
    }
    for number in 1..=job.repaired.as_ref().unwrap().readings.len() {
        assert!(page.contains(&format!(">A{number}<")), "reading {number} after the repair");
    }
    // Every source that is pointed to stands in the list at the end.
    let (body, list) = page.split_once("Where the figures come from").unwrap();
    let mut marks = 0;
    for number in 1..40 {
        if body.contains(&format!(" S{number}<")) {
            marks += 1;
            assert!(list.contains(&format!("<dt>S{number}</dt>")), "source {number}");
        }
    }
    assert!(marks >= 3, "{marks} sources");
    for words in ["Local codes and licensed practice prevail", "Received by", "Invented data"] {
        assert!(page.contains(words), "{words}");
    }
}

/// IEC 60335-1, Table 3 (from memory), windings in normal running: by a thermocouple class A 65 K; of class F there is only
/// the figure by resistance, 115 K. The room of the run has 20 degrees Celsius.
#[test]
fn a_heat_run_holds_each_winding_to_its_own_class() {
    let limits = |text: &str| -> Vec<(f64, String)> {
        let job = bench::job::read("test", text).unwrap_or_else(|problems| panic!("{problems}"));
        let runs = record::heat_runs(&job);
        let limits = runs[0].channels.iter().map(|channel| channel.finding.limit.clone().unwrap());
        limits.map(|limit| (limit.celsius, limit.source)).collect()
    };
    let of_plate = "insulation_class = \"F\"\n";
    assert_eq!(HEAT_SEALER.matches(of_plate).count(), 1, "on the plate of T1");
    let noted = |text: &str, class: &str| {
        text.replace("minutes_with_fault = 30\n", &format!("minutes_with_fault = 30\ninsulation_class = \"{class}\"\n"))
    };
    let by_job = noted(&HEAT_SEALER.replace(of_plate, ""), "F");
    for (celsius, source) in limits(&by_job) {
        assert_eq!(celsius, 135.0);
        assert!(source.starts_with("class F (155 °C, noted for the job), IEC 60335-1"), "{source}");
    }
    let own = noted(&HEAT_SEALER.replace(of_plate, "insulation_class = \"A\"\n"), "F");
    for (celsius, source) in limits(&own) {
        assert_eq!(celsius, 85.0);
        assert!(source.starts_with("class A (105 °C, on its plate), IEC 60335-1"), "{source}");
    }
    // The winding goes to some 88 degrees Celsius: well by the class of the job, too hot by that of its own plate.
    assert_eq!(standing(&closed(HEAT_SEALER), "heat run"), Standing::Proven);
    assert_ne!(standing(&closed(&own), "heat run"), Standing::Proven);
}

/// The table has no figure for class Y; then nothing is said, instead of refusing the record.
#[test]
fn a_class_without_a_limit_proves_nothing() {
    let text = HEAT_SEALER.replace("insulation_class = \"F\"", "insulation_class = \"Y\"");
    assert_eq!(standing(&closed(&text), "heat run"), Standing::Missing);
}

/// The sealer's job with another channel in the log of its heat run.
fn with_channel(channel: &str) -> bench::Job {
    let text = HEAT_SEALER.replace("at = \"T1.core\" },\n", &format!("at = \"T1.core\" }},\n  {channel},\n"));
    assert_ne!(text, HEAT_SEALER);
    bench::job::read("test", &text).unwrap_or_else(|problems| panic!("{problems}"))
}

#[test]
fn a_run_that_a_cutout_interrupts_is_no_pass() {
    let amps = |off: &[usize]| {
        let amps: Vec<&str> = (0..30).map(|row| if off.contains(&row) { "0" } else { "1.5" }).collect();
        let mut run =
            record::heat_runs(&with_channel(&format!("{{ amps = [{}], through = \"cord.hot\" }}", amps.join(", "))));
        run.remove(0)
    };
    assert!(amps(&[]).channels.iter().all(|channel| channel.passes() == Some(true)));
    let interrupted = amps(&[11, 12]);
    assert_eq!(interrupted.cycling.unwrap().stops, 1);
    assert!(interrupted.channels.iter().all(|channel| channel.passes().is_none()));
    assert_eq!(amps(&[28, 29]).ends_at, Some(29));
}

/// The sealer's winding as it would fall and rise if a cutout opened from minute 24 to 44 of its two hours: one body with a time constant of
/// 25 minutes, from a room of 20 °C towards 88 °C, by hand (T = end + (start - end) exp(-t/25)).
#[test]
fn a_run_without_amps_that_falls_and_rises_is_no_pass_either() {
    let job = bench::job::read("test", HEAT_SEALER).unwrap();
    let minutes: Vec<f64> = job.repaired.unwrap().logs[0].seconds.iter().map(|seconds| seconds / 60.0).collect();
    let on = |from: f64, minutes: f64| 88.0 + (from - 88.0) * (-minutes / 25.0).exp();
    let at = |minute: f64, off: f64, long: f64| {
        let stopped = on(20.0, off);
        let cooled = |minutes: f64| 20.0 + (stopped - 20.0) * (-minutes / 25.0).exp();
        match minute {
            _ if minute < off => on(20.0, minute),
            _ if minute < off + long => cooled(minute - off),
            _ => on(cooled(long), minute - off - long),
        }
    };
    let run = |off: f64| {
        let (head, tail) = HEAT_SEALER.split_once("celsius = [").unwrap();
        let (_, rest) = tail.split_once(']').unwrap();
        let values: Vec<String> = minutes.iter().map(|&minute| format!("{:.1}", at(minute, off, 20.0))).collect();
        format!("{head}celsius = [{}]{rest}", values.join(", "))
    };
    let (whole, stopped) = (run(f64::INFINITY), run(24.0));
    assert_eq!(standing(&closed(&whole), "heat run"), Standing::Proven);
    let closing = closed(&stopped);
    assert_eq!(standing(&closing, "heat run"), Standing::Missing);
    assert!(words(&closing, "heat run").contains("the run was interrupted"), "{}", words(&closing, "heat run"));
    let judged = record::heat_runs(&bench::job::read("test", &stopped).unwrap()).remove(0);
    let cycling = judged.cycling.unwrap();
    assert_eq!((cycling.stops, cycling.shown_by.as_deref()), (1, Some("T1.winding")));
    let (from, until) = cycling.when[0];
    assert!((from - 24.0).abs() <= 5.0 && (until.unwrap() - 44.0).abs() <= 5.0, "{:?}", cycling.when);
}

#[test]
fn the_room_as_logged_moves_the_limit_with_it() {
    let limit = |job: &bench::Job| record::heat_runs(job)[0].channels[0].finding.limit.clone().unwrap().celsius;
    let listed = bench::job::read("test", HEAT_SEALER).unwrap();
    // The limits of IEC 60335-1 are rises: five kelvins more in the room are five more at the winding.
    let room = listed.runs[0].room_celsius + 5.0;
    let values = vec![room.to_string(); 30].join(", ");
    let warmer = with_channel(&format!("{{ celsius = [{values}], at = \"room\" }}"));
    assert_eq!(warmer.repaired.as_ref().unwrap().logs[0].channels.len(), 2, "the room is no channel of the unit");
    assert!((limit(&warmer) - limit(&listed) - 5.0).abs() < 1e-9);
}

#[test]
fn a_temperature_that_stops_in_the_log_is_no_pass() {
    let (head, tail) = HEAT_SEALER.split_once("celsius = [").unwrap();
    let (list, rest) = tail.split_once(']').unwrap();
    let kept = |count: usize| {
        let values = list.split(',').map(str::trim).filter(|value| !value.is_empty()).enumerate();
        let values = values.map(|(row, value)| if row < count { value.to_owned() } else { "\"none\"".to_owned() });
        format!("{head}celsius = [{}]{rest}", values.collect::<Vec<_>>().join(", "))
    };
    assert_eq!(standing(&closed(&kept(30)), "heat run"), Standing::Proven);
    let closing = closed(&kept(24));
    assert_eq!(standing(&closing, "heat run"), Standing::Missing);
    let words = &closing.points.iter().find(|point| point.name == "heat run").unwrap().words;
    assert!(words.contains("sensor fell off"), "{words}");
}

/// The sealer's run with other steps.
fn run_in(steps: &str) -> String {
    let written = "steps = [{ minute = 0, setup = \"heat 3\" }]";
    assert_eq!(HEAT_SEALER.matches(written).count(), 1);
    HEAT_SEALER.replace(written, steps)
}

fn words(closing: &Closing, name: &str) -> String {
    closing.points.iter().find(|point| point.name == name).unwrap().words.clone()
}

#[test]
fn a_run_with_the_supply_off_or_in_a_cooler_position_proves_nothing() {
    let off = run_in("steps = [{ minute = 0, setup = \"T1.n off\" }]");
    let closing = closed(&off);
    assert_eq!(standing(&closing, "heat run"), Standing::Missing);
    assert!(words(&closing, "heat run").contains("supply was off"), "{}", words(&closing, "heat run"));
    let job = bench::job::read("test", &off).unwrap();
    let warned: Vec<String> = job.warnings.0.iter().map(ToString::to_string).collect();
    assert!(warned.iter().any(|words| words.contains("the supply is never on")), "{warned:?}");
    // Fewer turns at heat 3 than at heat 1: more volts at the band, and more current through the winding.
    let cooler = closed(&run_in("steps = [{ minute = 0, setup = \"heat 1\" }]"));
    assert_eq!(standing(&cooler, "heat run"), Standing::Missing);
    let said = words(&cooler, "heat run");
    assert!(said.contains("'heat 1'") && said.contains("heat 3") && said.contains("Log a run there"), "{said}");
    let live = closed(HEAT_SEALER);
    assert_eq!(standing(&live, "heat run"), Standing::Proven);
    assert!(bench::job::read("test", HEAT_SEALER).unwrap().warnings.0.is_empty());
}

#[test]
fn a_core_alone_does_not_prove_its_winding() {
    let winding = HEAT_SEALER.lines().find(|line| line.ends_with("at = \"T1.winding\" },")).unwrap();
    let closing = closed(&HEAT_SEALER.replace(winding, ""));
    assert_eq!(standing(&closing, "heat run"), Standing::Missing);
    assert!(words(&closing, "heat run").contains("log T1.winding"), "{}", words(&closing, "heat run"));
}

#[test]
fn work_without_a_cause_is_no_repair() {
    let text = HEAT_SEALER.replace("faults = [\"T1 high-medium-open\"]\n", "");
    let closing = closed(&text);
    assert_eq!(standing(&closing, "repair"), Standing::Missing);
    assert!(words(&closing, "repair").contains("write the cause into faults"), "{}", words(&closing, "repair"));
    assert!(!closing.is_proven());
}

#[test]
fn what_may_have_made_the_part_fail_must_be_excluded_or_looked_at() {
    let repaired = "[repaired]\nwork = \"C1 replaced\"\nfaults = [\"C1 low\"]\n";
    let open = closed(&format!("{DOUGH_PROOFER}\n{repaired}"));
    assert_eq!(standing(&open, "why it failed"), Standing::Missing);
    assert!(words(&open, "why it failed").contains("\"C1 wrong-value\" (hold what is marked"), "{open:#?}");
    let other = closed(&format!("{DOUGH_PROOFER}\n{repaired}looked_at = [\"supply high-volts\"]\n"));
    assert_eq!(standing(&other, "why it failed"), Standing::Missing);
    let looked_at =
        closed(&format!("{DOUGH_PROOFER}\n{repaired}looked_at = [\"C1 wrong-value\", \"C1 air\", \"C1 heat\"]\n"));
    assert_eq!(standing(&looked_at, "why it failed"), Standing::Proven);
    // The readings of the sealer exclude low and high volts at the cord; its air and what is hot beside it were looked at.
    assert_eq!(standing(&closed(HEAT_SEALER), "why it failed"), Standing::Proven);
}

/// The page and the terminal print the same words (`diagnosis::words::condition_words`).
#[test]
fn what_was_looked_at_is_said_where_the_reasons_are() {
    let reasons = |text: &str| {
        let job = bench::job::read("test", text).unwrap();
        let found = diagnosis::diagnose(&job).unwrap();
        let page = record::html(&record::gather(&found, text).unwrap()).unwrap();
        let (_, section) = page.split_once("<section id=\"reasons\">").unwrap();
        section.split_once("</section>").unwrap().0.to_owned()
    };
    let (answered, open) = ("looked at and found well", "not excluded; ");
    let whole = reasons(HEAT_SEALER);
    assert_eq!((whole.matches(answered).count(), whole.matches(open).count()), (2, 0), "{whole}");
    let half = reasons(&HEAT_SEALER.replace("[\"T1 air\", \"T1 heat\"]", "[\"T1 air\"]"));
    assert_eq!((half.matches(answered).count(), half.matches(open).count()), (1, 1), "{half}");
}

#[test]
fn what_nobody_would_look_at_is_refused_with_the_nearest_name() {
    let slip = HEAT_SEALER.replace("[\"T1 air\", \"T1 heat\"]", "[\"supply low-vots\"]");
    let problems = bench::job::read("test", &slip).unwrap_err().to_string();
    assert!(problems.contains("'supply low-vots'") && problems.contains("supply low-volts"), "{problems}");
}
