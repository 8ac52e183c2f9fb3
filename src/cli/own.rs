//! A user's own scenario files. They add to what is built in; a code never means anything else because of them.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::fault;
use crate::record::WrittenScenario;
use crate::scenario::{JOBS, Library, job_name};
use crate::vehicle::diagnostic::Source as Text;
use crate::vehicle::{Diagnostic, load};

use super::failure::Failure;
use super::folders;
use super::source::{diagnosed, read_text};

/// A text with the name of its file.
type Named = (String, String);

/// The TOML files in one of the folders (`vehicles`, `faults`, `jobs`, `exercises`), in the order of their names.
///
/// # Errors
/// When the folder or a file in it cannot be read.
pub(super) fn files(kind: &str) -> Result<Vec<PathBuf>, Failure> {
    let Some(folder) = folders::own_scenarios()?.map(|folder| folder.join(kind)) else {
        return Ok(Vec::new());
    };
    if !folder.is_dir() {
        return Ok(Vec::new());
    }
    let hint = "see whether you may read it, or let HIDDEN_OHM_SCENARIOS name another folder";
    let refused = |error| Failure::file("read the folder", &folder, &error, hint);
    let mut found = Vec::new();
    for entry in fs::read_dir(&folder).map_err(refused)? {
        let path = entry.map_err(refused)?.path();
        if path
            .extension()
            .is_some_and(|extension| extension == "toml")
        {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

fn texts(kind: &str) -> Result<Vec<Named>, Failure> {
    let read = |path: PathBuf| {
        let name = path.display().to_string();
        read_text(&name).map(|text| (name, text))
    };
    files(kind)?.into_iter().map(read).collect()
}

/// What is built in, with the user's own vehicles and fault kinds behind it.
///
/// # Errors
/// Everything wrong in the user's files, with file, line and column.
pub(super) fn library(built_in: &Library) -> Result<Library, Failure> {
    let mut whole = built_in.clone();
    for (file, text) in texts("vehicles")? {
        let vehicle = load(&file, &text).map_err(|problems| diagnosed(&problems, &text))?;
        if whole.vehicle(&vehicle.id).is_some() {
            return Err(diagnosed(&[taken(&file, &text, &vehicle.id)], &text));
        }
        whole.vehicles.push(Arc::new(vehicle));
    }
    let own = texts("faults")?;
    if !own.is_empty() {
        let mut all = fault::FILES.to_vec();
        all.extend(
            own.iter()
                .map(|(file, text)| (file.as_str(), text.as_str())),
        );
        let catalogue = fault::load(&all).map_err(|problems| {
            let first = problems.first().map_or("", |problem| problem.file.as_str());
            let text = own.iter().find(|(file, _)| file == first);
            diagnosed(&problems, text.map_or("", |(_, text)| text))
        })?;
        whole.catalogue = Arc::new(catalogue);
    }
    Ok(whole)
}

/// The complaint about a vehicle whose name is taken, at its `id` line.
fn taken(file: &str, text: &str, id: &str) -> Diagnostic {
    let at = text.find("id = ").unwrap_or(0);
    let end = text[at..].find('\n').map_or(text.len(), |end| at + end);
    let message = format!("there is a vehicle `{id}` already");
    let hint = Some("give yours another id".to_owned());
    Text { file, text }.diagnostic(at..end, message, hint)
}

/// Names of all jobs that can be worked by name: those built in, then the user's own.
///
/// # Errors
/// When the user's folder cannot be read.
pub(super) fn job_names() -> Result<Vec<String>, Failure> {
    let built_in = JOBS.iter().map(|(file, _)| job_name(file).to_owned());
    let own = files("jobs")?;
    let own = own.iter().map(|path| stem(path));
    Ok(built_in.chain(own).collect())
}

/// The job of this name: the user's own before one that is built in.
///
/// # Errors
/// When the user's folder or the file cannot be read.
pub(super) fn job(name: &str) -> Result<Option<WrittenScenario>, Failure> {
    let same = |found: &str| found.eq_ignore_ascii_case(name);
    if let Some(path) = files("jobs")?.iter().find(|path| same(&stem(path))) {
        let file = path.display().to_string();
        let text = read_text(&file)?;
        return Ok(Some(WrittenScenario { file, text }));
    }
    let built_in = JOBS.iter().find(|(file, _)| same(job_name(file)));
    Ok(built_in.map(|(file, text)| WrittenScenario {
        file: (*file).to_owned(),
        text: (*text).to_owned(),
    }))
}

fn stem(path: &Path) -> String {
    job_name(&path.display().to_string()).to_owned()
}
