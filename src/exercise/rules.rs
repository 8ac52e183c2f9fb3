//! What an exercise asks: its rules, which everybody may read, and its vehicles, which only the program may.

use std::collections::BTreeMap;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::bay::{Equipment, Limits};
use crate::record::WrittenScenario;
use crate::seed::Stream;
use crate::units::Money;

/// The parts of a scorecard that can be weighted, by name.
pub const PARTS: [&str; 6] = [
    "outcome",
    "cost",
    "evidence",
    "technique",
    "calls",
    "safety",
];

/// Most tries at one vehicle.
pub(super) const MOST_TRIES: u32 = 100;
/// Most vehicles of one exercise.
pub(super) const MOST_VEHICLES: u32 = 200;
/// Longest simulated time for one vehicle, s: 11 days.
pub(super) const MOST_SECONDS: u32 = 1_000_000;
/// Greatest weight of a part of the marks.
pub(super) const MOST_WEIGHT: u32 = 1000;

/// When a learner sees marks and explanation.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Feedback {
    /// As soon as the vehicle is handed back.
    #[default]
    AtOnce,
    /// Once the exercise has closed.
    AfterClosing,
    /// From the instructor only.
    Never,
}

impl Feedback {
    /// All of them with their words.
    pub const NAMES: [(Feedback, &'static str); 3] = [
        (Feedback::AtOnce, "at-once"),
        (Feedback::AfterClosing, "after-closing"),
        (Feedback::Never, "never"),
    ];
}

/// The rules. Written in one way only, so that they can be hashed and signed.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rules {
    /// What it is called.
    pub title: String,
    /// Not before, RFC 3339 in UTC.
    pub opens: Option<String>,
    /// Not after, RFC 3339 in UTC.
    pub closes: Option<String>,
    /// Tries at each vehicle.
    pub tries: u32,
    /// Simulated time for each vehicle, s.
    pub seconds: Option<u32>,
    /// Money for each vehicle, whole minor units.
    pub money: Option<i64>,
    /// Tools allowed, by their words; nothing for all.
    pub tools: Option<Vec<String>>,
    /// Hints may be asked for.
    pub hints: bool,
    /// Service figures are given.
    pub service_data: bool,
    /// When learners see their marks.
    pub feedback: Feedback,
    /// Per cent that pass; nothing for marks without a cut.
    pub pass: Option<u32>,
    /// Weights of the parts of the scorecard; empty for the program's own.
    pub weights: BTreeMap<String, u32>,
    /// Who may take part; empty for anybody.
    pub class: Vec<String>,
    /// How many vehicles there are.
    pub vehicles: u32,
}

impl Rules {
    /// Whether these are rules that the instructor's file could have stated. A hand-out that somebody made up is held to
    /// the same bounds as one that was made from such a file.
    #[must_use]
    pub fn are_possible(&self) -> bool {
        let known = |tool: &String| Equipment::NAMES.iter().any(|(_, name)| name == tool);
        let date = |date: &Option<String>| {
            date.as_ref()
                .is_none_or(|date| date.parse::<Timestamp>().is_ok())
        };
        (1..=MOST_TRIES).contains(&self.tries)
            && (1..=MOST_VEHICLES).contains(&self.vehicles)
            && self.seconds.is_none_or(|seconds| seconds <= MOST_SECONDS)
            && self.money.is_none_or(|money| money >= 0)
            && self.pass.is_none_or(|pass| pass <= 100)
            && self.tools.iter().flatten().all(known)
            && self
                .weights
                .iter()
                .all(|(part, weight)| PARTS.contains(&part.as_str()) && *weight <= MOST_WEIGHT)
            && date(&self.opens)
            && date(&self.closes)
    }

    /// What the bay holds a learner to.
    #[must_use]
    pub fn limits(&self) -> Limits {
        let withheld = |tool: &Equipment| {
            self.tools
                .as_ref()
                .is_some_and(|tools| !tools.iter().any(|allowed| allowed == tool.name()))
        };
        Limits {
            withheld: Equipment::NAMES
                .iter()
                .map(|(tool, _)| *tool)
                .filter(withheld)
                .collect(),
            no_hints: !self.hints,
            no_figures: !self.service_data,
            seconds: self.seconds.map(f64::from),
            money: self.money.map(Money),
        }
    }

    /// The name on the class list that is meant by `given`, case and spaces aside; anybody's own name where there is no
    /// list; nothing for a name that is not on it.
    #[must_use]
    pub fn learner(&self, given: &str) -> Option<String> {
        let wanted = folded(given);
        if wanted.is_empty() {
            return None;
        }
        if self.class.is_empty() {
            return Some(given.split_whitespace().collect::<Vec<&str>>().join(" "));
        }
        self.class
            .iter()
            .find(|name| folded(name) == wanted)
            .cloned()
    }
}

/// One vehicle of an exercise.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Given {
    /// The same scenario code for everybody.
    Code(String),
    /// The same hand-written scenario for everybody.
    Written(WrittenScenario),
    /// A scenario code for each learner, out of these, which are equally difficult.
    Own(Vec<String>),
}

/// What learners must not read.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vehicles {
    /// 32 bytes in hexadecimal, from which it follows who gets which code.
    pub key: String,
    /// The vehicles in order.
    pub given: Vec<Given>,
}

/// What one learner works on.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Job {
    /// A scenario code.
    Code(String),
    /// A hand-written scenario: name of the file and its text.
    Written(String, String),
}

impl Vehicles {
    /// What `learner` works on as vehicle `number` (from one); nothing if there are not so many.
    #[must_use]
    pub fn job(&self, rules: &Rules, number: u32, learner: &str) -> Option<Job> {
        let given = self
            .given
            .get(usize::try_from(number).ok()?.checked_sub(1)?)?;
        Some(match given {
            Given::Code(code) => Job::Code(code.clone()),
            Given::Written(written) => Job::Written(written.file.clone(), written.text.clone()),
            Given::Own(codes) => Job::Code(
                codes
                    .get(self.place(rules, number, learner, codes.len()))?
                    .clone(),
            ),
        })
    }

    /// Down a class list the codes follow each other in an order that only the key knows, so neighbours differ and all
    /// codes are used equally often; without a list the name alone decides.
    fn place(&self, rules: &Rules, number: u32, learner: &str, codes: usize) -> usize {
        let digest = Sha256::digest(format!("hidden-ohm own code v1 {} {number}", self.key));
        let seed = digest
            .iter()
            .take(8)
            .fold(0, |seed, byte| seed << 8 | u64::from(*byte));
        let mut order: Vec<usize> = (0..codes).collect();
        Stream::named(seed, "order of codes").shuffle(&mut order);
        let wanted = folded(learner);
        let row = rules.class.iter().position(|name| folded(name) == wanted);
        let at = row.unwrap_or_else(|| {
            let mut stream = Stream::keyed(seed, "code of a name", &[&wanted]);
            usize::try_from(stream.below(codes as u64)).unwrap_or(0)
        });
        order.get(at % codes.max(1)).copied().unwrap_or(0)
    }
}

/// A name without regard to case and spaces.
pub(super) fn folded(name: &str) -> String {
    name.split_whitespace()
        .collect::<Vec<&str>>()
        .join(" ")
        .to_lowercase()
}
