//! How long planning, bounds and belief take on synthetic circuits of the sizes a vehicle has.

use divan::{Bencher, black_box};
use hidden_ohm::evidence::{Belief, Depth, Mixture, Planner, Problem, Remedy, Search, Test, bound};
use hidden_ohm::seed::Stream;

fn main() {
    divan::main();
}

/// A chain of parts with faults in bands: tests that see how far along the chain a drop has come, tests of single parts,
/// and a costly one with four answers. Shared work opens the second half of the chain.
fn circuit(hypotheses: usize, tests: usize) -> Problem {
    let mut stream = Stream::named(7, "bench");
    let places = hypotheses / 3;
    let prior: Vec<f64> = (0..hypotheses)
        .map(|_| stream.log_between(0.1, 3.0))
        .collect();
    let whole: f64 = prior.iter().sum();
    let place_of = |h: usize| h / 3 % places.max(1);
    let tests = (0..tests).map(|t| {
        let at = t * places / tests;
        let outcomes = (0..hypotheses).map(|h| match t % 3 {
            0 => u8::from(place_of(h) < at) * (1 + u8::from(h % 3 == 2)),
            1 => u8::from(place_of(h) == at),
            _ => u8::try_from((h % 3 + place_of(h) / 8) % 4).unwrap_or(0),
        });
        Test {
            cost: stream.between(0.5, 4.0),
            needs: u128::from(2 * at > places),
            mode: None,
            outcomes: outcomes.collect(),
        }
    });
    let tests = tests.collect();
    let remedy = |place: usize| Remedy {
        needs: u128::from(2 * place > places),
        loss: (0..hypotheses)
            .map(|h| if place_of(h) == place { 10.0 } else { 130.0 })
            .collect(),
    };
    let problem = Problem {
        prior: prior.iter().map(|p| p / whole).collect(),
        tests,
        remedies: (0..places).map(remedy).collect(),
        works: vec![25.0],
        modes: Vec::new(),
    };
    problem.check().expect("a sound problem");
    problem
}

const SIZES: [(usize, usize); 3] = [(30, 15), (90, 40), (180, 82)];

#[divan::bench(args = SIZES, sample_count = 5)]
fn rollout(bencher: Bencher, (hypotheses, tests): (usize, usize)) {
    let problem = circuit(hypotheses, tests);
    bencher.bench_local(|| {
        Planner::new(black_box(&problem), u64::MAX).value(Depth::Rollout, &problem.start())
    });
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn rollout_of_rollout(bencher: Bencher, (hypotheses, tests): (usize, usize)) {
    let problem = circuit(hypotheses, tests);
    bencher.bench_local(|| {
        Planner::new(black_box(&problem), u64::MAX).value(Depth::Twice, &problem.start())
    });
}

#[divan::bench(args = SIZES, sample_count = 3)]
fn bounds(bencher: Bencher, (hypotheses, tests): (usize, usize)) {
    let problem = circuit(hypotheses, tests);
    bencher.bench_local(|| bound::best(black_box(&problem), &problem.start()));
}

#[divan::bench(args = SIZES, sample_count = 1)]
fn search_of_a_thousand_states(bencher: Bencher, (hypotheses, tests): (usize, usize)) {
    let problem = circuit(hypotheses, tests);
    bencher.bench_local(|| Search::new(black_box(&problem), &problem.start()).run(1000));
}

#[divan::bench]
fn one_reading_over_200_hypotheses_of_8_draws(bencher: Bencher) {
    let belief = Belief::new(&[0.005; 200], 8);
    let mixture = Mixture {
        chance: 0.02,
        low: -1.0,
        high: 20.0,
    };
    bencher.bench_local(|| {
        let mut after = black_box(&belief).clone();
        after.update(|d| mixture.log_likelihood(0.41, 0.002 * d as f64, 0.02));
        after.probabilities()
    });
}
