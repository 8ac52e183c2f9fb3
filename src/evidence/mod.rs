//! What is known, what a test would tell, what it is worth, and whether a decision was sound.
//!
//! The core works on numbered hypotheses, tests and outcomes and knows no vehicle. Logarithms of information are to
//! base 2 (bits); likelihoods are natural logarithms. Everything is deterministic: limits on effort count work, never
//! time.
//!
//! - Bayes: [`logs`], [`Mixture`], [`Belief`].
//! - What a test tells: [`information`], [`probe`], [`edges`].
//! - What to do next: [`Problem`] with [`Planner`] (greedy, rollout, rollout of rollout), [`Search`] (exact), [`bound`]
//!   (what no plan can beat), [`Noisy`] (tests that err), [`service`] (order of repairs).
//! - What a decision was worth: [`decision`].
//! - How stated beliefs fare: [`rules`], [`Calibration`].

mod account;
mod belief;
pub mod bound;
mod calibration;
pub mod code;
pub mod decision;
mod draws;
pub mod edges;
mod exact;
mod expected;
mod forecast;
mod frequencies;
pub mod information;
pub mod joint;
mod likelihood;
pub mod logs;
mod memo;
mod metered;
mod mixture;
mod noisy;
mod pairs;
mod plan;
mod prior;
pub mod probe;
mod problem;
mod ranges;
mod reference;
mod repairs;
pub mod rules;
mod search;
mod second;
pub mod service;
mod set;
mod setup;
mod track;
mod weigh;
mod words;
mod works;

pub use account::{Account, Seen, Step};
pub use belief::{Belief, realised_bits};
pub use calibration::{Bin, Calibration, Murphy};
pub use draws::{Band, Draw, Hypothesis, Pool};
pub use exact::Exact;
pub use forecast::{Ask, Forecast, Forecasts, Frame};
pub use mixture::{Mixture, normal_log_density, rectangular, resolution};
pub use noisy::{Advantage, Evaluation, Noisy, NoisyChoice, NoisyPolicy, NoisyTest};
pub use plan::{Choice, Depth, Planner};
pub use problem::{Problem, ProblemError, Remedy, State, Test};
pub use reference::{Advice, Done, Next, Probe, Reference};
pub use repairs::{COMEBACK_MINUTES, Cure, Repair, Repairs, per_minute};
pub use search::{Interval, Search};
pub use set::Set;
pub use setup::Setup;
pub use track::Standing;
