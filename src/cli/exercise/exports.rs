//! What `exercise mark --into` writes.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::console::Pools;
use crate::exercise::xapi::{Version, statement};
use crate::exercise::{Floor, Handout, Marked, Vehicles, class, gradebook};
use crate::record::Attempt;
use crate::report::story::Story;
use crate::report::{class as pages, page};
use crate::scenario::Library;
use crate::score::Effort;

use super::super::arguments::Units;
use super::super::debrief;
use super::super::failure::Failure;
use super::super::ui::Ui;
use super::arguments::Secret;
use super::hall::Hall;
use super::load::vehicles;

/// Writes everything into a folder.
pub(super) fn write(
    folder: &Path,
    handout: &Handout,
    library: &Library,
    secret: &Secret,
    all: &[Marked],
    ui: &mut Ui,
) -> Result<(), Failure> {
    let rules = &handout.rules;
    put(folder, "marks.csv", &gradebook::marks(all))?;
    for (name, text) in gradebook::one_roster(rules, handout.hash(), all) {
        put(&folder.join("oneroster"), name, &text)?;
    }
    for (name, version) in [
        ("statements-1.0.3.json", Version::One),
        ("statements-2.0.json", Version::Two),
    ] {
        let statements: Vec<Value> = all
            .iter()
            .filter_map(|marked| statement(rules, handout.hash(), marked, version))
            .collect();
        put(folder, name, &format!("{:#}\n", Value::Array(statements)))?;
    }
    let picture = class::picture(all);
    put(folder, "class.html", &pages::class_page(rules, &picture))?;
    if let Some(table) = class::responses(all) {
        put(folder, "responses.csv", &gradebook::csv(&table.cells()))?;
    }
    let given = vehicles(handout, secret)?;
    let hall = Hall::new(library.clone());
    let pools = Pools::default();
    let mut pages_written = 0;
    for (place, marked) in all.iter().enumerate() {
        if marked.marks.is_none() {
            continue;
        }
        let story = explained(&hall, handout, &given, marked, &pools);
        let name = marked.learner.as_deref().unwrap_or("").chars();
        let name: String = name
            .map(|c| if c.is_alphanumeric() { c } else { '-' })
            .take(40)
            .collect();
        let name = format!("{name}-{}-{}", marked.vehicle.unwrap_or(0), place + 1);
        let feedback = folder.join("feedback");
        let told = story
            .as_ref()
            .map(|story| debrief::told(story, false).plain());
        let told = told.unwrap_or_default();
        let page = pages::feedback_page(rules, marked, &told, &format!("{name}-debrief.html"));
        put(&feedback, &format!("{name}.html"), &page)?;
        if let Some(story) = &story {
            put(
                &feedback,
                &format!("{name}-debrief.html"),
                &page::page(story),
            )?;
        }
        pages_written += 1;
    }
    ui.note_line(&format!(
        "{}: marks.csv, responses.csv, oneroster, statements, class.html and {pages_written} feedback page{}.",
        folder.display(),
        if pages_written == 1 { "" } else { "s" }
    ));
    Ok(())
}

/// The story of an attempt; nothing if it cannot be told, which marking has ruled out.
fn explained(
    hall: &Hall,
    handout: &Handout,
    given: &Vehicles,
    marked: &Marked,
    pools: &Pools,
) -> Option<Story> {
    let bytes = fs::read(&marked.file).ok()?;
    let attempt = Attempt::read(&bytes).ok()?;
    let learner = marked.learner.as_deref()?;
    let job = given.job(&handout.rules, marked.vehicle?, learner)?;
    let limits = handout.rules.limits();
    let mut work = hall.begin(&job, &limits, &attempt.header.units).ok()?;
    for recorded in &attempt.entries {
        hall.line(&mut work, &recorded.entry.line).ok()?;
    }
    let closed = hall.end(work)?;
    let units = Units::named(&attempt.header.units)?.system();
    debrief::story(&closed, pools, units, Effort::Conclusions).ok()
}

fn put(folder: &Path, name: &str, text: &str) -> Result<(), Failure> {
    let hint = "name a folder you can write to";
    fs::create_dir_all(folder)
        .map_err(|error| Failure::file("make the folder", folder, &error, hint))?;
    let path = folder.join(name);
    fs::write(&path, text).map_err(|error| Failure::file("write", &path, &error, hint))
}
