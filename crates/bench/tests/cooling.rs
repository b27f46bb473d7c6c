//! How long windings take to cool, against an integration by other means.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::heat::cooling::seconds_of_cooling;

fn unit() -> bench::Job {
    let text = include_str!("../../../demos/bench-grinder.toml");
    bench::job::read("test", text).unwrap_or_else(|problems| panic!("{problems}"))
}

/// Seconds until both windings in a core that cools in still air are cold: small steps of Euler's method.
fn by_euler(job: &bench::Job, part: usize, hot: f64, room: f64) -> f64 {
    let heat = job.unit.heat_of(part);
    let [main, start, core] = &heat.bodies[..] else { panic!("{heat:?}") };
    assert_eq!(heat.links.iter().map(|&(from, to, _)| (from, to)).collect::<Vec<_>>(), [(0, 2), (1, 2), (0, 1)]);
    // Rated rises of 42 K of the iron over the air and 18 K of the copper over the iron.
    let (mut copper, mut iron, mut seconds) = ([hot; 2], room + 0.7 * (hot - room), 0.0);
    let step = 0.1;
    while copper.iter().any(|&celsius| celsius > room + 5.0) {
        let flows = [0, 1].map(|winding| heat.links[winding].2 * (copper[winding] - iron));
        let shed = core.still_watts_per_kelvin * (iron - room);
        let across = heat.links[2].2 * (copper[0] - copper[1]);
        copper[0] -= step * (flows[0] + across) / main.joules_per_kelvin;
        copper[1] -= step * (flows[1] - across) / start.joules_per_kelvin;
        iron += step * (flows[0] + flows[1] - shed) / core.joules_per_kelvin;
        seconds += step;
    }
    seconds
}

#[test]
fn a_motor_cools_as_its_windings_and_its_core_do() {
    let job = unit();
    let motor = job.unit.find_part("M1").unwrap();
    for (hot, room) in [(60.0, 20.0), (90.0, 25.0)] {
        let found = seconds_of_cooling(&job.unit, hot, room);
        let expected = by_euler(&job, motor, hot, room);
        assert!((found[motor].unwrap() / expected - 1.0).abs() < 0.01, "{found:?} {expected}");
        assert_eq!(found[job.unit.find_part("switch").unwrap()], None, "a switch has no windings");
    }
}

#[test]
fn what_is_cold_need_not_cool_and_warmer_takes_longer() {
    let job = unit();
    let motor = job.unit.find_part("M1").unwrap();
    let seconds = |hot: f64| seconds_of_cooling(&job.unit, hot, 20.0)[motor].unwrap();
    assert_eq!(seconds(25.0), 0.0);
    let all: Vec<f64> = [26.0, 30.0, 45.0, 80.0, 120.0].into_iter().map(seconds).collect();
    assert!(all[0] > 0.0 && all.windows(2).all(|pair| pair[0] < pair[1]), "{all:?}");
    // Nobody waits longer than a working day.
    assert!(seconds(300.0) <= 8.0 * 3600.0);
}
