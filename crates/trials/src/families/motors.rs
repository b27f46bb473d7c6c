//! Units that blow or drive.

use super::cabinets::fan;
use super::{Drawn, Mains, Writer};
use crate::design::{Drive, Wish, specimen, type_of};
use crate::random::Random;
use crate::truth::parts::{Make, TruePart};

pub(super) fn blower(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 0.75);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.fan", "M1.run"),
        ("M1.start", "C1.a"),
        ("C1.b", "M1.run"),
        ("M1.common", "K1.a"),
        ("K1.b", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("on", &[("line", "fan")])]);
    let poles = if random.chance(0.3) { 6 } else { 4 };
    let wish = Wish { poles, ..fan(random, Make::CapacitorRun, mains, 0.6, 4.0) };
    let (motor, plate) = type_of(random, &wish);
    let truth = TruePart::Induction(Box::new(specimen(random, &motor)));
    writer.part("M1", "capacitor-run-motor", &plate.text(), truth);
    writer.capacitor(random, "C1", plate.microfarads.unwrap_or(4.0), false);
    writer.contact(random, "K1", "thermal-cutout");
    writer.live("running", "switch = \"on\"", 60.0);
    writer.finish("Blower", mains.hertz, &["running"], &["M1"])
}

pub(super) fn three_speed_blower(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 0.75);
    writer.wires(&[
        ("cord.hot", "selector.line"),
        ("selector.high", "M1.high"),
        ("selector.medium", "M1.medium"),
        ("selector.low", "M1.low"),
        ("M1.start", "C1.a"),
        ("C1.b", "M1.high"),
        ("M1.common", "K1.a"),
        ("K1.b", "cord.neutral"),
    ]);
    writer.switch(
        random,
        "selector",
        &[("low", &[("line", "low")]), ("medium", &[("line", "medium")]), ("high", &[("line", "high")])],
    );
    let taps = ["high", "medium", "low"].map(String::from).to_vec();
    let wish = Wish { taps, ..fan(random, Make::CapacitorRun, mains, 0.6, 3.5) };
    let (motor, plate) = type_of(random, &wish);
    let truth = TruePart::Induction(Box::new(specimen(random, &motor)));
    let body = format!("taps = [\"high\", \"medium\", \"low\"]\n{}", plate.text());
    writer.part("M1", "capacitor-run-motor", &body, truth);
    writer.capacitor(random, "C1", plate.microfarads.unwrap_or(4.0), false);
    writer.contact(random, "K1", "thermal-cutout");
    writer.live("high", "selector = \"high\"", 60.0);
    writer.live("medium", "selector = \"medium\"", 60.0);
    writer.live("low", "selector = \"low\"", 60.0);
    writer.finish("Blower with three speeds", mains.hertz, &["high", "low", "medium"], &["M1"])
}

pub(super) fn two_motors(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 0.75);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.fans", "M1.run"),
        ("switch.fans", "M2.run"),
        ("M1.common", "K1.a"),
        ("K1.b", "returns.a"),
        ("M2.common", "K2.a"),
        ("K2.b", "returns.b"),
        ("returns.c", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("on", &[("line", "fans")])]);
    let wish = fan(random, Make::ShadedPole, mains, 0.3, 1.5);
    let (motor, plate) = type_of(random, &wish);
    // Two of one batch: what they share is one specimen, what they differ by comes on top.
    let batch = specimen(random, &motor);
    for name in ["M1", "M2"] {
        let mut own = specimen(random, &motor);
        let mean = |a: f64, b: f64| (a * a * a * b).powf(0.25);
        own.main_ohms = mean(batch.main_ohms, own.main_ohms);
        own.main_leakage = mean(batch.main_leakage, own.main_leakage);
        own.magnetising = mean(batch.magnetising, own.magnetising);
        own.rotor_ohms = mean(batch.rotor_ohms, own.rotor_ohms);
        own.load_torque = mean(batch.load_torque, own.load_torque);
        let body = format!("make = \"the two motors alike\"\n{}", plate.text());
        writer.part(name, "shaded-pole-motor", &body, TruePart::Induction(Box::new(own)));
    }
    for name in ["K1", "K2"] {
        writer.contact(random, name, "thermal-cutout");
    }
    writer.splice(random, "returns", &["a", "b", "c"]);
    writer.live("running", "switch = \"on\"", 60.0);
    writer.finish("Cabinet with two fans", mains.hertz, &["running"], &["M1", "M2"])
}

pub(super) fn reversible(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 0.75);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.forth", "M1.forward"),
        ("switch.back", "M1.backward"),
        ("M1.forward", "C1.a"),
        ("C1.b", "M1.backward"),
        ("M1.common", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("forth", &[("line", "forth")]), ("back", &[("line", "back")])]);
    let wish =
        Wish { taps: vec!["forward".into()], drive: Drive::Pump, ..fan(random, Make::Reversible, mains, 0.6, 2.5) };
    let (motor, plate) = type_of(random, &wish);
    let mut own = specimen(random, &motor);
    own.second.turns = random.about(1.0, 0.004);
    own.second.ohms = own.main_ohms * random.about(1.0, 0.01);
    let truth = TruePart::Induction(Box::new(own));
    writer.part("M1", "reversible-motor", &plate.text(), truth);
    writer.capacitor(random, "C1", plate.microfarads.unwrap_or(4.0), false);
    writer.live("forth", "switch = \"forth\"", 50.0);
    writer.live("back", "switch = \"back\"", 50.0);
    writer.finish("Drive for both directions", mains.hertz, &["forth", "back"], &["M1"])
}
