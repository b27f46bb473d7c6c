use super::*;
use crate::job::read;

const AIR_CURTAIN: &str = include_str!("../../../../../../demos/air-curtain.toml");

/// A wire with a label of two words, so that names with blanks are tried too.
fn unit() -> Unit {
    let text = AIR_CURTAIN.replace("to = \"C1.a\", colour", "to = \"C1.a\", label = \"start lead\", colour");
    read("job.toml", &text).unwrap().unit
}

/// The line as the history tells it.
fn told(line: &str, energised: bool) -> String {
    match parse_entry(&unit(), line, energised) {
        Ok(entry) => entry.into_edit("s", None).words().replace(" added", "").replace(", setup s", ""),
        Err(problem) => format!("! {problem}"),
    }
}

#[test]
fn what_is_typed_at_a_bench_is_understood() {
    for (line, energised, words) in [
        ("M1.common M1.high 27.1", false, "reading: 27.1 ohm, M1.common to M1.high"),
        ("M1.common M1.high 27.1", true, "reading: 27.1 V, M1.common to M1.high"),
        ("M1.common M1.high open", false, "reading: open, M1.common to M1.high"),
        ("M1.common M1.high OL", false, "reading: open, M1.common to M1.high"),
        ("M1.common to M1.high 0,35 k", false, "reading: 0.35 kohm, M1.common to M1.high"),
        ("M1.common - M1.high 0.35kohm", false, "reading: 0.35 kohm, M1.common to M1.high"),
        ("M1.common M1.high 2 MΩ", false, "reading: 2 Mohm, M1.common to M1.high"),
        ("M1.common frame 1.5M", false, "reading: 1.5 Mohm, M1.common to frame"),
        ("  m1.COMMON\t m1.high 27,1 Ohms ", false, "reading: 27.1 ohm, M1.common to M1.high"),
        ("cord.hot cord.neutral 231.4 V", true, "reading: 231.4 V, cord.hot to cord.neutral"),
        ("cord.hot cord.neutral dead", true, "reading: dead, cord.hot to cord.neutral"),
        ("C1.a C1.b 11.8 uF", false, "reading: 11.8 uF, C1.a to C1.b"),
        ("C1.a to C1.b 3,4 µF", false, "reading: 3.4 uF, C1.a to C1.b"),
        ("c1.a c1.b 8 MFD", false, "reading: 8 uF, C1.a to C1.b"),
        ("C1.a C1.b 220 nF", false, "reading: 0.22 uF, C1.a to C1.b"),
        ("C1.a C1.b 0 uF", false, "reading: 0 uF, C1.a to C1.b"),
        ("C1.a C1.b OL uF", false, "reading: OL, C1.a to C1.b"),
        ("frame cord.neutral 3 volts", true, "reading: 3 V, frame to cord.neutral"),
        ("cord.hot 0.73 A", true, "reading: 0.73 A, through cord.hot"),
        ("cord.hot 0.73", true, "reading: 0.73 A, through cord.hot"),
        ("cord.hot 730 mA", true, "reading: 0.73 A, through cord.hot"),
        ("cord.hot~cutout.a 0,7a", true, "reading: 0.7 A, through cord.hot~cutout.a"),
        ("start lead 0.07 A", true, "reading: 0.07 A, through start lead"),
        ("cord.hot dead", true, "reading: dead, through cord.hot"),
        ("M1 1291 rpm", true, "reading: 1291 rpm, of M1"),
        ("M1 12,5 s", true, "reading: 12.5 s, run-down of M1"),
        ("M1 dead", true, "symptom: M1 dead"),
        ("cord 210 W", true, "reading: 210 W, of cord"),
        ("cord 1.2 kW", true, "reading: 1.2 kW, of cord"),
        ("cord 2,1 mA leakage", true, "reading: 2.1 mA leakage, of cord"),
        ("supply dead mA leakage", true, "reading: dead, of supply"),
        ("frame 0.35 mA touch", true, "reading: 0.35 mA touch, at frame"),
        ("M1.common 0.35 mA Touch", true, "reading: 0.35 mA touch, at M1.common"),
        ("M2 hums", true, "symptom: M2 hums"),
        ("m2 Runs Hot", true, "symptom: M2 runs hot"),
        ("M2 runs when pushed", true, "symptom: M2 runs when pushed"),
        ("frame shocks", true, "symptom: frame shocks"),
    ] {
        assert_eq!(told(line, energised), words, "{line}");
    }
}

#[test]
fn what_is_not_understood_gets_a_mend() {
    for (line, energised, words) in [
        ("", false, "nothing is typed; write a line such as"),
        ("M1.comon M1.high 27.1", false, "unknown name 'M1.comon'; did you mean M1.common"),
        ("M1.common M1.hihg 27.1", false, "unknown name 'M1.hihg'; did you mean M1.high"),
        ("selektor.line 1 A", true, "did you mean selector.line"),
        ("27.1 M1.common", false, "'27.1' stands where a name belongs"),
        ("M1", true, "'M1' alone says nothing"),
        ("M1.common", true, "alone says nothing"),
        ("M1.common M1.high", false, "no value after M1.common and M1.high"),
        ("M1.common M1.high many", false, "no value"),
        ("M1.common M1.common 1", false, "both probes at M1.common"),
        ("M1 M1.high 3", false, "'M1' is a part, a probe goes to a terminal; there is M1.common"),
        ("M1.common start lead 3", false, "'start lead' is a wire"),
        ("M1.common 27.1", false, "one terminal only"),
        ("M1.common 27.1 ohm", false, "between two terminals"),
        ("M1.common M1.high 27.1 ohm", true, "supply is on; choose a setup with the supply off"),
        ("M1.common M1.high dead", false, "ohms cannot be dead; type open"),
        ("cord.hot cord.neutral open", true, "volts cannot be open; type dead"),
        ("cord.hot cord.neutral OL", true, "volts cannot be open; type dead"),
        ("C1.a C1.b open uF", false, "a capacitance cannot be open; type 0 for a capacitor that is open inside"),
        ("C1.a C1.b dead uF", false, "a capacitance cannot be dead; type 0"),
        ("C1.a C1.b 3 uF", true, "microfarads in a setup where the supply is on"),
        ("C1.a 3 uF", false, "microfarads lie between the two terminals of a capacitor"),
        ("M1.common M1.high 3 A", true, "amps between two terminals"),
        ("cord 0.73 A", true, "there is cord.plug-hot, cord.plug-neutral, cord.plug-earth, cord.hot"),
        ("M1.high 100 rpm", true, "name the part, such as M1"),
        ("C1 100 rpm", true, "'C1' does not turn"),
        ("M1 2.1 mA leakage", true, "'M1' does not feed the unit; leakage is of the cord or the supply"),
        ("M1 2.1 mA touch", true, "'M1' is a part, a probe goes to a terminal"),
        ("frame cord.neutral 2.1 mA touch", true, "it flows from one to earth"),
        ("frame cord.neutral 2.1 mA leakage", true, "leakage is of the cord or the supply"),
        ("M1 1291", true, "has no unit; write W for watts, rpm for speed or s"),
        ("M1 12 s", false, "choose the live setup in which the motor ran"),
        ("C1 12 s", true, "'C1' has no shaft"),
        ("M1.common M1.high 12 s", true, "rpm and seconds are of a motor"),
        ("M1 stiff", true, "choose a setup with the supply off"),
        ("C1 wobbles", false, "name a motor with an open shaft"),
        ("M1 humms", true, "did you mean hums"),
        ("M1 is sad", true, "no word for a symptom"),
        ("M1.common M1.high 1,000", false, "'1,000' has a comma; write 1.000 or 1000"),
        ("M1.common M1.high 3m", false, "m could be milli or mega"),
        ("M1.common M1.high 4k7", false, "write 4.7k"),
        ("M1.common M1.high 3K", false, "write 3k"),
        ("M1.common M1.high -3", false, "minus sign"),
        ("M1.common M1.high 27 bananas", false, "'bananas' after the number is not a unit"),
        ("M1.common M1.high open ohm now", false, "is not known"),
        ("M1.common M1.high 1.2.3", false, "is not a number"),
    ] {
        let told = told(line, energised);
        assert!(told.starts_with("! ") && told.contains(words), "{line}: {told}");
    }
}

#[test]
fn what_is_understood_is_read_as_it_was_meant() {
    let text = AIR_CURTAIN;
    let unit = read("job.toml", text).unwrap().unit;
    let entry = parse_entry(&unit, "M1.common M1.high 0,35 k", false).unwrap();
    let after = super::super::apply(text, &entry.into_edit("unplugged", None)).unwrap();
    let job = read("job.toml", &after).unwrap();
    let reading = job.readings.last().unwrap();
    assert_eq!(reading.value, crate::Value::Number(350.0));
    assert_eq!(crate::words::place(&job.unit, reading.measure), "M1.common to M1.high");
}

proptest::proptest! {
    #[test]
    fn no_line_makes_it_fall_over(
        line in "(M1|M1.high|m1.common|frame|start lead|ſ|İ|\\PC){0,2} ?(M1.low|to|open|dead|OL|\\PC){0,2} ?[-+0-9.,ekMmΩVA \\PC]{0,8}",
        energised: bool,
    ) {
        if let Err(problem) = parse_entry(&unit(), &line, energised) {
            proptest::prop_assert!(!problem.message.is_empty() && problem.to_string().len() < 2000);
        }
    }
}
