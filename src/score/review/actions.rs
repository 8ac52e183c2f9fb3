//! Each action with what it told, what it cost and what it was worth.

use serde::{Deserialize, Serialize};

/// How much is worked out.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Effort {
    /// Belief and bits, and the reference planned where something was repaired or handed back: what marks need, and quick
    /// enough for a screen that must not wait.
    Conclusions,
    /// The reference planned anew at each decision, so that each has its regret.
    Replanned,
}

/// One action, judged on what could be known when it was done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reviewed {
    /// Number of the action; the record holds the line as it was typed.
    pub action: u32,
    /// What was done, in plain words.
    pub what: String,
    /// What it showed, as displayed; empty if nothing was read.
    pub shown: String,
    /// Time it took, minutes.
    pub minutes: f64,
    /// Money it cost, labour included, minor units.
    pub money: i64,
    /// Bits it was expected to tell about the right repair, before it was done; nothing for what is no test.
    pub expected_bits: Option<f64>,
    /// Bits it told towards what was truly wrong; negative if it misled. Uses the answer.
    pub told_bits: Option<f64>,
    /// What it cost more than the reference's choice, minutes of labour; nothing where it was not worked out.
    pub regret_minutes: Option<f64>,
    /// The same as money, minor units.
    pub regret_money: Option<i64>,
    /// The part of it that counts, minutes: small differences are left out, since nobody plans to the penny.
    #[serde(default)]
    pub counted_minutes: Option<f64>,
    /// What is to be said of it; empty for most actions.
    pub verdicts: Vec<Verdict>,
    /// The reason in a sentence or two; empty without a verdict.
    pub why: String,
    /// Probability of the likeliest repair afterwards, 0 to 1.
    pub surest: f64,
    /// What the reference would have done at that moment instead; nothing if the same, or not worked out.
    pub reference: Option<NextStep>,
}

/// A word for a decision.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// A test that told at least half as much for its cost as the best one there was.
    Telling,
    /// A test that could tell next to nothing and led to nothing that could.
    Redundant,
    /// It cost clearly more than the reference's choice.
    Dear,
    /// A repair that the evidence of the moment spoke for.
    Justified,
    /// A repair on hope: other repairs were still nearly as likely, and a test was worth more than it cost.
    Unjustified,
    /// A repair without the evidence that happened to be right.
    Lucky,
    /// A repair that was likelier than not by the evidence and that happened to be wrong.
    Unlucky,
}

/// What the reference would do next.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct NextStep {
    /// The step in plain words.
    pub what: String,
    /// Bits it is expected to tell about the right repair; nothing for a repair.
    pub bits: Option<f64>,
    /// What the step is worth: minutes that the rest of the job is expected to cost less than if the vehicle were
    /// repaired or handed back at once.
    pub worth_minutes: f64,
    /// What the rest of the job is then expected to cost, minutes of labour.
    pub rest_minutes: f64,
}
