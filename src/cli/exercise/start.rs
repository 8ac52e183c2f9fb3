//! `exercise start`: a learner's attempt, from what counts to the receipt.

use std::io::IsTerminal;
use std::path::PathBuf;

use jiff::Timestamp;

use crate::bay::Bay;
use crate::certify::Certifier;
use crate::console::{Console, closest};
use crate::exercise::{Feedback, Handout, PARTS, Rules, grouped};
use crate::record::{ENGINE, FORMAT, Header, Receipt, Sitting};
use crate::report::text::{Text, Tone};
use crate::units::System;

use super::super::arguments::Units;
use super::super::attempt_file::{self, AttemptFile};
use super::super::failure::{Failure, Kind};
use super::super::practice::{by_hand, from_script, now, unsolved};
use super::super::script::Script;
use super::super::session::{After, Session};
use super::super::source::library;
use super::super::ui::Ui;
use super::super::{debrief, folders};
use super::arguments::{Secret, Start};
use super::hall::scenario;
use super::load::{ask, keep, load, of_sitting, vehicles};

/// What files alone can and cannot show; the same words in the manual.
pub(super) const HONEST: &str = "Every reading in an attempt is worked again when it is marked, and a changed exercise or attempt shows. \
What files alone cannot show: an attempt rebuilt from chosen actions, a wrong date, a try more than was counted, a friend's copy.";

/// An attempt of the same learner at the same exercise that is on this machine.
struct Earlier {
    vehicle: u32,
    finished: bool,
    path: PathBuf,
}

/// Begins an attempt.
pub(super) fn start(asked: &Start, units: Units, ui: &mut Ui) -> Result<(), Failure> {
    let certifier = Certifier::new(library()?);
    let handout = load(&asked.exercise)?;
    let rules = &handout.rules;
    in_time(rules, Timestamp::now())?;
    let learner = learner(rules, asked.name.as_deref(), ui)?;
    let vehicles = vehicles(&handout, &asked.secret)?;
    let earlier = earlier(&handout, &learner)?;
    let number = number(rules, asked.vehicle, &earlier)?;
    let tries = earlier
        .iter()
        .filter(|earlier| earlier.vehicle == number)
        .count();
    let attempt = u32::try_from(tries).unwrap_or(u32::MAX - 1) + 1;
    if attempt > rules.tries {
        let same = |earlier: &&Earlier| earlier.vehicle == number && !earlier.finished;
        let hint = earlier.iter().find(same).map_or_else(
            || "hand in what there is".to_owned(),
            |open| {
                format!(
                    "`hidden-ohm resume {}` goes on with it",
                    open.path.display()
                )
            },
        );
        let error = format!(
            "vehicle {number} may be tried {} time{}, and that is used up here",
            rules.tries,
            plural(rules.tries)
        );
        return Err(Failure::new(Kind::No, error, hint));
    }
    let job = vehicles.job(rules, number, &learner).ok_or_else(|| {
        Failure::new(
            Kind::Usage,
            format!("the exercise has no vehicle {number}"),
            format!("it has 1 to {}", rules.vehicles),
        )
    })?;
    let bay =
        Bay::open(scenario(&job, &certifier)?, units.system()).map_err(|error| unsolved(&error))?;
    let script = asked.script.as_deref().map(Script::open).transpose()?;
    keep(&handout)?;
    let header = Header {
        format: FORMAT,
        engine: ENGINE,
        code: None,
        written: None,
        units: units.name().to_owned(),
        started: now(),
        exercise: Some(Sitting {
            hash: handout.hash().to_owned(),
            title: rules.title.clone(),
            learner,
            scenario: number,
            attempt,
        }),
    };
    let record = match &asked.attempt {
        Some(path) => AttemptFile::create(path, &header)?,
        None => fresh_record(&header)?,
    };
    let mut session = Session {
        console: Console::new(bay.under(rules.limits())),
        record: Some(record),
        json: asked.json,
    };
    if !asked.json {
        let mut text = what_counts(&handout);
        text.say(
            Tone::Heading,
            &format!(
                "Vehicle {number} of {}, try {attempt} of {}",
                rules.vehicles, rules.tries
            ),
        );
        text.blank();
        ui.show(&text)?;
    }
    session.greet(ui)?;
    let after = match script {
        Some(script) => from_script(&mut session, script, ui)?,
        None => by_hand(&mut session, ui)?,
    };
    ended(session, after, &handout, ui)
}

/// The bay of an attempt that is gone on with or looked at again; asks for the passphrase if the exercise is sealed.
pub(in super::super) fn reopened(sitting: &Sitting, system: System) -> Result<Bay, Failure> {
    let certifier = Certifier::new(library()?);
    let handout = of_sitting(sitting)?;
    let vehicles = vehicles(&handout, &Secret::default())?;
    let job = vehicles
        .job(&handout.rules, sitting.scenario, &sitting.learner)
        .ok_or_else(|| {
            Failure::new(
                Kind::Input,
                format!("line 1: the exercise has no vehicle {}", sitting.scenario),
                "",
            )
        })?;
    let bay = Bay::open(scenario(&job, &certifier)?, system).map_err(|error| unsolved(&error))?;
    Ok(bay.under(handout.rules.limits()))
}

/// What a learner is told when the prompt is left: how to go on, or what to hand in.
pub(in super::super) fn ended(
    session: Session,
    after: After,
    handout: &Handout,
    ui: &mut Ui,
) -> Result<(), Failure> {
    if after != After::HandedBack {
        session.farewell(after, ui);
        return Ok(());
    }
    if let Some(record) = &session.record {
        let path = record.path().display().to_string();
        let receipt = record.receipt();
        if session.json {
            ui.json(&serde_json::json!({ "receipt": receipt.map(|receipt| receipt.to_string()), "attempt": path }))?;
        } else {
            ui.show(&hand_in(&path, receipt.as_ref()))?;
        }
    }
    match feedback_due(&handout.rules, Timestamp::now()) {
        Ok(()) => debrief::closed(session.console, session.json, ui),
        Err(reason) => {
            ui.note_line(&reason);
            Ok(())
        }
    }
}

/// What to hand in.
pub(super) fn hand_in(path: &str, receipt: Option<&Receipt>) -> Text {
    let mut text = Text::new();
    text.say(Tone::Heading, "Hand in this file");
    text.say(Tone::Word, &format!("  {path}"));
    if let Some(receipt) = receipt {
        text.say(Tone::Heading, "and this receipt, pasted or read out:");
        text.say(Tone::Reading, &format!("  {receipt}"));
    }
    text
}

/// Whether marks and explanation may be shown now; what to say if not.
pub(in super::super) fn feedback_due(rules: &Rules, now: Timestamp) -> Result<(), String> {
    match (rules.feedback, date(rules.closes.as_deref())) {
        (Feedback::AtOnce, _) => Ok(()),
        (Feedback::AfterClosing, Some(closes)) if now >= closes => Ok(()),
        (Feedback::AfterClosing, _) => {
            let when = rules.closes.as_deref().unwrap_or("closing");
            Err(format!(
                "Marks and explanation come after {when}: `hidden-ohm debrief` shows them then."
            ))
        }
        (Feedback::Never, _) => Err("Marks and explanation come from your instructor.".to_owned()),
    }
}

fn in_time(rules: &Rules, now: Timestamp) -> Result<(), Failure> {
    if let Some(opens) = date(rules.opens.as_deref())
        && now < opens
    {
        let error = format!("the exercise opens at {opens}");
        return Err(Failure::new(
            Kind::No,
            error,
            "try again then; this machine's clock decides",
        ));
    }
    if let Some(closes) = date(rules.closes.as_deref())
        && now > closes
    {
        let error = format!("the exercise closed at {closes}");
        return Err(Failure::new(
            Kind::No,
            error,
            "ask the instructor; `resume` still goes on with what was begun",
        ));
    }
    Ok(())
}

pub(super) fn date(text: Option<&str>) -> Option<Timestamp> {
    text.and_then(|text| text.parse().ok())
}

fn learner(rules: &Rules, given: Option<&str>, ui: &mut Ui) -> Result<String, Failure> {
    let given = match given {
        Some(given) => Some(given.to_owned()),
        None if rules.class.is_empty() => ask("Your name: ")?,
        None => chosen(&rules.class, ui)?,
    };
    let Some(given) = given else {
        return Err(Failure::new(
            Kind::Usage,
            "nobody's name was given",
            "add --as \"YOUR NAME\"",
        ));
    };
    rules.learner(&given).ok_or_else(|| {
        let near = closest(&given, rules.class.iter().map(String::as_str));
        let hint = near.first().map_or_else(
            || "write it as on the class list".to_owned(),
            |near| format!("did you mean \"{near}\"?"),
        );
        Failure::new(
            Kind::Input,
            format!("\"{given}\" is not on the class list"),
            hint,
        )
    })
}

/// A name from the class list by its number there, or whatever else was typed; nothing where nobody can be asked.
fn chosen(class: &[String], ui: &mut Ui) -> Result<Option<String>, Failure> {
    if !std::io::stdin().is_terminal() {
        return Ok(None);
    }
    let mut list = Text::new();
    list.say(Tone::Heading, "Who are you?");
    for (place, name) in class.iter().enumerate() {
        list.say(Tone::Plain, &format!("{:>4}  {name}", place + 1));
    }
    ui.note(&list);
    let given = ask("Your number: ")?;
    let numbered = |given: &String| {
        let number = given.parse::<usize>().ok()?.checked_sub(1)?;
        class.get(number).cloned()
    };
    Ok(given.map(|given| numbered(&given).unwrap_or(given)))
}

/// Which vehicle: the one asked for, or the first that is not finished.
fn number(rules: &Rules, asked: Option<u32>, earlier: &[Earlier]) -> Result<u32, Failure> {
    if let Some(asked) = asked {
        return Ok(asked);
    }
    let finished = |number: &u32| {
        earlier
            .iter()
            .any(|earlier| earlier.vehicle == *number && earlier.finished)
    };
    (1..=rules.vehicles)
        .find(|number| !finished(number))
        .ok_or_else(|| {
            let hint = if rules.tries > 1 {
                "`--vehicle N` tries one again"
            } else {
                "hand in what there is"
            };
            Failure::new(Kind::No, "every vehicle of the exercise is finished", hint)
        })
}

fn earlier(handout: &Handout, learner: &str) -> Result<Vec<Earlier>, Failure> {
    let mut found = Vec::new();
    for path in folders::every_attempt(&folders::attempts()?)? {
        let Ok(attempt) = attempt_file::read(&path) else {
            continue;
        };
        let Some(sitting) = attempt.header.exercise else {
            continue;
        };
        if sitting.hash == handout.hash() && sitting.learner == learner {
            found.push(Earlier {
                vehicle: sitting.scenario,
                finished: attempt.closing.is_some(),
                path,
            });
        }
    }
    Ok(found)
}

fn fresh_record(header: &Header) -> Result<AttemptFile, Failure> {
    let folder = folders::attempts()?;
    let stamp = header.started.replace([':', '-'], "");
    let sitting = header.exercise.as_ref();
    let name: String = sitting
        .map_or("", |sitting| sitting.learner.as_str())
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '-' })
        .take(40)
        .collect();
    let number = sitting.map_or(1, |sitting| sitting.scenario);
    let names = std::iter::once(String::new()).chain((2..100).map(|more| format!("-{more}")));
    let path = names
        .map(|more| folder.join(format!("{stamp}-{name}-{number}{more}.jsonl")))
        .find(|path| !path.exists())
        .unwrap_or_else(|| folder.join(format!("{stamp}-{name}-{number}.jsonl")));
    AttemptFile::create(&path, header)
}

/// The rules in words.
pub(super) fn what_counts(handout: &Handout) -> Text {
    let rules = &handout.rules;
    let mut text = Text::new();
    text.say(Tone::Heading, &format!("EXERCISE    {}", rules.title));
    let mut row = |label: &str, body: String| {
        let line = crate::report::text::Line::new(Tone::Heading, format!("  {label:<10}"))
            .and(Tone::Plain, body);
        text.push(line);
    };
    row(
        "Vehicles",
        format!(
            "{}, each tried at most {} time{}",
            rules.vehicles,
            rules.tries,
            plural(rules.tries)
        ),
    );
    if rules.opens.is_some() || rules.closes.is_some() {
        let ends = |label: &str, date: &Option<String>| {
            date.as_ref().map(|date| format!("{label} {date}"))
        };
        let both: Vec<String> = [ends("opens", &rules.opens), ends("closes", &rules.closes)]
            .into_iter()
            .flatten()
            .collect();
        row("Dates", both.join(", "));
    }
    let minutes = rules
        .seconds
        .map(|seconds| format!("{} min of simulated time", seconds / 60));
    let money = rules
        .money
        .map(|money| format!("{} to spend", crate::units::Money(money).show("")));
    let budget: Vec<String> = [minutes, money].into_iter().flatten().collect();
    row(
        "Budget",
        if budget.is_empty() {
            "no limit".to_owned()
        } else {
            budget.join(", ")
        },
    );
    row(
        "Tools",
        rules
            .tools
            .as_ref()
            .map_or_else(|| "all".to_owned(), |tools| tools.join(" ")),
    );
    let given = |yes: bool| if yes { "given" } else { "withheld" };
    row(
        "Help",
        format!(
            "hints {}, service figures {}",
            given(rules.hints),
            given(rules.service_data)
        ),
    );
    let counts = if rules.weights.is_empty() {
        PARTS.join(", ")
    } else {
        let weighed = rules.weights.iter().filter(|(_, weight)| **weight > 0);
        let weighed: Vec<String> = weighed
            .map(|(part, weight)| format!("{part} {weight}"))
            .collect();
        weighed.join(", ")
    };
    let pass = rules
        .pass
        .map_or_else(String::new, |pass| format!("; {pass} % passes"));
    row("Counts", format!("{counts}{pass}"));
    row(
        "Marks",
        match rules.feedback {
            Feedback::AtOnce => "shown at the end".to_owned(),
            Feedback::AfterClosing => "shown after closing".to_owned(),
            Feedback::Never => "from your instructor".to_owned(),
        },
    );
    row(
        "Signed",
        match handout.signer() {
            Some(key) => format!("by {}: compare it with your instructor's key", grouped(key)),
            None => "by nobody: whoever passed the file on could have changed it".to_owned(),
        },
    );
    text.say(Tone::Muted, HONEST);
    text
}

fn plural(count: u32) -> &'static str {
    if count == 1 { "" } else { "s" }
}
