//! Where the learner's own files are: attempts, the history of typed lines, scenario files of their own.

use std::env;
use std::fs;
use std::path::{Path, PathBuf};

use etcetera::AppStrategy;

use super::failure::{Failure, Kind};

/// Names another folder for everything the program keeps.
const OVERRIDE: &str = "HIDDEN_OHM_HOME";

/// What to do when the folder cannot be used.
const HINT: &str =
    "set HIDDEN_OHM_HOME to a folder you can write to, or name a file with --attempt FILE";

/// Names another folder for the user's own scenario files.
const OWN_SCENARIOS: &str = "HIDDEN_OHM_SCENARIOS";

/// The folder of the user's own vehicles, faults, jobs and exercises, if there is one.
///
/// # Errors
/// When a folder was named that is not there.
pub fn own_scenarios() -> Result<Option<PathBuf>, Failure> {
    let named = |name| env::var_os(name).filter(|folder| !folder.is_empty());
    if let Some(folder) = named(OWN_SCENARIOS).map(PathBuf::from) {
        return if folder.is_dir() {
            Ok(Some(folder))
        } else {
            Err(Failure::new(
                Kind::System,
                format!(
                    "{OWN_SCENARIOS} names {}, which is no folder",
                    folder.display()
                ),
                "make it, with `vehicles`, `faults`, `jobs` or `exercises` in it, or take the variable away",
            ))
        };
    }
    let folder = match named(OVERRIDE) {
        Some(folder) => Some(PathBuf::from(folder)),
        // Without a home folder there is no folder of one's own, and nothing is missing.
        None => strategy().ok().map(|strategy| strategy.data_dir()),
    };
    Ok(folder
        .map(|folder| folder.join("scenarios"))
        .filter(|folder| folder.is_dir()))
}

/// The folder everything is kept in.
///
/// # Errors
/// When there is no home folder to put it in.
pub fn state() -> Result<PathBuf, Failure> {
    if let Some(folder) = env::var_os(OVERRIDE).filter(|folder| !folder.is_empty()) {
        return Ok(PathBuf::from(folder));
    }
    strategy()?
        .state_dir()
        .ok_or_else(|| Failure::new(Kind::System, "there is no folder to keep attempts in", HINT))
}

/// Where the system's user keeps the files of programs.
fn strategy() -> Result<etcetera::app_strategy::Xdg, Failure> {
    let names = etcetera::AppStrategyArgs {
        top_level_domain: String::new(),
        author: String::new(),
        app_name: "hidden-ohm".into(),
    };
    etcetera::app_strategy::Xdg::new(names).map_err(|_| {
        Failure::new(
            Kind::System,
            "there is no home folder to keep attempts in",
            HINT,
        )
    })
}

/// The folder of attempts, made if it is not there yet.
///
/// # Errors
/// When it cannot be made.
pub fn attempts() -> Result<PathBuf, Failure> {
    let folder = state()?.join("attempts");
    fs::create_dir_all(&folder)
        .map_err(|error| Failure::file("make the folder", &folder, &error, HINT))?;
    Ok(folder)
}

/// Every attempt in the folder, oldest first: their names begin with the time they were started.
///
/// # Errors
/// When the folder cannot be read.
pub fn every_attempt(folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let read = |error| Failure::file("read the folder", folder, &error, HINT);
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).map_err(read)? {
        let path = entry.map_err(read)?.path();
        if path
            .extension()
            .is_some_and(|extension| extension == "jsonl")
        {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

/// What a person means by `name`: a path, or the name of an attempt in the folder with or without its ending.
#[must_use]
pub fn named_attempt(name: &str) -> PathBuf {
    let given = PathBuf::from(name);
    if given.exists() {
        return given;
    }
    let Ok(folder) = state().map(|state| state.join("attempts")) else {
        return given;
    };
    let known = [folder.join(name), folder.join(format!("{name}.jsonl"))];
    known
        .into_iter()
        .find(|path| path.exists())
        .unwrap_or(given)
}
