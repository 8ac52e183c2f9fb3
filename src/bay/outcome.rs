//! What an action answers.

use super::action::Tool;
use super::ledger::{Fact, Grade, Hazard};
use crate::instrument::{Reading, Trace};

/// The answer to an accepted action.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Outcome {
    /// Number of the action, from 1: marks and debrief name it.
    pub number: u32,
    /// How long it took, s.
    pub seconds: f64,
    /// Readings, the first the one asked for.
    pub readings: Vec<Reading>,
    /// What is seen, heard or done, one sentence or line each.
    pub said: Vec<String>,
    /// How many of these lines come before the readings.
    pub said_first: usize,
    /// What the screen shows, if it was looked at.
    pub trace: Option<Trace>,
}

/// Why an action was not done. Nothing has changed and nothing was charged.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Refusal {
    /// What is in the way.
    pub error: String,
    /// What would make it possible.
    pub hint: String,
}

impl Refusal {
    pub(super) fn new(error: impl Into<String>, hint: impl Into<String>) -> Refusal {
        Refusal {
            error: error.into(),
            hint: hint.into(),
        }
    }
}

/// Something that is on or off, and how that is told and typed.
pub(super) struct Switch<'a> {
    /// What, at the beginning of a sentence.
    pub what: &'a str,
    /// What is said of it while it is on, and what turns it on.
    pub on: (&'a str, &'a str),
    /// The same while it is off.
    pub off: (&'a str, &'a str),
}

impl Switch<'_> {
    /// Refuses to set what stands that way already.
    pub fn turn(&self, stands: bool, wanted: bool) -> Result<(), Refusal> {
        if stands != wanted {
            return Ok(());
        }
        let (now, other) = if stands {
            (self.on.0, self.off.1)
        } else {
            (self.off.0, self.on.1)
        };
        Err(Refusal::new(
            format!("{} {now}.", self.what),
            format!("`{other}` changes that."),
        ))
    }
}

/// An outcome being put together, with the facts that go into the ledger only.
#[derive(Default)]
pub(super) struct Step {
    pub outcome: Outcome,
    pub facts: Vec<Fact>,
    /// Parts and material, minor units.
    pub goods: i64,
    /// Seconds of the outcome that nobody works or waits: they are not on the bill.
    pub unattended: f64,
    /// Seconds of the outcome that have passed on the vehicle already: a prime, a cranking.
    pub lived: f64,
    /// What the pump did in them has been told and recorded.
    pub pumped: bool,
    /// Something was only looked up: the vehicle has no part in it, and no time passes.
    pub aside: bool,
    /// Where the readings taken at leisure begin, if there were any.
    leisure: Option<Leisure>,
}

/// What an outcome held before what is connected was read at leisure.
#[derive(Clone, Copy)]
struct Leisure {
    readings: usize,
    said: usize,
    facts: usize,
    glance: Glance,
}

/// What is looked at of all that is connected.
#[derive(Clone, Copy)]
pub(super) enum Glance {
    /// Everything: the circuit has changed.
    All,
    /// The meter, which was asked for.
    Meter,
    /// One other instrument, which was asked for.
    Tool(Tool),
}

impl Step {
    pub fn taking(seconds: f64) -> Step {
        Step {
            outcome: Outcome {
                seconds,
                ..Outcome::default()
            },
            ..Step::default()
        }
    }

    pub fn say(&mut self, line: impl Into<String>) {
        self.outcome.said.push(line.into());
    }

    /// Says what holds for several instruments only for the first of them.
    pub fn say_once(&mut self, line: &str) {
        if self.outcome.said.iter().all(|said| said != line) {
            self.say(line);
        }
    }

    /// Says something that the log keeps like a reading.
    pub fn see(&mut self, line: impl Into<String>, how: impl Into<String>) {
        let what = line.into();
        self.outcome.said.push(what.clone());
        self.facts.push(Fact::Seen {
            what,
            how: how.into(),
        });
    }

    /// From here on what is connected is read at leisure.
    pub fn begin_leisure(&mut self, glance: Glance) {
        self.leisure = Some(Leisure {
            readings: self.outcome.readings.len(),
            said: self.outcome.said.len(),
            facts: self.facts.len(),
            glance,
        });
    }

    /// Takes back what was read at leisure, since it did not last, and tells what that was; nothing if nothing was read.
    /// What happened on the way stays: a spark, a danger.
    pub fn unread(&mut self, passing: &[&str]) -> Option<Glance> {
        let from = self.leisure.take()?;
        self.outcome.readings.truncate(from.readings);
        let mut seen: Vec<String> = passing.iter().map(|&line| line.to_owned()).collect();
        let later = self.facts.split_off(from.facts);
        for fact in later {
            match fact {
                Fact::Measured(_) => {}
                Fact::Seen { what, .. } => seen.push(what),
                lasting => self.facts.push(lasting),
            }
        }
        let later = self.outcome.said.split_off(from.said);
        self.outcome
            .said
            .extend(later.into_iter().filter(|line| !seen.contains(line)));
        Some(from.glance)
    }

    pub fn hazard(&mut self, grade: Grade, what: &str) {
        self.facts.push(Fact::Hazard(Hazard {
            grade,
            what: what.to_owned(),
        }));
    }
}
