//! Times a ranking on units of more and more parts and writes the page of it.
//!
//! The units are invented: banks of heaters behind cutouts and switches, and two fans, with twelve readings that the unit
//! would give with one heater open.

use bench::{FaultSet, Place, observe_values};
use clap::Parser;
use diagnosis::diagnose;
use std::error::Error;
use std::fmt::Write;
use std::path::PathBuf;
use std::process::Command;
use std::time::{Duration, Instant};

/// Rankings of one unit are repeated for about so long, and no more than [`MOST_RUNS`] times.
const PATIENCE: Duration = Duration::from_secs(8);
const MOST_RUNS: usize = 20;

/// How long a ranking takes, and what it needs.
#[derive(Debug, Parser)]
struct Arguments {
    /// Parts of each unit.
    #[arg(long, value_delimiter = ',', default_values_t = [30, 60, 100])]
    parts: Vec<usize>,
    /// Time the one unit of so many parts and print its line; each is run by itself, so that memory is its own.
    #[arg(long)]
    only: Option<usize>,
    /// Print the job file of the unit of so many parts.
    #[arg(long)]
    job: Option<usize>,
    /// Where to write the page.
    #[arg(long, default_value = "speed.md")]
    out: PathBuf,
}

/// A unit of `count` parts as a job file, with readings of `values`.
fn job_text(count: usize, values: &[f64; 12]) -> String {
    let mut parts = String::new();
    let mut wires = vec![("cord.hot".to_owned(), "main.in".to_owned()), ("cord.earth".into(), "frame".into())];
    let mut part = |name: &str, lines: &str| {
        let _ = write!(parts, "\n[parts.{name}]\n{lines}\n");
    };
    part("supply", "kind = \"supply\"\nvolts = 230\nhertz = 50");
    part("cord", "kind = \"cord\"\nmetres = 3\nsquare_millimetres = 2.5");
    part("main", "kind = \"switch\"\npositions.off = []\npositions.on = [[\"in\", \"out\"]]");
    let mut made = 3;
    for fan in ["1", "2"] {
        let plate = "{ volts = 230, hertz = 50, amps = 0.5, rpm = 1320, poles = 4, microfarads = 3 }";
        part(&format!("M{fan}"), &format!("kind = \"capacitor-run-motor\"\nmake = \"fans alike\"\nplate = {plate}"));
        part(&format!("C{fan}"), "kind = \"run-capacitor\"\nmicrofarads = 3\nvolts = 450");
        wires.push(("main.out".into(), format!("M{fan}.run")));
        wires.push((format!("M{fan}.start"), format!("C{fan}.a")));
        wires.push((format!("C{fan}.b"), format!("M{fan}.run")));
        wires.push((format!("M{fan}.common"), "cord.neutral".into()));
        made += 2;
    }
    // Each bank is a heater and its cutout; every third has a switch of its own as far as parts are left.
    let banks = ((count - made) * 3).div_ceil(7).max(1);
    let watts = 2200.0 / banks as f64;
    let mut bank = 0;
    while made < count {
        bank += 1;
        let mut feed = "main.out".to_owned();
        if bank % 3 == 0 && count - made > 2 || count - made == 3 {
            part(&format!("S{bank}"), "kind = \"switch\"\npositions.off = []\npositions.on = [[\"in\", \"out\"]]");
            wires.push((feed, format!("S{bank}.in")));
            feed = format!("S{bank}.out");
            made += 1;
        }
        if count - made > 1 {
            part(&format!("K{bank}"), "kind = \"thermal-cutout\"\nopens_celsius = 110");
            wires.push((feed, format!("K{bank}.a")));
            feed = format!("K{bank}.b");
            made += 1;
        }
        part(&format!("H{bank}"), &format!("kind = \"heater\"\nmake = \"one bank\"\nvolts = 230\nwatts = {watts:.0}"));
        wires.push((feed, format!("H{bank}.a")));
        wires.push((format!("H{bank}.b"), "cord.neutral".into()));
        made += 1;
    }
    let switches: Vec<String> = (3..=bank)
        .step_by(3)
        .filter(|bank| parts.contains(&format!("[parts.S{bank}]")))
        .map(|b| format!("S{b}"))
        .collect();
    let on: String = switches.iter().map(|name| format!(", {name} = \"on\"")).collect();
    let asked = [
        "setup = \"on\", volts = @, between = [\"H1.a\", \"cord.neutral\"]",
        "setup = \"on\", volts = @, between = [\"H2.a\", \"cord.neutral\"]",
        "setup = \"on\", volts = @, between = [\"H3.a\", \"cord.neutral\"]",
        "setup = \"on\", volts = @, between = [\"main.out\", \"cord.neutral\"]",
        "setup = \"on\", amps = @, through = \"cord.hot\"",
        "setup = \"on\", amps = @, through = \"H2.a\"",
        "setup = \"on\", amps = @, through = \"H3.a\"",
        "setup = \"on\", rpm = @, of = \"M1\"",
        "setup = \"fans\", amps = @, through = \"M2.common\"",
        "setup = \"fans\", amps = @, through = \"cord.hot\"",
        "setup = \"unplugged\", ohms = @, between = [\"K1.a\", \"cord.neutral\"]",
        "setup = \"unplugged\", ohms = @, between = [\"M1.run\", \"M1.common\"]",
    ];
    let mut text = String::from("# Invented for timing; no real machine.\n\nwires = [\n");
    for (from, to) in wires {
        let _ = writeln!(text, "  {{ from = \"{from}\", to = \"{to}\" }},");
    }
    text += "]\n\nreadings = [\n";
    for (line, value) in asked.iter().zip(values) {
        let _ = writeln!(text, "  {{ {} }},", line.replace('@', &format!("{value:.3}")));
    }
    let cold = (1..=bank).map(|bank| format!(", K{bank} = \"open\"")).filter(|entry| {
        parts.contains(&format!("[parts.{}]", entry.trim_start_matches(", ").split(' ').next().unwrap_or_default()))
    });
    let cold: String = cold.collect();
    let _ =
        write!(text, "]\n\n[unit]\nname = \"Heater banks of {count} parts\"\nnote = \"Invented for timing.\"\n{parts}");
    let _ = write!(text, "\n[setups.on]\nsupply = \"on\"\npositions = {{ main = \"on\"{on} }}\n");
    let _ = write!(text, "\n[setups.fans]\nsupply = \"on\"\npositions = {{ main = \"on\"{on}{cold} }}\n");
    let _ = write!(text, "\n[setups.unplugged]\nsupply = \"off\"\npositions = {{ main = \"off\" }}\n");
    text
}

/// The unit with what it reads if the element of H2 is open.
fn job_of(count: usize) -> Result<String, Box<dyn Error>> {
    let blank = bench::job::read("timing", &job_text(count, &[1.0; 12])).map_err(|problems| problems.to_string())?;
    let unit = &blank.unit;
    let of_h2 = |place: Place| matches!(place, Place::Part(part) if unit.parts()[part].name == "H2");
    let culprit = unit.faults().iter().position(|fault| of_h2(fault.place) && fault.mode.name == "open");
    let culprit = culprit.ok_or("the element of H2 cannot open")?;
    let faults = FaultSet(vec![culprit]);
    let medians = vec![0.0; bench::wiring::unknown_count(unit, &faults)];
    let mut values = [0.0; 12];
    for (reading, value) in blank.readings.iter().zip(&mut values) {
        let meter = &blank.meters[reading.meter];
        let setup = &blank.setups[reading.setup];
        *value = observe_values(unit, setup, &faults, &medians, |observed| observed.value(reading.measure, meter))??;
    }
    Ok(job_text(count, &values))
}

/// Peak memory of this process in megabytes, where the system tells.
fn peak_megabytes() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
}

/// Times the unit of so many parts; its line of the table, tab-separated.
fn time(count: usize) -> Result<String, Box<dyn Error>> {
    let job = bench::job::read("timing", &job_of(count)?).map_err(|problems| problems.to_string())?;
    let began = Instant::now();
    let mut times = Vec::new();
    let mut work = None;
    let mut leader = 0.0;
    while times.is_empty() || (began.elapsed() < PATIENCE && times.len() < MOST_RUNS) {
        let start = Instant::now();
        let diagnosis = diagnose(&job)?;
        times.push(start.elapsed().as_secs_f64());
        leader =
            diagnosis.needed.iter().find(|share| share.repair.contains("H2")).map_or(0.0, |share| share.probability);
        work = Some(diagnosis.work);
    }
    times.sort_by(f64::total_cmp);
    let work = work.unwrap_or_default();
    Ok(format!(
        "{}\t{}\t{}\t{}\t{}\t{}\t{}\t{}\t{leader}",
        count,
        work.singles,
        work.pairs,
        work.single_fits + work.pair_fits + work.triple_fits,
        times[times.len() / 2],
        times[times.len() - 1],
        times.len(),
        peak_megabytes().unwrap_or(f64::NAN),
    ))
}

fn page(lines: &[Vec<f64>], cores: usize) -> String {
    let asked: Vec<String> = lines.iter().filter_map(|line| line.first()).map(|parts| format!("{parts}")).collect();
    let mut text = format!(
        "# How long a ranking takes\n\n\
         This page is written by `cargo run --release -p trials --bin speed -- --parts {} --out docs/speed.md`. The units are\n\
         invented: banks of heaters behind cutouts and switches, and two fans, with twelve readings as one open heater gives\n\
         them. Every single fault is looked at, and every pair of groups that readings can tell apart.\n\n",
        asked.join(",")
    );
    let _ = write!(
        text,
        "Times depend on the machine, and on what else it does: this one has {cores} cores, which others used too. The ratios\n\
         beside them carry over.\n\n\
         | parts | faults | pairs looked at | fits | median, ms | slowest, ms | runs | over that of the fewest parts | microseconds a pair | peak memory, MB | share of the right repair |\n\
         | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n",
    );
    let first = lines.first().map_or(1.0, |line| line[4]);
    for line in lines {
        let [parts, faults, pairs, fits, median, slow, runs, memory, leader] = line[..] else { continue };
        let _ = writeln!(
            text,
            "| {parts} | {faults} | {pairs} | {fits} | {:.0} | {:.0} | {runs} | {:.1} | {:.1} | {memory:.0} | {leader:.2} |",
            1e3 * median,
            1e3 * slow,
            median / first,
            1e6 * median / pairs,
        );
    }
    text + &growth(lines)
}

/// How time and memory grow with the number of parts: a bar each on a logarithmic scale, and the power between rows.
fn growth(lines: &[Vec<f64>]) -> String {
    let mut text =
        "\n## Growth with parts\n\nMedian time of a ranking; every further step of a bar is a tenth more.\n\n```text\n"
            .to_owned();
    let shortest = lines.iter().map(|line| line[4]).fold(f64::INFINITY, f64::min);
    for line in lines {
        let steps = ((line[4] / shortest).ln() / 1.1f64.ln()).round() as usize + 1;
        let _ = writeln!(text, "{:4} parts |{} {:.0} ms, {:.0} MB", line[0], "=".repeat(steps), 1e3 * line[4], line[7]);
    }
    text.push_str("```\n");
    for pair in lines.windows(2) {
        let ([parts, _, pairs, _, median, ..], [more, _, more_pairs, _, slower, ..]) = (&pair[0][..], &pair[1][..])
        else {
            continue;
        };
        let power = |from: f64, to: f64| (to / from).ln() / (more / parts).ln();
        let _ = writeln!(
            text,
            "\nFrom {parts} to {more} parts time grows with the power {:.1} of their number, pairs looked at with the power {:.1}.",
            power(*median, *slower),
            power(*pairs, *more_pairs),
        );
    }
    text
}

fn main() -> Result<(), Box<dyn Error>> {
    let Arguments { parts, only, job, out } = Arguments::parse();
    if let Some(count) = job.or(only).filter(|count| *count < 14) {
        return Err(format!("a unit of {count} parts is too small, expected at least 14").into());
    }
    if let Some(count) = job {
        std::fs::write(&out, job_of(count)?)?;
        return Ok(());
    }
    if let Some(count) = only {
        std::fs::write(&out, time(count)?)?;
        return Ok(());
    }
    let program = std::env::current_exe()?;
    let mut lines = Vec::new();
    for count in parts {
        let line = out.with_extension("line");
        let status = Command::new(&program).args(["--only", &count.to_string(), "--out"]).arg(&line).status()?;
        if !status.success() {
            return Err(format!("the unit of {count} parts was not timed").into());
        }
        let said = std::fs::read_to_string(&line)?;
        std::fs::remove_file(&line)?;
        eprintln!("{said}");
        lines.push(said.split('\t').map(str::parse).collect::<Result<Vec<f64>, _>>()?);
    }
    std::fs::write(&out, page(&lines, std::thread::available_parallelism()?.get()))?;
    eprintln!("written to {}", out.display());
    Ok(())
}
