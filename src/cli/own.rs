//! A user's own scenario files. They add to what is built in; a code never means anything else because of them.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::fault::{self, Catalogue};
use crate::record::WrittenScenario;
use crate::scenario::{JOBS, Library, job_name};
use crate::vehicle::diagnostic::Source as Text;
use crate::vehicle::{Diagnostic, Vehicle, load};

use super::failure::Failure;
use super::folders;
use super::source::{diagnosed, read_text};
use super::ui::Ui;

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

fn named(path: &Path) -> Result<Named, Failure> {
    let name = path.display().to_string();
    read_text(&name).map(|text| (name, text))
}

/// What is built in, with those of the user's own vehicles and fault kinds behind it that are right.
pub(super) struct Whole {
    pub all: Library,
    /// The files that had to be left out, and why.
    pub left_out: Vec<LeftOut>,
}

/// A file of the user's that could not be taken in.
pub(super) struct LeftOut {
    pub why: Failure,
    /// The vehicle that it would have replaced.
    clashes_with: Option<String>,
}

impl LeftOut {
    fn because(why: Failure) -> LeftOut {
        LeftOut {
            why,
            clashes_with: None,
        }
    }

    /// Whether somebody who asks for this vehicle may well have meant this file.
    pub fn is_meant_by(&self, vehicle: &str) -> bool {
        self.clashes_with.as_deref() == Some(vehicle)
    }
}

impl Whole {
    /// Built-in and own files together.
    ///
    /// # Errors
    /// When the user's folder cannot be read. A file with mistakes is left out, which is told in the answer.
    pub fn of(built_in: &Library) -> Result<Whole, Failure> {
        let mut whole = Whole {
            all: built_in.clone(),
            left_out: Vec::new(),
        };
        for path in files("vehicles")? {
            match whole.vehicle(&path) {
                Ok(vehicle) => whole.all.vehicles.push(Arc::new(vehicle)),
                Err(why) => whole.left_out.push(why),
            }
        }
        let mut taken_in: Vec<Named> = Vec::new();
        for path in files("faults")? {
            match named(&path).and_then(|own| with_faults(&taken_in, own)) {
                Ok((catalogue, all)) => {
                    whole.all.catalogue = Arc::new(catalogue);
                    taken_in = all;
                }
                Err(why) => whole.left_out.push(LeftOut::because(why)),
            }
        }
        Ok(whole)
    }

    /// The same, with what had to be left out told to the user.
    ///
    /// # Errors
    /// As for [`Whole::of`].
    pub fn told(built_in: &Library, ui: &mut Ui) -> Result<Library, Failure> {
        let whole = Whole::of(built_in)?;
        for LeftOut { why, .. } in whole.left_out {
            ui.failure(&Failure {
                hint: format!("it is left out until then; {}", why.hint),
                ..why
            });
        }
        Ok(whole.all)
    }

    fn vehicle(&self, path: &Path) -> Result<Vehicle, LeftOut> {
        let (file, text) = named(path).map_err(LeftOut::because)?;
        let vehicle =
            load(&file, &text).map_err(|problems| LeftOut::because(diagnosed(&problems, &text)))?;
        if self.all.vehicle(&vehicle.id).is_some() {
            return Err(LeftOut {
                why: diagnosed(&[taken(&file, &text, &vehicle.id)], &text),
                clashes_with: Some(vehicle.id),
            });
        }
        Ok(vehicle)
    }
}

/// The catalogue of the built-in files, those taken in already and one more, and all own ones.
fn with_faults(taken_in: &[Named], own: Named) -> Result<(Catalogue, Vec<Named>), Failure> {
    let mut all = taken_in.to_vec();
    all.push(own);
    let mut whole = fault::FILES.to_vec();
    whole.extend(
        all.iter()
            .map(|(file, text)| (file.as_str(), text.as_str())),
    );
    match fault::load(&whole) {
        Ok(catalogue) => Ok((catalogue, all)),
        Err(problems) => {
            let text = all.last().map_or("", |(_, text)| text);
            Err(diagnosed(&problems, text))
        }
    }
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
        let (file, text) = named(path)?;
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
