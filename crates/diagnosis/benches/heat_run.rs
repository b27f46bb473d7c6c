//! Times an hour's run of a unit of two motors; the target is 50 ms. Beside it the named alternative: explicit steps of one
//! second, of which each needs the electrics solved once, and nothing of heat is counted.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use bench::heat::{Case, End, HeatScales, Run, RunStep, simulate};
use bench::wiring::unknown_count;
use bench::{FaultSet, observe_values};
use criterion::Criterion;
use std::hint::black_box;

const AIR_CURTAIN: &str = include_str!("../../../demos/air-curtain.toml");
const HOUR_SECONDS: u32 = 3600;

fn main() {
    let mut criterion = Criterion::default().configure_from_args().sample_size(10);
    let job = bench::job::read("air-curtain", AIR_CURTAIN).unwrap_or_else(|problems| panic!("{problems}"));
    let unit = &job.unit;
    assert_eq!((0..unit.parts().len()).filter(|&part| unit.is_motor(part)).count(), 2);
    let setup = job.setups.iter().position(|setup| setup.energised).unwrap();
    let steps = vec![RunStep { seconds: 0.0, setup }];
    let end_seconds = f64::from(HOUR_SECONDS);
    let run = Run { name: "an hour".into(), steps, end_seconds, room_celsius: 20.0, line: 0 };
    let (faults, scales) = (FaultSet::none(), HeatScales::medians(unit));
    let deviations = vec![0.0; unknown_count(unit, &faults)];
    let case = Case { unit, setups: &job.setups, run: &run, faults: &faults, deviations: &deviations, scales: &scales };
    // A run that ended early may be as quick as it likes.
    let timeline = simulate(case, &[end_seconds], |_| ()).unwrap();
    assert!(timeline.samples.len() == 1 && !matches!(timeline.end, End::BurntOut(_)), "{:?}", timeline.end);
    let mut group = criterion.benchmark_group("an hour of two motors");
    group.bench_function("simulate", |bencher| {
        bencher.iter(|| simulate(black_box(case), &[end_seconds], |_| ()).unwrap().events.len())
    });
    group.bench_function("explicit steps of a second", |bencher| {
        let one = || observe_values(unit, &job.setups[setup], &faults, &deviations, |observed| observed.feed_amps());
        bencher.iter(|| (0..HOUR_SECONDS).map(|_| black_box(one()).unwrap()).sum::<f64>())
    });
    group.finish();
    criterion.final_summary();
}
