//! The wiring view of the demos: what it shows, and that a person can read it.

#![allow(clippy::unwrap_used)]

mod wiring_common;

use bench::{FaultSet, Measure, Meter, Place, Setup, TerminalId, Unit, observe_values};
use draw::wiring::{self, Direction, Flows, Mark, Symbols, WiringView};
use wiring_common::{DEMOS, assert_legible, assert_sound, demo, medians};

/// Every view of a demo that a page shows: plain, each setup, each live setup with currents, with and without a fault.
fn each_view(name: &str, mut look: impl FnMut(&WiringView<'_>, &str)) {
    let job = demo(name);
    let unit = &job.unit;
    let marks = [
        Mark { place: Place::Part(unit.find_part("M1").unwrap()), words: "suspect 68 %".into() },
        Mark { place: Place::Wire(2), words: "suspect 12 %".into() },
    ];
    for symbols in [Symbols::Iec, Symbols::NorthAmerican] {
        let mut view = WiringView { symbols, ..WiringView::new(unit) };
        look(&view, &format!("{name} plain"));
        view.suspects = &marks;
        for setup in &job.setups {
            view.setup = Some(setup);
            view.flows = None;
            look(&view, &format!("{name} {}", setup.name));
            for fault in [
                None,
                unit.find_fault("M1 common-open"),
                unit.find_fault("C1 open"),
                unit.faults().len().checked_sub(2),
            ] {
                let faults = FaultSet(fault.into_iter().collect());
                view.flows = Some(wiring::flows(unit, setup, &faults, &medians(unit, &faults)).unwrap());
                look(&view, &format!("{name} {} with currents, {fault:?}", setup.name));
            }
        }
    }
}

#[test]
fn texts_keep_off_each_other_and_wires_off_everything() {
    for name in DEMOS {
        each_view(name, |view, what| {
            assert_legible(&wiring::draw(view), what);
        });
        assert_sound(&wiring::layout(&demo(name).unit), name);
    }
}

#[test]
fn wires_cross_as_rarely_as_is_known_here() {
    for (name, crossings) in [("dough-proofer", 0), ("drying-cabinet", 0), ("air-curtain", 3)] {
        assert_eq!(wiring::layout(&demo(name).unit).crossings(), crossings, "{name}");
    }
}

/// The air curtain cannot be drawn without crossings, nor with one: selector, M1 and M2 are each joined to low, medium,
/// high and to the outside (through line and the commons), which makes the complete bipartite graph of 3 and 4, whose
/// crossing number is 2 (Kleitman, "The crossing number of K5,n", 1970).
#[test]
fn the_air_curtain_cannot_do_without_crossings() {
    let unit = demo("air-curtain").unit;
    let wired = |a: &str, b: &str| {
        let ends = [a, b].map(|name| unit.find_terminal(name).unwrap());
        unit.wires().iter().any(|wire| [wire.from, wire.to] == ends || [wire.to, wire.from] == ends)
    };
    for motor in ["M1", "M2"] {
        for speed in ["low", "medium", "high"] {
            assert!(wired(&format!("selector.{speed}"), &format!("{motor}.{speed}")));
        }
        assert!(wired(&format!("{motor}.common"), "cord.neutral"));
    }
    assert!(wired("cord.hot", "cutout.a") && wired("cutout.b", "selector.line"));
    assert!(wiring::layout(&unit).crossings() >= 2);
}

#[test]
fn hot_is_left_of_neutral_and_earth_is_below() {
    for name in DEMOS {
        let unit = demo(name).unit;
        let layout = wiring::layout(&unit);
        // Where each conductor comes into the unit: at the end of the cord, or at the supply.
        let place = |conductor: &str| {
            let mut ends =
                ["cord", "supply"].iter().filter_map(|part| unit.find_terminal(&format!("{part}.{conductor}")));
            layout.terminal(ends.next().unwrap()).unwrap().at
        };
        let live = unit.live_terminals().map(|live| place(unit.terminal_name(live).rsplit('.').next().unwrap()));
        let live: Vec<_> = live.collect();
        let neutral = place("neutral");
        for terminal in (0..unit.terminal_count()).map(TerminalId) {
            let placed = layout.terminal(terminal).unwrap();
            let part = unit.part_of(terminal);
            if !unit.parts()[part].kind.feeds_unit() {
                let between = live.iter().all(|hot| hot.x < placed.at.x) && placed.at.x < neutral.x;
                assert!(between, "{name} {}", unit.terminal_name(terminal));
            }
        }
        let frame = layout.terminal(unit.frame()).unwrap().at;
        assert!(live.iter().all(|hot| frame.y > hot.y) && place("earth").y == frame.y, "{name}");
    }
}

#[test]
fn terminals_can_be_hit_and_only_pages_make_them_buttons() {
    for name in DEMOS {
        let job = demo(name);
        for interactive in [false, true] {
            let view = WiringView { interactive, ..WiringView::new(&job.unit) };
            let text = wiring::draw(&view).standalone();
            let document = roxmltree::Document::parse(&text).unwrap();
            for terminal in (0..job.unit.terminal_count()).map(|index| job.unit.terminal_name(TerminalId(index))) {
                let mut groups =
                    document.descendants().filter(|node| node.attribute("data-terminal") == Some(&terminal));
                let group = groups.next().unwrap();
                assert!(groups.next().is_none(), "{terminal} twice");
                let hit = group.children().find(|node| node.attribute("class") == Some("hit")).unwrap();
                assert!(hit.attribute("r").unwrap().parse::<f64>().unwrap() >= 12.0);
                assert_eq!(group.attribute("role"), interactive.then_some("button"));
                assert_eq!(group.attribute("tabindex"), interactive.then_some("0"));
                assert_eq!(group.attribute("aria-label"), interactive.then_some(terminal.as_str()));
            }
            for wire in job.unit.wires() {
                assert!(document.descendants().any(|node| node.attribute("data-wire") == Some(&wire.name)));
            }
            for part in job.unit.parts() {
                assert!(document.descendants().any(|node| node.attribute("data-part") == Some(&part.name)));
            }
            assert!(!document.descendants().any(|node| node.has_attribute("style")));
        }
    }
}

#[test]
fn the_description_tells_every_wire_and_where_power_goes() {
    let job = demo("air-curtain");
    let drawing = wiring::draw(&WiringView::new(&job.unit));
    assert!(drawing.description.contains("Brown wire from cord.hot to cutout.a."), "{}", drawing.description);
    assert_eq!(drawing.description.matches(" wire from ").count(), job.unit.wires().len());
    let setup = &job.setups[0];
    let flows = sound_flows(&job.unit, setup);
    let drawing = wiring::draw(&WiringView { setup: Some(setup), flows: Some(flows), ..WiringView::new(&job.unit) });
    assert!(drawing.description.contains("M1 main winding takes "), "{}", drawing.description);
    assert_eq!(drawing.title, "Wiring of Air curtain over a bakery door, setup high");
}

fn sound_flows(unit: &Unit, setup: &Setup) -> Flows {
    let none = FaultSet::none();
    wiring::flows(unit, setup, &none, &medians(unit, &none)).unwrap()
}

#[test]
fn wires_carry_what_a_clamp_would_show_and_no_power_is_lost() {
    for name in DEMOS {
        let job = demo(name);
        for setup in job.setups.iter().filter(|setup| setup.energised) {
            let flows = sound_flows(&job.unit, setup);
            let none = FaultSet::none();
            let clamp = |wire| {
                let measure = Measure::AmpsInWire(wire);
                let deviations = medians(&job.unit, &none);
                observe_values(&job.unit, setup, &none, &deviations, |observed| {
                    observed.value(measure, &Meter::handheld()).unwrap()
                })
                .unwrap()
            };
            for (wire, flow) in flows.wires.iter().enumerate() {
                assert!((flow.unwrap().amps - clamp(wire)).abs() < 1e-9, "{name} wire {wire}");
            }
            // Tellegen: what is delivered is taken. Strays and sound insulation take the rest: a part's tens of megohms at
            // half of the supply's volts take less than a milliwatt.
            let sum: f64 = flows.elements.iter().map(|element| element.watts).sum();
            assert!(sum.abs() < 1e-3 * job.unit.parts().len() as f64, "{name} {}: {sum} W", setup.name);
        }
    }
}

#[test]
fn arrows_lead_from_hot_to_neutral_and_show_a_winding_that_is_fed_backwards() {
    let job = demo("air-curtain");
    let (unit, setup) = (&job.unit, &job.setups[0]);
    let direction = |flows: &Flows, name: &str| flows.wires[unit.find_wire(name).unwrap()].unwrap().direction;
    let sound = sound_flows(unit, setup);
    for name in ["cord.hot~cutout.a", "cutout.b~selector.line", "selector.high~M1.high", "M1.common~cord.neutral"] {
        assert_eq!(direction(&sound, name), Some(Direction::Forward), "{name}");
    }
    assert_eq!(direction(&sound, "selector.low~M1.low"), None);
    // M2 cut off from neutral: M1's sections, as part of an autotransformer, drive M2's through the speed wires.
    let faults = FaultSet(vec![unit.find_fault("M2 common-open").unwrap()]);
    let faulty = wiring::flows(unit, setup, &faults, &medians(unit, &faults)).unwrap();
    assert_eq!(direction(&faulty, "selector.low~M1.low"), Some(Direction::Backward));
    assert_eq!(direction(&faulty, "selector.low~M2.low"), Some(Direction::Forward));
    let common = unit.find_terminal("M2.common").unwrap();
    assert_eq!(faulty.open_leads, [common]);
    assert!(faulty.open.is_empty());
}

#[test]
fn what_a_fault_opens_is_marked_where_it_is() {
    let open = |name: &str, fault: &str| {
        let job = demo(name);
        let faults = FaultSet(vec![job.unit.find_fault(fault).unwrap()]);
        let flows = wiring::flows(&job.unit, &job.setups[0], &faults, &medians(&job.unit, &faults)).unwrap();
        let names = |ends: [TerminalId; 2]| ends.map(|end| job.unit.terminal_name(end)).join(" ");
        let ways: Vec<String> = flows.open.iter().map(|&(_, ends)| names(ends)).collect();
        (ways, flows.wires.iter().filter(|wire| wire.is_none()).count())
    };
    assert_eq!(open("dough-proofer", "M1 main-open"), (vec!["M1.common M1.run".into()], 0));
    assert_eq!(open("dough-proofer", "C1 open"), (vec!["C1.a C1.b".into()], 0));
    assert_eq!(open("drying-cabinet", "F1 blown"), (vec!["F1.a F1.b".into()], 0));
    assert_eq!(open("drying-cabinet", "switch in-out-stuck-open"), (vec!["switch.in switch.out".into()], 0));
    assert_eq!(open("drying-cabinet", "F1.b~T1.a broken"), (vec![], 1));
    assert_eq!(open("dough-proofer", "H1 wrong-rating"), (vec![], 0));
}

#[test]
fn past_its_breaker_is_said() {
    let text = std::fs::read_to_string("../../demos/dough-proofer.toml").unwrap();
    let text = text.replace("breaker_amps = 15", "breaker_amps = 2");
    let job = bench::job::read("job", &text).unwrap();
    let flows = sound_flows(&job.unit, &job.setups[1]);
    let [past] = &flows.past_rating[..] else { panic!("{:?}", flows.past_rating) };
    assert_eq!(past.part, job.unit.supply());
    let hot = job.unit.find_terminal("supply.hot").unwrap();
    assert!((past.times - flows.terminals[hot.0] / 2.0).abs() < 1e-3 && past.times > 1.0);
    let view = WiringView { setup: Some(&job.setups[1]), flows: Some(flows), ..WiringView::new(&job.unit) };
    let drawing = wiring::draw(&view);
    assert!(drawing.texts.iter().any(|(_, text)| text.contains("times breaker amps")));
}

#[test]
fn what_a_setup_does_is_drawn() {
    let job = demo("air-curtain");
    let find = |name: &str| job.unit.find_terminal(name).unwrap();
    let mut setup = job.setups[0].clone();
    setup.jumpers = vec![(find("selector.line"), find("selector.low")), (find("cord.plug-hot"), find("M2.high"))];
    setup.lifted = vec![find("M1.high")];
    setup.held = vec![job.unit.find_part("M1").unwrap()];
    setup.pushed = vec![job.unit.find_part("M2").unwrap()];
    let drawing = wiring::draw(&WiringView { setup: Some(&setup), ..WiringView::new(&job.unit) });
    assert_legible(&drawing, "jumpers");
    for words in ["at high", "held", "pushed by hand", "wires off high", "jumper"] {
        assert!(drawing.texts.iter().any(|(_, text)| text == words), "{words}");
    }
    assert_eq!(drawing.standalone().matches("data-jumper=").count(), 2);
}

#[test]
fn past_a_plate_is_said() {
    // A clamp on the common lead of the sound motor, which feeds the broken one backwards, against 0.62 A on its plate.
    let job = demo("air-curtain");
    let faults = FaultSet(vec![job.unit.find_fault("M2 common-open").unwrap()]);
    let setup = &job.setups[job.find_setup("high").unwrap()];
    let deviations = medians(&job.unit, &faults);
    let common = Measure::AmpsAtTerminal(job.unit.find_terminal("M1.common").unwrap());
    let clamp = observe_values(&job.unit, setup, &faults, &deviations, |observed| {
        observed.value(common, &Meter::handheld()).unwrap()
    });
    let flows = wiring::flows(&job.unit, setup, &faults, &deviations).unwrap();
    let [past] = &flows.past_rating[..] else { panic!("{:?}", flows.past_rating) };
    assert_eq!((past.part, past.rating.as_str()), (job.unit.find_part("M1").unwrap(), "plate amps"));
    assert!((past.times - clamp.unwrap() / 0.62).abs() < 1e-6 && past.times > 1.1, "{past:?}");
    assert!(sound_flows(&job.unit, setup).past_rating.is_empty());
}
