//! A learner's history: how sure one can be of their level, where the weak spots are, what to practise next.
//!
//! Knows no file and no clock: jobs come in with the day they were begun, replayed and marked by whoever read them.
//! Everything is a pure function of the jobs. The rating says how a learner does against this program's levels, which are
//! ordered by design and not calibrated on people; nothing here is an exam.

mod history;
mod job;
mod rating;
mod spacing;

pub use history::{History, Next, Spot};
pub use job::{Job, Known, PartShare};
pub use rating::{Glicko, Opponent};
pub use spacing::Spacing;
