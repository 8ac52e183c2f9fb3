//! The lines of a record. These structs are the file format; they are converted by hand from what the program works
//! with, so that a change inside never changes a file unnoticed.

use serde::{Deserialize, Serialize};

use sha2::{Digest, Sha256};

use super::{Chain, Decimal};
use crate::bay::Outcome;
use crate::units::{Money, System};

/// Number of the file format.
pub const FORMAT: u32 = 1;

/// Version of everything that decides an outcome: physics, vehicles, catalogue, prices, wording of answers. A record
/// made by another version cannot be replayed here. Raise it with every release that would move any answer: an old
/// number is never given a new meaning, and a number between releases means nothing outside the working copy.
pub const ENGINE: u32 = 1;

/// The first line.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// [`FORMAT`] at the time of writing.
    pub format: u32,
    /// [`ENGINE`] at the time of writing.
    pub engine: u32,
    /// Code of a generated scenario.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub code: Option<String>,
    /// A scenario written by hand, whole.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub written: Option<WrittenScenario>,
    /// `metric` or `us`.
    pub units: String,
    /// When the work began, RFC 3339 in UTC, by the clock of the machine.
    pub started: String,
    /// The exercise it was done for; the scenario then stands there and not here.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub exercise: Option<Sitting>,
}

impl Header {
    /// The units the work was done in; nothing for a word that names none.
    #[must_use]
    pub fn system(&self) -> Option<System> {
        match self.units.as_str() {
            "metric" => Some(System::Metric),
            "us" => Some(System::Us),
            _ => None,
        }
    }
}

/// What an attempt at an exercise belongs to.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sitting {
    /// Hash of the exercise.
    pub hash: String,
    /// Its title, for people.
    pub title: String,
    /// Whose attempt it is, as they or the class list say.
    pub learner: String,
    /// Which scenario of the exercise, from one.
    pub scenario: u32,
    /// Which try at it on this machine, from one.
    #[serde(rename = "try")]
    pub attempt: u32,
}

/// A scenario that has no code.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WrittenScenario {
    /// Name of its file, for messages.
    pub file: String,
    /// Its text.
    pub text: String,
}

/// One accepted action and its outcome.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Number of the action, from one.
    pub n: u32,
    /// The line as typed.
    pub line: String,
    /// The bay's clock afterwards, whole milliseconds.
    pub clock_ms: u64,
    /// All money spent afterwards, whole minor units.
    pub spent: i64,
    /// What the instruments showed.
    pub readings: Vec<ReadingRow>,
    /// What was seen, heard or answered.
    pub said: Vec<String>,
}

/// One reading.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingRow {
    /// What was measured, such as `voltage`.
    pub quantity: String,
    /// What the display showed, in SI; null beyond its range.
    pub value: Option<Decimal>,
    /// The SI unit.
    pub unit: String,
    /// The display, character by character.
    pub shown: String,
    /// How it was taken.
    pub how: String,
}

/// The last line of finished work.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Closing {
    /// The vehicle went back to the customer; always true.
    pub handed_back: bool,
    /// How many actions there were.
    pub actions: u32,
    /// The bay's clock at the end, whole milliseconds.
    pub clock_ms: u64,
    /// All money spent, whole minor units.
    pub spent: i64,
    /// SHA-256 over `COMMITMENT`, the hash of the last action and the three numbers, each followed by a space: what the
    /// receipt stands for.
    pub commitment: String,
}

/// What the commitment of a closing line begins with, so that it can never be mistaken for a hash of the chain.
const COMMITMENT: &str = "hidden-ohm attempt v1 ";

impl Closing {
    /// The closing line after the last action of a chain.
    #[must_use]
    pub fn new(chain: &Chain, actions: u32, clock_ms: u64, spent: Money) -> Closing {
        let said = format!(
            "{COMMITMENT}{} {actions} {clock_ms} {} ",
            chain.head(),
            spent.0
        );
        Closing {
            handed_back: true,
            actions,
            clock_ms,
            spent: spent.0,
            commitment: super::chain::hexadecimal(&Sha256::digest(said)),
        }
    }
}

impl Entry {
    /// Its JSON object as a record writes it, without the hash.
    #[must_use]
    pub fn object(&self) -> String {
        super::attempt::object(self)
    }

    /// The entry for an accepted line.
    #[must_use]
    pub fn new(n: u32, line: &str, clock_s: f64, spent: Money, outcome: &Outcome) -> Entry {
        let readings = outcome.readings.iter().map(|reading| ReadingRow {
            quantity: reading.quantity.name().to_owned(),
            value: reading.value.map(Decimal::of),
            unit: reading.quantity.unit().to_owned(),
            shown: reading.shown.clone(),
            how: reading.how.clone(),
        });
        Entry {
            n,
            line: line.to_owned(),
            clock_ms: milliseconds(clock_s),
            spent: spent.0,
            readings: readings.collect(),
            said: outcome.said.clone(),
        }
    }
}

/// A simulated clock in whole milliseconds.
fn milliseconds(seconds: f64) -> u64 {
    // The clock counts days at most and never runs backwards.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let whole = libm::round(seconds * 1e3) as u64;
    whole
}
