//! Level pictures of the demos, healthy and with every single fault: legible, to scale, and the right way up.

#![allow(clippy::unwrap_used, clippy::panic)]

use bench::wiring::unknown_count;
use bench::{FaultSet, Job, Place};
use draw::Drawing;
use draw::level::{Level, Panel, Standing, draw, panel};
use draw::svg::Area;
use proptest::prelude::*;

const AIR_CURTAIN: &str = include_str!("../../../demos/air-curtain.toml");
const DRYING_CABINET: &str = include_str!("../../../demos/drying-cabinet.toml");
const DOUGH_PROOFER: &str = include_str!("../../../demos/dough-proofer.toml");

fn job(text: &str) -> Job {
    bench::job::read("job.toml", text).unwrap_or_else(|problems| panic!("{problems}"))
}

fn panel_of(job: &Job, setup: usize, faults: FaultSet, title: &str) -> Panel {
    let deviations = vec![0.0; unknown_count(&job.unit, &faults)];
    panel(&job.unit, &job.setups[setup], &faults, &deviations, title).unwrap()
}

/// Healthy beside faulty in a named setup.
fn pair(job: &Job, setup: &str, fault: &str) -> [Panel; 2] {
    let setup = job.find_setup(setup).unwrap();
    let faults = FaultSet(vec![job.unit.find_fault(fault).unwrap()]);
    [panel_of(job, setup, FaultSet::none(), "Healthy"), panel_of(job, setup, faults, fault)]
}

/// Hands every setup of a job, healthy and with each single fault, to `check`.
fn with_every_fault(job: &Job, mut check: impl FnMut(&[Panel; 2])) {
    for setup in 0..job.setups.len() {
        let healthy = panel_of(job, setup, FaultSet::none(), "Healthy");
        for fault in 0..job.unit.faults().len() {
            let title = format!("{} in {}", job.unit.faults()[fault].label(), job.setups[setup].name);
            check(&[healthy.clone(), panel_of(job, setup, FaultSet(vec![fault]), &title)]);
        }
    }
}

fn assert_legible(drawing: &Drawing, what: &str) {
    let page = Area { left: 0.0, top: 0.0, width: drawing.width, height: drawing.height };
    for (index, (area, text)) in drawing.texts.iter().enumerate() {
        assert!(page.holds(area), "{what}: '{text}' at {area:?} leaves the page {page:?}");
        for (other, other_text) in &drawing.texts[..index] {
            assert!(!area.overlaps(other), "{what}: '{text}' {area:?} lies on '{other_text}' {other:?}");
        }
    }
}

/// An arrow as drawn: its part, element, direction, polygon and label.
struct Drawn {
    part: String,
    element: String,
    direction: String,
    polygon: Option<Vec<(f64, f64)>>,
}

impl Drawn {
    /// Whether the tip lies above the tail: the seven corners run from the tail to the tip, the fourth, and back.
    fn points_up(&self) -> Option<bool> {
        let corners = self.polygon.as_ref().filter(|corners| corners.len() == 7)?;
        Some(corners[3].1 < corners[0].1)
    }

    fn width(&self) -> Option<f64> {
        let corners = self.polygon.as_ref()?;
        Some((corners[0].0 - corners.last()?.0).abs().max((corners[0].0 - corners[1].0).abs()))
    }
}

fn corners(node: roxmltree::Node<'_, '_>) -> Vec<(f64, f64)> {
    let points = node.attribute("points").unwrap().split(' ');
    points.map(|pair| pair.split_once(',').map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap())).unwrap()).collect()
}

/// All arrows in order of drawing, panel by panel.
fn drawn(drawing: &Drawing) -> Vec<Drawn> {
    let text = drawing.standalone();
    let document = roxmltree::Document::parse(&text).unwrap();
    let groups = document.descendants().filter(|node| node.has_attribute("data-element"));
    groups
        .map(|node| {
            let data = |name: &str| node.attribute(name).unwrap().to_owned();
            let polygon = node.children().find(|child| child.has_tag_name("polygon")).map(corners);
            let (part, element, direction) = (data("data-part"), data("data-element"), data("data-direction"));
            Drawn { part, element, direction, polygon }
        })
        .collect()
}

fn watts(panel: &Panel, part: &str, element: &str) -> f64 {
    let found = panel.elements.iter().find(|standing| standing.part == part && standing.element == element);
    found.unwrap_or_else(|| panic!("no {part} {element}")).watts
}

#[test]
fn the_sound_motor_pushes_power_up_and_the_broken_one_lets_it_down() {
    let panels = pair(&job(AIR_CURTAIN), "high", "M2 common-open");
    let drawing = draw("Air curtain", &panels);
    let arrows = drawn(&drawing);
    for section in ["section high-medium", "section medium-low"] {
        assert!(watts(&panels[1], "M1", section) < -5.0);
        assert!(watts(&panels[1], "M2", section) > 5.0);
        // The same power: what one gives the other takes, and the net between them has no other outlet.
        assert!((watts(&panels[1], "M1", section) + watts(&panels[1], "M2", section)).abs() < 0.1);
        let of = |part: &str| {
            let found = arrows.iter().rev().find(|arrow| arrow.part == part && arrow.element == section);
            found.unwrap()
        };
        assert_eq!((of("M1").points_up(), of("M1").direction.as_str()), (Some(true), "up"));
        assert_eq!((of("M2").points_up(), of("M2").direction.as_str()), (Some(false), "down"));
        // Healthy, the sections carry nothing and have no arrow.
        let healthy = arrows.iter().find(|arrow| arrow.part == "M1" && arrow.element == section).unwrap();
        assert_eq!((healthy.points_up(), healthy.direction.as_str()), (None, "none"));
    }
    assert!(drawing.description.contains("M1 section high-medium delivers 5.5 W."), "{}", drawing.description);
    assert!(drawing.description.contains("hot at 229.6 V"), "{}", drawing.description);
}

#[test]
fn raised_taps_lie_above_the_hot_line() {
    let panels = pair(&job(AIR_CURTAIN), "high", "M2 common-open");
    for panel in &panels {
        let volts = |name: &str| panel.levels.iter().find(|level| level.name == name).unwrap().volts;
        assert!(volts("hot") < volts("M1.medium + M2.medium"));
        assert!(volts("M1.medium + M2.medium") < volts("M1.low + M2.low"));
    }
}

/// Lines of one drawing with their volts and y, panels together: they share one scale.
fn drawn_lines(drawing: &Drawing) -> Vec<(f64, f64)> {
    let text = drawing.standalone();
    let document = roxmltree::Document::parse(&text).unwrap();
    let groups: Vec<_> = document.descendants().filter(|node| node.has_attribute("data-volts")).collect();
    let height = |node: &roxmltree::Node<'_, '_>| {
        let end = node.children().find(|child| child.has_tag_name("polyline")).map(corners).unwrap();
        end[1].1
    };
    groups.iter().map(|node| (node.attribute("data-volts").unwrap().parse().unwrap(), height(node))).collect()
}

fn assert_to_scale(panels: &[Panel], drawing: &Drawing, what: &str) {
    let lines = drawn_lines(drawing);
    for &(volts, y) in &lines {
        for &(other, other_y) in &lines {
            // Smaller y is higher; volts are written to a hundredth.
            assert!(other - volts < 0.011 || other_y <= y + 0.011, "{what}: {other} V lower than {volts} V");
        }
    }
    let arrows = drawn(drawing);
    let amps = |arrow: &Drawn| {
        let same = |standing: &&Standing| standing.part == arrow.part && standing.element == arrow.element;
        panels.iter().flat_map(|panel| &panel.elements).filter(same).map(|standing| standing.amps).collect::<Vec<_>>()
    };
    let mut widths: Vec<(f64, f64)> = arrows
        .iter()
        .filter_map(|arrow| match amps(arrow).as_slice() {
            [amps] => Some((*amps, arrow.width()?)),
            _ => None,
        })
        .collect();
    widths.sort_by(|a, b| a.0.total_cmp(&b.0));
    for pair in widths.windows(2) {
        // An arrow that delivers is outlined: its corners lie within its width by the stroke.
        assert!(pair[1].1 > pair[0].1 - 1.7, "{what}: {pair:?}");
    }
}

#[test]
fn every_picture_is_legible_and_to_scale() {
    for text in [AIR_CURTAIN, DRYING_CABINET, DOUGH_PROOFER] {
        let job = job(text);
        with_every_fault(&job, |panels| {
            let drawing = draw(&job.unit.name, panels);
            assert_legible(&drawing, &panels[1].title);
            assert_to_scale(&panels[1..], &draw("", &panels[1..]), &panels[1].title);
            assert_to_scale(panels, &drawing, &panels[1].title);
        });
    }
}

#[test]
fn what_is_delivered_is_taken() {
    // Tellegen: the powers of all branches add up to nothing but what insulation takes: milliwatts when sound, a fifth of a
    // watt at most through the 200 kilohms of insulation that has gone low.
    for text in [AIR_CURTAIN, DRYING_CABINET, DOUGH_PROOFER] {
        with_every_fault(&job(text), |panels| {
            for panel in panels {
                let sum: f64 = panel.elements.iter().map(|standing| standing.watts).sum();
                let largest = panel.elements.iter().map(|standing| standing.watts.abs()).fold(0.0, f64::max);
                let leaks = if panel.title.contains("insulation") { 0.2 } else { 5e-3 };
                assert!(sum.abs() <= leaks + 1e-6 * largest.max(1.0), "{}: {sum} W left of {largest} W", panel.title);
                assert!(panel.note.is_some() || !panel.elements.is_empty());
            }
        });
    }
}

#[test]
fn elements_join_the_levels_that_their_volts_tell() {
    // Two phasors differ by at least the difference of their magnitudes and at most the sum.
    for text in [AIR_CURTAIN, DRYING_CABINET, DOUGH_PROOFER] {
        with_every_fault(&job(text), |panels| {
            for panel in panels {
                for standing in &panel.elements {
                    let (a, b) = (panel.levels[standing.from_level].volts, panel.levels[standing.to_level].volts);
                    let inside = (a - b).abs() - 1e-6 <= standing.volts && standing.volts <= a + b + 1e-6;
                    assert!(inside, "{}: {standing:?} between {a} V and {b} V", panel.title);
                }
            }
        });
    }
}

#[test]
fn a_dead_unit_gets_a_sentence() {
    let job = job(AIR_CURTAIN);
    for (setup, fault, words) in
        [("unplugged", "M2 common-open", "supply is off"), ("high", "supply hot-dead", "no voltage reaches")]
    {
        let [_, panel] = pair(&job, setup, fault);
        assert!(panel.note.as_ref().unwrap().contains(words), "{panel:?}");
        assert!(panel.levels.is_empty() && panel.elements.is_empty());
        let drawing = draw("Dead", std::slice::from_ref(&panel));
        assert!(drawing.texts.iter().any(|(_, text)| text.contains(words)), "{:?}", drawing.texts);
        assert!(drawing.description.contains(words));
    }
}

#[test]
fn a_frame_without_earth_has_no_defined_potential() {
    let [healthy, faulty] = pair(&job(AIR_CURTAIN), "high", "cord earth-open");
    let frame = |panel: &Panel| panel.levels.iter().find(|level| level.name == "frame").unwrap().floating;
    assert!(!frame(&healthy));
    assert!(frame(&faulty));
    let drawing = draw("Frame", &[healthy, faulty]);
    assert!(drawing.texts.iter().any(|(_, text)| text.contains("No defined potential: frame")), "{:?}", drawing.texts);
    assert!(drawing.description.contains("No defined potential: frame."));
}

#[test]
fn with_the_outlets_neutral_open_volts_are_to_earth() {
    let [healthy, faulty] = pair(&job(DOUGH_PROOFER), "proofing", "supply neutral-open");
    assert_eq!((healthy.reference.as_str(), faulty.reference.as_str()), ("neutral", "earth"));
    // What hangs on the dead neutral is pulled up to hot by the loads.
    let neutral = faulty.levels.iter().find(|level| level.name == "neutral").unwrap();
    assert!(!neutral.floating && neutral.volts > 100.0, "{neutral:?}");
}

#[test]
fn a_high_joint_stands_on_its_own() {
    let panels = pair(&job(DRYING_CABINET), "calling", "cord hot-bad-joint");
    let cord = |arrow: &&Drawn| arrow.part == "cord";
    let arrows = drawn(&draw("Joint", &panels));
    assert_eq!(arrows.iter().filter(cord).count(), 1, "sound conductors have no arrow, a bad one has");
    assert_eq!(arrows.iter().find(cord).unwrap().direction, "down");
}

#[test]
fn long_names_stay_legible() {
    let long = "evaporator-blower-on-the-left-hand-side-behind-the-door";
    let text =
        AIR_CURTAIN.replace("M1", long).replace("M2", "Gebläse rechts").replace("Gebläse rechts", "right-hand-blower");
    let text = text.replace("medium", "half-speed-for-quiet-nights");
    let job = job(&text);
    let panels = pair(&job, "high", "right-hand-blower common-open");
    assert_legible(&draw(&"A very long title, ".repeat(30), &panels), "long names");
    assert_legible(&draw(long, &panels[..1]), "long names, one panel");
}

#[test]
fn nothing_and_nonsense_get_a_sentence() {
    let drawing = draw("Nothing", &[]);
    assert_legible(&drawing, "nothing");
    assert!(drawing.texts.iter().any(|(_, text)| text == "There is nothing to draw."));
    let level = |volts: f64| Level { name: "a".into(), full: "a".into(), volts, floating: false };
    let panel =
        Panel { title: "Nonsense".into(), levels: vec![level(f64::NAN), level(f64::INFINITY)], ..Panel::default() };
    let drawing = draw("Nonsense", &[panel]);
    assert!(drawing.texts.iter().any(|(_, text)| text.starts_with("No net has a voltage")), "{:?}", drawing.texts);
}

#[test]
fn a_small_picture() {
    let level = |name: &str, volts| Level { name: name.into(), full: name.into(), volts, floating: false };
    let standing = |part: &str, amps, watts, feeds| Standing {
        part: part.into(),
        element: part.into(),
        amps,
        volts: 100.0,
        watts,
        from_level: 0,
        to_level: 1,
        place: Place::Part(0),
        feeds,
    };
    let panel = Panel {
        title: "Healthy".into(),
        reference: "neutral".into(),
        note: None,
        levels: vec![level("neutral", 0.0), level("hot", 100.0)],
        elements: vec![standing("supply", 2.0, -200.0, true), standing("heater", 2.0, 200.0, false)],
    };
    insta::assert_snapshot!(draw("Heater", &[panel]).inline("levels"));
}

fn figure() -> impl Strategy<Value = f64> {
    prop_oneof![6 => 0.0f64..400.0, 1 => Just(f64::NAN), 1 => Just(f64::INFINITY), 1 => Just(-3.0), 1 => Just(0.0), 1 => Just(1e300)]
}

fn any_panel() -> impl Strategy<Value = Panel> {
    let level = ("[a-zA-Z .<&é]{0,40}", figure(), proptest::bool::weighted(0.1))
        .prop_map(|(name, volts, floating)| Level { full: name.clone(), name, volts, floating });
    let standing = ("[MCH][1-3]", "[a-z -]{0,30}", figure(), figure(), figure(), 0usize..9, 0usize..9, any::<bool>())
        .prop_map(|(part, element, amps, volts, watts, from_level, to_level, feeds)| Standing {
            part,
            element,
            amps,
            volts,
            watts: if feeds { watts } else { -watts },
            from_level,
            to_level,
            place: Place::Part(0),
            feeds,
        });
    (proptest::collection::vec(level, 0..8), proptest::collection::vec(standing, 0..9)).prop_map(
        |(levels, elements)| Panel { title: "Any".into(), reference: "neutral".into(), note: None, levels, elements },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn any_figures_make_a_legible_picture(panels in proptest::collection::vec(any_panel(), 0..3)) {
        let drawing = draw("Any", &panels);
        assert_legible(&drawing, "any");
        let text = drawing.standalone();
        prop_assert!(roxmltree::Document::parse(&text).is_ok());
        prop_assert!(!text.contains("NaN") && !text.contains(" style="));
    }
}
