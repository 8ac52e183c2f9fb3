//! The plain facts at the end of an attempt, before any marks: what it took, what had been hidden, what is left.

use crate::bay::Closed;
use crate::fault::Catalogue;
use crate::units::Money;

use super::text::{Text, Tone};
use super::truth::told;

/// What an attempt took.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Facts {
    /// Simulated time, seconds.
    pub clock_s: f64,
    /// Money spent, labour included.
    pub spent: Money,
}

/// The facts of a finished attempt.
#[must_use]
pub fn facts(closed: &Closed) -> Facts {
    let last = closed.ledger.last();
    Facts {
        clock_s: last.map_or(0.0, |entry| entry.clock_s),
        spent: last.map_or(Money(0), |entry| entry.spent),
    }
}

/// The facts in words; `catalogue` is the one the scenario was made with.
#[must_use]
pub fn text(closed: &Closed, catalogue: &Catalogue) -> Text {
    let facts = facts(closed);
    let mut text = Text::new();
    text.blank();
    text.say(Tone::Heading, "HANDED BACK");
    text.say(
        Tone::Plain,
        &format!(
            "  {:.0} min, {} spent, {} actions.",
            libm::floor(facts.clock_s / 60.0),
            facts.spent.show(&closed.vehicle.currency),
            closed.ledger.len()
        ),
    );
    text.say(Tone::Heading, "What had been hidden");
    for fault in &closed.truth.came_with {
        text.append(told(&closed.vehicle, catalogue, fault).text());
    }
    let left = match closed.truth.left.len() {
        0 => "Nothing of it is left.".to_owned(),
        1 => "One fault is still there.".to_owned(),
        several => format!("{several} faults are still there."),
    };
    text.say(Tone::Plain, &left);
    text
}
