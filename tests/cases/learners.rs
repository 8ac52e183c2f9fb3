//! Lets simulated learners work many jobs, and prints how they are marked and whether stated beliefs come true. The figures
//! of `docs/scoring.md` come from here.
//!
//! - `learners work JOBS FIRST [HABIT..]` prints one CSV row for each job and habit; jobs have the seeds FIRST and up, levels
//!   in turn, of all vehicles. Runs can be cut in pieces and put together again.
//! - `learners orders JOBS FIRST` holds belief after the work order alone against what was the matter.
//! - `learners tell FILE..` prints the tables of such rows.
//! - `learners excess JOBS FIRST [STATES]` holds what the reference's plans cost against the best there is, wherever a search of
//!   so many states closes, at every belief on the reference's own way through each job.
//! - `learners trace LEVEL SEED HABIT [SET]` prints one job action by action.

#![allow(missing_docs, clippy::print_stdout)]

#[path = "../learners/mod.rs"]
mod learners;

use std::collections::BTreeMap;
use std::str::FromStr;
use std::sync::Arc;

use rayon::prelude::{IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};

use hidden_ohm::certify::Certifier;
use hidden_ohm::evidence::{Account, Calibration, Depth, Hypothesis, Pool, Reference, Search};
use hidden_ohm::scenario::{Generator, Library, Scenario};
use hidden_ohm::score::{Effort, review};
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode};
use hidden_ohm::units::System;
use learners::row::Row;
use learners::{Habit, tally, work};

const USAGE: &str = "usage: learners work JOBS FIRST [HABIT..] | orders JOBS FIRST | excess JOBS FIRST [STATES] | tell FILE.. | trace LEVEL SEED HABIT [SET]";

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (word, rest) = arguments.split_first().expect(USAGE);
    match word.as_str() {
        "work" => works(rest),
        "tell" => tells(rest),
        "trace" => traces(rest),
        "orders" => orders(rest),
        "excess" => excesses(rest),
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

/// Jobs of all levels in turn and all vehicles, each with the pool it is marked by.
struct Jobs {
    certifier: Certifier,
    pools: BTreeMap<(String, u8), Arc<Pool>>,
}

impl Jobs {
    fn new() -> Jobs {
        let library = Library::built_in().expect("the built-in files are right");
        let known = &Generator::newest().vehicles;
        let levels = (1..=5).flat_map(|level| known.iter().map(move |id| (*id, level)));
        let all: Vec<(&str, u8)> = levels.collect();
        let pools = all.into_par_iter().map(|(id, level)| {
            let vehicle = library.vehicles.iter().find(|vehicle| vehicle.id == id);
            let vehicle = vehicle.expect("a vehicle of the generator");
            let pool = Pool::for_level(vehicle, &library.catalogue, level, Pool::USUAL);
            (
                (id.to_owned(), level),
                Arc::new(pool.expect("every draw can be solved")),
            )
        });
        Jobs {
            pools: pools.collect(),
            certifier: Certifier::new(library),
        }
    }

    /// The job of a seed; nothing if its code gives none.
    fn scenario(&self, seed: u64) -> Option<(Scenario, &Arc<Pool>)> {
        let level = u8::try_from(seed % 5).expect("a level") + 1;
        let scenario = scenario(&self.certifier, 0, level, seed)?;
        let pool = &self.pools[&(scenario.vehicle().id.clone(), level)];
        Some((scenario, pool))
    }
}

fn works(rest: &[String]) {
    let [jobs, first] = [0, 1].map(|place| number::<u64>(rest, place).expect(USAGE));
    let habits: Vec<Habit> = rest.iter().skip(2).map(|name| named(name)).collect();
    let habits = if habits.is_empty() {
        Habit::ALL.to_vec()
    } else {
        habits
    };
    let all = Jobs::new();
    let mut out = csv::Writer::from_writer(std::io::stdout());
    let seeds: Vec<u64> = (first..first + jobs).collect();
    // In pieces, so that a run that is cut short leaves what it had.
    for piece in seeds.chunks(40) {
        let worked = |&seed: &u64| -> Vec<Row> {
            let Some((scenario, pool)) = all.scenario(seed) else {
                return Vec::new();
            };
            let one = |&habit: &Habit| {
                let closed = work(habit, scenario.clone(), pool, seed);
                Row::of(habit, seed, &closed, pool)
            };
            habits.iter().map(one).collect()
        };
        let rows: Vec<Vec<Row>> = piece.par_iter().map(worked).collect();
        for row in rows.iter().flatten() {
            out.serialize(row).expect("a row can be written");
        }
        out.flush().expect("a row can be written");
    }
}

/// What belief after the work order says of one job.
struct Order {
    level: u8,
    /// The likeliest repair's probability, and whether it was right.
    stated: f64,
    right: bool,
    surprise: f64,
    /// Of each kind of matter: how much it was believed in, and whether it was there.
    kinds: BTreeMap<String, (f64, f64)>,
}

fn ordered(all: &Jobs, seed: u64) -> Option<Order> {
    let (scenario, pool) = all.scenario(seed)?;
    let level = scenario.level();
    let account = Account::begin(pool, level, scenario.order());
    let catalogue = &all.certifier.stock().catalogue;
    let name = |hypothesis: &Hypothesis| match hypothesis {
        Hypothesis::Nothing => "nothing".to_owned(),
        Hypothesis::Tank(trouble) => format!("{trouble:?}"),
        Hypothesis::Fault { kind, .. } => catalogue.kinds[kind.0].id.clone(),
    };
    let mut kinds: BTreeMap<String, (f64, f64)> = BTreeMap::new();
    let p = account.probabilities();
    for (hypothesis, p) in account.hypotheses().iter().zip(&p) {
        kinds.entry(name(hypothesis)).or_default().0 += p;
    }
    let revealed = scenario.reveal();
    let mut hidden: Vec<Hypothesis> = revealed
        .faults
        .iter()
        .map(|fault| Hypothesis::of(catalogue, fault))
        .chain(revealed.tank_trouble().map(Hypothesis::Tank))
        .collect();
    if hidden.is_empty() {
        hidden.push(Hypothesis::Nothing);
    }
    let found = hidden.iter().filter_map(|one| account.right_for_any(one));
    let rights: Vec<usize> = found.collect();
    for one in &hidden {
        kinds.entry(name(one)).or_default().1 += 1.0;
    }
    let repairs = account.repair_probabilities();
    let best = (0..repairs.len()).fold(0, |a, b| if repairs[b] > repairs[a] { b } else { a });
    let sum: f64 = rights.iter().map(|&right| repairs[right]).sum();
    let right = sum / rights.len().max(1) as f64;
    Some(Order {
        level,
        stated: repairs[best],
        right: rights.contains(&best),
        surprise: -libm::log2(right.max(1e-6)),
        kinds,
    })
}

fn orders(rest: &[String]) {
    let [jobs, first] = [0, 1].map(|place| number::<u64>(rest, place).expect(USAGE));
    let all = Jobs::new();
    let seeds: Vec<u64> = (first..first + jobs).collect();
    let found = seeds.into_par_iter().filter_map(|seed| ordered(&all, seed));
    let orders: Vec<Order> = found.collect();
    for level in 0..=5 {
        let own = orders
            .iter()
            .filter(|order| level == 0 || order.level == level);
        let mut likeliest = Calibration::default();
        let mut surprise = 0.0;
        for order in own {
            likeliest.add(order.stated, order.right);
            surprise += order.surprise;
        }
        println!(
            "level {level}: expected calibration error {:.4}, {} jobs; surprise {:.3} bits",
            likeliest.expected_error(10),
            likeliest.len(),
            surprise / likeliest.len().max(1) as f64
        );
        for bin in likeliest.table(10) {
            println!(
                "    {:5} stated {:.3} came true {:.3}",
                bin.count, bin.stated, bin.came_true
            );
        }
    }
    let mut kinds: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    for (kind, (believed, there)) in orders.iter().flat_map(|order| &order.kinds) {
        let sum = kinds.entry(kind).or_default();
        *sum = (sum.0 + believed, sum.1 + there);
    }
    for (kind, (believed, counted)) in kinds {
        println!("{kind:28} believed {believed:7.1} counted {counted:6.1}");
    }
}

/// Plans of one job: for each, whether the search closed and by what share the reference's plan costs more.
fn excess(all: &Jobs, seed: u64, states: u64) -> Vec<(u8, Option<f64>)> {
    /// States the reference may value for one plan.
    const PLANNED: u64 = 100_000;
    let Some((scenario, pool)) = all.scenario(seed) else {
        return Vec::new();
    };
    let level = scenario.level();
    let closed = work(Habit::Reference, scenario, pool, seed);
    let mut account = Account::begin(pool, level, &closed.order);
    let mut plans = Vec::new();
    let mut plan = |account: &mut Account| {
        let Ok(reference) = Reference::new(account) else {
            return;
        };
        let found = Search::new(reference.problem(), &reference.state()).run(states);
        let share = found.closed.then(|| {
            let minutes = reference.advice(Depth::Twice, PLANNED).minutes;
            // Where nothing is left to spend, nothing can be saved.
            if found.upper > 0.0 {
                minutes / found.upper - 1.0
            } else {
                0.0
            }
        });
        plans.push((level, share));
    };
    plan(&mut account);
    for entry in &closed.ledger {
        let seen = account.weigh(entry);
        account.take(&seen);
        if !seen.is_empty() {
            plan(&mut account);
        }
    }
    plans
}

fn excesses(rest: &[String]) {
    let [jobs, first] = [0, 1].map(|place| number::<u64>(rest, place).expect(USAGE));
    let states = number(rest, 2).unwrap_or(2_000);
    let all = Jobs::new();
    let seeds: Vec<u64> = (first..first + jobs).collect();
    let found = seeds
        .into_par_iter()
        .flat_map_iter(|seed| excess(&all, seed, states));
    let plans: Vec<(u8, Option<f64>)> = found.collect();
    for level in 0..=5 {
        let own = plans.iter().filter(|(of, _)| level == 0 || *of == level);
        let shares: Vec<Option<f64>> = own.map(|(_, share)| *share).collect();
        let mut closed: Vec<f64> = shares.iter().copied().flatten().collect();
        closed.sort_by(f64::total_cmp);
        let at = |percent: usize| {
            closed
                .get(closed.len() * percent / 100)
                .copied()
                .unwrap_or(0.0)
        };
        println!(
            "level {level}: {} of {} searches closed; excess mean {:.4}, median {:.4}, 95th of 100 {:.4}, most {:.4}",
            closed.len(),
            shares.len(),
            closed.iter().sum::<f64>() / closed.len().max(1) as f64,
            at(50),
            at(95),
            closed.last().copied().unwrap_or(0.0)
        );
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
