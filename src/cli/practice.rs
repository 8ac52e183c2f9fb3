//! `practice` and `resume`: a vehicle at the prompt, from a script, or from a pipe.

use std::io::IsTerminal;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use crate::bay::Bay;
use crate::certify::Certifier;
use crate::console::{Console, Step};
use crate::record::{Attempt, ENGINE, Entry, FORMAT, Header, Mismatch, replay};
use crate::report::text::{Line, Text, Tone};

use super::arguments::{Practice, Resume, Units};
use super::attempt_file::{self, AttemptFile};
use super::failure::{Failure, Kind};
use super::progress::suited_code;
use super::prompt::{Prompt, Typed};
use super::script::{Script, piped};
use super::session::{After, Session, entry};
use super::source::{Source, library};
use super::ui::Ui;
use super::{debrief, exercise, folders};

/// Works a scenario.
pub(super) fn run(asked: &Practice, units: Units, ui: &mut Ui) -> Result<(), Failure> {
    if asked.scenario.as_deref() == Some("-") && asked.script.as_deref() == Some("-") {
        let error = "the scenario and the script cannot both come from standard input";
        return Err(Failure::new(
            Kind::Usage,
            error,
            "put one of them in a file",
        ));
    }
    let certifier = Certifier::new(library()?);
    let source = match &asked.scenario {
        Some(text) => Source::named(text)?,
        None => Source::Code(suited_code(
            &certifier,
            asked.level,
            asked.vehicle.as_deref(),
        )?),
    };
    let scenario = source.open(&certifier)?;
    let script = asked.script.as_deref().map(Script::open).transpose()?;
    let bay = Bay::open(scenario, units.system()).map_err(|error| unsolved(&error))?;
    // The place to record in is made before any work is done, so that nothing can be lost for want of it.
    let record = match (&asked.attempt, &script) {
        (Some(path), _) => Some(AttemptFile::create(path, &header(&source, units))?),
        (None, Some(_)) => None,
        (None, None) => Some(fresh_record(&source, units)?),
    };
    let mut session = Session {
        console: Console::new(bay),
        record,
        json: asked.json,
    };
    session.greet(ui)?;
    if asked.guided {
        session.take("guide on", ui)?;
    }
    let after = match script {
        Some(script) => from_script(&mut session, script, ui)?,
        None => by_hand(&mut session, ui)?,
    };
    finish(session, after, ui)
}

/// Goes on with an attempt.
pub(super) fn resume(asked: &Resume, ui: &mut Ui) -> Result<(), Failure> {
    let path = match &asked.attempt {
        Some(name) => folders::named_attempt(name),
        None => latest_unfinished()?,
    };
    let (mut record, attempt) = AttemptFile::open(&path)?;
    if attempt.closing.is_some() {
        let hint = format!(
            "`hidden-ohm debrief {}` shows what came of it",
            path.display()
        );
        return Err(Failure::new(
            Kind::Input,
            format!("{}: the vehicle has been handed back", path.display()),
            hint,
        ));
    }
    let mut console = replayed(&path, &attempt)?;
    mend(&mut record, &attempt, &mut console, ui)?;
    if console.bay().closed() {
        let session = Session {
            console,
            record: Some(record),
            json: false,
        };
        return done(session, After::HandedBack, &attempt, ui);
    }
    let mut session = Session {
        console,
        record: Some(record),
        json: false,
    };
    session.greet(ui)?;
    if let Some(sitting) = &attempt.header.exercise {
        let (title, vehicle, number) = (&sitting.title, sitting.scenario, sitting.attempt);
        ui.note_line(&format!(
            "Exercise \"{title}\", vehicle {vehicle}, try {number}."
        ));
    }
    let again = attempt.entries.len();
    ui.note_line(&format!(
        "{again} action{} done so far; `log` reads them back.",
        if again == 1 { "" } else { "s" }
    ));
    let after = by_hand(&mut session, ui)?;
    done(session, after, &attempt, ui)
}

/// The end of work that was gone on with: self-practice, or for an exercise.
fn done(session: Session, after: After, attempt: &Attempt, ui: &mut Ui) -> Result<(), Failure> {
    match &attempt.header.exercise {
        Some(sitting) => {
            let handout = exercise::load::of_sitting(sitting)?;
            exercise::start::ended(session, after, &handout, ui)
        }
        None => finish(session, after, ui),
    }
}

/// Puts right what a stop in the middle of writing left: a torn last line is done again or cut off, and a vehicle that was
/// handed back gets its closing line.
fn mend(
    record: &mut AttemptFile,
    attempt: &Attempt,
    console: &mut Console,
    ui: &mut Ui,
) -> Result<(), Failure> {
    let mut last = attempt
        .entries
        .last()
        .map(|recorded| recorded.entry.clone());
    if !attempt.torn.is_empty() {
        let again = attempt
            .torn_line()
            .and_then(|line| work(console, &line).ok());
        let again = again.filter(|entry| record.was_writing(attempt, entry));
        record.mend(attempt, again.as_ref())?;
        ui.note_line(&format!(
            "The last line of {} was cut off in the middle of being written; {}.",
            record.path().display(),
            again.as_ref().map_or_else(
                || "it has been dropped".to_owned(),
                |entry| format!("`{}` has been done again", entry.line)
            )
        ));
        last = again.or(last);
    }
    match last {
        Some(last) if console.bay().closed() => record.close(&last),
        _ => Ok(()),
    }
}

/// Does one recorded line.
pub(super) fn work(console: &mut Console, line: &str) -> Result<Entry, String> {
    match console.submit(line) {
        Step::Accepted(reply) => Ok(entry(&reply)),
        Step::Refused { error, .. } => Err(error),
        Step::Quit | Step::Blank => Err("it does nothing on the vehicle".to_owned()),
    }
}

/// Works a record through again, checking every outcome.
pub(super) fn replayed(path: &Path, attempt: &Attempt) -> Result<Console, Failure> {
    let header = &attempt.header;
    let named = |mismatch: &Mismatch| {
        let kind = if matches!(mismatch, Mismatch::OtherEngine { .. }) {
            Kind::Input
        } else {
            Kind::No
        };
        Failure::new(
            kind,
            format!("{}: {mismatch}", path.display()),
            "the file has been left as it is",
        )
    };
    if header.engine != ENGINE {
        return Err(named(&Mismatch::OtherEngine {
            made: header.engine,
        }));
    }
    let units = Units::named(&header.units).ok_or_else(|| {
        Failure::new(
            Kind::Input,
            format!(
                "{}: line 1: there are no units `{}`",
                path.display(),
                header.units
            ),
            "",
        )
    })?;
    let bay = if let Some(sitting) = &header.exercise {
        exercise::start::reopened(sitting, units.system())?
    } else {
        let scenario = Source::recorded(header)?.open(&Certifier::new(library()?))?;
        Bay::open(scenario, units.system()).map_err(|error| unsolved(&error))?
    };
    let mut console = Console::new(bay);
    replay(attempt, |line| work(&mut console, line)).map_err(|mismatch| named(&mismatch))?;
    Ok(console)
}

fn finish(session: Session, after: After, ui: &mut Ui) -> Result<(), Failure> {
    session.farewell(after, ui);
    if after != After::HandedBack {
        return Ok(());
    }
    let json = session.json;
    debrief::closed(session.console, json, ui)
}

/// Lines from a script: each is shown after the prompt, so that the output reads like a session.
pub(super) fn from_script(
    session: &mut Session,
    mut script: Script,
    ui: &mut Ui,
) -> Result<After, Failure> {
    while let Some(line) = script.next()? {
        if !session.json {
            let prompt = prompt_row(session, ui)?;
            let mut text = Text::new();
            text.push(Line::new(Tone::Muted, &prompt).and(Tone::Plain, &line));
            ui.show(&text)?;
        }
        let after = session.take(&line, ui)?;
        if after != After::More {
            let left = script.left();
            if left > 0 {
                ui.note_line(&format!(
                    "{left} more line{} of the script not run.",
                    if left == 1 { "" } else { "s" }
                ));
            }
            return Ok(after);
        }
    }
    Ok(After::Left)
}

/// Shows whatever of the prompt stands above the row a line is typed on, and gives that row. A line editor redraws its own
/// row only, and would wipe out half of a list of completions under a prompt of two.
fn prompt_row(session: &Session, ui: &mut Ui) -> Result<String, Failure> {
    let prompt = session.console.prompt(ui.view());
    let Some((glance, row)) = prompt.rsplit_once('\n') else {
        return Ok(prompt);
    };
    let mut text = Text::new();
    text.say(Tone::Muted, glance);
    ui.show(&text)?;
    Ok(row.to_owned())
}

/// Lines from a person, or from a pipe, which gets no prompt.
pub(super) fn by_hand(session: &mut Session, ui: &mut Ui) -> Result<After, Failure> {
    if !std::io::stdin().is_terminal() {
        return from_pipe(session, ui);
    }
    let history = folders::state().ok().map(|folder| folder.join("history"));
    let mut prompt = Prompt::new(session.console.names().clone(), history)?;
    loop {
        let row = prompt_row(session, ui)?;
        match prompt.read(&row)? {
            Typed::Line(line) => {
                let after = session.take(&line, ui)?;
                if after != After::More {
                    return Ok(after);
                }
            }
            Typed::Dropped => ui.note_line("Line dropped. `quit` leaves; the work is kept."),
            Typed::End => return Ok(After::Left),
        }
    }
}

fn from_pipe(session: &mut Session, ui: &mut Ui) -> Result<After, Failure> {
    while let Some(line) = piped()? {
        let after = session.take(&line, ui)?;
        if after != After::More {
            return Ok(after);
        }
    }
    Ok(After::Left)
}

fn header(source: &Source, units: Units) -> Header {
    let (code, written) = source.for_record();
    Header {
        format: FORMAT,
        engine: ENGINE,
        code,
        written,
        units: units.name().to_owned(),
        started: now(),
        exercise: None,
    }
}

pub(super) fn now() -> String {
    format!("{:.0}", Timestamp::now())
}

/// A new record in the learner's own folder, named by the time and the scenario.
fn fresh_record(source: &Source, units: Units) -> Result<AttemptFile, Failure> {
    let folder = folders::attempts()?;
    let header = header(source, units);
    let stamp = header.started.replace([':', '-'], "");
    let subject = header.code.clone().unwrap_or_else(|| "written".to_owned());
    // Two attempts begun in the same second get different numbers.
    let names = std::iter::once(String::new()).chain((2..100).map(|number| format!("-{number}")));
    let free = names
        .map(|more| folder.join(format!("{stamp}-{subject}{more}.jsonl")))
        .find(|path| !path.exists());
    let path = free.unwrap_or_else(|| folder.join(format!("{stamp}-{subject}.jsonl")));
    AttemptFile::create(&path, &header)
}

/// The attempt begun last among those that are not finished and can be read.
fn latest_unfinished() -> Result<PathBuf, Failure> {
    let folder = folders::attempts()?;
    let every = folders::every_attempt(&folder)?;
    let unfinished = |path: &PathBuf| {
        attempt_file::read(path)
            .is_ok_and(|attempt| attempt.closing.is_none() && attempt.header.engine == ENGINE)
    };
    every.into_iter().rev().find(unfinished).ok_or_else(|| {
        Failure::new(
            Kind::No,
            "there is no unfinished attempt to go on with",
            "`hidden-ohm practice` begins one",
        )
    })
}

pub(super) fn unsolved(error: &dyn std::fmt::Display) -> Failure {
    Failure::new(
        Kind::Input,
        format!("this vehicle cannot be worked on: {error}"),
        "",
    )
}
