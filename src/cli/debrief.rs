//! `debrief`, and the end of a practice: what is told once the vehicle has gone back.

use std::fs;
use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use crate::bay::Closed;
use crate::console::Console;
use crate::evidence::Pool;
use crate::report::story::Story;
use crate::report::text::Text;
use crate::report::{certificate, debrief, page, review, scorecard};
use crate::rig::RigError;
use crate::score::{self, Effort};
use crate::units::System;

use super::arguments::Debrief;
use super::failure::{Failure, Kind};
use super::practice::replayed;
use super::ui::Ui;
use super::{attempt_file, exercise, folders};

/// Shows the marks of a recorded attempt.
pub(super) fn run(asked: &Debrief, ui: &mut Ui) -> Result<(), Failure> {
    let path = folders::named_attempt(&asked.attempt);
    let attempt = attempt_file::read(&path)?;
    if let Some(sitting) = &attempt.header.exercise {
        let rules = exercise::load::of_sitting(sitting)?.rules;
        exercise::start::feedback_due(&rules, Timestamp::now())
            .map_err(|reason| Failure::new(Kind::No, reason, ""))?;
    }
    let console = replayed(&path, &attempt)?;
    if !console.bay().closed() {
        let hint = format!("`hidden-ohm resume {}` goes on with it", path.display());
        let error = format!(
            "{}: the vehicle has not been handed back yet",
            path.display()
        );
        return Err(Failure::new(Kind::No, error, hint));
    }
    let (closed, units) = given_back(console)?;
    let story = story(&closed, units, Effort::Replanned)?;
    match &asked.html {
        Some(file) => written(file, &page::page(&story), ui),
        None if asked.json => ui.json(&json!({
            "scorecard": story.card,
            "debrief": story.facts,
            "review": story.review,
            "certificate": story.certificate,
            "pressure_rise": story.rise,
        })),
        None => ui.show(&told(&story, !ui.view().plain)),
    }
}

/// Shows the marks of work that has just ended: in words, or the scorecard alone as the last line of a script.
pub(super) fn closed(console: Console, as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    let (closed, units) = given_back(console)?;
    if as_json {
        let card = score::scorecard(&closed, units).map_err(|error| unmarked(&error))?;
        return ui.json(&json!({ "scorecard": card }));
    }
    let story = story(&closed, units, Effort::Conclusions)?;
    let mut text = Text::new();
    text.blank();
    text.append(told(&story, !ui.view().plain));
    ui.show(&text)
}

fn given_back(console: Console) -> Result<(Closed, System), Failure> {
    let units = console.bay().system();
    let closed = console.into_bay().hand_back().map_err(|_| {
        let hint = "`hidden-ohm resume` goes on with it";
        Failure::new(Kind::No, "the vehicle has not been handed back yet", hint)
    })?;
    Ok((closed, units))
}

/// All that is told of work that is over.
pub(super) fn story(closed: &Closed, units: System, effort: Effort) -> Result<Story, Failure> {
    let made = |pool: &Pool| Story::of(closed, pool, units, effort);
    let pool = Pool::shared(&closed.vehicle, &closed.truth.catalogue, closed.level);
    pool.and_then(|pool| made(&pool))
        .map_err(|error| unmarked(&error))
}

fn unmarked(error: &RigError) -> Failure {
    Failure::new(Kind::No, format!("the work cannot be marked: {error}"), "")
}

/// The whole explanation in words; `bars` draws the volts as well.
pub(super) fn told(story: &Story, bars: bool) -> Text {
    let mut text = scorecard::text(&story.card);
    text.blank();
    text.append(debrief::text(&story.facts, story.system, bars));
    text.blank();
    text.append(review::text(story));
    text.blank();
    text.append(certificate::text(&story.certificate));
    text
}

/// The page, on standard output or in a file of its own, which takes the place of an earlier one.
fn written(file: &Path, page: &str, ui: &mut Ui) -> Result<(), Failure> {
    if file == Path::new("-") {
        return ui.raw(page);
    }
    fs::write(file, page).map_err(|error| {
        Failure::file(
            "write",
            file,
            &error,
            "name a file in a folder you can write to",
        )
    })?;
    ui.note_line(&format!(
        "{} is written; any browser shows it.",
        file.display()
    ));
    Ok(())
}
