//! Ways through test-sequencing problems against a program that tries every order, against published results, and by laws.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use diagnosis::Watch;
use diagnosis::sequencing::{AFFORDABLE_STATES, End, Price, Problem, Solver, State, Test, members};
use proptest::prelude::*;
use serde_json::Value;
use std::collections::HashMap;

const ENOUGH: usize = 1_000_000;

fn solver(problem: &Problem) -> Solver<'_> {
    Solver::new(problem, ENOUGH, Watch::new())
}

fn optimum(problem: &Problem) -> f64 {
    solver(problem).optimum(problem.start(0, 0)).unwrap().expected.weighted
}

/// Tests of one unit each that need nothing, by the worlds in which each says yes.
fn plain(weights: &[f64], yes: &[u64]) -> Problem {
    let cells = |set: u64| (0..weights.len()).map(|world| (set >> world & 1) as usize).collect();
    let test = |&set: &u64| Test {
        cells: cells(set),
        own: Price::plain(1.0),
        arrangement: 0,
        housings: 0,
        is_isolated: true,
        cooling: Price::default(),
        warms: false,
    };
    Problem {
        weights: weights.to_vec(),
        classes: (0..weights.len()).collect(),
        needs: Vec::new(),
        tests: yes.iter().map(test).collect(),
        change: vec![vec![Price::default()]],
        change_opening: vec![vec![Price::default()]],
        housings: Vec::new(),
        settled: 1.0,
        is_open: false,
        worth_bits: 0.0,
    }
}

fn read(case: &Value) -> Problem {
    let numbers = |value: &Value| value.as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect::<Vec<_>>();
    let places =
        |value: &Value| value.as_array().unwrap().iter().map(|n| n.as_u64().unwrap() as usize).collect::<Vec<_>>();
    let matrix = |value: &Value| {
        let row = |row: &Value| numbers(row).into_iter().map(Price::plain).collect();
        value.as_array().unwrap().iter().map(row).collect()
    };
    let test = |test: &Value| Test {
        cells: places(&test["cells"]),
        own: Price::plain(test["own"].as_f64().unwrap()),
        arrangement: test["arrangement"].as_u64().unwrap() as usize,
        housings: places(&test["housings"]).into_iter().fold(0, |set, housing| set | 1 << housing),
        is_isolated: true,
        cooling: Price::default(),
        warms: false,
    };
    Problem {
        weights: numbers(&case["weights"]),
        classes: places(&case["classes"]),
        needs: Vec::new(),
        tests: case["tests"].as_array().unwrap().iter().map(test).collect(),
        change: matrix(&case["change"]),
        change_opening: matrix(&case["change_opening"]),
        housings: numbers(&case["housings"]),
        settled: case["settled"].as_f64().unwrap(),
        is_open: false,
        worth_bits: 0.0,
    }
}

#[test]
fn every_order_tried_finds_the_same_least_price() {
    let cases: Value = serde_json::from_str(include_str!("data/plan.json")).unwrap();
    let cases = cases.as_array().unwrap();
    let mut found = 0;
    for (number, case) in cases.iter().enumerate() {
        let (ours, least) = (optimum(&read(case)), case["least"].as_f64().unwrap());
        assert!((ours - least).abs() < 1e-9, "case {number}: {ours} instead of {least}");
        found += usize::from(least > 0.0);
    }
    assert!(cases.len() == 200 && found > 100, "{found} of {}", cases.len());
}

#[test]
fn the_example_of_the_literature_costs_2_18() {
    // Five faults and 'no fault', five tests of unit cost: the example of Pattipati and Alexandridis (1990), table and least
    // expected cost 2.18 from memory.
    let weights = [0.70, 0.01, 0.02, 0.10, 0.05, 0.12];
    let rows = ["00000", "01001", "00110", "10011", "11000", "11110"];
    let column = |test: usize| {
        (0..rows.len()).filter(|&row| rows[row].as_bytes()[test] == b'1').fold(0, |set, row| set | 1 << row)
    };
    let problem = plain(&weights, &(0..5).map(column).collect::<Vec<u64>>());
    assert!((optimum(&problem) - 2.18).abs() < 1e-12, "{}", optimum(&problem));
}

/// Least mean length of a binary code: Huffman, 'A method for the construction of minimum-redundancy codes' (1952).
fn huffman(weights: &[f64]) -> f64 {
    let (mut left, mut sum) = (weights.to_vec(), 0.0);
    while left.len() > 1 {
        left.sort_by(|a, b| b.total_cmp(a));
        let joined = left.pop().unwrap() + left.pop().unwrap();
        sum += joined;
        left.push(joined);
    }
    sum
}

#[test]
fn one_suspect_at_a_time_goes_by_probability_over_cost() {
    // n parts of which one has failed; a test each that says whether it is that one. The last need not be tested. An exchange
    // of neighbours shows that those tested go in falling order of probability over cost; here all orders are tried.
    let (weights, costs) = ([0.4, 0.3, 0.2, 0.1], [4.0, 2.0, 3.0, 0.5]);
    let mut problem = plain(&weights, &[1, 2, 4, 8]);
    for (test, cost) in problem.tests.iter_mut().zip(costs) {
        test.own = Price::plain(cost);
    }
    let mut least = f64::INFINITY;
    for (a, b, c) in (0..64).map(|code| (code / 16, code / 4 % 4, code % 4)) {
        if a != b && b != c && a != c {
            least = least.min(costs[a] + (1.0 - weights[a]) * costs[b] + (1.0 - weights[a] - weights[b]) * costs[c]);
        }
    }
    assert!((optimum(&problem) - least).abs() < 1e-12);
}

/// A random problem of a bench: arrangements of which the later are live, housings, a question of repairs.
fn any_problem(most_worlds: usize, most_tests: usize) -> impl Strategy<Value = Problem> {
    (2..=most_worlds, 1..=most_tests, 1..=3usize, 0..=3usize).prop_flat_map(
        |(worlds, tests, arrangements, housings)| {
            let wait = prop::sample::select(vec![0.0, 0.0, 2.0, 12.0]);
            let cells = prop::collection::vec(0..3usize, worlds);
            let test = (cells, 1.0..6.0, 0..arrangements, 0..1u64 << housings, wait);
            let matrix = prop::collection::vec(prop::collection::vec(0.5..4.0, arrangements), arrangements);
            (
                prop::collection::vec(0.02..1.0, worlds),
                prop::collection::vec(0..worlds, worlds),
                prop::collection::vec(test, tests),
                matrix,
                prop::collection::vec(1.0..10.0, housings),
                prop::sample::select(vec![0.95, 1.0]),
            )
                .prop_map(|(weights, classes, tests, matrix, housings, settled)| {
                    let test = |(cells, minutes, arrangement, housings, wait): (Vec<usize>, f64, usize, u64, f64)| {
                        let (is_isolated, warms) = (arrangement == 0, arrangement > 0);
                        let wait = if is_isolated { wait } else { 0.0 };
                        let cooling = Price { minutes: wait, weighted: 0.25 * wait };
                        let own = Price { minutes, weighted: if is_isolated { minutes } else { 2.5 * minutes } };
                        Test { cells, own, arrangement, housings, is_isolated, cooling, warms }
                    };
                    let prices = |more: f64| {
                        let price = |a: usize, b: usize, cost: f64| match (a == b, b) {
                            (true, _) if more == 0.0 => Price::default(),
                            (_, 0) => Price::plain(cost + more),
                            _ => Price { minutes: cost + more, weighted: 2.5 * (cost + more) },
                        };
                        let row = |(a, row): (usize, &Vec<f64>)| {
                            row.iter().enumerate().map(|(b, &cost)| price(a, b, cost)).collect()
                        };
                        matrix.iter().enumerate().map(row).collect()
                    };
                    Problem {
                        weights,
                        classes,
                        needs: Vec::new(),
                        tests: tests.into_iter().map(test).collect(),
                        change: prices(0.0),
                        change_opening: prices(1.0),
                        housings,
                        settled,
                        is_open: false,
                        worth_bits: 0.0,
                    }
                })
        },
    )
}

/// Every state that can be met from one on.
fn reached(problem: &Problem, state: State, seen: &mut Vec<State>) {
    if seen.contains(&state) {
        return;
    }
    seen.push(state);
    for test in 0..problem.tests.len() {
        let cells = problem.split(test, state.left);
        if problem.end(state.left).is_none() && cells.len() > 1 {
            cells.into_iter().for_each(|(_, cell)| reached(problem, problem.after(test, state, cell), seen));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    /// With a test for every split of five worlds, a way to find out is a code for the world.
    #[test]
    fn with_all_tests_the_optimum_is_huffmans(weights in prop::collection::vec(0.01..1.0f64, 5)) {
        let total: f64 = weights.iter().sum();
        let weights: Vec<f64> = weights.iter().map(|weight| weight / total).collect();
        let problem = plain(&weights, &(1..16).collect::<Vec<u64>>());
        prop_assert!((optimum(&problem) - huffman(&weights)).abs() < 1e-9);
    }

    #[test]
    fn the_optimum_is_no_dearer_than_rollout_and_rollout_than_greed(problem in any_problem(7, 8)) {
        let mut solver = solver(&problem);
        let mut states = Vec::new();
        reached(&problem, problem.start(0, 0), &mut states);
        for state in states.into_iter().take(40) {
            let (least, roll, greed) =
                (solver.optimum(state).unwrap(), solver.rollout(state).unwrap(), solver.greedy(state).unwrap());
            prop_assert!(least.expected.weighted <= roll.expected.weighted + 1e-9);
            prop_assert!(roll.expected.weighted <= greed.expected.weighted + 1e-9);
            prop_assert_eq!(least.test.is_none(), problem.end(state.left).is_some());
        }
    }

    #[test]
    fn the_cells_of_a_test_are_all_that_is_left_and_their_shares_are_one(problem in any_problem(7, 8)) {
        let mut states = Vec::new();
        reached(&problem, problem.start(0, 0), &mut states);
        for state in states.into_iter().take(20) {
            for test in 0..problem.tests.len() {
                let cells = problem.split(test, state.left);
                prop_assert_eq!(cells.iter().fold(0, |all, (_, cell)| all | cell), state.left);
                let sum: f64 = cells.iter().map(|&(_, cell)| problem.weight(cell) / problem.weight(state.left)).sum();
                prop_assert!((sum - 1.0).abs() < 1e-12);
            }
        }
    }

    /// What can still be told apart without a test costs no less without it. (Where a test alone tells two apart, a search
    /// without it ends earlier, unsettled: that may be cheaper, and is said.)
    #[test]
    fn refusing_a_test_never_makes_it_cheaper(problem in any_problem(6, 8), which in 0..8usize) {
        let which = which % problem.tests.len();
        let tells = |test: &Test, a: usize, b: usize| test.cells[a] != test.cells[b];
        let worlds = problem.weights.len();
        let others: Vec<&Test> =
            problem.tests.iter().enumerate().filter(|(at, _)| *at != which).map(|(_, test)| test).collect();
        let is_needed = (0..worlds).any(|a| (0..worlds).any(|b| {
            problem.classes[a] != problem.classes[b]
                && tells(&problem.tests[which], a, b)
                && !others.iter().any(|test| tells(test, a, b))
        }));
        prop_assume!(!is_needed);
        let without = Problem { tests: others.into_iter().cloned().collect(), ..problem.clone() };
        prop_assert!(optimum(&without) >= optimum(&problem) - 1e-9);
    }

    #[test]
    fn a_dearer_housing_never_makes_it_cheaper(problem in any_problem(6, 8), more in 0.0..20.0f64) {
        for housing in 0..problem.housings.len() {
            let mut dearer = problem.clone();
            dearer.housings[housing] += more;
            prop_assert!(optimum(&dearer) >= optimum(&problem) - 1e-9);
            // And one that stands open already makes it no dearer.
            let open = solver(&problem).optimum(problem.start(1 << housing, 0)).unwrap().expected.weighted;
            prop_assert!(open <= optimum(&problem) + 1e-9);
        }
    }
}

#[test]
fn a_search_ends_where_it_should() {
    let problem = Problem { settled: 0.95, ..plain(&[0.96, 0.04, 0.5], &[4]) };
    assert_eq!(problem.end(0b011), Some(End::Settled { class: 0, share: 0.96 }));
    assert_eq!(problem.end(0b111), None);
    // Open at its start, it ends where a test has left the same.
    let open = Problem { is_open: true, ..plain(&[0.96, 0.04], &[1]) };
    assert_eq!((open.end(0b11), open.end(0b01)), (None, Some(End::Settled { class: 0, share: 1.0 })));
    let even = plain(&[0.5, 0.5], &[0b11]);
    assert_eq!(even.end(0b11), Some(End::Inseparable));
    // 'A', 'A and B', 'A and C': A is needed surely, B and C are not likely.
    let beside = Problem { needs: vec![1, 3, 5], settled: 0.95, ..plain(&[0.92, 0.04, 0.04], &[1]) };
    assert_eq!(beside.end(0b111), Some(End::Needed { need: 0, share: 1.0 }));
    let likelier = Problem { weights: vec![0.9, 0.06, 0.04], ..beside };
    assert_eq!(likelier.end(0b111), None);
    // All tests together tell H(0.1) = 0.469 bits at most.
    let hardly = Problem { worth_bits: 0.5, ..plain(&[0.9, 0.1], &[1]) };
    assert_eq!(hardly.end(0b11), Some(End::Inseparable));
    assert_eq!(Problem { worth_bits: 0.4, ..hardly }.end(0b11), None);
    assert_eq!(members(0b1010).collect::<Vec<_>>(), [1, 3]);
}

#[test]
fn a_solver_gives_up_when_told_to() {
    let problem = plain(&[0.2; 5], &(1..16).collect::<Vec<u64>>());
    assert_eq!(Solver::new(&problem, 3, Watch::new()).optimum(problem.start(0, 0)), None);
    let watch = Watch::new();
    watch.cancel();
    assert_eq!(Solver::new(&problem, ENOUGH, watch).rollout(problem.start(0, 0)), None);
}

/// What it costs to ask for advice again after each test; `states` may be looked at each time.
fn followed(problem: &Problem, state: State, states: usize, known: &mut HashMap<State, f64>) -> f64 {
    if problem.end(state.left).is_some() {
        return 0.0;
    }
    if let Some(&known) = known.get(&state) {
        return known;
    }
    let usual = problem.most_for_its_price(state).unwrap();
    let advice = Solver::new(problem, states, Watch::new()).advice(state, usual);
    let test = advice.map_or(usual, |advice| advice.test);
    let mut price = problem.price(test, state).weighted;
    for (_, cell) in problem.split(test, state.left) {
        let share = problem.weight(cell) / problem.weight(state.left);
        price += share * followed(problem, problem.after(test, state, cell), states, known);
    }
    known.insert(state, price);
    price
}

/// Mean, 95th percentile and largest.
fn figures(mut ratios: Vec<f64>) -> (f64, f64, f64) {
    ratios.sort_by(f64::total_cmp);
    (ratios.iter().sum::<f64>() / ratios.len() as f64, ratios[ratios.len() * 95 / 100], ratios[ratios.len() - 1])
}

/// The same problem with no test counted as energised, so that no rule of safety stands between the advice and the least price.
fn without_rule(problem: &Problem) -> Problem {
    let tests = problem.tests.iter().map(|test| Test { is_isolated: true, ..test.clone() }).collect();
    Problem { tests, ..problem.clone() }
}

/// How much dearer than the least possible the ways are on random problems of up to 10 worlds and 12 tests, and the advice
/// that the next check follows: by itself, with so few states to look at that it has to roll out, and kept from energised
/// tests where an isolated one tells nearly as much. Printed with `--nocapture`.
#[test]
fn the_advice_is_near_the_optimum() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let strategy = any_problem(10, 12);
    let (mut greed, mut roll, mut advice, mut rolled, mut safe) = (vec![], vec![], vec![], vec![], vec![]);
    while greed.len() < 500 {
        let problem = strategy.new_tree(&mut runner).unwrap().current();
        let (mut solver, start) = (solver(&problem), problem.start(0, 0));
        let least = solver.optimum(start).unwrap().expected.weighted;
        if least > 0.0 {
            greed.push(solver.greedy(start).unwrap().expected.weighted / least);
            roll.push(solver.rollout(start).unwrap().expected.weighted / least);
            let free = without_rule(&problem);
            advice.push(followed(&free, start, AFFORDABLE_STATES, &mut HashMap::new()) / least);
            rolled.push(followed(&free, start, 60, &mut HashMap::new()) / least);
            safe.push(followed(&problem, start, AFFORDABLE_STATES, &mut HashMap::new()) / least);
        }
    }
    let (greed, roll, advice, rolled, safe) =
        (figures(greed), figures(roll), figures(advice), figures(rolled), figures(safe));
    println!("mean, 95th percentile, largest: greed {greed:?}, rollout {roll:?}");
    println!("advice {advice:?}, rolled out {rolled:?}, isolated first {safe:?}");
    for (mean, high, _) in [roll, advice, rolled] {
        assert!(mean <= 1.01 && high <= 1.05, "{mean} {high}");
    }
    // Isolated first is a rule of safety and has its price.
    assert!(safe.0 <= 1.015 && safe.1 <= 1.05, "{safe:?}");
}
