//! `progress`, and the choice of a job for this learner.
//!
//! Every finished attempt in the learner's folder is replayed once and marked. What came of it is kept beside the attempts
//! under the hash that ends the record, so that it need not be replayed again; the file may be deleted at any time.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use serde_json::json;

use crate::certify::Certifier;
use crate::progress::{History, Job, Known};
use crate::record::{Attempt, ENGINE};
use crate::report::progress;
use crate::score::{self, VERSION};
use crate::seed::{ScenarioCode, Stream, fresh};

use super::arguments::Progress;
use super::failure::{Failure, Kind};
use super::practice::replayed;
use super::source::{drawn_code, fresh_code};
use super::ui::Ui;
use super::{attempt_file, folders};

/// Seconds of a day.
const DAY_S: i64 = 86_400;
/// Draws for a theme before anything else is as good.
const DRAWS_FOR_THEME: u32 = 60;
/// Themes the next job is drawn from: the most urgent.
const URGENT: usize = 3;

/// Jobs by the hash that ends their record, for one engine and one set of rules.
#[derive(Default, Serialize, Deserialize)]
struct Kept {
    engine: u32,
    rules: String,
    jobs: BTreeMap<String, Job>,
}

/// What was found in the folder of attempts.
#[derive(Default)]
struct Found {
    jobs: Vec<Job>,
    unfinished: usize,
    /// Attempts for an exercise: what came of them is the instructor's to tell.
    exercises: usize,
    /// Attempts of another engine.
    older: usize,
    /// Attempts that do not hold, with the reason.
    refused: Vec<Failure>,
}

/// Shows what this learner has done.
pub(super) fn run(asked: &Progress, ui: &mut Ui) -> Result<(), Failure> {
    let found = found()?;
    for failure in &found.refused {
        ui.failure(failure);
    }
    let left: Vec<String> = [
        (found.unfinished, "unfinished"),
        (found.exercises, "done for an exercise"),
        (found.older, "made with another engine version"),
        (found.refused.len(), "that cannot be trusted"),
    ]
    .into_iter()
    .filter(|(count, _)| *count > 0)
    .map(|(count, what)| format!("{count} {what}"))
    .collect();
    if !left.is_empty() {
        ui.note_line(&format!("Attempts left out: {}.", left.join(", ")));
    }
    let history = History::new(found.jobs, today());
    if asked.json {
        let (standing, rating) = (history.standing(), history.rating());
        return ui.json(&json!({
            "jobs": history.jobs(),
            "rated": history.rated().count(),
            "standing": standing,
            "level": rating.level(),
            "level_error": rating.level_error(),
            "parts": history.parts(),
            "themes": history.themes(),
            "kinds": history.kinds(),
            "next": history.next(),
        }));
    }
    ui.show(&progress::text(&history, !ui.view().plain))
}

/// A code for this learner: at the level asked for or the one that suits, often about something whose time has come.
/// Which is not said: it would give the fault away.
pub(super) fn suited_code(
    certifier: &Certifier,
    level: Option<u8>,
    vehicle: Option<&str>,
) -> Result<ScenarioCode, Failure> {
    let next = History::new(found()?.jobs, today()).next();
    let level = level.unwrap_or(next.level);
    let urgent = &next.themes[..next.themes.len().min(URGENT)];
    let pick = Stream::named(fresh(), "theme").below(urgent.len() as u64 + 1);
    let theme = usize::try_from(pick).ok().and_then(|pick| urgent.get(pick));
    match theme {
        Some(theme) => match drawn_code(certifier, level, vehicle, Some(theme), DRAWS_FOR_THEME) {
            // Not every theme comes up at every level; then anything will do.
            Err(failure) if failure.kind == Kind::No => fresh_code(certifier, level, vehicle, None),
            drawn => drawn,
        },
        None => fresh_code(certifier, level, vehicle, None),
    }
}

fn today() -> i64 {
    Timestamp::now().as_second().div_euclid(DAY_S)
}

fn found() -> Result<Found, Failure> {
    let folder = folders::state()?.join("attempts");
    let mut found = Found::default();
    if !folder.is_dir() {
        return Ok(found);
    }
    let path = folders::state()?.join("progress.json");
    let mut kept = kept(&path);
    let before = kept.jobs.len();
    for path in folders::every_attempt(&folder)? {
        match attempt_file::read(&path) {
            Err(failure) => found.refused.push(failure),
            Ok(attempt) if attempt.header.exercise.is_some() => found.exercises += 1,
            Ok(attempt) if attempt.closing.is_none() => found.unfinished += 1,
            Ok(attempt) if attempt.header.engine != ENGINE => found.older += 1,
            Ok(attempt) => match job(&path, &attempt, &mut kept) {
                Ok(job) => found.jobs.push(job),
                Err(failure) => found.refused.push(failure),
            },
        }
    }
    if kept.jobs.len() > before {
        keep(&path, &kept);
    }
    Ok(found)
}

/// The job of a finished attempt: replayed and marked, unless that was done before.
fn job(path: &Path, attempt: &Attempt, kept: &mut Kept) -> Result<Job, Failure> {
    let head = attempt.chain.head().to_owned();
    if let Some(job) = kept.jobs.get(&head) {
        return Ok(job.clone());
    }
    let name = path
        .file_stem()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let header = &attempt.header;
    let begun: Timestamp = header.started.parse().map_err(|_| {
        let error = format!(
            "{}: line 1: `{}` is no time",
            path.display(),
            header.started
        );
        Failure::new(Kind::No, error, "the file has been left as it is")
    })?;
    let console = replayed(path, attempt)?;
    let units = console.bay().system();
    let open = || {
        let error = format!(
            "{}: it ends without the vehicle handed back",
            path.display()
        );
        Failure::new(Kind::No, error, "the file has been left as it is")
    };
    let closed = console.into_bay().hand_back().map_err(|_| open())?;
    let card = score::scorecard(&closed, units)
        .map_err(|error| Failure::new(Kind::No, format!("{}: {error}", path.display()), ""))?;
    let written = header.written.as_ref().map(|written| written.text.clone());
    let guided = |line: &str| {
        let mut words = line.split_whitespace();
        words
            .next()
            .is_some_and(|word| word.eq_ignore_ascii_case("guide"))
    };
    let known = Known {
        attempt: name,
        day: begun.as_second().div_euclid(DAY_S),
        scenario: header.code.clone().or(written).unwrap_or_default(),
        guided: attempt
            .entries
            .iter()
            .any(|entry| guided(&entry.entry.line)),
    };
    let job = Job::of(&closed, &card, known);
    kept.jobs.insert(head, job.clone());
    Ok(job)
}

/// What was kept; nothing if it is not there, cannot be read or is of another version: it is made anew then.
fn kept(path: &PathBuf) -> Kept {
    let fresh = || Kept {
        engine: ENGINE,
        rules: VERSION.to_owned(),
        jobs: BTreeMap::new(),
    };
    let text = fs::read_to_string(path).unwrap_or_default();
    match serde_json::from_str::<Kept>(&text) {
        Ok(kept) if kept.engine == ENGINE && kept.rules == VERSION => kept,
        _ => fresh(),
    }
}

/// Keeps it for next time. Where it cannot be written the work is merely done again.
fn keep(path: &Path, kept: &Kept) {
    if let Ok(text) = serde_json::to_string(kept) {
        let _ = fs::write(path, text);
    }
}
