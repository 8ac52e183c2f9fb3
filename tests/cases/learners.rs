//! Lets simulated learners work many jobs and prints how they are marked and whether stated beliefs come true:
//! `learners JOBS [LEVEL [HABIT]]`. The figures of `docs/scoring.md` come from here.

#![allow(missing_docs, clippy::print_stdout)]

#[path = "../learners/mod.rs"]
mod learners;

use std::sync::Arc;
use std::time::Instant;

use hidden_ohm::bay::{Action, Closed};
use hidden_ohm::certify::Certifier;
use hidden_ohm::evidence::{Account, COMEBACK_MINUTES, Calibration, Pool, per_minute};
use hidden_ohm::scenario::Library;
use hidden_ohm::score::{Effort, review};
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode};
use hidden_ohm::units::System;
use learners::{Habit, work};

/// What one habit came to over all jobs.
#[derive(Default)]
struct Sums {
    totals: Vec<f64>,
    outcomes: Vec<f64>,
    methods: Vec<f64>,
    minutes: Vec<f64>,
    cured: Vec<bool>,
    reviewing_s: f64,
}

/// Beliefs held against what was true.
#[derive(Default)]
struct Beliefs {
    all: Calibration,
    likeliest: Calibration,
    updates: u32,
    spent_s: f64,
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    let jobs: u64 = arguments
        .next()
        .and_then(|n| n.parse().ok())
        .expect("usage: learners JOBS [LEVEL [HABIT]]");
    let level: u8 = arguments.next().and_then(|n| n.parse().ok()).unwrap_or(3);
    let only = arguments.next();
    let library = Library::built_in().expect("the built-in files are right");
    let certifier = Certifier::new(library.clone());
    let vehicle = &library.vehicles[0];
    let pool =
        Arc::new(Pool::for_level(vehicle, &library.catalogue, level, Pool::USUAL).expect("drawn"));
    let mut beliefs = Beliefs::default();
    let mut all: Vec<(Habit, Sums)> = Vec::new();
    for habit in Habit::ALL {
        if only
            .as_ref()
            .is_some_and(|only| format!("{habit:?}") != *only)
        {
            continue;
        }
        let mut sums = Sums::default();
        for seed in 0..jobs {
            let code =
                ScenarioCode::new(GENERATOR_VERSION, 1, level, 10_000 + seed).expect("a code");
            let scenario = certifier.generate(code).expect("a scenario");
            let closed = work(habit, scenario, &pool, seed);
            beliefs.add(&pool, level, &closed);
            sums.add(&pool, &closed);
        }
        sums.print(habit);
        all.push((habit, sums));
    }
    overlap(&all);
    beliefs.print();
}

impl Sums {
    fn add(&mut self, pool: &Pool, closed: &Closed) {
        let last = closed.ledger.last().expect("entries");
        let cured = closed.truth.left.is_empty();
        let comeback = if cured { 0.0 } else { COMEBACK_MINUTES };
        self.minutes
            .push(last.spent.0 as f64 / per_minute(&closed.vehicle) + comeback);
        self.cured.push(cured);
        let started = Instant::now();
        let looked = review(closed, pool, System::Metric, Effort::Conclusions).expect("reviewed");
        self.reviewing_s += started.elapsed().as_secs_f64();
        self.outcomes.push(looked.marks.outcome);
        self.methods.push(looked.marks.method);
        self.totals.push(looked.standing.mean);
        if std::env::var_os("TRACE").is_some() {
            let name = |f: &hidden_ohm::fault::Fault| {
                format!(
                    "{} {}",
                    closed.truth.catalogue.kinds[f.kind.0].id,
                    closed.vehicle.parts[f.site.part.0].id
                )
            };
            let faults: Vec<String> = closed.truth.came_with.iter().map(name).collect();
            println!("--- {faults:?} cured {cured}: {}", closed.order.customer);
            for step in &looked.actions {
                println!(
                    "{:3} {} [{}] {:?} {}",
                    step.action, step.what, step.shown, step.verdicts, step.why
                );
            }
        }
    }

    fn print(&self, habit: Habit) {
        let count = self.totals.len() as f64;
        let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len().max(1) as f64;
        let mut sorted = self.totals.clone();
        sorted.sort_by(f64::total_cmp);
        let tenth = |k: usize| sorted[(k * sorted.len() / 10).min(sorted.len() - 1)];
        let middle = mean(&self.totals);
        let spread = self
            .totals
            .iter()
            .map(|t| (t - middle) * (t - middle))
            .sum::<f64>()
            / (count - 1.0).max(1.0);
        let unlucky = self
            .methods
            .iter()
            .zip(&self.cured)
            .filter(|(m, c)| **m < 50.0 && !**c)
            .count();
        println!(
            "{:15} cured {:.3} minutes {:5.0} outcome {:5.1} method {:5.1} total {middle:5.1} (sd {:.1}; 1st, 5th, 9th tenth {:.0} {:.0} {:.0}) \
uncured with method below half: {unlucky}; review {:.0} ms",
            format!("{habit:?}"),
            self.cured.iter().filter(|c| **c).count() as f64 / count,
            mean(&self.minutes),
            mean(&self.outcomes),
            mean(&self.methods),
            spread.sqrt(),
            tenth(1),
            tenth(5),
            tenth(9),
            1e3 * self.reviewing_s / count
        );
    }
}

/// How often a guesser outscores a methodical learner on the same job, with the upper 95 % bound of the share.
fn overlap(all: &[(Habit, Sums)]) {
    let (mut beaten, mut pairs) = (0_u32, 0_u32);
    let mut passed = 0_u32;
    for (guesser, guessed) in all.iter().filter(|(habit, _)| habit.guesses()) {
        passed += u32::try_from(
            guessed
                .totals
                .iter()
                .filter(|total| **total >= 60.0)
                .count(),
        )
        .unwrap_or(0);
        for (methodical, worked) in all.iter().filter(|(habit, _)| habit.is_methodical()) {
            let over = guessed
                .totals
                .iter()
                .zip(&worked.totals)
                .filter(|(a, b)| a > b)
                .count();
            println!(
                "{guesser:?} over {methodical:?}: {over} of {}",
                guessed.totals.len()
            );
            beaten += u32::try_from(over).unwrap_or(0);
            pairs += u32::try_from(guessed.totals.len()).unwrap_or(0);
        }
    }
    if pairs > 0 {
        let p = f64::from(beaten) / f64::from(pairs);
        // Wilson's upper bound at 95 % one-sided.
        let (n, z) = (f64::from(pairs), 1.645_f64);
        let upper =
            (p + z * z / (2.0 * n) + z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt())
                / (1.0 + z * z / n);
        println!(
            "a guesser outscores a methodical learner: {beaten} of {pairs}, {p:.4}, upper bound {upper:.4}; guesses that pass: {passed}"
        );
    }
}

impl Beliefs {
    fn add(&mut self, pool: &Pool, level: u8, closed: &Closed) {
        let started = Instant::now();
        let mut account = Account::begin(pool, level, &closed.order);
        let right = closed
            .truth
            .came_with
            .first()
            .and_then(|fault| account.right_for(fault));
        for entry in &closed.ledger {
            if matches!(entry.action, Action::Repair(_) | Action::Replace(_)) {
                break;
            }
            account.observe(entry);
            self.updates += 1;
        }
        self.spent_s += started.elapsed().as_secs_f64();
        let p = account.repair_probabilities();
        let mut best = (0.0, 0);
        for (repair, &p) in p.iter().enumerate() {
            self.all.add(p, Some(repair) == right);
            if p > best.0 {
                best = (p, repair);
            }
        }
        self.likeliest.add(best.0, Some(best.1) == right);
    }

    fn print(&self) {
        println!(
            "an update of belief: {:.2} ms",
            1e3 * self.spent_s / f64::from(self.updates.max(1))
        );
        println!(
            "expected calibration error: of all repairs {:.4}, of the likeliest {:.4}, {} attempts",
            self.all.expected_error(10),
            self.likeliest.expected_error(10),
            self.likeliest.len()
        );
        for bin in self.likeliest.table(10) {
            println!(
                "  {:5} stated {:.3} came true {:.3}",
                bin.count, bin.stated, bin.came_true
            );
        }
    }
}
