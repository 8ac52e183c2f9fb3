//! Simulated learners: each works a job at the bay as a person with one habit would, knowing nothing that the bay does
//! not tell.

#![allow(dead_code, clippy::print_stdout)]

mod guessers;
mod methodical;
mod misled;
pub mod row;
pub mod tally;
mod workbench;

use std::sync::Arc;

use hidden_ohm::bay::{Bay, Closed};
use hidden_ohm::evidence::{Depth, Pool};
use hidden_ohm::scenario::Scenario;
use hidden_ohm::units::System;
use workbench::Workbench;

/// One habit of working.
#[derive(
    Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, serde::Serialize, serde::Deserialize,
)]
pub enum Habit {
    /// Does what the reference would, on the live belief.
    Reference,
    /// The test with most bits for its cost, on the live belief.
    Greedy,
    /// Halves the loop under load, then its half; beyond the loop as the greedy one.
    HalfSplitter,
    /// Reads every point in turn under load, from post to post; beyond the loop as the greedy one.
    TextbookOrder,
    /// Reads every point in turn, takes off what the lead would drop at pump current, and goes by rules of thumb.
    LeadSubtractor,
    /// Resistance only, much of it with the key on.
    OhmsOnly,
    /// Volts only, the pump at rest.
    UnloadedVolts,
    /// Buys the dearest part first, and the next if that was not it.
    DearestFirst,
    /// Anything.
    Random,
}

impl Habit {
    pub const ALL: [Habit; 9] = [
        Habit::Reference,
        Habit::Greedy,
        Habit::HalfSplitter,
        Habit::TextbookOrder,
        Habit::LeadSubtractor,
        Habit::OhmsOnly,
        Habit::UnloadedVolts,
        Habit::DearestFirst,
        Habit::Random,
    ];

    /// Buys on hope instead of reading.
    pub fn guesses(self) -> bool {
        matches!(self, Habit::DearestFirst | Habit::Random)
    }

    /// Reads under load and repairs what the readings point to.
    pub fn is_methodical(self) -> bool {
        matches!(
            self,
            Habit::Reference | Habit::Greedy | Habit::HalfSplitter | Habit::TextbookOrder
        )
    }
}

/// Works a scenario from the work order to handing the vehicle back.
pub fn work(habit: Habit, scenario: Scenario, pool: &Arc<Pool>, seed: u64) -> Closed {
    let bay = Bay::open(scenario, System::Metric).expect("the vehicle can be solved");
    let mut bench = Workbench::new(bay, seed);
    match habit {
        Habit::Reference => methodical::by_reference(&mut bench, pool, Depth::Rollout),
        Habit::Greedy => methodical::by_reference(&mut bench, pool, Depth::Greedy),
        Habit::HalfSplitter => methodical::half_splitter(&mut bench, pool),
        Habit::TextbookOrder => methodical::textbook(&mut bench, pool),
        Habit::LeadSubtractor => methodical::lead_subtractor(&mut bench),
        Habit::OhmsOnly => misled::ohms_only(&mut bench),
        Habit::UnloadedVolts => misled::unloaded_volts(&mut bench),
        Habit::DearestFirst => guessers::dearest_first(&mut bench),
        Habit::Random => guessers::random(&mut bench),
    }
    bench.hands_back()
}
