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

/// Faults of the kinds that the example has none of stand in the document too.
#[test]
fn every_fault_of_supply_side_parts_and_transformers_is_named() {
    let parts = "[unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
                 [parts.Y]\nkind = \"solenoid-valve\"\nvolts = 230\n\
                 [parts.F]\nkind = \"fuse\"\namps = 2\n[parts.K]\nkind = \"manual-reset-cutout\"\n\
                 [parts.Q]\nkind = \"overload-relay\"\namps = 2\npoles = 1\n\
                 [parts.Z]\nkind = \"interference-filter\"\nacross_microfarads = 1\nearth_nanofarads = 1\nbleed_ohms = 1\n\
                 [parts.T]\nkind = \"transformer\"\nvolt_amperes = 50\nthermal_link = \"primary\"\n\
                 windings.primary = [\"0\", 120, \"120\"]\nwindings.secondary = [\"a\", 12, \"b\"]\n";
    assert_named(parts);
}

/// The same for supplies with several live conductors and for three-phase motors; phases v and w go with phase u.
#[test]
fn every_fault_of_several_live_conductors_is_named() {
    for supply in ["two-leg-supply", "three-phase-supply"] {
        for connection in ["star", "delta", "six-lead", "nine-lead"] {
            let parts = format!(
                "[unit]\nname = \"x\"\n[parts.supply]\nkind = \"{supply}\"\nvolts = 400\nhertz = 50\n\
                 [parts.M]\nkind = \"three-phase-motor\"\nconnection = \"{connection}\"\n\
                 plate = {{ volts = 400, hertz = 50, amps = 1.1 }}\n"
            );
            assert_named(&parts);
        }
    }
}

fn assert_named(parts: &str) {
    let job = bench::job::read("job.toml", parts).unwrap_or_else(|problems| panic!("{problems}"));
    // Of the secondary the document names the sections with a tap between.
    let names = job.unit.faults().iter().map(|fault| fault.mode.name.as_str()).filter(|name| {
        let alike = ["v-", "w-", "t1-", "t2-", "t3-", "t7-", "t8-", "t9-"];
        !name.starts_with("a-b-") && (name.ends_with("lead-open") || !alike.iter().any(|first| name.starts_with(first)))
    });
    assert_eq!(left_out(names), Vec::<&str>::new());
}

#[test]
fn every_fault_of_motors_that_start_with_a_switch_is_named() {
    let plate = "plate = { volts = 230, hertz = 50, amps = 2 }";
    let parts = format!(
        "[unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n\
         [parts.A]\nkind = \"split-phase-motor\"\n{plate}\n[parts.B]\nkind = \"compressor\"\n{plate}\n\
         [parts.P]\nkind = \"split-phase-motor\"\nload = \"pump\"\n{plate}\n\
         [parts.C]\nkind = \"reversible-motor\"\nload = \"constant\"\n{plate}\n\
         [parts.D]\nkind = \"start-capacitor\"\nmicrofarads = 60\nbleed_ohms = 15e3\n\
         [parts.E]\nkind = \"potential-relay\"\npickup_volts = 280\n\
         [parts.F]\nkind = \"current-relay\"\npickup_amps = 8\n[parts.G]\nkind = \"ptc-starter\"\n\
         [parts.N]\nkind = \"inrush-limiter\"\n[parts.O]\nkind = \"half-wave-diode\"\n\
         [parts.S]\nkind = \"sequencer\"\nvolts = 24\n\
         [parts.H]\nkind = \"relay\"\nvolts = 230\ncontacts.pulled-in = [[\"A\", \"B\"]]\n"
    );
    let job = bench::job::read("job.toml", &parts).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!(left_out(job.unit.faults().iter().map(|fault| fault.mode.name.as_str())), Vec::<&str>::new());
}
