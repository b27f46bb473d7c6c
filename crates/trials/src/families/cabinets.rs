//! Units that heat.

use super::{Drawn, Mains, Writer};
use crate::design::{self, Drive, Wish, specimen, type_of};
use crate::random::Random;
use crate::truth::parts::{ContactTable, Make, TruePart};

/// Watts of an element that leaves the breaker in peace.
fn watts(random: &mut Random, mains: Mains) -> f64 {
    let most = 0.7 * mains.volts * mains.breaker_amps;
    (random.between(0.2, 1.0) * most / 50.0).round() * 50.0
}

pub(super) fn heater_cabinet(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 1.5);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.heat", "K1.a"),
        ("K1.b", "T1.a"),
        ("T1.b", "H1.a"),
        ("switch.heat", "L1.a"),
        ("H1.b", "returns.a"),
        ("L1.b", "returns.b"),
        ("returns.c", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("on", &[("line", "heat")])]);
    writer.contact(random, "K1", "thermal-cutout");
    writer.contact(random, "T1", "thermostat");
    let watts = watts(random, mains);
    writer.heater(random, "H1", "", mains.volts, watts);
    writer.lamp(random, "L1", mains.volts);
    writer.splice(random, "returns", &["a", "b", "c"]);
    writer.live("heating", "switch = \"on\"", 20.0);
    writer.live("warm enough", "switch = \"on\", T1 = \"open\"", 20.0);
    writer.finish("Heater cabinet", mains.hertz, &["heating", "warm enough"], &["H1", "L1"])
}

pub(super) fn two_elements(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 1.5);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.one", "H1.a"),
        ("switch.two", "H2.a"),
        ("H1.b", "K1.a"),
        ("H2.b", "K1.a"),
        ("K1.b", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("low", &[("line", "one")]), ("high", &[("line", "one"), ("line", "two")])]);
    let watts = (watts(random, mains) / 100.0).round().max(2.0) * 50.0;
    // Elements of one make come from one spool.
    let spool = random.about(1.0, 0.02);
    for name in ["H1", "H2"] {
        writer.heater(random, name, "one bank", mains.volts, watts);
        if let Some(TruePart::Heater { cold_ohms, hot_ratio, .. }) = writer.parts.get_mut(name) {
            *cold_ohms = mains.volts * mains.volts / watts / *hot_ratio * spool * random.about(1.0, 0.015);
        }
    }
    writer.contact(random, "K1", "thermal-cutout");
    writer.live("high", "switch = \"high\"", 20.0);
    writer.live("low", "switch = \"low\"", 20.0);
    writer.finish("Heater with two elements", mains.hertz, &["high", "low"], &["H1", "H2"])
}

pub(super) fn two_leg_cabinet(random: &mut Random) -> Drawn {
    let mut writer = Writer::default();
    let supply = design::two_leg_supply(random, 240.0, 30.0);
    writer.part("supply", "two-leg-supply", "volts = 240\nhertz = 60\nbreaker_amps = 30", supply);
    writer.cord(random, &["leg-1", "leg-2", "neutral", "earth"], 5.0);
    writer.wires(&[
        ("cord.earth", "frame"),
        ("cord.leg-1", "S1.1"),
        ("cord.leg-2", "S1.3"),
        ("S1.2", "K1.a"),
        ("K1.b", "H1.a"),
        ("H1.b", "T1.b"),
        ("T1.a", "S1.4"),
        ("S1.2", "M1.run"),
        ("M1.common", "returns.a"),
        ("returns.b", "cord.neutral"),
    ]);
    writer.switch(random, "S1", &[("on", &[("1", "2"), ("3", "4")])]);
    writer.contact(random, "K1", "thermal-cutout");
    writer.contact(random, "T1", "thermostat");
    let watts = (random.between(1500.0, 5000.0) / 100.0).round() * 100.0;
    writer.heater(random, "H1", "", 240.0, watts);
    let wish = fan(random, Make::ShadedPole, Mains { volts: 120.0, hertz: 60.0, breaker_amps: 15.0 }, 0.5, 1.4);
    let (motor, plate) = type_of(random, &wish);
    let truth = TruePart::Induction(Box::new(specimen(random, &motor)));
    writer.part("M1", "shaded-pole-motor", &plate.text(), truth);
    writer.splice(random, "returns", &["a", "b"]);
    writer.live("drying", "S1 = \"on\"", 50.0);
    writer.live("warm enough", "S1 = \"on\", T1 = \"open\"", 50.0);
    writer.finish("Cabinet on two legs", 60.0, &["drying", "warm enough"], &["H1", "M1"])
}

/// A small four-pole fan motor with one speed.
pub(super) fn fan(random: &mut Random, make: Make, mains: Mains, low: f64, high: f64) -> Wish {
    // The range is for 120 volts.
    let amps = random.between(low, high) * 120.0 / mains.volts;
    Wish {
        make,
        starts_on_capacitor: false,
        volts: mains.volts,
        hertz: mains.hertz,
        poles: 4,
        amps,
        taps: vec!["run".into()],
        drive: Drive::Fan,
    }
}

pub(super) fn fan_heater(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 1.5);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.fan", "M1.run"),
        ("switch.heat", "F1.a"),
        ("F1.b", "K1.a"),
        ("K1.b", "H1.a"),
        ("H1.b", "returns.a"),
        ("M1.common", "returns.b"),
        ("returns.c", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("fan", &[("line", "fan")]), ("heat", &[("line", "fan"), ("line", "heat")])]);
    let wish = fan(random, Make::ShadedPole, mains, 0.3, 1.2);
    let (motor, plate) = type_of(random, &wish);
    let truth = TruePart::Induction(Box::new(specimen(random, &motor)));
    writer.part("M1", "shaded-pole-motor", &plate.text(), truth);
    let watts = watts(random, mains);
    writer.heater(random, "H1", "", mains.volts, watts);
    writer.contact(random, "K1", "thermal-cutout");
    writer.contact(random, "F1", "thermal-fuse");
    writer.splice(random, "returns", &["a", "b", "c"]);
    writer.live("heating", "switch = \"heat\"", 60.0);
    writer.live("fan only", "switch = \"fan\"", 60.0);
    writer.finish("Fan heater", mains.hertz, &["heating", "fan only"], &["H1", "M1"])
}

pub(super) fn relay_heater(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 1.5);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.on", "T1.a"),
        ("T1.b", "R1.coil-a"),
        ("R1.coil-b", "returns.a"),
        ("switch.on", "R1.in"),
        ("R1.out", "H1.a"),
        ("H1.b", "returns.b"),
        ("R1.out", "L1.a"),
        ("L1.b", "returns.c"),
        ("returns.d", "cord.neutral"),
    ]);
    writer.switch(random, "switch", &[("on", &[("line", "on")])]);
    writer.contact(random, "T1", "thermostat");
    let contacts = ContactTable::from([("pulled-in".to_owned(), vec![("in".to_owned(), "out".to_owned())])]);
    let relay = design::relay(random, mains.volts, contacts);
    let body = format!("volts = {}\ncontacts.pulled-in = [[\"in\", \"out\"]]", mains.volts);
    writer.part("R1", "relay", &body, relay);
    let watts = watts(random, mains);
    writer.heater(random, "H1", "", mains.volts, watts);
    writer.lamp(random, "L1", mains.volts);
    writer.splice(random, "returns", &["a", "b", "c", "d"]);
    writer.live("heating", "switch = \"on\"", 40.0);
    writer.live("warm enough", "switch = \"on\", T1 = \"open\"", 40.0);
    writer.finish("Heater behind a relay", mains.hertz, &["heating", "warm enough"], &["H1", "L1"])
}

pub(super) fn transformer_fed(random: &mut Random) -> Drawn {
    let mains = Mains::draw(random);
    let mut writer = Writer::on(random, mains, 0.75);
    writer.wires(&[
        ("cord.hot", "switch.line"),
        ("switch.on", "X1.p1"),
        ("X1.p2", "cord.neutral"),
        ("X1.s1", "T1.a"),
        ("T1.b", "H1.a"),
        ("H1.b", "X1.s2"),
    ]);
    writer.switch(random, "switch", &[("on", &[("line", "on")])]);
    let volts = random.pick(&[12.0, 24.0, 36.0]);
    let volt_amperes = random.pick(&[40.0, 63.0, 100.0, 160.0, 250.0]);
    let truth = design::transformer(random, volt_amperes, mains.volts, volts);
    let body = format!(
        "volt_amperes = {volt_amperes}\nthermal_link = \"primary\"\nwindings.primary = [\"p1\", {}, \"p2\"]\nwindings.secondary = [\"s1\", {volts}, \"s2\"]",
        mains.volts
    );
    writer.part("X1", "transformer", &body, truth);
    writer.contact(random, "T1", "thermostat");
    let watts = (0.8 * volt_amperes).round();
    writer.heater(random, "H1", "", volts, watts);
    writer.live("heating", "switch = \"on\"", 50.0);
    writer.live("warm enough", "switch = \"on\", T1 = \"open\"", 50.0);
    writer.finish("Heater on low volts", mains.hertz, &["heating", "warm enough"], &["H1"])
}
