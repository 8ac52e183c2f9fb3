//! `debrief`, and the end of a practice: what is told once the vehicle has gone back.

use serde_json::{Value, json};

use crate::bay::Closed;
use crate::console::Console;
use crate::fault::Catalogue;
use crate::report::ending;
use crate::report::truth::{Told, told};

use super::arguments::Debrief;
use super::failure::{Failure, Kind};
use super::practice::replayed;
use super::source::library;
use super::ui::Ui;
use super::{attempt_file, folders, machine as shapes};

/// Shows the marks of a recorded attempt.
pub(super) fn run(asked: &Debrief, ui: &mut Ui) -> Result<(), Failure> {
    let path = folders::named_attempt(&asked.attempt);
    let attempt = attempt_file::read(&path)?;
    let console = replayed(&path, &attempt)?;
    if attempt.closing.is_none() && !console.bay().closed() {
        let hint = format!("`hidden-ohm resume {}` goes on with it", path.display());
        return Err(Failure::new(
            Kind::No,
            format!(
                "{}: the vehicle has not been handed back yet",
                path.display()
            ),
            hint,
        ));
    }
    closed(console, asked.json, ui)
}

/// Shows the marks of work that has just ended.
pub(super) fn closed(console: Console, as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    let closed = console.into_bay().hand_back().map_err(|_| {
        Failure::new(
            Kind::No,
            "the vehicle has not been handed back yet",
            "`hidden-ohm resume` goes on with it",
        )
    })?;
    let catalogue = library()?.catalogue;
    if as_json {
        ui.json(&json!({ "scorecard": machine(&closed, &catalogue) }))
    } else {
        ui.show(&ending::text(&closed, &catalogue))
    }
}

fn machine(closed: &Closed, catalogue: &Catalogue) -> Value {
    let facts = ending::facts(closed);
    let came_with: Vec<Told> = closed
        .truth
        .came_with
        .iter()
        .map(|fault| told(&closed.vehicle, catalogue, fault))
        .collect();
    json!({
        "code": closed.code.map(|code| code.to_string()),
        "level": closed.level,
        "actions": closed.ledger.len(),
        "clock_s": facts.clock_s,
        "spent": facts.spent.0,
        "faults": came_with.iter().map(shapes::fault).collect::<Vec<Value>>(),
        "faults_left": closed.truth.left.len(),
    })
}
