//! One job of one learner, as a line of a file.

use serde::{Deserialize, Serialize};

use super::Habit;
use hidden_ohm::bay::Closed;
use hidden_ohm::evidence::{COMEBACK_MINUTES, Pool, per_minute};
use hidden_ohm::score::{Stated, marks};
use hidden_ohm::units::System;

/// What one attempt came to.
#[expect(clippy::struct_excessive_bools, reason = "each is a column of its own")]
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Row {
    pub habit: Habit,
    pub vehicle: String,
    pub level: u8,
    pub seed: u64,
    /// What was the matter.
    pub truth: String,
    /// Nothing of it was left, and the driver notices nothing.
    pub cured: bool,
    /// Labour and parts, minutes of labour, a comeback included where one is due.
    pub minutes: f64,
    pub outcome: f64,
    pub method: f64,
    pub total: f64,
    /// Every decision spoke from evidence.
    pub justified: bool,
    /// Probability of the likeliest repair after the work order, and whether it was right.
    pub first: f64,
    pub first_right: bool,
    /// The same when the first repair was decided on.
    pub last: f64,
    pub last_right: bool,
    /// Actions whose outcome was weighed, and the time for them with the marks, ms.
    pub actions: usize,
    pub marking_ms: f64,
}

impl Row {
    pub fn of(habit: Habit, seed: u64, closed: &Closed, pool: &Pool) -> Row {
        let started = std::time::Instant::now();
        let found = marks(closed, pool, System::Metric).expect("the vehicle can be solved");
        let marking_ms = 1e3 * started.elapsed().as_secs_f64();
        let cured = closed.truth.matters_left() == 0;
        let comeback = if cured { 0.0 } else { COMEBACK_MINUTES };
        let spent = closed.ledger.last().map_or(0, |entry| entry.spent.0);
        let unknown = Stated {
            action: 0,
            probability: 0.0,
            right: false,
        };
        let first = found.stated.first().copied().unwrap_or(unknown);
        let last = found.stated.last().copied().unwrap_or(unknown);
        Row {
            habit,
            vehicle: closed.vehicle.id.clone(),
            level: closed.level,
            seed,
            truth: truth(closed),
            cured,
            minutes: spent as f64 / per_minute(&closed.vehicle) + comeback,
            outcome: found.sides.outcome,
            method: found.sides.method,
            total: found.card.total.0 as f64 / 10.0,
            justified: found.justified,
            first: first.probability,
            first_right: first.right,
            last: last.probability,
            last_right: last.right,
            actions: closed.ledger.len(),
            marking_ms,
        }
    }
}

fn truth(closed: &Closed) -> String {
    let fault = |fault: &hidden_ohm::fault::Fault| {
        let kind = &closed.truth.catalogue.kinds[fault.kind.0].id;
        format!("{kind} {}", closed.vehicle.parts[fault.site.part.0].id)
    };
    let mut all: Vec<String> = closed.truth.came_with.iter().map(fault).collect();
    all.extend(closed.truth.trouble().map(|trouble| format!("{trouble:?}")));
    if all.is_empty() {
        all.push("nothing".to_owned());
    }
    all.join(" + ")
}
