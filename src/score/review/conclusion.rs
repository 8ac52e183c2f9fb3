//! Outcome and method beside each other: what came of it, and whether it was well done.

use serde::{Deserialize, Serialize};

/// Whether what came of the work was earned.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Luck {
    /// Right, for good reason.
    Earned,
    /// Right, without the evidence for it.
    Lucky,
    /// Not right, though the evidence spoke for what was done.
    Unlucky,
    /// Not right, and without evidence.
    Unfounded,
}

/// The two marks before they are put together.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SideBySide {
    /// What became of the vehicle, points of 100.
    pub outcome: f64,
    /// The parts it is made of, added up.
    pub outcome_because: String,
    /// How the work was done, points of 100.
    pub method: f64,
    /// The parts it is made of, added up.
    pub method_because: String,
    /// What the two say together.
    pub luck: Luck,
    /// The same in a sentence for the learner.
    pub says: String,
}

use crate::score::{Part, Points, Scorecard};

/// Method from which the work counts as well done, points of 100.
const METHODICAL: f64 = 60.0;

/// The parts of a scorecard that say what became of the vehicle; the others say how the work was done.
const OUTCOME: [&str; 2] = ["outcome", "cost"];

pub(super) fn side_by_side(card: &Scorecard) -> SideBySide {
    let share = |belongs: &dyn Fn(&Part) -> bool| {
        let parts: Vec<&Part> = card.parts.iter().filter(|part| belongs(part)).collect();
        let points: i64 = parts.iter().map(|part| part.points.0).sum();
        let of: i64 = parts.iter().map(|part| part.of.0).sum();
        100.0 * points as f64 / of.max(1) as f64
    };
    let added = |belongs: &dyn Fn(&Part) -> bool| {
        let parts: Vec<&Part> = card.parts.iter().filter(|part| belongs(part)).collect();
        let named: Vec<String> = parts
            .iter()
            .map(|part| format!("{} {}", part.part, part.points.show()))
            .collect();
        let points = parts.iter().map(|part| part.points).sum::<Points>();
        let of = parts.iter().map(|part| part.of).sum::<Points>();
        format!(
            "{}, together {} of {}.",
            named.join(", "),
            points.show(),
            of.show()
        )
    };
    let outcome = share(&|part| OUTCOME.contains(&part.part));
    let method = share(&|part| !OUTCOME.contains(&part.part));
    let right = card
        .parts
        .first()
        .and_then(|part| part.marks.first())
        .is_some_and(|mark| mark.points.0 > 0);
    let luck = match (right, method >= METHODICAL) {
        (true, true) => Luck::Earned,
        (true, false) => Luck::Lucky,
        (false, true) => Luck::Unlucky,
        (false, false) => Luck::Unfounded,
    };
    SideBySide {
        outcome,
        outcome_because: added(&|part| OUTCOME.contains(&part.part)),
        method,
        method_because: added(&|part| !OUTCOME.contains(&part.part)),
        luck,
        says: luck.says().to_owned(),
    }
}

impl Luck {
    /// The word in a sentence for the learner.
    #[must_use]
    pub fn says(self) -> &'static str {
        match self {
            Luck::Earned => "It came out right, and for good reason.",
            Luck::Lucky => {
                "It came out right, but the way there was weak: next time the same way may lead to the wrong part."
            }
            Luck::Unlucky => {
                "It did not come out right, though the way of working was sound: keep to it."
            }
            Luck::Unfounded => {
                "It did not come out right, and the way of working would not have brought it there."
            }
        }
    }
}
