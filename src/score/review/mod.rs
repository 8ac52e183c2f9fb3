//! Looking back on an attempt with the evidence of each step: what could be believed, what each action told and cost,
//! what the reference would have done, and what to practise.
//!
//! Everything here is data for faces to show. Regret and expected bits use what could be known at the moment and never the
//! truth; told bits use the truth and are for looking back only. Minutes are minutes of labour: parts count at the
//! vehicle's labour rate.

mod actions;
mod belief;
mod conclusion;
pub(in crate::score) mod described;
mod misconception;
mod practise;
mod reference;
mod standing;
pub(in crate::score) mod walk;

use serde::{Deserialize, Serialize};

pub use actions::{Effort, NextStep, Reviewed, Verdict};
pub use belief::{BeliefPoint, BeliefStory, Believed};
pub use conclusion::{Luck, SideBySide};
pub(in crate::score) use misconception::found as misconceptions;
pub use misconception::{Misconception, Mistake};
pub use practise::Practise;
pub use reference::ReferenceCost;
pub use standing::Standing;

/// All that is told about the reasoning in one attempt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Review {
    /// Every action that took time, told something or decided something, in order.
    pub actions: Vec<Reviewed>,
    /// What could be believed of each repair after each of them.
    pub belief: BeliefStory,
    /// What the whole job should cost, with how sure that is.
    pub reference: ReferenceCost,
    /// Misconceptions the work gives away, worst first.
    pub misconceptions: Vec<Misconception>,
    /// Outcome and method beside each other, before they are put together.
    pub marks: SideBySide,
    /// What to practise next.
    pub practise: Practise,
    /// How much one job says about a person.
    pub standing: Standing,
}

use super::Scorecard;
use crate::bay::Closed;
use crate::evidence::Pool;
use crate::rig::RigError;
use crate::units::System;

/// What belief said at one moment, with what was true: for telling whether stated beliefs come true.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stated {
    /// Number of the action just done; 0 for the work order alone.
    pub action: u32,
    /// Probability of the likeliest repair.
    pub probability: f64,
    /// It was right for something the vehicle came with.
    pub right: bool,
}

/// The marks of an attempt without the explanation.
#[derive(Clone, Debug, PartialEq)]
pub struct Marks {
    /// Points with their reasons.
    pub card: Scorecard,
    /// Outcome and method beside each other.
    pub sides: SideBySide,
    /// What could be believed after the work order, and after each action up to the first repair.
    pub stated: Vec<Stated>,
    /// Each repair and the handing back spoke from evidence.
    pub justified: bool,
}

/// Marks an attempt: much quicker than a whole [`review`].
///
/// # Errors
/// As [`review`].
pub fn marks(closed: &Closed, pool: &Pool, system: System) -> Result<Marks, RigError> {
    let walk = walk::walk(closed, pool, Effort::Conclusions);
    let card = super::marked(closed, system, &super::WEIGHTS, &walk)?;
    let stated = |action: u32, repairs: &[f64]| {
        let places = 0..repairs.len();
        let best = places.reduce(|a, b| if repairs[b] > repairs[a] { b } else { a });
        best.map(|best| Stated {
            action,
            probability: repairs[best],
            right: walk.rights.contains(&best),
        })
    };
    let first = walk
        .conclusions
        .first()
        .map_or(u32::MAX, |made| made.action);
    let steps = walk.account.steps().iter();
    let steps = steps.take_while(|step| step.number < first);
    let after = steps.filter_map(|step| stated(step.number, &step.repairs));
    Ok(Marks {
        sides: conclusion::side_by_side(&card),
        stated: stated(0, &walk.begun).into_iter().chain(after).collect(),
        justified: walk.conclusions.iter().all(|made| made.justified),
        card,
    })
}

/// Looks back on an attempt. `pool` holds vehicles of this type; making it takes about a second, so one serves many attempts.
///
/// # Errors
/// [`RigError`] if the vehicle cannot be solved with or without its faults.
pub fn review(
    closed: &Closed,
    pool: &Pool,
    system: System,
    effort: Effort,
) -> Result<Review, RigError> {
    let walk = walk::walk(closed, pool, effort);
    let card = super::marked(closed, system, &super::WEIGHTS, &walk)?;
    let facts = super::debrief::facts(closed, system, &walk)?;
    let belief = belief::story(closed, &walk);
    let mut reference = reference::cost(closed, pool, effort);
    if effort == Effort::Replanned {
        reference.regret_minutes = walk.expected.map(|_| walk.regret);
    }
    Ok(Review {
        marks: conclusion::side_by_side(&card),
        practise: practise::of(&facts),
        misconceptions: misconceptions(closed, system, &walk),
        standing: Standing::of(&[card.total.0 as f64 / 10.0]),
        actions: walk.actions,
        belief,
        reference,
    })
}
