//! The scorecard as data. Sums are made in whole tenths of a point, so that totals are exact.

use std::iter::Sum;
use std::ops::Add;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::bay::Grade;
use crate::units::Money;

/// Points in whole tenths. Written as a number: `7`, `7.5`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Points(pub i64);

impl Points {
    /// Whole points.
    #[must_use]
    pub const fn whole(points: i64) -> Points {
        Points(points * 10)
    }

    /// A share of these points, `part` of `whole`, rounded down to a tenth; nothing of nothing.
    #[must_use]
    pub fn share(self, part: usize, whole: usize) -> Points {
        let (part, whole) = (count(part.min(whole)), count(whole));
        Points(if whole == 0 { 0 } else { self.0 * part / whole })
    }

    /// These points less `times` times `each`, never below nothing.
    #[must_use]
    pub fn less(self, each: Points, times: usize) -> Points {
        Points((self.0 - each.0.saturating_mul(count(times))).max(0))
    }

    /// `7`, `7.5`.
    #[must_use]
    pub fn show(self) -> String {
        let sign = if self.0 < 0 { "-" } else { "" };
        let tenths = self.0.unsigned_abs();
        match tenths % 10 {
            0 => format!("{sign}{}", tenths / 10),
            rest => format!("{sign}{}.{rest}", tenths / 10),
        }
    }
}

/// A number of readings, faults or calls: far below what i64 holds.
pub(super) fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

impl Add for Points {
    type Output = Points;
    fn add(self, more: Points) -> Points {
        Points(self.0 + more.0)
    }
}

impl Sum for Points {
    fn sum<I: Iterator<Item = Points>>(all: I) -> Points {
        all.fold(Points(0), Add::add)
    }
}

impl Serialize for Points {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        if self.0 % 10 == 0 {
            to.serialize_i64(self.0 / 10)
        } else {
            to.serialize_f64(self.0 as f64 / 10.0)
        }
    }
}

impl<'de> Deserialize<'de> for Points {
    /// Reads `7` or `7.5`: tenths, and no finer.
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Points, D::Error> {
        use serde::de::Error;
        let points = f64::deserialize(from)?;
        let tenths = libm::round(points * 10.0);
        if !(0.0..=10_000.0).contains(&points) || libm::fabs(points * 10.0 - tenths) > 1e-6 {
            let wrong = format!("points are 0 to 10000 in steps of 0.1, not {points}");
            return Err(D::Error::custom(wrong));
        }
        #[expect(
            clippy::cast_possible_truncation,
            reason = "held between 0 and 100 000 above"
        )]
        Ok(Points(tenths as i64))
    }
}

/// One mark with its reason.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Mark {
    /// Points earned.
    pub points: Points,
    /// Points that could be earned.
    pub of: Points,
    /// Why, in plain words with this attempt's own figures.
    pub because: String,
    /// Numbers of the actions it comes from.
    pub actions: Vec<u32>,
}

/// A group of marks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Part {
    /// Its name.
    pub part: &'static str,
    /// Sum of its marks.
    pub points: Points,
    /// Points that could be earned.
    pub of: Points,
    /// Its marks.
    pub marks: Vec<Mark>,
}

impl Part {
    pub(super) fn new(part: &'static str, marks: Vec<Mark>) -> Part {
        let points = marks.iter().map(|mark| mark.points).sum();
        let of = marks.iter().map(|mark| mark.of).sum();
        Part {
            part,
            points,
            of,
            marks,
        }
    }
}

/// A danger somebody was put in.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Danger {
    /// `minor`, `serious` or `grave`.
    pub grade: &'static str,
    /// What it was.
    pub what: String,
    /// Numbers of the actions.
    pub actions: Vec<u32>,
}

/// The word for a grade.
#[must_use]
pub fn grade_name(grade: Grade) -> &'static str {
    match grade {
        Grade::Minor => "minor",
        Grade::Serious => "serious",
        Grade::Grave => "grave",
    }
}

/// A line of the baseline.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BaselineLine {
    /// What is done.
    pub what: String,
    /// How long it takes, s.
    pub seconds: f64,
    /// Parts and material, minor units.
    #[serde(serialize_with = "minor")]
    pub goods: Money,
}

/// What the job would cost by a simple plan that is stated with it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Baseline {
    /// The plan in words.
    pub plan: String,
    /// Its steps.
    pub lines: Vec<BaselineLine>,
    /// Time of the plan, s.
    pub seconds: f64,
    /// Money of the plan, minor units.
    #[serde(serialize_with = "minor")]
    pub money: Money,
    /// Time of the attempt, s.
    pub clock_s: f64,
    /// Money of the attempt, minor units.
    #[serde(serialize_with = "minor")]
    pub spent: Money,
    /// Mark of the currency.
    pub currency: String,
}

// Serde hands every field over by reference.
#[allow(clippy::trivially_copy_pass_by_ref)]
fn minor<S: Serializer>(money: &Money, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_i64(money.0)
}

/// A limit on the total.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cap {
    /// The total is at most this.
    pub at: Points,
    /// Why.
    pub because: String,
    /// Numbers of the actions it comes from.
    pub actions: Vec<u32>,
}

/// All marks of one attempt.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Scorecard {
    /// Points earned, after the cap.
    pub total: Points,
    /// Points that could be earned.
    pub of: Points,
    /// The parts in the order of the table of weights.
    pub parts: Vec<Part>,
    /// Dangers, worst first.
    pub hazards: Vec<Danger>,
    /// What the cost is held against.
    pub baseline: Baseline,
    /// The limit in force, if any.
    pub cap: Option<Cap>,
    /// Version of the rules of marking.
    pub version: &'static str,
}
