//! What to practise next.

use serde::{Deserialize, Serialize};

/// One thing to practise, with the reason.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Practise {
    /// Short name by which the progress of a learner is kept: `safety`, `loaded-readings`, `tips`, `evidence`, `tests`,
    /// `calls`, `level`.
    pub skill: String,
    /// What to do, in a sentence or two.
    pub what: String,
    /// The actions that made it the choice; may be empty.
    pub actions: Vec<u32>,
}

use crate::score::Debrief;

pub(super) fn of(facts: &Debrief) -> Practise {
    Practise {
        skill: String::new(),
        what: facts.practise.clone(),
        actions: Vec::new(),
    }
}
