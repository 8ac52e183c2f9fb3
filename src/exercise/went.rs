//! Where simulated time and money went in a job, by kind of work.

use serde::Serialize;

use crate::bay::{Action, Closed};

/// Time and money that one kind of work took.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Went {
    /// The kind of work.
    pub what: String,
    /// Simulated time, ms.
    pub ms: u64,
    /// Money, whole minor units.
    pub cost: i64,
}

/// The kinds of work, in the order they are told.
pub const KINDS: [&str; 8] = [
    "reading up",
    "safety",
    "opening and closing",
    "looking, listening, feeling",
    "measuring",
    "running and road test",
    "repairs and parts",
    "judging and handing back",
];

/// Where they went: every kind of work that took any.
pub(super) fn went(closed: &Closed) -> Vec<Went> {
    let mut all = KINDS.map(|what| Went {
        what: what.to_owned(),
        ms: 0,
        cost: 0,
    });
    let (mut clock_ms, mut spent) = (0, 0);
    for entry in &closed.ledger {
        // The clock counts days at most and never runs backwards. As in a record, it is rounded before it is compared.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let now_ms = libm::round(entry.clock_s * 1e3) as u64;
        let kind = &mut all[kind(&entry.action)];
        kind.ms += now_ms.saturating_sub(clock_ms);
        kind.cost += entry.spent.0 - spent;
        (clock_ms, spent) = (now_ms, entry.spent.0);
    }
    all.into_iter()
        .filter(|kind| kind.ms > 0 || kind.cost != 0)
        .collect()
}

/// The place of an action's kind in [`KINDS`]. Whatever is not named here is done with an instrument.
fn kind(action: &Action) -> usize {
    match action {
        paper if paper.is_paper() => 0,
        Action::Protect | Action::Relieve | Action::Isolate(_) | Action::Stands => 1,
        Action::Access(_)
        | Action::Refit(_)
        | Action::Unplug(_)
        | Action::Plug(_)
        | Action::Open(_) => 2,
        Action::Look(_)
        | Action::Listen
        | Action::Feel(_)
        | Action::Wiggle(_)
        | Action::Tap(_)
        | Action::Sample => 3,
        Action::Key(_)
        | Action::PumpTool(_)
        | Action::Drive
        | Action::Warm
        | Action::Wait { .. }
        | Action::Charge { .. }
        | Action::Fill { .. } => 5,
        Action::Repair(_) | Action::Replace(_) | Action::Swap { .. } => 6,
        Action::Call { .. } | Action::Handover => 7,
        _ => 4,
    }
}
