//! How long belief, planning and looking back take on whole jobs, beside one launch of ngspice in the same run: the ratio
//! of two lines is what counts. One job of level 3 and one of level 5, where belief is in pairs of faults, worked by a
//! simulated learner who reads the whole loop.

#![allow(missing_docs, clippy::print_stdout)]

#[path = "../learners/mod.rs"]
mod learners;

use std::process::Command;
use std::sync::{Arc, OnceLock};

use divan::{Bencher, black_box};
use hidden_ohm::bay::{Bay, Closed};
use hidden_ohm::certify::Certifier;
use hidden_ohm::evidence::{Account, Depth, Pool};
use hidden_ohm::scenario::{Library, Scenario};
use hidden_ohm::score::{Coach, Effort, WEIGHTS, review};
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode};
use hidden_ohm::units::System;
use learners::{Habit, work};

/// Actions an attempt is cut to, so that all are of one length.
const ACTIONS: usize = 60;
const LEVELS: [u8; 2] = [3, 5];

fn main() {
    for level in LEVELS {
        println!("level {level}: {} actions", job(level).closed.ledger.len());
    }
    divan::main();
}

struct Job {
    scenario: Scenario,
    pool: Arc<Pool>,
    closed: Closed,
}

/// The first job of the harbour van at a level that takes at least [`ACTIONS`], cut to as many.
fn job(level: u8) -> &'static Job {
    static JOBS: [OnceLock<Job>; 6] = [const { OnceLock::new() }; 6];
    JOBS[usize::from(level)].get_or_init(|| {
        let library = Library::built_in().expect("the built-in files are right");
        let vehicle = library.vehicle("harbour-van").expect("it is built in");
        let pool = Pool::for_level(vehicle, &library.catalogue, level, Pool::USUAL);
        let pool = Arc::new(pool.expect("every draw can be solved"));
        let certifier = Certifier::new(library);
        let jobs = (0..).map(|seed| {
            let code = ScenarioCode::new(GENERATOR_VERSION, 1, level, seed).expect("a code");
            let scenario = certifier.generate(code).expect("a scenario");
            let closed = work(Habit::TextbookOrder, scenario.clone(), &pool, seed);
            (scenario, closed)
        });
        let long = |(_, closed): &(Scenario, Closed)| closed.ledger.len() >= ACTIONS;
        let (scenario, mut closed) = jobs.into_iter().find(long).expect("a long job");
        // The last action, the handing back, stays.
        let end = closed.ledger.len() - 1;
        closed.ledger.drain(ACTIONS - 1..end);
        Job {
            scenario,
            pool,
            closed,
        }
    })
}

fn looked_back(bencher: Bencher, level: u8, effort: Effort) {
    let job = job(level);
    bencher.bench_local(|| {
        review(black_box(&job.closed), &job.pool, System::Metric, effort).expect("it can be solved")
    });
}

#[divan::bench(sample_count = 20, sample_size = 1)]
fn ngspice_launch(bencher: Bencher) {
    let deck = std::env::temp_dir().join("hidden-ohm-bench.cir");
    std::fs::write(&deck, "one resistor\nV1 1 0 12\nR1 1 0 3\n.op\n.end\n")
        .expect("it can be written");
    bencher.bench_local(|| {
        let done = Command::new("ngspice").arg("-b").arg(&deck).output();
        assert!(done.expect("ngspice starts").status.success());
    });
}

/// Belief after all actions, shared forecasts known: a sixtieth of it is one update.
#[divan::bench(args = LEVELS, sample_count = 10, sample_size = 1)]
fn belief_after_sixty_actions(bencher: Bencher, level: u8) {
    let job = job(level);
    bencher.bench_local(|| {
        Account::of(&job.pool, black_box(&job.closed)).expect("it can be followed")
    });
}

#[divan::bench(args = LEVELS, sample_count = 10, sample_size = 1)]
fn debrief_without_replanning(bencher: Bencher, level: u8) {
    looked_back(bencher, level, Effort::Conclusions);
}

#[divan::bench(args = LEVELS, sample_count = 5, sample_size = 1)]
fn debrief_replanned(bencher: Bencher, level: u8) {
    looked_back(bencher, level, Effort::Replanned);
}

/// What the reference would do first, as the work order is known.
#[divan::bench(args = LEVELS, sample_count = 5, sample_size = 1)]
fn planning(bencher: Bencher, level: u8) {
    let job = job(level);
    let bay = Bay::open(job.scenario.clone(), System::Metric).expect("it can be solved");
    bencher.bench_local(|| Coach::new(&job.pool, &bay, &WEIGHTS).next(&bay, Depth::Rollout));
}

/// Vehicles drawn for a level, once for all its jobs.
#[divan::bench(args = LEVELS, sample_count = 3, sample_size = 1)]
fn pool(bencher: Bencher, level: u8) {
    let vehicle = Arc::clone(job(level).pool.vehicle());
    let catalogue = Arc::clone(job(level).pool.catalogue());
    bencher.bench_local(|| {
        Pool::for_level(black_box(&vehicle), &catalogue, level, Pool::USUAL)
            .expect("every draw can be solved")
    });
}
