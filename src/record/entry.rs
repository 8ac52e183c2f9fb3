//! The lines of a record. These structs are the file format; they are converted by hand from what the program works
//! with, so that a change inside never changes a file unnoticed.

use serde::{Deserialize, Serialize};

use crate::bay::Outcome;
use crate::units::Money;

/// Number of the file format.
pub const FORMAT: u32 = 1;

/// Version of everything that decides an outcome: physics, vehicles, catalogue, prices, wording of answers. A record
/// made by another version cannot be replayed here. Raise it with every change that would move any answer.
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
    /// When the work began, RFC 3339 in UTC.
    pub started: String,
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
    /// The bay's clock afterwards, seconds.
    pub clock_s: f64,
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
    pub value: Option<f64>,
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
}

impl Entry {
    /// The entry for an accepted line.
    #[must_use]
    pub fn new(n: u32, line: &str, clock_s: f64, spent: Money, outcome: &Outcome) -> Entry {
        let readings = outcome.readings.iter().map(|reading| ReadingRow {
            quantity: reading.quantity.name().to_owned(),
            value: reading.value,
            unit: reading.quantity.unit().to_owned(),
            shown: reading.shown.clone(),
            how: reading.how.clone(),
        });
        Entry {
            n,
            line: line.to_owned(),
            clock_s,
            spent: spent.0,
            readings: readings.collect(),
            said: outcome.said.clone(),
        }
    }
}
