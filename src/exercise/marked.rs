//! What came of one attempt that was handed in: a line of the marks.

use serde::Serialize;

use super::marks::Marks;
use crate::record::{Attempt, Damage, Mismatch};

/// Whether an attempt stands.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Every outcome comes out again, and the vehicle was handed back.
    Verified,
    /// Every outcome comes out again, but the vehicle was not handed back.
    Unfinished,
    /// An outcome does not come out again, or a line is not possible.
    Altered,
    /// The chain of hashes does not hold: lines were changed, taken out, put in or swapped.
    Damaged,
    /// It was not done for this exercise, or by nobody on the class list.
    Foreign,
    /// Another engine made it; nothing follows from that about its truth.
    OtherEngine,
    /// It is no record at all.
    NotARecord,
    /// It is not the file whose receipt was noted at the hand-in.
    OtherReceipt,
}

impl Verdict {
    /// The word for it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Verified => "verified",
            Verdict::Unfinished => "unfinished",
            Verdict::Altered => "altered",
            Verdict::Damaged => "damaged",
            Verdict::Foreign => "foreign",
            Verdict::OtherEngine => "other-engine",
            Verdict::NotARecord => "not-a-record",
            Verdict::OtherReceipt => "other-receipt",
        }
    }
}

/// One attempt after marking.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Marked {
    /// Name of the file, as given.
    pub file: String,
    /// Whether it stands.
    pub verdict: Verdict,
    /// Why it does not, with the line at fault in front.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// Line at fault, from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// Whose it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub learner: Option<String>,
    /// Which vehicle of the exercise, from one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vehicle: Option<u32>,
    /// Which try on the learner's machine, from one.
    #[serde(rename = "try", skip_serializing_if = "Option::is_none")]
    pub attempt: Option<u32>,
    /// When it was begun by that machine's clock.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub started: Option<String>,
    /// Its receipt.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub receipt: Option<String>,
    /// Simulated time, ms.
    pub clock_ms: u64,
    /// Money spent, whole minor units.
    pub spent: i64,
    /// Actions.
    pub actions: usize,
    /// Things an instructor may want to look at, one sentence each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
    /// The marks, for work that was handed back and stands.
    #[serde(flatten)]
    pub marks: Option<Marks>,
    /// The file this is a copy of; it counts once.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub copy_of: Option<String>,
    /// The lines typed, for comparing learners with each other; kept only if the marker was told to.
    #[serde(skip)]
    pub lines: Vec<String>,
}

impl Marked {
    /// A file that does not stand.
    #[must_use]
    pub fn refused(
        file: &str,
        verdict: Verdict,
        line: Option<usize>,
        reason: impl Into<String>,
    ) -> Marked {
        Marked {
            file: file.to_owned(),
            verdict,
            reason: Some(reason.into()),
            line,
            learner: None,
            vehicle: None,
            attempt: None,
            started: None,
            receipt: None,
            clock_ms: 0,
            spent: 0,
            actions: 0,
            remarks: Vec::new(),
            marks: None,
            copy_of: None,
            lines: Vec::new(),
        }
    }

    /// A file whose chain does not hold, or that is no record. Whose it is is taken from its first line, if that holds.
    #[must_use]
    pub fn damaged(file: &str, bytes: &[u8], damage: &Damage) -> Marked {
        let (verdict, line) = match damage {
            Damage::Chain { line } | Damage::Line { line, .. } => (Verdict::Damaged, Some(*line)),
            Damage::Format { .. } => (Verdict::OtherEngine, Some(1)),
            Damage::Empty | Damage::NotARecord { .. } => (Verdict::NotARecord, Some(1)),
        };
        let mut marked = Marked::refused(file, verdict, line, damage.to_string());
        let first = bytes.split_inclusive(|byte| *byte == b'\n').next();
        let first = first.and_then(|first| Attempt::read(first).ok());
        if let Some(sitting) = first.and_then(|first| first.header.exercise) {
            marked.learner = Some(sitting.learner);
            marked.vehicle = Some(sitting.scenario);
            marked.attempt = Some(sitting.attempt);
        }
        marked
    }

    /// Puts a mismatch of the replay down.
    pub(super) fn mismatched(&mut self, mismatch: &Mismatch) {
        (self.verdict, self.line) = match mismatch {
            Mismatch::OtherEngine { .. } => (Verdict::OtherEngine, Some(1)),
            Mismatch::Refused { file_line, .. } | Mismatch::Differs { file_line, .. } => {
                (Verdict::Altered, Some(*file_line))
            }
        };
        self.reason = Some(mismatch.to_string());
    }

    /// The line of JSON it is written as.
    ///
    /// # Errors
    /// Never for what marking makes: every field has a JSON form.
    pub fn json(&self) -> serde_json::Result<String> {
        serde_json::to_string(self)
    }
}
