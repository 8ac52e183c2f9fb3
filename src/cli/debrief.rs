//! `debrief`, and the end of a practice: what is told once the vehicle has gone back.

use serde_json::json;

use crate::console::Console;
use crate::report::text::Text;
use crate::report::{debrief, scorecard};
use crate::rig::RigError;
use crate::score;

use super::arguments::Debrief;
use super::failure::{Failure, Kind};
use super::practice::replayed;
use super::ui::Ui;
use super::{attempt_file, folders};

/// Shows the marks of a recorded attempt.
pub(super) fn run(asked: &Debrief, ui: &mut Ui) -> Result<(), Failure> {
    let path = folders::named_attempt(&asked.attempt);
    let attempt = attempt_file::read(&path)?;
    let console = replayed(&path, &attempt)?;
    if !console.bay().closed() {
        let hint = format!("`hidden-ohm resume {}` goes on with it", path.display());
        let error = format!(
            "{}: the vehicle has not been handed back yet",
            path.display()
        );
        return Err(Failure::new(Kind::No, error, hint));
    }
    told(
        console,
        if asked.json { Form::Whole } else { Form::Text },
        ui,
    )
}

/// Shows the marks of work that has just ended.
pub(super) fn closed(console: Console, as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    told(
        console,
        if as_json { Form::Scorecard } else { Form::Text },
        ui,
    )
}

/// How the end is told.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Form {
    /// In words.
    Text,
    /// One JSON object with the scorecard alone, the last line of a script.
    Scorecard,
    /// One JSON object with the scorecard and the facts of the debrief.
    Whole,
}

fn told(console: Console, form: Form, ui: &mut Ui) -> Result<(), Failure> {
    let units = console.bay().system();
    let closed = console.into_bay().hand_back().map_err(|_| {
        let hint = "`hidden-ohm resume` goes on with it";
        Failure::new(Kind::No, "the vehicle has not been handed back yet", hint)
    })?;
    let unsolved =
        |error: RigError| Failure::new(Kind::No, format!("the work cannot be marked: {error}"), "");
    let card = score::scorecard(&closed, units).map_err(unsolved)?;
    if form == Form::Scorecard {
        return ui.json(&json!({ "scorecard": card }));
    }
    let facts = score::debrief(&closed, units).map_err(unsolved)?;
    if form == Form::Whole {
        return ui.json(&json!({ "scorecard": card, "debrief": facts }));
    }
    let mut text = Text::new();
    text.blank();
    text.append(scorecard::text(&card));
    text.blank();
    text.append(debrief::text(&facts, units));
    ui.show(&text)
}
