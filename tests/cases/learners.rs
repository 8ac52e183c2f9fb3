//! Lets simulated learners work many jobs, and prints how they are marked and whether stated beliefs come true. The figures
//! of `docs/scoring.md` come from here.
//!
//! - `learners work JOBS LEVEL FIRST [SET [HABIT..]]` prints one CSV row for each job and habit; jobs have the seeds FIRST and
//!   up, SET is the set bits of the code (1, the first vehicle). Runs can be cut in pieces and put together again.
//! - `learners orders JOBS LEVEL FIRST [SET]` holds belief after the work order alone against what was the matter.
//! - `learners count JOBS LEVEL FIRST [SET]` counts what certified jobs come with: rows of `scenarios/frequencies.csv`.
//! - `learners tell FILE..` prints the tables of such rows.
//! - `learners trace LEVEL SEED HABIT [SET]` prints one job action by action.

#![allow(missing_docs, clippy::print_stdout)]

#[path = "../learners/mod.rs"]
mod learners;

use std::collections::BTreeMap;
use std::str::FromStr;
use std::sync::Arc;

use hidden_ohm::certify::Certifier;
use hidden_ohm::evidence::{Account, Calibration, Hypothesis, Pool};
use hidden_ohm::scenario::{Library, Revealed, Scenario};
use hidden_ohm::score::{Effort, review};
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode};
use hidden_ohm::units::System;
use learners::row::Row;
use learners::{Habit, tally, work};

const USAGE: &str = "usage: learners work JOBS LEVEL FIRST [SET [HABIT..]] | orders JOBS LEVEL FIRST [SET] | count JOBS LEVEL FIRST [SET] | tell FILE.. | trace LEVEL SEED HABIT [SET]";

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (word, rest) = arguments.split_first().expect(USAGE);
    match word.as_str() {
        "work" => works(rest),
        "tell" => tells(rest),
        "trace" => traces(rest),
        "orders" => orders(rest),
        "count" => counts(rest),
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
    let habits = if habits.is_empty() {
        Habit::ALL.to_vec()
    } else {
        habits
    };
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

/// Rows for `scenarios/frequencies.csv`: how often certified jobs of one vehicle and level come with what, by thirds of
/// severity.
fn counts(rest: &[String]) {
    let [jobs, first] = [0, 2].map(|place| number::<u64>(rest, place).expect(USAGE));
    let level: u8 = number(rest, 1).expect(USAGE);
    let set: u8 = number(rest, 3).unwrap_or(1);
    let library = Library::built_in().expect("the built-in files are right");
    let certifier = Certifier::new(library.clone());
    let mut counted: BTreeMap<(String, String), [u32; 3]> = BTreeMap::new();
    let mut id = String::new();
    for seed in first..first + jobs {
        let Some(scenario) = scenario(&certifier, set, level, seed) else {
            continue;
        };
        let vehicle = Arc::clone(scenario.vehicle());
        id.clone_from(&vehicle.id);
        let revealed = scenario.reveal();
        let (matters, bands) = frequencies_of(&revealed);
        for (matter, band) in matters.into_iter().zip(bands) {
            counted.entry(matter).or_default()[band] += 1;
        }
    }
    for ((kind, part), [mild, middling, severe]) in counted {
        println!("{id},{level},{kind},{part},{mild},{middling},{severe}");
    }
}

/// Each thing that is the matter with a job, as a row of the table names it, and the third of severity it lies in.
fn frequencies_of(revealed: &Revealed) -> (Vec<(String, String)>, Vec<usize>) {
    let mut matters = Vec::new();
    let mut bands = Vec::new();
    for fault in &revealed.faults {
        let kind = revealed.catalogue.kinds[fault.kind.0].id.clone();
        matters.push((kind, revealed.vehicle.parts[fault.site.part.0].id.clone()));
        bands.push(match Hypothesis::of(&revealed.catalogue, fault) {
            Hypothesis::Fault { band, .. } => band as usize,
            _ => 2,
        });
    }
    if let Some(trouble) = revealed.tank_trouble() {
        matters.push((format!("{trouble:?}").to_lowercase(), String::new()));
        bands.push(2);
    }
    if matters.is_empty() {
        matters.push(("nothing".to_owned(), String::new()));
        bands.push(2);
    }
    (matters, bands)
}

fn orders(rest: &[String]) {
    let [jobs, first] = [0, 2].map(|place| number::<u64>(rest, place).expect(USAGE));
    let level: u8 = number(rest, 1).expect(USAGE);
    let set: u8 = number(rest, 3).unwrap_or(1);
    let library = Library::built_in().expect("the built-in files are right");
    let certifier = Certifier::new(library.clone());
    let mut pool: Option<Pool> = None;
    let mut likeliest = Calibration::default();
    // Of each kind of matter: how often it was believed in, and how often it was there.
    let mut kinds: BTreeMap<String, (f64, f64)> = BTreeMap::new();
    let mut surprise = 0.0;
    for seed in first..first + jobs {
        let Some(scenario) = scenario(&certifier, set, level, seed) else {
            continue;
        };
        let vehicle = Arc::clone(scenario.vehicle());
        let pool = pool.get_or_insert_with(|| {
            Pool::for_level(&vehicle, &library.catalogue, level, Pool::USUAL).expect("drawn")
        });
        let account = Account::begin(pool, level, scenario.order());
        let name = |hypothesis: &Hypothesis| match hypothesis {
            Hypothesis::Nothing => "nothing".to_owned(),
            Hypothesis::Tank(trouble) => format!("{trouble:?}"),
            Hypothesis::Fault { kind, .. } => library.catalogue.kinds[kind.0].id.clone(),
        };
        let p = account.belief().probabilities();
        for (hypothesis, p) in account.hypotheses().iter().zip(&p) {
            kinds.entry(name(hypothesis)).or_default().0 += p;
        }
        let revealed = scenario.reveal();
        let mut hidden: Vec<Hypothesis> = revealed
            .faults
            .iter()
            .map(|fault| Hypothesis::of(&library.catalogue, fault))
            .chain(revealed.tank_trouble().map(Hypothesis::Tank))
            .collect();
        if hidden.is_empty() {
            hidden.push(Hypothesis::Nothing);
        }
        let share = 1.0 / hidden.len() as f64;
        let rights: Vec<usize> = hidden
            .iter()
            .filter_map(|one| account.right_for_any(one))
            .collect();
        for one in &hidden {
            kinds.entry(name(one)).or_default().1 += share;
        }
        let repairs = account.repair_probabilities();
        let best = (0..repairs.len()).fold(0, |a, b| if repairs[b] > repairs[a] { b } else { a });
        likeliest.add(repairs[best], rights.contains(&best));
        let right: f64 = rights.iter().map(|&right| repairs[right]).sum();
        surprise -= libm::log2(right.max(1e-6)) / jobs as f64;
    }
    println!(
        "likeliest repair: expected calibration error {:.4}, {} jobs; surprise {surprise:.3} bits",
        likeliest.expected_error(10),
        likeliest.len()
    );
    for (kind, (believed, counted)) in kinds {
        println!("{kind:28} believed {believed:7.1} counted {counted:6.1}");
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
    let mut account = Account::begin(&pool, level, &closed.order);
    let rights = account.rights(&closed.truth);
    for (step, entry) in looked.actions.iter().zip(&closed.ledger) {
        account.observe(entry);
        let p = account.repair_probabilities();
        let right: f64 = rights.iter().map(|&right| p[right]).sum();
        println!(
            "{:3} right {right:.4} surest {:.4}",
            step.action, step.surest
        );
        let mut draws: Vec<(f64, usize)> = account
            .belief()
            .draws()
            .into_iter()
            .enumerate()
            .map(|(k, p)| (p, k))
            .collect();
        draws.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (p, k) in draws.into_iter().take(4) {
            let draw = &account.forecasts().draws()[k];
            let fault = draw.fault.map(|fault| {
                format!(
                    "{} {} {:.3}",
                    library.catalogue.kinds[fault.kind.0].id,
                    vehicle.parts[fault.site.part.0].id,
                    fault.severity
                )
            });
            println!("        {p:.4} {fault:?} {:?}", draw.trouble);
        }
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
