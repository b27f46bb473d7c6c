//! Logs as they come: layouts, units, times, and everything that is wrong with them, said with its row.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proof::heat_run::finding::{Asked, AskedError, find};
use proof::heat_run::import::header::{MINUTES, Quantity};
use proof::heat_run::import::oddity::{Kind, Oddity};
use proof::heat_run::import::{ImportError, Log, Options, read};
use proof::heat_run::limit::Limit;
use proof::heat_run::verdict::{Verdict, Withheld};
use proof::heat_run::words::{Scale, verdict_words};

fn log(text: &str) -> Log {
    read(text.as_bytes(), &Options::default()).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn error(text: &str) -> String {
    read(text.as_bytes(), &Options::default()).expect_err(text).to_string()
}

fn of_kind(log: &Log, kind: Kind) -> &Oddity {
    log.oddities.iter().find(|oddity| oddity.kind == kind).unwrap_or_else(|| panic!("{kind:?}: {:?}", log.oddities))
}

fn means(log: &Log, name: &str) -> Vec<(f64, f64)> {
    log.channels.iter().find(|channel| channel.name == name).unwrap().bins.means().collect()
}

fn asked(limit: f64) -> Asked {
    let limit = Limit { celsius: limit, words: "limit".into(), source: "test".into(), room_celsius: None };
    Asked { limit: Some(limit), ..Asked::default() }
}

/// A rise with one reading a minute: check values 9, two nodes with 75 K, 36.1529 s and 663.847 s, slowed down fourfold.
fn rise(minutes: usize, every_seconds: usize) -> Vec<(f64, f64)> {
    (0..=minutes * 60 / every_seconds)
        .map(|row| {
            let seconds = (row * every_seconds) as f64;
            (seconds, 20.0 + 75.0 - 24.356 * (-seconds / 144.6).exp() - 50.644 * (-seconds / 2655.4).exp())
        })
        .collect()
}

fn written(rows: &[(f64, f64)]) -> String {
    let rows = rows.iter().map(|(seconds, celsius)| format!("{},{celsius:.1},1.2\n", seconds / 60.0));
    std::iter::once("t [min],winding [°C],amps\n".to_owned()).chain(rows).collect()
}

#[test]
fn one_log_in_many_layouts() {
    let expected = [(0.0, 20.5), (60.0, 22.0), (120.0, 24.25)];
    for text in [
        "t [min],winding [°C]\n0,20.5\n1,22.0\n2,24.25\n",
        "t [min];winding [°C]\n0;20,5\n1;22,0\n2;24,25\n",
        "t/min\twinding C\n0\t20.5\n1\t22.0\n2\t24.25\n",
        "\u{feff}time (s),winding\r\n0,20.5\r\n60,22\r\n120,24.25\r\n",
        "t,winding\nmin,°C\n0,20.5\n1,22.0\n2,24.25\n",
        "Logger 4711\nserial;12\nZeit;winding (°C)\n0:00:00;20,5\n0:01:00;22,0\n0:02:00;24,25\n",
        "time,winding [F]\n2026-05-04T10:00:00,68.9\n2026-05-04T10:01:00,71.6\n2026-05-04T10:02:00,75.65\n",
        "Date;Time;winding [K]\n04.05.2026;23:59:00;293.65\n05.05.2026;00:00:00;295.15\n05.05.2026;00:01:00;297.4\n",
        "time,winding [C]\n11:59 PM,20.5\n12:00 AM,22\n12:01 AM,24.25\n",
        "time [h],winding [°C]\n0,\"20.5\"\n0.016666666667,22.0\n0.033333333333,24.25\n",
    ] {
        let found = means(&log(text), "winding");
        assert_eq!(found.len(), 3, "{text}");
        for ((seconds, value), (should, celsius)) in found.iter().zip(expected) {
            assert!((seconds - should).abs() < 1e-3 && (value - celsius).abs() < 1e-6, "{text}: {found:?}");
        }
    }
    // A degree sign in Latin-1.
    let latin = read(&b"t [s],winding [\xb0C]\n0,20\n1,21\n"[..], &Options::default()).unwrap();
    assert_eq!(latin.channels[0].quantity, Quantity::Temperature);
}

#[test]
fn several_channels_have_their_names_and_units() {
    let log = log(
        "t [min],winding 1 [°C],core F,I [mA],P [W],room [°C],humidity %\n0,20,68,1200,90,20,45\n1,21,69.8,1190,89,20,46\n",
    );
    let names: Vec<(&str, Quantity, bool)> =
        log.channels.iter().map(|channel| (channel.name.as_str(), channel.quantity, channel.is_room)).collect();
    assert_eq!(
        names,
        [
            ("winding 1", Quantity::Temperature, false),
            ("core", Quantity::Temperature, false),
            ("I", Quantity::Amps, false),
            ("P", Quantity::Watts, false),
            ("room", Quantity::Temperature, true),
        ]
    );
    assert!((means(&log, "I")[0].1 - 1.2).abs() < 1e-12);
    assert!((means(&log, "core")[1].1 - 21.0).abs() < 1e-9);
    assert_eq!(of_kind(&log, Kind::Unused).column.as_deref(), Some("humidity %"));
}

#[test]
fn text_in_a_column_of_numbers_is_said_with_its_rows() {
    let log = log("t [min],winding [°C]\n0,20\n1,warm\n2,21\n3,1;2\n4,22\n");
    let oddity = of_kind(&log, Kind::Unreadable);
    assert_eq!((oddity.count, oddity.rows.as_slice()), (2, &[3, 5][..]));
    assert!(oddity.to_string().contains("rows 3, 5: winding: 'warm' is no number"), "{oddity}");
    assert_eq!(means(&log, "winding").len(), 3);
    assert_eq!(log.rows, 5, "the rows themselves are kept");
}

#[test]
fn mixed_units_are_converted_and_said() {
    let log = log("t [min],winding [°C]\n0,20\n1,71.6 F\n2,21 V\n3,23 C\n");
    assert_eq!(of_kind(&log, Kind::OtherUnit).rows, [3]);
    assert_eq!(of_kind(&log, Kind::Unreadable).rows, [4]);
    let values: Vec<f64> = means(&log, "winding").iter().map(|&(_, value)| value).collect();
    assert!((values[1] - 22.0).abs() < 1e-9 && values.len() == 3, "{values:?}");
}

#[test]
fn time_backwards_twice_and_missing() {
    let mut text = "t [s],winding [°C]\n".to_owned();
    for second in 0..100 {
        let at = match second {
            30 => 5,
            50 => 49,
            _ if second >= 70 => second + 200,
            _ => second,
        };
        text += &format!("{at},{}\n", 20 + second / 10);
    }
    text += "later,30\n";
    let log = log(&text);
    assert_eq!(of_kind(&log, Kind::BackwardTime).rows, [32]);
    assert_eq!(of_kind(&log, Kind::DuplicateTime).rows, [52]);
    assert_eq!(of_kind(&log, Kind::Gap).rows, [72]);
    assert!(of_kind(&log, Kind::Gap).words.contains("3 min") || of_kind(&log, Kind::Gap).words.contains("201 s"));
    assert_eq!(of_kind(&log, Kind::UnreadableTime).rows, [102]);
    assert_eq!(log.rows, 99, "one row ran backwards, one has no time");
}

#[test]
fn a_sensor_that_falls_off_ends_its_channel_and_is_no_pass() {
    for open in ["23.1", "OL", "1372.0"] {
        let mut text = "t [min],winding [°C],core [°C],amps\n".to_owned();
        for (row, (seconds, celsius)) in rise(150, 60).iter().enumerate() {
            let shown = if row >= 120 { open.to_owned() } else { format!("{celsius:.1}") };
            text += &format!("{},{shown},{:.1},1.2\n", seconds / 60.0, 20.0 + 0.6 * (celsius - 20.0));
        }
        let log = log(&text);
        let oddity = of_kind(&log, Kind::SensorLost);
        assert_eq!((oddity.column.as_deref(), oddity.rows[0]), (Some("winding"), 122), "{open}");
        assert_eq!(oddity.count, 31, "every reading after it is counted");
        let found = find(&log, &asked(180.0)).unwrap();
        assert_eq!(found.channels[0].judgement.withheld, Some(Withheld::SensorLost));
        assert_eq!(found.channels[1].judgement.verdict, Verdict::Pass);
        assert_eq!(found.verdict, Verdict::NotYet);
    }
}

/// However a logger says that it has no value: the readings that it had before are no whole run.
#[test]
fn a_sensor_of_which_nothing_more_is_written_is_no_pass() {
    for nothing in ["", "-", "---", "NaN", "n/a", "#N/A", "Error", "None", "null", "no probe", "12 V"] {
        let mut text = "t [min],winding [°C],core [°C],amps\n".to_owned();
        for (row, (seconds, celsius)) in rise(150, 60).iter().enumerate() {
            let shown = if row >= 60 { nothing.to_owned() } else { format!("{celsius:.1}") };
            text += &format!("{},{shown},{:.1},1.2\n", seconds / 60.0, 20.0 + 0.6 * (celsius - 20.0));
        }
        let log = log(&text);
        let oddity = of_kind(&log, Kind::SensorLost);
        assert_eq!((oddity.column.as_deref(), oddity.rows[0]), (Some("winding"), 62), "'{nothing}'");
        let found = find(&log, &asked(180.0)).unwrap();
        assert_eq!(found.channels[0].lost_at, Some(62), "'{nothing}'");
        assert_eq!(found.channels[0].judgement.withheld, Some(Withheld::SensorLost), "'{nothing}'");
        assert_eq!(found.channels[1].judgement.verdict, Verdict::Pass, "'{nothing}'");
        assert_eq!(found.verdict, Verdict::NotYet, "'{nothing}'");
        // The same with cells that are not there at all.
        if nothing.is_empty() {
            let cut: String = (text.lines().enumerate())
                .map(|(row, line)| if row >= 61 { line.split(',').next().unwrap() } else { line }.to_owned() + "\n")
                .collect();
            assert_eq!(self::log(&cut).channels[0].lost_at, Some(62));
        }
    }
}

#[test]
fn a_column_that_is_written_seldom_or_again_is_not_lost() {
    let with = |is_written: fn(usize) -> bool| {
        let mut text = "t [min],winding [°C],amps\n".to_owned();
        for (row, (seconds, celsius)) in rise(236, 60).iter().enumerate() {
            let shown = if is_written(row) { format!("{celsius:.1}") } else { String::new() };
            text += &format!("{},{shown},1.2\n", seconds / 60.0);
        }
        log(&text)
    };
    let sparse = with(|row| row % 10 == 0);
    assert!(sparse.channels[0].lost_at.is_none() && sparse.oddities.is_empty(), "{:?}", sparse.oddities);
    assert_eq!(find(&sparse, &asked(180.0)).unwrap().verdict, Verdict::Pass);
    let back = with(|row| !(60..80).contains(&row));
    assert!(back.channels[0].lost_at.is_none());
    let gap = of_kind(&back, Kind::Gap);
    assert_eq!((gap.column.as_deref(), gap.rows.as_slice()), (Some("winding"), &[62][..]));
    assert!(gap.words.contains("no reading in 20 rows"), "{gap}");
    // Lost a second time, and not longer than the first.
    let again = with(|row| !(60..80).contains(&row) && row < 220);
    assert_eq!(again.channels[0].lost_at, Some(222));
}

#[test]
fn a_sensor_taken_off_after_switching_off_is_not_lost() {
    let mut text = written(&rise(240, 60));
    (241..260).for_each(|minute| text += &format!("{minute},n/a,0\n"));
    let found = find(&log(&text), &Asked { was_switched_off: true, ..asked(120.0) }).unwrap();
    assert_eq!((found.verdict, found.channels[0].lost_at), (Verdict::Pass, None));
}

#[test]
fn spikes_are_left_out_and_a_sensor_that_comes_back_is_judged_on() {
    let mut text = "t [min],winding [°C]\n".to_owned();
    for (row, (seconds, celsius)) in rise(100, 60).iter().enumerate() {
        let shown = match row {
            20 => 250.0,
            50..=60 => 22.0,
            _ => *celsius,
        };
        text += &format!("{},{shown:.1}\n", seconds / 60.0);
    }
    let log = log(&text);
    let spike = log.oddities.iter().find(|oddity| oddity.words.contains("jumps away and back")).unwrap();
    assert_eq!(spike.rows, [22]);
    assert_eq!(of_kind(&log, Kind::SensorLost).rows[0], 52);
    assert!(of_kind(&log, Kind::SensorBack).words.contains("after 11 readings"), "{:?}", log.oddities);
    assert!(means(&log, "winding").iter().all(|&(_, value)| value < 100.0));
    assert!(log.channels[0].lost_at.is_none());
}

#[test]
fn temperatures_below_the_room_are_said_and_no_pass() {
    let log = log("t [min],winding [°C],room [°C]\n0,15,22\n1,15,22\n2,15.1,22\n3,15,22\n");
    assert_eq!(of_kind(&log, Kind::BelowRoom).count, 3, "the first row comes before the room is known");
    let mut text = "t [min],winding [°C]\n".to_owned();
    (0..120).for_each(|minute| text += &format!("{minute},{}\n", 12.0 + 0.1 * f64::from(minute % 2)));
    let log = read(text.as_bytes(), &Options { room_celsius: Some(22.0), ..Options::default() }).unwrap();
    assert_eq!(of_kind(&log, Kind::BelowRoom).count, 120);
    let found = find(&log, &Asked { room_celsius: Some(22.0), ..asked(100.0) }).unwrap();
    assert_eq!(found.channels[0].judgement.withheld, Some(Withheld::BelowRoom));
}

/// A log that begins far below its room is none of a unit that runs in it, wherever it ends.
#[test]
fn a_run_that_begins_below_the_room_is_no_pass() {
    let starting = |below: f64, rows: usize| {
        let mut text = "t [min],winding [°C],room [°C]\n".to_owned();
        for (row, (seconds, celsius)) in rise(240, 60).iter().enumerate() {
            // A column of the readings but for some at the beginning.
            let shown = if row < rows { 20.0 - below } else { celsius.max(20.0) };
            text += &format!("{},{shown:.1},20.0\n", seconds / 60.0);
        }
        find(&log(&text), &asked(120.0)).unwrap().channels.remove(0).judgement
    };
    assert_eq!(starting(0.0, 0).verdict, Verdict::Pass);
    assert_eq!(starting(9.0, 3).withheld, Some(Withheld::BelowRoom));
    assert_ne!(starting(9.0, 2).withheld, Some(Withheld::BelowRoom), "two may be the sensor warming in the hand");
    assert_ne!(starting(4.0, 3).withheld, Some(Withheld::BelowRoom));
}

#[test]
fn a_limit_for_a_certain_room_is_no_pass_where_the_room_is_not_known() {
    let log = log(&written(&rise(240, 60)));
    let limit = Limit { room_celsius: Some(25.0), ..asked(140.0).limit.unwrap() };
    let asked = |room| Asked { limit: Some(limit.clone()), room_celsius: room, ..Asked::default() };
    let unknown = find(&log, &asked(None)).unwrap();
    assert_eq!(unknown.channels[0].judgement.withheld, Some(Withheld::RoomUnknown));
    let words = verdict_words(&unknown.channels[0], Scale::CELSIUS);
    assert!(words.contains("meant for a room at 25 C") && words.contains("--ambient"), "{words}");
    let known = find(&log, &asked(Some(20.0))).unwrap();
    assert_eq!((known.verdict, known.is_room_logged), (Verdict::Pass, false));
    assert_eq!(known.channels[0].judgement.correction_kelvin, 5.0);
}

#[test]
fn a_unit_that_was_off_proves_nothing() {
    let log = log(&written(&rise(240, 60)));
    let found = find(&log, &Asked { was_never_on: true, ..asked(120.0) }).unwrap();
    assert_eq!(found.channels[0].judgement.withheld, Some(Withheld::Off));
}

#[test]
fn a_cutout_is_recognised_and_cycling_is_never_a_pass() {
    let mut text = "t [s],winding [°C],amps\n".to_owned();
    for second in (0..7200).step_by(10) {
        let phase = f64::from(second % 900);
        let (celsius, amps) =
            if phase < 600.0 { (60.0 + phase / 20.0, 1.5) } else { (90.0 - (phase - 600.0) / 10.0, 0.0) };
        text += &format!("{second},{celsius:.1},{amps}\n");
    }
    let log = log(&text);
    let found = find(&log, &asked(180.0)).unwrap();
    let cycling = found.cycling.unwrap();
    assert_eq!(cycling.stops, 8);
    assert!((cycling.period_minutes.unwrap() - 15.0).abs() < 0.2);
    assert!(
        (cycling.opens_celsius.unwrap() - 90.0).abs() < 1.0 && (cycling.closes_celsius.unwrap() - 60.0).abs() < 1.0
    );
    assert_eq!(found.channels[0].judgement.withheld, Some(Withheld::Interrupted));
    assert_eq!(found.verdict, Verdict::NotYet);
    let words = verdict_words(&found.channels[0], Scale::CELSIUS);
    assert!(words.contains("stopped at row 62 (minute 10)"), "{words}");
    // Without a logged current the falling temperature tells.
    let without: String = text.lines().map(|line| line.rsplit_once(',').unwrap().0.to_owned() + "\n").collect();
    let found = find(&self::log(&without), &asked(180.0)).unwrap();
    assert_eq!(found.channels[0].judgement.withheld, Some(Withheld::Interrupted));
    let at = found.channels[0].interrupted.unwrap();
    assert!((at.minute - 10.0).abs() < 0.5 && at.row.is_none(), "{at:?}");
    let words = verdict_words(&found.channels[0], Scale::CELSIUS);
    assert!(words.contains("from minute 10 on the temperature fell"), "{words}");
}

#[test]
fn a_unit_that_does_not_warm_is_asked_whether_it_is_on() {
    let text: String = (0..60).map(|minute| format!("{minute},23.{}\n", minute % 2)).collect();
    let found = find(&log(&format!("t [min],winding [°C]\n{text}")), &asked(105.0)).unwrap();
    let words = verdict_words(&found.channels[0], Scale::CELSIUS);
    assert_eq!(found.channels[0].judgement.withheld, Some(Withheld::HardlyWarmed));
    assert!(words.contains("is the unit on"), "{words}");
}

#[test]
fn a_wrong_unit_in_the_heading_is_asked_about() {
    let log = log("t [min],winding [K],core [°C]\n0,21,20\n1,25,21\n2,28,22\n");
    let oddity = of_kind(&log, Kind::SensorLost);
    assert!(oddity.words.contains("is the heading's unit not right?"), "{oddity}");
}

#[test]
fn two_columns_of_one_name_are_told_apart_and_said() {
    let log = log("t [min],winding [°C],Winding [°C],winding 2 [°C]\n0,20,21,22\n1,21,22,23\n");
    let names: Vec<&str> = log.channels.iter().map(|channel| channel.name.as_str()).collect();
    assert_eq!(names, ["winding", "Winding 2", "winding 2 2"]);
    assert!(of_kind(&log, Kind::Assumed).words.contains("called 'Winding 2'"), "{:?}", log.oddities);
}

#[test]
fn a_long_run_passes_a_short_one_never() {
    let whole = rise(240, 60);
    for rows in (1..=20).step_by(3) {
        let found = find(&log(&written(&whole[..rows])), &asked(400.0)).unwrap();
        assert_eq!(found.verdict, Verdict::NotYet, "{rows} rows");
    }
    let found = find(&log(&written(&whole)), &asked(120.0)).unwrap();
    assert_eq!(found.verdict, Verdict::Pass);
    let known = found.channels[0].judgement.forecast.as_ref().unwrap();
    let (low, high) = known.interval(0.95);
    assert!(low < 95.0 && 95.0 < high && high - low < 8.0, "{low} {high}");
    let found = find(&log(&written(&whole)), &asked(80.0)).unwrap();
    assert_eq!(found.verdict, Verdict::Fail);
}

#[test]
fn switched_off_at_the_end_counts_only_if_somebody_says_so() {
    let mut text = written(&rise(240, 60));
    (241..260).for_each(|minute| text += &format!("{minute},{:.1},0\n", 95.0 - 1.5 * f64::from(minute - 240)));
    let log = log(&text);
    let found = find(&log, &asked(120.0)).unwrap();
    assert_eq!((found.verdict, found.ends_at), (Verdict::NotYet, Some(243)));
    let found = find(&log, &Asked { was_switched_off: true, ..asked(120.0) }).unwrap();
    assert_eq!(found.verdict, Verdict::Pass);
}

#[test]
fn what_cannot_be_used_at_all_says_why_and_what_to_do() {
    for (text, words) in [
        ("", "empty"),
        ("just some words\nand more\n", "no columns"),
        ("0,20\n1,21\n", "row 1: numbers, but no headings"),
        ("a,winding [°C]\n0,20\n", "no column of times among 'a', 'winding'"),
        ("time,winding [°C]\n0,20\n1,21\n", "row 2: the times in 'time' are numbers without a unit"),
        ("t [min],humidity %\n0,20\n", "no column of temperatures or ohms among 't', 'humidity %'"),
        ("t [min],winding [°C]\nnoon,20\n", "row 2 has 'noon'"),
        ("t [min],winding [°C]\n", "no rows below the headings"),
        ("t,w\0\n", "zero bytes"),
    ] {
        assert!(error(text).contains(words), "{text:?}: {}", error(text));
    }
    assert!(matches!(read(&b"\xff\xfet\0"[..], &Options::default()), Err(ImportError::NotText("UTF-16"))));
    let wide = format!("t [min]{}\n0{}\n", ",a [°C]".repeat(100), ",1".repeat(100));
    assert!(error(&wide).contains("101 columns"), "{}", error(&wide));
    let named = Options { time_unit: Some(MINUTES), ..Options::default() };
    assert_eq!(read(&b"time,winding [C]\n0,20\n2,21\n"[..], &named).unwrap().seconds, 120.0);
}

#[test]
fn a_limit_for_a_column_that_there_is_not_names_those_there_are() {
    let log = log(&written(&rise(10, 60)));
    let limit = asked(100.0).limit.unwrap();
    let asked = Asked { named_limits: vec![("windnig".into(), limit)], ..Asked::default() };
    let error = find(&log, &asked).unwrap_err();
    assert_eq!(error, AskedError::UnknownChannel { name: "windnig".into(), known: "'winding'".into() });
}

#[test]
fn rows_of_other_lengths_are_read_as_far_as_they_go() {
    let log = log("t [min],winding [°C],amps\n0,20,1\n1,21\n2,22,1,9\n\n3,23,1\n");
    assert_eq!(of_kind(&log, Kind::Cells).rows, [3, 4]);
    assert_eq!(means(&log, "winding").len(), 4);
}

/// A log that is written while it is read, so that it never is in memory.
struct Endless {
    row: u64,
    rows: u64,
    line: Vec<u8>,
    at: usize,
}

impl std::io::Read for Endless {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        if self.at == self.line.len() {
            if self.row == self.rows {
                return Ok(0);
            }
            let minutes = self.row as f64 / 60.0;
            let celsius = 95.0 - 75.0 * (-minutes / 40.0).exp();
            self.line = format!("{},{celsius:.1},{:.1},1.2\n", self.row, 0.6 * celsius).into_bytes();
            (self.row, self.at) = (self.row + 1, 0);
        }
        let count = to.len().min(self.line.len() - self.at);
        to[..count].copy_from_slice(&self.line[self.at..self.at + count]);
        self.at += count;
        Ok(count)
    }
}

#[test]
fn a_million_rows_are_streamed() {
    let line = "t [s],winding [°C],shell [°C],amps\n".as_bytes().to_vec();
    let log = read(Endless { row: 0, rows: 1_000_000, line, at: 0 }, &Options::default()).unwrap();
    assert_eq!(log.rows, 1_000_000);
    assert!(log.channels.iter().all(|channel| channel.bins.readings == 1_000_000));
    assert!(log.channels.iter().all(|channel| channel.bins.means().count() <= 512));
    assert!(log.oddities.is_empty(), "{:?}", log.oddities);
}

#[test]
fn a_sensor_that_is_put_on_late_is_judged_from_there() {
    let mut text = "t [min],winding [°C]\n".to_owned();
    for (row, (seconds, celsius)) in rise(200, 10).iter().enumerate() {
        text += &format!("{},{:.1}\n", seconds / 60.0, if row < 60 { 20.0 } else { *celsius });
    }
    let log = log(&text);
    assert!(of_kind(&log, Kind::Implausible).words.contains("judged from there"), "{:?}", log.oddities);
    let found = find(&log, &asked(120.0)).unwrap();
    let (low, high) = found.channels[0].judgement.forecast.as_ref().unwrap().interval(0.95);
    assert!(low < 95.0 && 95.0 < high, "{low} {high}");
    assert_eq!(found.verdict, Verdict::Pass);
}
