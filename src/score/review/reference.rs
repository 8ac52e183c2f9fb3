//! What the job should cost.

use serde::{Deserialize, Serialize};

/// What a job should cost from the work order on, by the reference, on belief alone.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReferenceCost {
    /// Expected cost of the job by the reference, minutes of labour, repair and parts included.
    pub minutes: f64,
    /// The same as money, minor units.
    pub money: i64,
    /// No plan whatever is expected to cost less than this, minutes.
    pub least_minutes: f64,
    /// How far the reference can be from the best possible, as a share of the latter's bound.
    pub gap: f64,
    /// The reference was proved to be the best possible for this job.
    pub proved: bool,
    /// Sum of the regret of all decisions of the attempt, minutes; nothing if it was not worked out.
    pub regret_minutes: Option<f64>,
    /// What it would do first.
    pub first: Option<super::NextStep>,
    /// The above in a sentence or two for the learner.
    pub says: String,
}

use super::{Effort, NextStep, described};
use crate::bay::Closed;
use crate::evidence::{Account, Depth, Next, Pool, Reference, bound, per_minute};

/// How parts come into minutes.
const PARTS: &str = "parts counted as the labour they would pay for";
/// States valued for the whole job: about a second.
const JOB_STATES: u64 = 100_000;

pub(super) fn cost(closed: &Closed, pool: &Pool, effort: Effort) -> ReferenceCost {
    let vehicle = &closed.vehicle;
    let mut account = Account::begin(pool, closed.level, &closed.order);
    let Ok(reference) = Reference::new(&mut account) else {
        return ReferenceCost::unknown();
    };
    let depth = match effort {
        Effort::Conclusions => Depth::Rollout,
        Effort::Replanned => Depth::Twice,
    };
    let advice = reference.advice(depth, JOB_STATES);
    let least = bound::best(reference.problem(), &reference.state()).min(advice.minutes);
    let gap = if least > 0.0 {
        advice.minutes / least - 1.0
    } else {
        0.0
    };
    let proved = gap < 1e-9;
    let says = if proved {
        format!(
            "From the work order on, without knowing what is hidden, the reference can be expected to need about {:.0} minutes, {PARTS}. No \
plan can do better.",
            advice.minutes
        )
    } else {
        // Told in whole minutes, so that the difference is that of the figures shown.
        let (needed, least) = (libm::round(advice.minutes), libm::round(least));
        format!(
            "From the work order on, without knowing what is hidden, the reference can be expected to need about {needed:.0} minutes, {PARTS}. \
No plan can be expected to need less than {least:.0}; how much of the {:.0} between could be saved is not known.",
            needed - least
        )
    };
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a job's money is far below what i64 holds"
    )]
    let money = libm::round(advice.minutes * per_minute(vehicle)) as i64;
    let stop = reference.minutes_to_stop();
    ReferenceCost {
        minutes: advice.minutes,
        money,
        least_minutes: least,
        gap,
        proved,
        regret_minutes: None,
        first: Some(NextStep {
            what: described::next(vehicle, account.repairs().all(), &advice.next),
            bits: match advice.next {
                Next::Probe(probe) => reference.bits(probe),
                Next::Repair(_) => None,
            },
            worth_minutes: stop - advice.minutes,
            rest_minutes: advice.minutes,
        }),
        says,
    }
}

impl ReferenceCost {
    fn unknown() -> ReferenceCost {
        ReferenceCost {
            minutes: 0.0,
            money: 0,
            least_minutes: 0.0,
            gap: 0.0,
            proved: false,
            regret_minutes: None,
            first: None,
            says: "What the job should cost could not be worked out.".to_owned(),
        }
    }
}
