//! An exercise from its file: handed out, or straight from the instructor's own text.

use std::fs;
use std::io::{BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use crate::exercise::{self, Draft, Given, Handout, HandoutError, Vehicles, Wanted};
use crate::record::{Sitting, WrittenScenario};
use crate::vehicle::diagnostic::Source as Place;

use super::super::failure::{Failure, Kind};
use super::super::folders;
use super::super::source::{diagnosed, read_text, shown};
use super::arguments::Secret;

/// Names the passphrase where no file does.
const VARIABLE: &str = "HIDDEN_OHM_PASSPHRASE";

/// Whether a file is an exercise of either kind, as far as its beginning tells.
pub(in super::super) fn is_exercise(text: &str) -> bool {
    text.starts_with("{\"hidden_ohm_exercise\"")
        || text.contains("[[vehicle]]") && text.contains("title")
}

/// The exercise of a file. One in the instructor's own text is taken as handed out without seal and signature.
pub(super) fn load(file: &str) -> Result<Handout, Failure> {
    let text = read_text(file)?;
    if text.trim_start().starts_with('{') {
        return Handout::read(&text).map_err(|error| refused(file, &error));
    }
    let draft = draft(file, &text)?;
    let mut given = Vec::new();
    for (span, wanted) in &draft.wanted {
        given.push(match wanted {
            Wanted::Code(code) => Given::Code(code.to_string()),
            Wanted::File(name) => Given::Written(beside(file, name, span, &text)?),
            Wanted::Own(_) => {
                let place = Place { file, text: &text };
                let error = place.diagnostic(
                    span.clone(),
                    "a code for each learner is drawn when the exercise is handed out".to_owned(),
                    None,
                );
                let hint = format!("`hidden-ohm exercise handout {file} --to FILE` does that");
                return Err(Failure::new(Kind::Input, error.to_string(), hint));
            }
        });
    }
    let vehicles = Vehicles {
        key: String::new(),
        given,
    };
    Handout::new(draft.rules, &vehicles, None, None).map_err(|error| refused(file, &error))
}

/// The instructor's own text, read and checked.
pub(super) fn draft(file: &str, text: &str) -> Result<Draft, Failure> {
    exercise::read(&shown(file), text).map_err(|problems| Failure {
        hint: format!("`hidden-ohm exercise check {file}` lists them again"),
        ..diagnosed(&problems, text)
    })
}

/// A hand-written scenario that stands beside the exercise.
pub(super) fn beside(
    exercise: &str,
    name: &str,
    span: &std::ops::Range<usize>,
    text: &str,
) -> Result<WrittenScenario, Failure> {
    let folder = Path::new(exercise).parent().unwrap_or(Path::new(""));
    let path = folder.join(name);
    let text = fs::read_to_string(&path).map_err(|error| {
        let place = Place {
            file: exercise,
            text,
        };
        let said = format!(
            "the scenario file {} cannot be read: {error}",
            path.display()
        );
        let diagnostic = place.diagnostic(span.clone(), said, None);
        Failure::new(
            Kind::Input,
            diagnostic.to_string(),
            "files are looked for beside the exercise",
        )
    })?;
    Ok(WrittenScenario {
        file: name.to_owned(),
        text,
    })
}

/// The vehicles, with the passphrase from a file, the environment or the person at the terminal.
pub(super) fn vehicles(handout: &Handout, secret: &Secret) -> Result<Vehicles, Failure> {
    let given = if handout.is_sealed() {
        passphrase(secret)?
    } else {
        None
    };
    handout.open(given.as_deref()).map_err(|error| {
        let hint = match error {
            HandoutError::Passphrase => "check its spelling; capitals count".to_owned(),
            HandoutError::NeedsPassphrase => {
                format!("give it with --passphrase-file FILE or in {VARIABLE}")
            }
            _ => "ask for the file again".to_owned(),
        };
        Failure::new(Kind::Input, error.to_string(), hint)
    })
}

/// The passphrase from a file, from the environment, or from the person at the terminal.
pub(super) fn passphrase(secret: &Secret) -> Result<Option<String>, Failure> {
    if let Some(file) = &secret.passphrase_file {
        let text = read_text(file)?;
        return Ok(Some(text.lines().next().unwrap_or("").trim().to_owned()));
    }
    if let Ok(given) = std::env::var(VARIABLE) {
        return Ok(Some(given));
    }
    ask("Passphrase of the exercise: ")
}

/// Asks the person at the terminal; nothing where there is none.
pub(super) fn ask(question: &str) -> Result<Option<String>, Failure> {
    if !std::io::stdin().is_terminal() {
        return Ok(None);
    }
    let mut out = anstream::stderr();
    write!(out, "{question}")?;
    out.flush()?;
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line)?;
    Ok(Some(line.trim().to_owned()).filter(|line| !line.is_empty()))
}

/// Keeps an exercise with the learner's own files, so that an attempt can be gone on with.
pub(super) fn keep(handout: &Handout) -> Result<(), Failure> {
    let path = kept(handout.hash())?;
    if path.exists() {
        return Ok(());
    }
    fs::write(&path, handout.text()).map_err(|error| {
        Failure::file(
            "keep the exercise",
            &path,
            &error,
            "set HIDDEN_OHM_HOME to a folder you can write to",
        )
    })
}

/// The exercise an attempt was begun with.
pub(in super::super) fn of_sitting(sitting: &Sitting) -> Result<Handout, Failure> {
    let path = kept(&sitting.hash)?;
    let text = fs::read_to_string(&path).map_err(|error| {
        let hint =
            "start it again on the machine it was begun on, or have it marked by the instructor";
        Failure::file("read the exercise", &path, &error, hint)
    })?;
    Handout::read(&text).map_err(|error| refused(&path.display().to_string(), &error))
}

fn kept(hash: &str) -> Result<PathBuf, Failure> {
    let folder = folders::state()?.join("exercises");
    fs::create_dir_all(&folder).map_err(|error| {
        Failure::file(
            "make the folder",
            &folder,
            &error,
            "set HIDDEN_OHM_HOME to a folder you can write to",
        )
    })?;
    let short: String = hash
        .chars()
        .filter(char::is_ascii_hexdigit)
        .take(24)
        .collect();
    Ok(folder.join(format!("{short}.handout")))
}

pub(super) fn refused(file: &str, error: &HandoutError) -> Failure {
    let kind = match error {
        HandoutError::Rewritten | HandoutError::Changed | HandoutError::Signature => Kind::No,
        _ => Kind::Input,
    };
    Failure::new(
        kind,
        format!("{}: {error}", shown(file)),
        "ask for the file again",
    )
}
