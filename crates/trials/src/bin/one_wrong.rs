//! Runs the trials of one wrong reading of eight and writes their page.

use clap::Parser;
use std::fmt::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;
use trials::meter::Mistake;
use trials::one_wrong::{Compared, Figures, many};

/// What does one wrong reading of eight cost, and is it named?
#[derive(Debug, Parser)]
struct Arguments {
    /// How many cases to draw.
    #[arg(long, default_value_t = 400)]
    cases: u64,
    /// Seed; the same seed gives the same cases and readings.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Where to write the page.
    #[arg(long, default_value = "one-wrong-reading.md")]
    out: PathBuf,
}

fn main() -> ExitCode {
    let Arguments { cases, seed, out } = Arguments::parse();
    let (began, done) = (Instant::now(), AtomicUsize::new(0));
    let compared = many(seed, cases, || {
        let done = done.fetch_add(1, Ordering::Relaxed) + 1;
        if done.is_multiple_of(50) {
            eprintln!("{done} of {cases} cases, {:.0} s", began.elapsed().as_secs_f64());
        }
    });
    if let Err(error) = std::fs::write(&out, page(&compared, cases, seed)) {
        eprintln!("{}: {error}", out.display());
        return ExitCode::FAILURE;
    }
    eprintln!("written to {}", out.display());
    ExitCode::SUCCESS
}

fn page(compared: &[Compared], cases: u64, seed: u64) -> String {
    let all = Figures::of(compared);
    let mut text = format!(
        "# One wrong reading of eight\n\n\
         What does it cost, and is it named? {} units were drawn as for `docs/trials.md` (seed {seed}), of {cases} that were tried; a\n\
         simulated technician who makes no mistakes took the eight readings that the program asked for next, and, where it asked\n\
         for no more, further ones in a fixed order. Then one of the eight, any of them, was written down wrong, and the job was ranked\n\
         without the mistake and with it. **All units, faults and readings here are invented: drawn at random by the program, no\n\
         real machine.**\n\n\
         Named: held to be more likely wrong than right. Harmless: the true repair leads if and only if it did before. A wrong\n\
         figure contradicts nothing where no other reading bears on the same thing, and insulation may be anything from a\n\
         megohm up.\n\n\
         Written by `cargo run --release -p trials --bin one_wrong -- --cases {cases} --seed {seed} --out docs/one-wrong-reading.md`.\n\n\
         | | cases | true repair leads, all right | with the mistake | lead lost | won | its probability, all right | with the mistake | mistake named | named or harmless | right readings named, all right | with the mistake |\n\
         |---|---|---|---|---|---|---|---|---|---|---|---|\n",
        all.cases
    );
    let insulation =
        |is_insulation: bool| Figures::of(compared.iter().filter(|entry| entry.is_insulation == is_insulation));
    let visible = |is_visible: bool| Figures::of(compared.iter().filter(|entry| entry.is_visible == is_visible));
    let mut rows = vec![
        ("**all**".to_owned(), all),
        ("complaint says that something is amiss".into(), visible(true)),
        ("everything seemed normal".into(), visible(false)),
        ("reading of insulation, or over range".into(), insulation(true)),
        ("any other reading".into(), insulation(false)),
    ];
    for mistake in Mistake::ALL {
        let own = compared.iter().filter(|entry| entry.mistake == mistake && !entry.is_insulation);
        rows.push((format!("- {}", mistake.words()), Figures::of(own)));
    }
    for (name, figures) in rows {
        let percent = |share: f64| format!("{:.1} %", 100.0 * share);
        let Figures { cases, leads, lost_and_won, probability, named, named_or_harmless, falsely_named } = figures;
        let _ = writeln!(
            text,
            "| {name} | {cases} | {} | {} | {} | {} | {:.3} | {:.3} | {} | {} | {} | {} |",
            percent(leads[0]),
            percent(leads[1]),
            lost_and_won[0],
            lost_and_won[1],
            probability[0],
            probability[1],
            percent(named),
            percent(named_or_harmless),
            percent(falsely_named[0]),
            percent(falsely_named[1])
        );
    }
    text += "\n## Leads lost\n\n";
    for entry in compared.iter().filter(|entry| entry.leads[0] && !entry.leads[1]) {
        let named = if entry.is_named { "named" } else { "not named" };
        let _ = writeln!(
            text,
            "- case {}: {}, {}: {named}; probability of the true repair {:.2} and {:.2}",
            entry.number,
            entry.words,
            entry.mistake.words(),
            entry.probability[0],
            entry.probability[1]
        );
    }
    text
}
