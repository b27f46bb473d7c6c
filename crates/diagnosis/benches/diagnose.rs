//! Times the ranking and the search for the next check on the three demos; the target for a ranking is 100 ms.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use criterion::Criterion;
use diagnosis::{diagnose, next_checks};
use std::hint::black_box;

const DEMOS: [(&str, &str, &str); 3] = [
    ("air-curtain", include_str!("../../../demos/air-curtain.toml"), "M2"),
    ("dough-proofer", include_str!("../../../demos/dough-proofer.toml"), "C1"),
    ("drying-cabinet", include_str!("../../../demos/drying-cabinet.toml"), "F1"),
];

fn main() {
    let mut criterion = Criterion::default().configure_from_args().sample_size(20);
    for (name, text, culprit) in DEMOS {
        let job = bench::job::read(name, text).unwrap_or_else(|problems| panic!("{problems}"));
        // A wrong verdict may be as quick as it likes.
        let diagnosis = diagnose(&job).unwrap();
        assert!(diagnosis.repairs[0].repair.contains(culprit), "{name}: {}", diagnosis.repairs[0].repair);
        let mut group = criterion.benchmark_group(name);
        group.bench_function("diagnose", |bencher| bencher.iter(|| diagnose(black_box(&job)).unwrap().suspects.len()));
        group.bench_function("next_checks", |bencher| {
            bencher.iter(|| next_checks(black_box(&diagnosis), 5).checks.len())
        });
        group.finish();
    }
    criterion.final_summary();
}
