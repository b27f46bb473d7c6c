//! The trials as a page in Markdown.

use crate::families::FAMILIES;
use crate::score::{Belief, Figures, Scored, calibration_error};
use crate::strategy::Strategy;
use crate::trials::{Plan, Worked};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Wrongly sure cases that the page tells in full.
const TOLD: usize = 20;

/// What was run.
#[derive(Debug, Clone, Copy)]
pub struct Run {
    /// What was asked for.
    pub plan: Plan,
    /// Cases in which a unit could not be laid out or solved.
    pub failed: usize,
    /// Cases done, those that failed included: fewer than asked for if the run was stopped.
    pub done: usize,
    /// Time of all threads together, seconds.
    pub seconds: f64,
}

impl Run {
    /// Takes the scores out of cases worked on.
    pub fn of(plan: Plan, worked: BTreeMap<u64, Worked>) -> (Self, Vec<Scored>) {
        let failed = worked.values().filter(|worked| worked.scored.is_none()).count();
        let seconds = worked.values().map(|worked| worked.seconds).sum();
        let run = Run { plan, failed, done: worked.len(), seconds };
        (run, worked.into_values().filter_map(|worked| worked.scored).flatten().collect())
    }
}

/// Writes the page.
pub fn page(run: &Run, scored: &[Scored]) -> String {
    let engine: Vec<&Scored> = scored.iter().filter(|entry| entry.strategy == Strategy::Engine).collect();
    [
        head(run),
        families(&engine),
        singles_and_doubles(&engine),
        calibration(&engine),
        misreadings(&engine),
        strategies(scored),
        work(run, scored, &engine),
        wrongly_sure(&engine),
    ]
    .concat()
}

fn percent(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

fn head(run: &Run) -> String {
    format!(
        "# Trials\n\n\
        Is the diagnosis right, and does it know how sure it is? {} units were drawn at random from {} families (seed {}),\n\
        one fault was put into each, or two into every tenth, and a simulated technician followed the program's next\n\
        check until one repair held 95 %, twenty checks were done or none was offered; that it is none of the known faults is\n\
        no end. **All units, faults and readings here are invented: drawn at random by the program, no real machine.**\n\n\
        What the meter showed comes from a second formulation that shares only the topology with the engine: a dense nodal\n\
        matrix in which every wire, joint and contact is a small resistance, motors by cross-field theory with saturating\n\
        iron and unequal windings, a supply that is up to 3 % off, windings a few kelvins warmer or colder than the setup\n\
        says, lamps that a meter sees as lamps are. With all that switched off the two agree to a millionth (a test). Faults and their sizes\n\
        are drawn by the odds and spreads that the engine itself takes them to have, so the trials say nothing about\n\
        whether those odds are right. Of the readings 5 % are grossly wrong (decimal point, place, misread); a tenth of such\n\
        ohm readings show over range.\n\n\
        A repair counts as right if it contains the repairs of all true faults. Written by\n\
        `cargo run --release -p trials -- --cases {} --seed {} --compared {} --out docs/trials.md`{}.\n\n",
        run.done,
        FAMILIES.len(),
        run.plan.seed,
        run.plan.cases,
        run.plan.seed,
        run.plan.compared,
        if run.done < run.plan.cases as usize { ", which was stopped before its last case" } else { "" }
    ) + &sound_words(run.plan.sound_share)
}

fn sound_words(share: f64) -> String {
    if share > 0.0 {
        return format!("Of the units {} are sound (`--sound {share}`).\n\n", percent(share));
    }
    "No unit is sound, while the engine holds that possible; where nothing shows, 'nothing to repair' is what it should \
    lean to, and counts as wrong here.\n\n"
        .into()
}

const HEADINGS: &str = "| | cases | probability of the true repair | it leads | in the first three | log loss, nats | ended at 95 % | wrongly sure | tied | checks | minutes |\n|---|---|---|---|---|---|---|---|---|---|---|\n";

fn row(name: &str, figures: &Figures) -> String {
    format!(
        "| {name} | {} | {:.3} | {} | {} | {:.2} | {} | {} | {} | {:.1} | {:.0} |\n",
        figures.cases,
        figures.probability,
        percent(figures.first),
        percent(figures.third),
        figures.log_loss,
        percent(figures.settled),
        percent(figures.wrongly_sure),
        percent(figures.tied),
        figures.checks,
        figures.minutes
    )
}

fn families(engine: &[&Scored]) -> String {
    let mut text = "## By family\n\nWrongly sure: ended at 95 % while the true repair held less than 5 %. Tied: no check was \
        left that tells more than a twentieth of a bit, and the true repair was among the leaders (at least a tenth of the \
        leading one). Means over cases.\n\n"
        .to_owned();
    text += HEADINGS;
    for (index, family) in FAMILIES.iter().enumerate() {
        text += &row(family.name, &Figures::of(engine.iter().copied().filter(|scored| scored.family == index)));
    }
    text += &row("**all**", &Figures::of(engine.iter().copied()));
    text + "\n"
}

fn singles_and_doubles(engine: &[&Scored]) -> String {
    let mut text = format!("## One fault and two\n\n{HEADINGS}");
    let singles = |is_visible: bool| {
        Figures::of(engine.iter().copied().filter(|scored| !scored.is_double && scored.is_visible == is_visible))
    };
    let doubles = Figures::of(engine.iter().copied().filter(|scored| scored.is_double));
    let one = Figures::of(engine.iter().copied().filter(|scored| !scored.is_double));
    text += &row("one repair", &one);
    text += &row("- complaint says that something is amiss", &singles(true));
    text += &row("- everything seemed normal", &singles(false));
    text += &row("two repairs", &doubles);
    let _ = write!(
        text,
        "\n'Nothing to repair' left aside, since none of these units is sound unless asked for, the true repair leads in {} of the \
        cases with one repair ({} where the complaint says that something is amiss) and in {} of those with two.\n\n\
        Where two repairs were needed the leading one named at least one of them in {} of the cases. Many second faults \
        show in no reading (a welded switch that is on, an open earth), and a search that ends at 95 % does not look for them.\n\n",
        percent(one.first_if_faulty),
        percent(singles(true).first_if_faulty),
        percent(doubles.first_if_faulty),
        percent(doubles.names_one)
    );
    text
}

fn calibration(engine: &[&Scored]) -> String {
    let figures = Figures::of(engine.iter().copied());
    let mut text = "## Does it know how sure it is?\n\nEvery single repair that at the end holds 0.1 % or more, alone or beside \
        another: how often was it needed? On the right the same given that something is wrong: probabilities over what is left \
        beside 'nothing to repair', since no unit here is sound unless asked for.\n\n\
        | probability | repairs | mean | right | given a fault: repairs | mean | right |\n|---|---|---|---|---|---|---|\n"
        .to_owned();
    for (index, (all, given)) in figures.bins.iter().zip(&figures.bins_if_faulty).enumerate() {
        let cells =
            |(count, mean, right): (usize, f64, f64)| format!("{count} | {} | {}", percent(mean), percent(right));
        let _ = writeln!(text, "| {}-{} % | {} | {} |", 10 * index, 10 * index + 10, cells(*all), cells(*given));
    }
    let _ = write!(
        text,
        "\nExpected calibration error: {:.4} over all of them, {:.4} over the likeliest of each case, {:.4} over all given a \
        fault. Log loss: {:.3} nats.\n\n",
        figures.calibration_error,
        figures.leading_error,
        calibration_error(&figures.bins_if_faulty),
        figures.log_loss
    );
    text
}

fn misreadings(engine: &[&Scored]) -> String {
    let (gross, named, falsely, all) = Figures::of(engine.iter().copied()).gross;
    format!(
        "## Misread values\n\nWhat one wrong reading of eight costs is in docs/one-wrong-reading.md. Here a wrong figure may also be one that \
        nothing contradicts, as of insulation. Of {all} readings {gross} were grossly wrong; the program named {named} of them ({}) as \
        questionable at the end, and {falsely} of the {} others ({}).\n\n",
        percent(named as f64 / gross.max(1) as f64),
        all - gross,
        percent(falsely as f64 / (all - gross).max(1) as f64)
    )
}

fn strategies(scored: &[Scored]) -> String {
    let numbers: Vec<u64> =
        scored.iter().filter(|entry| entry.strategy == Strategy::Handbook).map(|entry| entry.number).collect();
    if numbers.is_empty() {
        return String::new();
    }
    let mut text = format!(
        "## Ways of choosing the next check\n\nThe same {} cases, each way on its own.\n\n{HEADINGS}",
        numbers.len()
    );
    for strategy in Strategy::ALL {
        let group = scored.iter().filter(|entry| entry.strategy == strategy && numbers.contains(&entry.number));
        text += &row(strategy.words(), &Figures::of(group));
    }
    text + "\n"
}

fn work(run: &Run, scored: &[Scored], engine: &[&Scored]) -> String {
    let diagnoses: usize = scored.iter().map(|entry| entry.outcome.diagnoses).sum();
    let passed: usize = engine.iter().map(|entry| entry.outcome.passed_over).sum();
    format!(
        "## Work\n\n{:.0} s of one thread for {diagnoses} diagnoses with their searches for the next check, \
        the ways compared included: {:.0} ms each. In {passed} steps the check put first could not be written into a job (an \
        exchange of sister parts, a wait for a trip) and the next one was done. {} cases were left out because the unit \
        could not be laid out or solved. Faults never drawn, because truth has no figures for them: {}.\n\n",
        run.seconds,
        1e3 * run.seconds / diagnoses.max(1) as f64,
        run.failed,
        crate::case::UNDRAWN.join(", ")
    )
}

fn wrongly_sure(engine: &[&Scored]) -> String {
    let wrong: Vec<&&Scored> = engine.iter().filter(|scored| scored.is_wrongly_sure()).collect();
    let believed = |belief: Belief| wrong.iter().filter(|scored| scored.belief() == belief).count();
    let without_misreading =
        wrong.iter().filter(|scored| scored.outcome.doubts.iter().all(|(gross, _)| !gross)).count();
    let mut text = format!(
        "## Wrongly sure\n\n{} cases, {without_misreading} of them without a misread value. Sure that nothing is wrong: {}; that it \
        is no known fault: {}; of one of two faults: {}; of something else: {}.\n\n",
        wrong.len(),
        believed(Belief::Sound),
        believed(Belief::Unknown),
        believed(Belief::OneOfTwo),
        believed(Belief::Other)
    );
    let margins: Vec<f64> = wrong.iter().filter_map(|scored| scored.outcome.margin).collect();
    let outweighed = margins.iter().filter(|margin| **margin > 0.0).count();
    let _ = write!(
        text,
        "In {outweighed} of the {} that settled on something known, the engine's own fit of the true faults weighs more than \
        what it settled on: they were ruled out at a glance, before they were fitted. By true fault:\n\n",
        margins.len()
    );
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    for scored in &wrong {
        *counts.entry(scored.fault_names.join(" and ")).or_default() += 1;
    }
    let mut counts: Vec<(String, usize)> = counts.into_iter().collect();
    counts.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    for (name, count) in counts {
        let _ = writeln!(text, "- {name}: {count}");
    }
    let singles_first =
        wrong.iter().filter(|scored| !scored.is_double).chain(wrong.iter().filter(|scored| scored.is_double));
    let _ = write!(text, "\nThe first of them in full, those with one fault first:\n\n");
    for scored in singles_first.take(TOLD) {
        let gross: Vec<String> = scored
            .outcome
            .doubts
            .iter()
            .enumerate()
            .filter(|(_, (is_gross, _))| *is_gross)
            .map(|(index, _)| (index + 1).to_string())
            .collect();
        let fitted = scored.outcome.margin.map_or(String::new(), |margin| {
            format!("; the engine's fit of the truth over what it settled on: {margin:+.1} nats")
        });
        let misread = if gross.is_empty() { "none".into() } else { gross.join(", ") };
        let (leading, share) = scored.outcome.repairs.first().cloned().unwrap_or_default();
        let _ = write!(
            text,
            "### Case {}: {}\n\n- true: {}\n- believed: {} ({leading}, {})\n- probability of the true repair: {:.1e}; misread readings: {misread}{fitted}\n",
            scored.number,
            FAMILIES[scored.family].name,
            scored.fault_words,
            scored.outcome.believed,
            percent(share),
            scored.probability
        );
        scored.outcome.notes.iter().for_each(|note| {
            let _ = writeln!(text, "- {note}");
        });
        text += "\n";
    }
    text
}
