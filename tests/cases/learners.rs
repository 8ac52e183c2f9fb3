//! Lets simulated learners work many jobs, and prints how they are marked and whether stated beliefs come true. The figures
//! of `docs/scoring.md` come from here.
//!
//! - `learners work JOBS LEVEL FIRST [SET [HABIT..]]` prints one CSV row for each job and habit; jobs have the seeds FIRST and
//!   up, SET is the set bits of the code (1, the first vehicle). Runs can be cut in pieces and put together again.
//! - `learners tell FILE..` prints the tables of such rows.
//! - `learners trace LEVEL SEED HABIT [SET]` prints one job action by action.

#![allow(missing_docs, clippy::print_stdout)]

#[path = "../learners/mod.rs"]
mod learners;

use std::collections::BTreeMap;
use std::str::FromStr;
use std::sync::Arc;

use hidden_ohm::certify::Certifier;
use hidden_ohm::evidence::Pool;
use hidden_ohm::scenario::{Library, Scenario};
use hidden_ohm::score::{Effort, review};
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode};
use hidden_ohm::units::System;
use learners::row::Row;
use learners::{Habit, tally, work};

const USAGE: &str = "usage: learners work JOBS LEVEL FIRST [SET [HABIT..]] | tell FILE.. | trace LEVEL SEED HABIT [SET]";

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (word, rest) = arguments.split_first().expect(USAGE);
    match word.as_str() {
        "work" => works(rest),
        "tell" => tells(rest),
        "trace" => traces(rest),
        _ => panic!("{USAGE}"),
    }
}

fn number<T: FromStr>(rest: &[String], place: usize) -> Option<T> {
    rest.get(place)?.parse().ok()
}

fn named(name: &str) -> Habit {
    let same = |habit: &Habit| format!("{habit:?}") == name;
    Habit::ALL.into_iter().find(same).expect("a habit")
}

fn scenario(certifier: &Certifier, set: u8, level: u8, seed: u64) -> Option<Scenario> {
    let code = ScenarioCode::new(GENERATOR_VERSION, set, level, seed).expect("a code");
    certifier.generate(code).ok()
}

fn works(rest: &[String]) {
    let [jobs, first] = [0, 2].map(|place| number::<u64>(rest, place).expect(USAGE));
    let level: u8 = number(rest, 1).expect(USAGE);
    let set: u8 = number(rest, 3).unwrap_or(1);
    let habits: Vec<Habit> = rest.iter().skip(4).map(|name| named(name)).collect();
    let habits = if habits.is_empty() { Habit::ALL.to_vec() } else { habits };
    let library = Library::built_in().expect("the built-in files are right");
    let certifier = Certifier::new(library.clone());
    let mut pools: BTreeMap<String, Arc<Pool>> = BTreeMap::new();
    let mut out = csv::Writer::from_writer(std::io::stdout());
    for seed in first..first + jobs {
        let Some(scenario) = scenario(&certifier, set, level, seed) else {
            continue;
        };
        let vehicle = Arc::clone(scenario.vehicle());
        let pool = pools.entry(vehicle.id.clone()).or_insert_with(|| {
            let drawn = Pool::for_level(&vehicle, &library.catalogue, level, Pool::USUAL);
            Arc::new(drawn.expect("every draw can be solved"))
        });
        for &habit in &habits {
            let closed = work(habit, scenario.clone(), pool, seed);
            let row = Row::of(habit, seed, &closed, pool);
            out.serialize(row).expect("a row can be written");
        }
        out.flush().expect("a row can be written");
    }
}

fn tells(files: &[String]) {
    let mut rows: Vec<Row> = Vec::new();
    for file in files {
        let mut reader = csv::Reader::from_path(file).expect("a file of rows");
        rows.extend(reader.deserialize::<Row>().map(|row| row.expect("a row")));
    }
    tally::habits(&rows);
    tally::overlap(&rows);
    tally::beliefs(&rows);
    tally::surprises(&rows);
}

fn traces(rest: &[String]) {
    let level: u8 = number(rest, 0).expect(USAGE);
    let seed: u64 = number(rest, 1).expect(USAGE);
    let habit = named(rest.get(2).expect(USAGE));
    let library = Library::built_in().expect("the built-in files are right");
    let certifier = Certifier::new(library.clone());
    let set = number(rest, 3).unwrap_or(1);
    let scenario = scenario(&certifier, set, level, seed).expect("a job");
    let vehicle = Arc::clone(scenario.vehicle());
    let pool = Pool::for_level(&vehicle, &library.catalogue, level, Pool::USUAL).expect("drawn");
    let pool = Arc::new(pool);
    let closed = work(habit, scenario, &pool, seed);
    let row = Row::of(habit, seed, &closed, &pool);
    println!("{row:#?}\n{}", closed.order.customer);
    let looked = review(&closed, &pool, System::Metric, Effort::Conclusions).expect("reviewed");
    for step in &looked.actions {
        println!(
            "{:3} {} [{}] surest {:.2} {:?} {}",
            step.action, step.what, step.shown, step.surest, step.verdicts, step.why
        );
    }
    for mark in scorecard_marks(&closed, &pool) {
        println!("{mark}");
    }
}

fn scorecard_marks(closed: &hidden_ohm::bay::Closed, pool: &Pool) -> Vec<String> {
    let found = hidden_ohm::score::marks(closed, pool, System::Metric).expect("marked");
    let parts = found.card.parts.iter().flat_map(|part| &part.marks);
    parts
        .map(|mark| {
            format!(
                "{:5.1} of {:4.1}  {}",
                mark.points.0 as f64 / 10.0,
                mark.of.0 as f64 / 10.0,
                mark.because
            )
        })
        .collect()
}
