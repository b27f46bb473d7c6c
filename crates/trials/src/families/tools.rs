//! Tools and a pump.

use super::{Drawn, Mains, Writer};
use crate::design::{self, Drive, Wish, specimen, type_of};
use crate::random::Random;
use crate::truth::parts::{Make, TruePart};

fn motor(random: &mut Random, mains: Mains, drive: Drive, starts_on_capacitor: bool) -> Wish {
    let amps = random.between(2.5, 6.5) * 120.0 / mains.volts;
    let poles = if random.chance(0.6) { 2 } else { 4 };
    let taps = vec!["run".into()];
    let (volts, hertz) = (mains.volts, mains.hertz);
    Wish { make: Make::Split, starts_on_capacitor, volts, hertz, poles, amps, taps, drive }
}

pub(super) fn grinder(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 1.0);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.motor", "M1.run"),
        ("switch.motor", "M1.start"),
        ("M1.common", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("on", &[("line", "motor")])]);
    let wish = motor(random, mains, Drive::Free, false);
    let (motor, plate) = type_of(random, &wish);
    let truth = TruePart::Induction(Box::new(specimen(random, &motor)));
    writer.part("M1", "split-phase-motor", &format!("load = \"none\"\n{}", plate.text()), truth);
    writer.live("running", "switch = \"on\"", 40.0);
    writer.finish("Grinder", mains.hertz, &["running"], &["M1"])
}

pub(super) fn pump(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 1.0);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.pump", "K1.a"),
        ("K1.b", "M1.run"),
        ("M1.run", "C1.a"),
        ("C1.b", "M1.start"),
        ("M1.common", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("on", &[("line", "pump")])]);
    writer.contact(random, "K1", "thermal-cutout");
    let wish = motor(random, mains, Drive::Pump, true);
    let (motor, plate) = type_of(random, &wish);
    let truth = TruePart::Induction(Box::new(specimen(random, &motor)));
    writer.part("M1", "split-phase-motor", &format!("load = \"pump\"\n{}", plate.text()), truth);
    writer.capacitor(random, "C1", plate.microfarads.unwrap_or(60.0), true);
    writer.live("running", "switch = \"on\"", 60.0);
    writer.finish("Pump", mains.hertz, &["running"], &["M1"])
}

pub(super) fn polisher(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 1.0);
    writer.wires(&[
        ("cord.hot", "trigger.in"),
        ("trigger.fast", "M1.fast"),
        ("trigger.slow", "M1.slow"),
        ("M1.field-a", "M1.brush-1"),
        ("M1.brush-2", "cord.neutral"),
    ]);
    writer.switch(random, "trigger", &[("fast", &[("in", "fast")]), ("slow", &[("in", "slow")])]);
    let (motor, plate) = design::polisher(random, mains.volts, mains.hertz);
    writer.part("M1", "universal-motor", &plate, TruePart::Commutator(Box::new(motor)));
    writer.live("fast", "trigger = \"fast\"", 50.0);
    writer.live("slow", "trigger = \"slow\"", 50.0);
    writer.finish("Polisher", mains.hertz, &["fast", "slow"], &["M1"])
}
