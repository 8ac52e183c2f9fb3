//! The marks of one vehicle as an exercise weighs them, in whole thousandths.

use serde::Serialize;

use super::rules::Rules;
use super::went::{Went, went};
use crate::bay::Closed;
use crate::rig::RigError;
use crate::score::{self, Part, Scorecard};
use crate::units::System;

/// Marks of one attempt.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Marks {
    /// Thousandths of the full marks.
    pub permille: u32,
    /// The cut is reached; nothing without a cut.
    pub passed: Option<bool>,
    /// The parts of the scorecard.
    pub parts: Vec<PartMarks>,
    /// Thousandths that hints took from the total.
    pub hints: u32,
    /// What went wrong, one sentence each.
    pub slips: Vec<String>,
    /// Wrong ideas that the work gives away, by name.
    pub misconceptions: Vec<String>,
    /// Dangers somebody was put in, one sentence each.
    pub dangers: Vec<String>,
    /// Where time and money went.
    pub went: Vec<Went>,
    /// A grave danger limits the total.
    pub capped: bool,
}

/// Marks of one part.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct PartMarks {
    /// Its name.
    pub part: String,
    /// Thousandths of its marks.
    pub permille: u32,
    /// Points earned and points there were, in tenths, for each single mark.
    pub marks: Vec<(i64, i64)>,
}

/// Marks a vehicle that was handed back.
///
/// # Errors
/// [`RigError`] if the vehicle cannot be solved with or without its faults.
pub fn marks(rules: &Rules, closed: &Closed) -> Result<Marks, RigError> {
    // The units change sentences, never points, and slips are counted by their words.
    let judged = score::judgement(closed, System::Metric)?;
    let card = &judged.card;
    let permille = weighted(rules, card);
    Ok(Marks {
        permille,
        passed: rules.pass.map(|pass| permille >= pass * 10),
        parts: earned(card)
            .map(|part| PartMarks {
                part: part.part.to_owned(),
                permille: share(part.points.0, part.of.0),
                marks: part
                    .marks
                    .iter()
                    .map(|mark| (mark.points.0, mark.of.0))
                    .collect(),
            })
            .collect(),
        hints: taken(card),
        slips: judged.missteps.into_iter().map(|slip| slip.what).collect(),
        misconceptions: judged
            .misconceptions
            .into_iter()
            .map(|idea| idea.name)
            .collect(),
        dangers: card
            .hazards
            .iter()
            .map(|danger| danger.what.clone())
            .collect(),
        went: went(closed),
        capped: card.cap.is_some(),
    })
}

/// The parts in which points can be earned.
fn earned(card: &Scorecard) -> impl Iterator<Item = &Part> {
    card.parts.iter().filter(|part| part.of.0 > 0)
}

/// Thousandths of the whole that were taken away, which only hints do.
fn taken(card: &Scorecard) -> u32 {
    let points = card
        .parts
        .iter()
        .map(|part| part.points.0.min(0))
        .sum::<i64>();
    share(-points, card.of.0)
}

/// The total in thousandths: each part's share times its weight, the program's own weights where the rules have none.
/// Hints take the same from it by any weights.
fn weighted(rules: &Rules, card: &Scorecard) -> u32 {
    if rules.weights.is_empty() {
        return share(card.total.0, card.of.0);
    }
    let (mut points, mut whole) = (0, 0);
    for part in earned(card) {
        let weight = rules.weights.get(part.part).copied().unwrap_or(0);
        points += u64::from(weight) * u64::from(share(part.points.0, part.of.0));
        whole += u64::from(weight);
    }
    let total = u32::try_from(points / whole.max(1)).unwrap_or(1000);
    let most = card
        .cap
        .as_ref()
        .map_or(1000, |cap| share(cap.at.0, card.of.0));
    total.saturating_sub(taken(card)).min(most)
}

/// Thousandths, rounded down, from 0 to 1000.
fn share(points: i64, of: i64) -> u32 {
    if of <= 0 {
        return 0;
    }
    u32::try_from((points.clamp(0, of) * 1000) / of).unwrap_or(0)
}
