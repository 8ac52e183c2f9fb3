//! Marking attempts: each is read, held against the exercise, replayed against the physics, and given its marks.
//!
//! What one attempt gets depends on nothing but the exercise and the attempt, so the order of attempts and the number of
//! threads change nothing.

use std::sync::{Arc, PoisonError};

use jiff::Timestamp;

use super::marked::{Marked, Verdict};
use super::marks::{Marks, marks};
use super::memo::{Known, Memo, hash};
use super::noted::Notes;
use super::rules::{Job, Rules, Vehicles};
use crate::bay::{Closed, Limits};
use crate::record::{
    Attempt, Entry, Header, Likeness, Mismatch, Receipt, Recorded, Sitting, replay,
};
use crate::units::System;

/// Where vehicles are worked: the prompt's language stands in a layer this module does not know.
pub trait Floor: Sync {
    /// A vehicle being worked on.
    type Work;

    /// Puts a vehicle on the floor.
    ///
    /// # Errors
    /// Why it cannot be worked on.
    fn begin(&self, job: &Job, limits: &Limits, units: System) -> Result<Self::Work, String>;

    /// Does one prompt line.
    ///
    /// # Errors
    /// Why it was refused.
    fn line(&self, work: &mut Self::Work, line: &str) -> Result<Entry, String>;

    /// The bay after the vehicle was handed back; nothing if it was not.
    fn end(&self, work: Self::Work) -> Option<Closed>;
}

/// What marks are made with.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Effort {
    /// Replay only.
    Verify,
    /// Replay and marks.
    Full,
}

/// Marks attempts at one exercise.
pub struct Marker<F: Floor> {
    floor: F,
    rules: Rules,
    vehicles: Vehicles,
    hash: String,
    receipts: Notes,
    lines: bool,
    effort: Effort,
    memo: Option<Memo>,
}

impl<F: Floor> Marker<F> {
    /// A marker for an exercise with this hash.
    pub fn new(
        floor: F,
        rules: Rules,
        vehicles: Vehicles,
        hash: &str,
        effort: Effort,
    ) -> Marker<F> {
        Marker {
            floor,
            rules,
            vehicles,
            hash: hash.to_owned(),
            receipts: Notes::default(),
            lines: false,
            effort,
            memo: Some(Memo::default()),
        }
    }

    /// Works every attempt from its beginning and shares nothing.
    #[must_use]
    pub fn sharing_nothing(mut self) -> Marker<F> {
        self.memo = None;
        self
    }

    /// Holds attempts against receipts noted at the hand-in.
    #[must_use]
    pub fn with_receipts(mut self, receipts: Notes) -> Marker<F> {
        self.receipts = receipts;
        self
    }

    /// Keeps the lines that were typed beside the marks.
    #[must_use]
    pub fn keeping_lines(mut self) -> Marker<F> {
        self.lines = true;
        self
    }

    /// Different outcomes that were worked and are shared.
    #[must_use]
    pub fn shared(&self) -> usize {
        self.memo.as_ref().map_or(0, Memo::kept)
    }

    /// Marks the bytes of one attempt.
    pub fn mark(&self, file: &str, bytes: &[u8]) -> Marked {
        let attempt = match Attempt::read(bytes) {
            Ok(attempt) => attempt,
            Err(damage) => return Marked::damaged(file, bytes, &damage),
        };
        let Some(sitting) = &attempt.header.exercise else {
            let reason = "line 1: it is self-practice, not work for an exercise";
            return Marked::refused(file, Verdict::Foreign, Some(1), reason);
        };
        let mut marked = self.begun(file, &attempt, sitting);
        let (job, system) = match self.belongs(&attempt, sitting) {
            Ok(found) => found,
            Err((verdict, reason)) => {
                marked.verdict = verdict;
                marked.line = Some(1);
                marked.reason = Some(format!("line 1: {reason}"));
                return marked;
            }
        };
        match self.worked(&job, system, &attempt) {
            Ok(marks) => self.stands(&mut marked, &attempt, marks),
            Err(Fault::Mismatch(mismatch)) => marked.mismatched(&mismatch),
            Err(Fault::Altered(reason)) => {
                marked.verdict = Verdict::Altered;
                marked.reason = Some(reason);
            }
            Err(Fault::Floor(reason)) => {
                marked.verdict = Verdict::Foreign;
                marked.reason = Some(reason);
            }
        }
        marked
    }

    fn begun(&self, file: &str, attempt: &Attempt, sitting: &Sitting) -> Marked {
        let last = attempt.entries.last().map(|recorded| &recorded.entry);
        let mut remarks = Vec::new();
        let started = attempt.header.started.parse::<Timestamp>().ok();
        let date = |text: &Option<String>| {
            text.as_ref()
                .and_then(|text| text.parse::<Timestamp>().ok())
        };
        if let (Some(started), Some(opens)) = (started, date(&self.rules.opens))
            && started < opens
        {
            remarks
                .push("By its machine's clock it was begun before the exercise opened.".to_owned());
        }
        if let (Some(started), Some(closes)) = (started, date(&self.rules.closes))
            && started > closes
        {
            remarks.push(
                "By its machine's clock it was begun after the exercise had closed.".to_owned(),
            );
        }
        if sitting.attempt > self.rules.tries {
            remarks.push(format!(
                "Its machine counted it as try {}.",
                sitting.attempt
            ));
        }
        if !attempt.torn.is_empty() {
            remarks.push("Its last line is cut off in the middle.".to_owned());
        }
        Marked {
            verdict: Verdict::Unfinished,
            reason: None,
            learner: Some(sitting.learner.clone()),
            vehicle: Some(sitting.scenario),
            attempt: Some(sitting.attempt),
            started: Some(attempt.header.started.clone()),
            receipt: Receipt::of(&attempt.chain).map(|receipt| receipt.to_string()),
            clock_ms: last.map_or(0, |entry| entry.clock_ms),
            spent: last.map_or(0, |entry| entry.spent),
            actions: attempt.entries.len(),
            remarks,
            lines: if self.lines {
                let lines = attempt.entries.iter();
                lines
                    .map(|recorded| recorded.entry.line.to_lowercase())
                    .collect()
            } else {
                Vec::new()
            },
            ..Marked::refused(file, Verdict::Unfinished, None, "")
        }
    }

    /// The vehicle and the units an attempt was worked with, once its first line says nothing that cannot be.
    fn belongs(
        &self,
        attempt: &Attempt,
        sitting: &Sitting,
    ) -> Result<(Job, System), (Verdict, String)> {
        let foreign = |reason: String| (Verdict::Foreign, reason);
        if sitting.hash != self.hash {
            let title = &sitting.title;
            return Err(foreign(format!(
                "it was done for another exercise, \"{title}\""
            )));
        }
        if self.rules.learner(&sitting.learner).as_ref() != Some(&sitting.learner) {
            let learner = &sitting.learner;
            return Err(foreign(if self.rules.class.is_empty() {
                format!("`{learner}` is not how a name is written")
            } else {
                format!("`{learner}` is not on the class list")
            }));
        }
        let header = &attempt.header;
        let Header { started, units, .. } = header;
        if started.parse::<Timestamp>().is_err() {
            return Err((Verdict::Altered, format!("`{started}` is no date")));
        }
        let system = header
            .system()
            .ok_or_else(|| (Verdict::Altered, format!("there are no units `{units}`")))?;
        let number = sitting.scenario;
        let job = self.vehicles.job(&self.rules, number, &sitting.learner);
        let job = job.ok_or_else(|| foreign(format!("the exercise has no vehicle {number}")))?;
        Ok((job, system))
    }

    fn stands(&self, marked: &mut Marked, attempt: &Attempt, marks: Option<Arc<Marks>>) {
        if attempt.closing.is_none() {
            marked.reason = Some("the vehicle was not handed back".to_owned());
        } else {
            marked.verdict = Verdict::Verified;
            marked.marks = marks.map(|marks| (*marks).clone());
        }
        let (Some(learner), Some(vehicle), Some(own)) =
            (&marked.learner, marked.vehicle, Receipt::of(&attempt.chain))
        else {
            return;
        };
        match self.receipts.likeness(learner, vehicle, &own) {
            None if self.receipts.is_empty() => {}
            None => marked
                .remarks
                .push("No receipt of it was noted.".to_owned()),
            Some(Likeness::Same) => {}
            Some(Likeness::Slip) => {
                marked.remarks.push(
                    "The noted receipt differs in one symbol or in two swapped ones.".to_owned(),
                );
            }
            Some(Likeness::Other) => {
                marked.verdict = Verdict::OtherReceipt;
                marked.marks = None;
                marked.reason = Some(
                    "its receipt is not the one noted at the hand-in: it was changed since, or is another file".to_owned(),
                );
            }
        }
    }

    /// The replay, by what is known already as far as it goes.
    fn worked(
        &self,
        job: &Job,
        system: System,
        attempt: &Attempt,
    ) -> Result<Option<Arc<Marks>>, Fault> {
        let tree = self.memo.as_ref().map(|memo| memo.tree(job, system));
        let closed = attempt.closing.is_some();
        if attempt.header.engine == crate::record::ENGINE
            && let Some(tree) = &tree
        {
            match tree
                .read()
                .unwrap_or_else(PoisonError::into_inner)
                .follow(attempt)
            {
                Known::Differs(place) => return Err(differs(&attempt.entries[place])),
                Known::Whole {
                    closed: ended,
                    marks,
                } if !closed || ended && (marks.is_some() || self.effort == Effort::Verify) => {
                    return Ok(marks);
                }
                Known::Whole { .. } | Known::Part => {}
            }
        }
        let mut work = self
            .floor
            .begin(job, &self.rules.limits(), system)
            .map_err(Fault::Floor)?;
        let mut path = Vec::with_capacity(attempt.entries.len());
        let replayed = replay(attempt, |line| {
            let entry = self.floor.line(&mut work, line)?;
            path.push((line.to_owned(), hash(&entry.object())));
            Ok(entry)
        });
        let mut earned = None;
        let ended = replayed.is_ok() && closed;
        if ended {
            let given_back = self.floor.end(work).ok_or_else(|| {
                Fault::Altered(
                    "it says that the vehicle was handed back, and it was not".to_owned(),
                )
            })?;
            if self.effort == Effort::Full {
                let marks = marks(&self.rules, &given_back)
                    .map_err(|error| Fault::Floor(error.to_string()))?;
                earned = Some(Arc::new(marks));
            }
        }
        if let (Some(memo), Some(tree)) = (&self.memo, &tree) {
            let mut tree = tree.write().unwrap_or_else(PoisonError::into_inner);
            if memo.room(&path[tree.known(&path)..]) {
                tree.keep(&path, ended, earned.as_ref());
            }
        }
        replayed.map_err(Fault::Mismatch)?;
        Ok(earned)
    }
}

enum Fault {
    Mismatch(Mismatch),
    Altered(String),
    Floor(String),
}

fn differs(recorded: &Recorded) -> Fault {
    Fault::Mismatch(Mismatch::Differs {
        file_line: recorded.file_line,
        n: recorded.entry.n,
        line: recorded.entry.line.clone(),
    })
}
