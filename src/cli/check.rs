//! `scenario check`: what is wrong in files, and what their tests cannot tell.

use std::collections::BTreeSet;
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

use serde_json::json;

use crate::certify::Certifier;
use crate::fault;
use crate::scenario::{Library, Revealed, written};
use crate::vehicle::diagnostic::{Source as Lines, did_you_mean};
use crate::vehicle::{Diagnostic, Vehicle, load};

use super::failure::{Failure, Kind};
use super::own;
use super::source::{library, read_text, shown};
use super::ui::Ui;

/// Checks each file as what its tables say it is; prints `file:line:column: message` for whatever is wrong.
pub(super) fn run(files: &[String], as_json: bool, ui: &mut Ui) -> Result<(), Failure> {
    let built_in = library()?;
    // Files that are being checked may lie in the user's own folder, so trouble there must not end the check.
    let library = own::Whole::told(&built_in, ui).unwrap_or_else(|failure| {
        ui.failure(&failure);
        built_in
    });
    let (mut texts, mut unread) = (Vec::new(), Vec::new());
    for file in files {
        match read_text(file) {
            Ok(text) => texts.push((shown(file), text)),
            Err(failure) => unread.push(failure),
        }
    }
    let problems = problems(&library, &texts);
    for problem in &problems {
        if as_json {
            ui.json(&json!({
                "file": problem.file,
                "line": problem.line,
                "column": problem.column,
                "message": problem.message,
                "hint": problem.hint,
            }))?;
        } else {
            ui.raw(&format!("{problem}\n"))?;
        }
    }
    warn(&library, &texts, &problems, as_json, ui)?;
    let wrong = problems.len();
    // A file that could not be read does not hide what is wrong in the others.
    if let Some(last) = unread.pop() {
        for failure in &unread {
            ui.failure(failure);
        }
        return Err(last);
    }
    if wrong == 0 {
        let count = files.len();
        ui.note_line(&format!(
            "{count} file{}: nothing to put right",
            if count == 1 { "" } else { "s" }
        ));
        return Ok(());
    }
    let plural = if wrong == 1 { "" } else { "s" };
    Err(Failure::new(
        Kind::Input,
        format!("{wrong} thing{plural} to put right"),
        "",
    ))
}

/// Says of each scenario that can be read what its tests cannot tell apart; nothing has to be put right for that.
fn warn(
    library: &Library,
    files: &[(String, String)],
    problems: &[Diagnostic],
    as_json: bool,
    ui: &mut Ui,
) -> Result<(), Failure> {
    let clean = |file: &String| problems.iter().all(|problem| problem.file != *file);
    for (file, text) in files.iter().filter(|(file, _)| clean(file)) {
        let Ok(scenario) = written(library, file, text) else {
            continue;
        };
        let revealed = scenario.reveal();
        let doubts = Certifier::for_one(&revealed).doubts(&revealed);
        let doubts = doubts.unwrap_or_else(|error| vec![format!("it cannot be solved: {error}")]);
        let off_level = off_level(&revealed).into_iter().map(|of| ("level", of));
        let doubts = doubts.into_iter().map(|doubt| ("[[fault]]", doubt));
        for (start, doubt) in off_level.chain(doubts) {
            let span = line_of(text, start);
            let place = Lines { file, text }.diagnostic(span, format!("warning: {doubt}"), None);
            if as_json {
                ui.json(&json!({
                    "file": place.file,
                    "line": place.line,
                    "column": place.column,
                    "warning": doubt,
                }))?;
            } else {
                ui.raw(&format!("{place}\n"))?;
            }
        }
    }
    Ok(())
}

/// Cures of a piece of the catalogue that name a part which no vehicle has.
fn unknown_parts(
    vehicles: &[Arc<Vehicle>],
    catalogue: &fault::Catalogue,
    (file, text): (&str, &str),
) -> Vec<Diagnostic> {
    let parts = || vehicles.iter().flat_map(|vehicle| &vehicle.parts);
    let cures = catalogue.kinds.iter().flat_map(|kind| &kind.cures);
    let named: BTreeSet<&str> = cures.filter_map(|cure| cure.part.as_deref()).collect();
    let unknown = named
        .into_iter()
        .filter(|name| !parts().any(|part| part.id.eq_ignore_ascii_case(name)));
    let quoted = |name: &str, at: &usize| text[at + name.len()..].starts_with(['"', '\'']);
    let places = unknown.flat_map(|name| {
        let spoken = text.match_indices(name).map(|(at, _)| at);
        let at: Vec<usize> = spoken.filter(|at| quoted(name, at)).collect();
        at.into_iter().map(move |at| (name, at..at + name.len()))
    });
    places
        .map(|(name, span)| {
            let message = format!("no vehicle has a part `{name}`");
            let hint = did_you_mean(name, parts().map(|part| part.id.as_str()));
            Lines { file, text }.diagnostic(span, message, hint)
        })
        .collect()
}

/// The first line that starts so; the first line of all if none does.
fn line_of(text: &str, start: &str) -> Range<usize> {
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        if line.trim_start().starts_with(start) {
            return at..at + line.trim_end().len();
        }
        at += line.len();
    }
    0..text.lines().next().map_or(0, str::len)
}

/// Of each fault that no code of the scenario's level has, a sentence.
fn off_level(revealed: &Revealed) -> Vec<String> {
    let level = revealed.level;
    let kinds = revealed.faults.iter();
    let kinds = kinds.map(|fault| &revealed.catalogue.kinds[fault.kind.0]);
    let off = kinds.filter(|kind| !kind.levels.contains(&level));
    off.map(|kind| {
        let levels: Vec<String> = kind.levels.iter().map(u8::to_string).collect();
        format!(
            "no vehicle comes in at level {level} with `{}`: belief and marks hold it for next to impossible there; its \
             levels are {}",
            kind.id,
            levels.join(", ")
        )
    })
    .collect()
}

/// What is wrong in these files. Pieces of the fault catalogue refer to each other, so they are read together, and with
/// the built-in pieces of other names.
fn problems(library: &Library, files: &[(String, String)]) -> Vec<Diagnostic> {
    let mut found = Vec::new();
    let mut catalogue = Vec::new();
    let mut vehicles = library.vehicles.clone();
    for (file, text) in files {
        let has = |starts: &[&str]| {
            text.lines()
                .any(|line| starts.iter().any(|start| line.starts_with(start)))
        };
        let wrong = if has(&["[engine]", "[hydraulics]", "[[place]]", "[[point]]"]) {
            load(file, text)
                .map(|vehicle| vehicles.push(Arc::new(vehicle)))
                .err()
        } else if has(&["[[fault]]", "[[sign]]", "[[consequence]]"])
            && !has(&["[conditions]", "customer", "vehicle"])
        {
            catalogue.push((file.as_str(), text.as_str()));
            None
        } else {
            written(library, file, text).err()
        };
        found.extend(wrong.unwrap_or_default());
    }
    if !catalogue.is_empty() {
        // A file takes the place of the built-in one of its name; later pieces may use what earlier ones define.
        let given: Vec<&str> = catalogue.iter().map(|(file, _)| *file).collect();
        let name = |file: &str| Path::new(file).file_name().map(ToOwned::to_owned);
        let mut whole = fault::FILES.to_vec();
        for own in catalogue {
            match whole.iter_mut().find(|(file, _)| name(file) == name(own.0)) {
                Some(place) => *place = own,
                None => whole.push(own),
            }
        }
        match fault::load(&whole) {
            Ok(catalogue) => {
                let texts = whole.iter().filter(|(file, _)| given.contains(file));
                found.extend(texts.flat_map(|file| unknown_parts(&vehicles, &catalogue, *file)));
            }
            Err(wrong) => found.extend(
                wrong
                    .into_iter()
                    .filter(|problem| given.contains(&problem.file.as_str())),
            ),
        }
    }
    found
}
