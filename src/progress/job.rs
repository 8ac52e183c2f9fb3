//! One job as far as progress is concerned.

use serde::{Deserialize, Serialize};

use crate::bay::{Action, Closed};
use crate::fault;
use crate::scenario::Theme;
use crate::score::Scorecard;

/// Share of the points of one part of the marks.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct PartShare {
    /// Name of the part.
    pub part: String,
    /// Points earned of those that could be, 0 to 1.
    pub share: f64,
}

/// One job that was handed back and marked.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Job {
    /// Name of the attempt.
    pub attempt: String,
    /// Day it was begun, counted from 1970-01-01.
    pub day: i64,
    /// What tells whether it was met before: its code, or the text of the job.
    pub scenario: String,
    /// Level, 1 to 5.
    pub level: u8,
    /// Vehicle type.
    pub vehicle: String,
    /// Themes of the hidden faults; empty if nothing was wrong.
    pub themes: Vec<String>,
    /// Kinds of the hidden faults in words.
    pub kinds: Vec<String>,
    /// Points, 0 to 100.
    pub total: f64,
    /// The parts of the marks.
    pub parts: Vec<PartShare>,
    /// It was guided step by step.
    pub guided: bool,
    /// Hints that were asked for.
    pub hints: usize,
}

impl Job {
    /// The job of an attempt that was replayed and marked.
    #[must_use]
    pub fn of(closed: &Closed, card: &Scorecard, known: Known) -> Job {
        let vehicle = &closed.vehicle;
        let catalogue = &closed.truth.catalogue;
        let faults = &closed.truth.came_with;
        let theme = |fault| {
            let theme = Theme::of(fault::section(vehicle, fault));
            let named = Theme::ALL.into_iter().find(|(known, _)| *known == theme);
            named.map_or_else(String::new, |(_, name)| name.to_owned())
        };
        let mut themes: Vec<String> = faults.iter().map(theme).collect();
        themes.dedup();
        let hint = |action: &Action| matches!(action, Action::Hint { .. });
        Job {
            attempt: known.attempt,
            day: known.day,
            scenario: known.scenario,
            level: closed.level,
            vehicle: vehicle.id.clone(),
            themes,
            kinds: faults
                .iter()
                .map(|fault| catalogue.kinds[fault.kind.0].title.clone())
                .collect(),
            total: 100.0 * share(card.total.0, card.of.0),
            parts: card
                .parts
                .iter()
                .map(|part| PartShare {
                    part: part.part.to_owned(),
                    share: share(part.points.0, part.of.0),
                })
                .collect(),
            guided: known.guided,
            hints: closed
                .ledger
                .iter()
                .filter(|entry| hint(&entry.action))
                .count(),
        }
    }
}

/// What the record says of a job beside its actions.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Known {
    /// Name of the attempt.
    pub attempt: String,
    /// Day it was begun, counted from 1970-01-01.
    pub day: i64,
    /// Its code, or the text of the job.
    pub scenario: String,
    /// It was guided step by step.
    pub guided: bool,
}

fn share(points: i64, of: i64) -> f64 {
    points as f64 / of.max(1) as f64
}
