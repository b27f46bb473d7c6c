//! Housings and refusals.

use super::*;

/// The sound job with a housing; its mark stands in what follows.
#[track_caller]
fn check_housing(fields: &str, message: &str, expected: &str, mend: &str) {
    check_text(&format!("{SOUND}\n[[housings]]\nname = \"shell\"\n{fields}\n"), message, expected, mend);
}

#[test]
fn housings_and_refusals_that_are_in_order() {
    let text = format!(
        "refused = [\"amps\", \"M1\", \"C1.a\", \"setup live\", \"housing box\", \"energised\"]\n{SOUND}\n\
         [[housings]]\nname = \"box\"\nholds = [\"M1.common\"]\nminutes = 2\nbehind = \"shell\"\n\
         [[housings]]\nname = \"shell\"\nholds = [\"M1\", \"J\"]\nminutes = 5.5\nopen = true\n"
    );
    let job = read("job.toml", &text).unwrap_or_else(|problems| panic!("{problems}"));
    assert_eq!((job.housings.len(), job.refused.len()), (2, 6));
    assert_eq!((job.housings[0].behind, job.housings[1].is_open, job.housings[1].minutes), (Some(1), true, 5.5));
    // What is in the box is behind the shell too.
    let common = job.unit.find_terminal("M1.common").unwrap();
    let reach = bench::Reach { terminals: vec![common], ..bench::Reach::default() };
    assert_eq!(job.housings_ahead(&reach), [0, 1]);
}

#[test]
fn a_housing_around_nothing() {
    check_text(
        &format!("{SOUND}\n^[[housings]]\nname = \"shell\"\nminutes = 5\n"),
        "the housing 'shell' has nothing behind it",
        "holds = [\"part\", \"part.terminal\"]",
        "name what it covers, or leave it out",
    );
}

#[test]
fn a_housing_around_an_unknown_part() {
    let (message, expected) = ("unknown part or terminal 'C2'", "a part, or part.terminal");
    check_housing("minutes = 5\nholds = [^\"C2\"]", message, expected, "there is supply, cord, S, M1, C1, J, frame");
    let message = "unknown part or terminal 'M1.comon'";
    check_housing("minutes = 5\nholds = [^\"M1.comon\"]", message, expected, "did you mean M1.common or M1.run?");
}

#[test]
fn a_housing_around_the_supply() {
    let mend = "the supply and the metal of the unit are outside: leave it out";
    check_housing(
        "minutes = 5\nholds = [^\"supply.hot\"]",
        "'supply.hot' behind a housing",
        "parts within the unit",
        mend,
    );
}

#[test]
fn a_housing_of_negative_minutes() {
    let expected = "minutes to open it, from 0 to 480";
    check_housing("minutes = ^-5\nholds = [\"C1\"]", "a housing of -5 minutes", expected, "");
    check_housing("minutes = ^nan\nholds = [\"C1\"]", "a housing of NaN minutes", expected, "");
}

#[test]
fn housings_behind_each_other() {
    check_text(
        &format!(
            "{SOUND}\n[[housings]]\nname = \"shell\"\nminutes = 5\nholds = [\"C1\"]\nbehind = ^\"box\"\n\
             [[housings]]\nname = \"box\"\nminutes = 5\nholds = [\"M1\"]\nbehind = \"shell\"\n"
        ),
        "housings behind each other: shell behind box behind shell",
        "an outermost housing",
        "leave out 'behind' of the outermost",
    );
}

#[test]
fn a_housing_behind_an_unknown_one() {
    let (message, mend) = ("unknown housing 'shel'", "did you mean shell?");
    check_housing("minutes = 5\nholds = [\"C1\"]\nbehind = ^\"shel\"", message, "the name of a housing", mend);
}

#[test]
fn two_housings_of_one_name() {
    check_housing(
        "minutes = 5\nholds = [\"C1\"]\n\n[[housings]]\nname = ^\"shell\"\nminutes = 1\nholds = [\"M1\"]",
        "a second housing called 'shell'",
        "each name once",
        "rename one of them, or put what they hold together",
    );
}

#[test]
fn a_refusal_of_an_unknown_word() {
    check_text(
        &format!("refused = [^\"amp\"]\n{SOUND}"),
        "'amp' cannot be refused: it is not known",
        bench::job::REFUSABLE,
        "did you mean amps?",
    );
}
