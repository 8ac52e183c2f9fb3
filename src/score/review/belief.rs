//! How belief in each repair went through the attempt.

use serde::{Deserialize, Serialize};

/// A repair that was believed in at some time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Believed {
    /// The repair in plain words, such as `repair G4, the ground point at the tank`.
    pub repair: String,
    /// It cures what was truly wrong.
    pub right: bool,
}

/// Belief at one moment.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BeliefPoint {
    /// Number of the action just done; 0 for the work order alone.
    pub action: u32,
    /// Probability of each repair of [`BeliefStory::repairs`], 0 to 1, in its order.
    pub shares: Vec<f64>,
    /// All repairs that are not listed together.
    pub others: f64,
    /// What is still unknown about the right repair, bits.
    pub bits: f64,
}

/// Belief over the attempt.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BeliefStory {
    /// The repairs that were ever likely, and those that were right; the likeliest at its highest first.
    pub repairs: Vec<Believed>,
    /// One point for the work order and one for each action of [`super::Review::actions`].
    pub points: Vec<BeliefPoint>,
}

use super::described;
use super::walk::Walk;
use crate::bay::Closed;
use crate::evidence::logs::entropy;

/// Repairs are named one by one if they were this likely at some time.
const NAMED_FROM: f64 = 0.05;
/// And at most so many, those that are right aside.
const MOST_NAMED: usize = 8;

pub(super) fn story(closed: &Closed, walk: &Walk) -> BeliefStory {
    let (account, rights, start) = (&walk.account, &walk.rights, &walk.begun);
    let steps = account.steps();
    let highest: Vec<f64> = (0..start.len())
        .map(|repair| {
            steps
                .iter()
                .map(|step| step.repairs[repair])
                .fold(start[repair], f64::max)
        })
        .collect();
    let mut order: Vec<usize> = (0..start.len())
        .filter(|&r| highest[r] >= NAMED_FROM || rights.contains(&r))
        .collect();
    order.sort_by(|&a, &b| highest[b].total_cmp(&highest[a]).then(a.cmp(&b)));
    let mut named = 0;
    order.retain(|r| {
        named += 1;
        named <= MOST_NAMED || rights.contains(r)
    });
    let point = |action: u32, p: &[f64]| {
        let shares: Vec<f64> = order.iter().map(|&r| p[r]).collect();
        BeliefPoint {
            action,
            others: (1.0 - shares.iter().sum::<f64>()).max(0.0),
            shares,
            bits: entropy(p),
        }
    };
    let mut points = vec![point(0, start)];
    points.extend(steps.iter().map(|step| point(step.number, &step.repairs)));
    BeliefStory {
        repairs: order
            .iter()
            .map(|&r| Believed {
                repair: described::repair(&closed.vehicle, &account.repairs().all()[r]),
                right: rights.contains(&r),
            })
            .collect(),
        points,
    }
}
