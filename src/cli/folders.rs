//! Where the learner's own files are: attempts and the history of typed lines.

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

/// The folder everything is kept in.
///
/// # Errors
/// When there is no home folder to put it in.
pub fn state() -> Result<PathBuf, Failure> {
    if let Some(folder) = env::var_os(OVERRIDE).filter(|folder| !folder.is_empty()) {
        return Ok(PathBuf::from(folder));
    }
    let names = etcetera::AppStrategyArgs {
        top_level_domain: String::new(),
        author: String::new(),
        app_name: "hidden-ohm".into(),
    };
    let strategy = etcetera::app_strategy::Xdg::new(names).map_err(|_| {
        Failure::new(
            Kind::System,
            "there is no home folder to keep attempts in",
            HINT,
        )
    })?;
    strategy
        .state_dir()
        .ok_or_else(|| Failure::new(Kind::System, "there is no folder to keep attempts in", HINT))
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
