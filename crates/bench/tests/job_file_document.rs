//! `docs/job-file.md` is true: its example loads without a complaint, and it names all that a job file can hold.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

const DOCUMENT: &str = include_str!("../../../docs/job-file.md");

/// The first block of TOML.
fn example() -> &'static str {
    let (_, rest) = DOCUMENT.split_once("```toml\n").expect("a block of TOML");
    rest.split_once("```").expect("its end").0
}

fn load() -> bench::Job {
    bench::job::read("docs/job-file.md", example()).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// Those names that do not stand in the document as code.
fn left_out<'n>(names: impl IntoIterator<Item = &'n str>) -> Vec<&'n str> {
    names.into_iter().filter(|name| !DOCUMENT.contains(&format!("`{name}`"))).collect()
}

#[test]
fn the_example_loads_without_problems_and_warnings() {
    let job = load();
    assert!(job.warnings.0.is_empty(), "{:#?}", job.warnings);
    assert!(!job.readings.is_empty() && !job.symptoms.is_empty());
    assert!(job.unit.note.unwrap().to_lowercase().contains("invented"));
}

#[test]
fn every_kind_of_part_is_named() {
    assert_eq!(left_out(bench::kinds::KIND_NAMES), Vec::<&str>::new());
}

#[test]
fn every_word_for_a_symptom_is_named() {
    assert_eq!(left_out(bench::Word::ALL.map(bench::Word::as_str)), Vec::<&str>::new());
}

#[test]
fn every_fault_of_the_example_is_named() {
    let job = load();
    let faults = job.unit.faults();
    assert!(!faults.is_empty());
    assert_eq!(left_out(faults.iter().map(|fault| fault.mode.name.as_str())), Vec::<&str>::new());
}
