//! The instructor before the class: `exercise new`, `check`, `key`, `handout`, `show` and `reveal`.

use std::fmt::Write as _;
use std::fs::OpenOptions;
use std::io::Write;
use std::path::Path;

use data_encoding::HEXLOWER;
use jiff::Timestamp;
use serde_json::json;

use crate::certify::{Certifier, Difficulty};
use crate::exercise::bank::{CANDIDATES, Candidate, EQUAL, nearest};
use crate::exercise::{
    Draft, Feedback, Fresh, Given, Handout, Own, Rehearsal, Rules, Vehicles, Wanted, grouped,
    key_file, public, read_key, rehearse,
};
use crate::report::text::{Text, Tone};
use crate::scenario::{Generator, Scenario};
use crate::seed::{ScenarioCode, fresh, fresh_bytes};
use crate::vehicle::diagnostic::Source as Place;

use super::super::attempt_file::owner_only;
use super::super::failure::{Failure, Kind};
use super::super::scenario::revealed;
use super::super::source::{Source, fresh_code, library, read_text, shown};
use super::super::ui::Ui;
use super::arguments::{Check, HandOut, New, Secret};
use super::hall::coded;
use super::load::{ask, beside, draft, load, passphrase, refused, vehicles};
use super::start::{HONEST, date, what_counts};

/// Draws of a code of one level and theme before it is given up.
const MOST_DRAWS: usize = 400;

/// Writes a new exercise.
pub(super) fn new(asked: &New, ui: &mut Ui) -> Result<(), Failure> {
    let certifier = Certifier::new(library()?);
    let or_ask = |given: Option<String>, question: &str, usual: &str| -> Result<String, Failure> {
        match given {
            Some(given) => Ok(given),
            None => {
                Ok(ask(&format!("{question} [{usual}]: "))?.unwrap_or_else(|| usual.to_owned()))
            }
        }
    };
    let number = |text: String, what: &str| {
        text.parse::<u32>().map_err(|_| {
            Failure::new(
                Kind::Usage,
                format!("{what} must be a whole number, not `{text}`"),
                "",
            )
        })
    };
    let title = or_ask(asked.title.clone(), "Title", "An exercise")?;
    let count = number(
        or_ask(asked.vehicles.map(|n| n.to_string()), "Vehicles", "3")?,
        "the number of vehicles",
    )?;
    let level = number(
        or_ask(asked.level.map(|n| n.to_string()), "Level, 1 to 5", "2")?,
        "the level",
    )?;
    let level = u8::try_from(level)
        .ok()
        .filter(|level| (1..=5).contains(level));
    let level = level.ok_or_else(|| Failure::new(Kind::Usage, "levels run from 1 to 5", ""))?;
    let time = or_ask(
        asked.time.clone(),
        "Simulated time for each vehicle",
        "120 min",
    )?;
    let mut text = String::from(
        "# An exercise for Hidden Ohm. `hidden-ohm exercise check` reads it and tries every vehicle.\nformat = 1\n",
    );
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let _ = writeln!(text, "title = {}", quoted(&title));
    match &asked.closes {
        Some(closes) => {
            let _ = writeln!(text, "closes = {}", quoted(closes));
        }
        None => {
            text += "# opens = \"2026-03-02T08:00:00+01:00\"\n# closes = \"2026-03-06T18:00:00+01:00\"\n";
        }
    }
    let _ = writeln!(
        text,
        "tries = 1\ntime = {}\n# money = \"600.00\"",
        quoted(&time)
    );
    text +=
        "# instruments = [\"volts\", \"ohms\", \"lamp\", \"pump\"]   # without this line: all\n";
    text += "hints = false\nservice_data = true\nfeedback = \"at-once\"   # or \"after-closing\", \"never\"\n";
    if let Some(file) = &asked.class {
        let names = read_text(file)?;
        let names: Vec<String> = names
            .lines()
            .map(str::trim)
            .filter(|name| !name.is_empty())
            .map(|name| format!("    {},\n", quoted(name)))
            .collect();
        let _ = writeln!(text, "class = [\n{}]", names.concat());
    }
    text += "\n[marking]\npass = \"60 %\"\n# weights = { outcome = 40, cost = 15, technique = 15, calls = 20, safety = 10 }\n";
    for _ in 0..count {
        text += "\n[[vehicle]]\n";
        if asked.own {
            let theme = asked
                .theme
                .as_ref()
                .map_or_else(String::new, |theme| format!(", theme = {}", quoted(theme)));
            let _ = writeln!(text, "own = {{ level = {level}{theme}, codes = 6 }}");
        } else {
            let code = fresh_code(&certifier, level, None, asked.theme.as_deref())?;
            let _ = writeln!(text, "code = \"{code}\"");
        }
    }
    draft(&asked.file.display().to_string(), &text)?;
    write_new(&asked.file, &text, false)?;
    let file = asked.file.display();
    ui.note_line(&format!("{file} is written. Next: `hidden-ohm exercise check {file}`, then `hidden-ohm exercise handout {file} --to FILE`."));
    Ok(())
}

/// Checks exercise files.
pub(super) fn check(asked: &Check, ui: &mut Ui) -> Result<(), Failure> {
    let certifier = Certifier::new(library()?);
    let mut bad = false;
    for file in &asked.files {
        let text = read_text(file)?;
        if text.trim_start().starts_with('{') {
            let handout = Handout::read(&text).map_err(|error| refused(file, &error))?;
            ui.raw(&format!(
                "{}: as it was handed out, {}\n",
                shown(file),
                handout
                    .signer()
                    .map_or("not signed".to_owned(), |key| format!(
                        "signed by {}",
                        grouped(key)
                    ))
            ))?;
            continue;
        }
        let draft = draft(file, &text)?;
        caution(&draft.rules, ui);
        for (number, (span, wanted)) in draft.wanted.iter().enumerate() {
            if let Wanted::File(name) = wanted {
                beside(file, name, span, &text)?;
            }
            if asked.quick {
                continue;
            }
            let place = Place { file, text: &text };
            let (sound, said) = rehearsed(&certifier, file, &text, &draft, wanted, span)?;
            bad |= !sound;
            if asked.json {
                ui.json(&json!({ "file": shown(file), "vehicle": number + 1, "sound": sound, "said": said }))?;
            } else {
                let told = format!("vehicle {}: {said}", number + 1);
                let line = place.diagnostic(span.clone(), told, None);
                let mut text = Text::new();
                text.say(Tone::Plain, &line.to_string());
                ui.show(&text)?;
            }
        }
    }
    if bad {
        return Err(Failure::new(
            Kind::No,
            "not every vehicle can be done under these rules",
            "change the rules or the vehicle",
        ));
    }
    Ok(())
}

/// Rules that can be meant but seldom are.
fn caution(rules: &Rules, ui: &mut Ui) {
    if rules.feedback == Feedback::AtOnce && rules.tries > 1 {
        let mut text = Text::new();
        text.say(
            Tone::Caution,
            "Feedback at once tells what was wrong, so whoever tries a vehicle again knows it: `feedback = \"after-closing\"` waits.",
        );
        ui.note(&text);
    }
}

/// Tries one vehicle; for a rule, one code of it.
fn rehearsed(
    certifier: &Certifier,
    file: &str,
    text: &str,
    draft: &Draft,
    wanted: &Wanted,
    span: &std::ops::Range<usize>,
) -> Result<(bool, String), Failure> {
    let scenario = match wanted {
        Wanted::Code(code) => Source::Code(*code).open(certifier)?,
        Wanted::File(name) => Source::Written(beside(file, name, span, text)?).open(certifier)?,
        Wanted::Own(own) => {
            let (_, scenario) = drawn(certifier, own)?;
            scenario
        }
    };
    let currency = scenario.vehicle().currency.clone();
    let found = work(draft, scenario)?;
    Ok((found.solved, said(&found, &currency)))
}

fn work(draft: &Draft, scenario: Scenario) -> Result<Rehearsal, Failure> {
    rehearse(scenario, &draft.rules.limits())
        .map_err(|error| Failure::new(Kind::No, error.to_string(), ""))
}

fn said(found: &Rehearsal, currency: &str) -> String {
    let spent = crate::units::Money(found.spent).show(currency);
    let minutes = libm::round(found.seconds / 60.0);
    let (steps, last) = (
        found.steps.len(),
        found.steps.last().map_or("nothing", String::as_str),
    );
    if found.solved {
        return format!(
            "the reference does it in {minutes:.0} min for {spent}, {steps} steps, the last `{last}`"
        );
    }
    let why = found
        .stopped
        .as_deref()
        .unwrap_or("it found no repair that cured it");
    format!(
        "the reference does not do it: {why} ({minutes:.0} min, {spent}, {steps} steps, the last `{last}`)"
    )
}

/// A scenario that fits a rule.
fn drawn(certifier: &Certifier, own: &Own) -> Result<(ScenarioCode, Scenario), Failure> {
    for _ in 0..MOST_DRAWS {
        let version = Generator::newest().version;
        let code = ScenarioCode::new(version, own.set, own.level, fresh())
            .map_err(|error| Failure::new(Kind::Input, error.to_string(), ""))?;
        if let Ok(scenario) = certifier.generate(code)
            && own.theme.is_none_or(|theme| theme.fits(&scenario))
        {
            return Ok((code, scenario));
        }
    }
    let level = own.level;
    let error = format!("no vehicle of level {level} and that theme came up in {MOST_DRAWS} draws");
    Err(Failure::new(
        Kind::No,
        error,
        "try another level or another theme",
    ))
}

/// Makes a key.
pub(super) fn key(file: &Path, ui: &mut Ui) -> Result<(), Failure> {
    let text = key_file(fresh_bytes());
    write_new(file, &text, true)?;
    let key = read_key(&text)
        .ok_or_else(|| Failure::new(Kind::System, "the new key cannot be read back", ""))?;
    ui.raw(&format!("{}\n", public(&key)))?;
    ui.note_line(&format!("Keep {} to yourself. Tell the class the public key above: it stands in what they are handed out, signed.", file.display()));
    Ok(())
}

/// Makes the file to hand out.
pub(super) fn handout(asked: &HandOut, ui: &mut Ui) -> Result<(), Failure> {
    let certifier = Certifier::new(library()?);
    let text = read_text(&asked.file)?;
    let draft = draft(&asked.file, &text)?;
    caution(&draft.rules, ui);
    let key = asked.key.as_deref().map(signing_key).transpose()?;
    if let Some(named) = &draft.key
        && key.as_ref().map(public).as_ref() != Some(named)
    {
        let error = format!(
            "{} names the public key {named}, and this would not be signed with it",
            asked.file
        );
        return Err(Failure::new(
            Kind::No,
            error,
            "add --key FILE with that key, or take the line out",
        ));
    }
    let passphrase = if asked.open {
        None
    } else {
        Some(new_passphrase(&asked.secret)?)
    };
    let own_key: [u8; 32] = fresh_bytes();
    let mut given = Vec::new();
    for (number, (span, wanted)) in draft.wanted.iter().enumerate() {
        let number = number + 1;
        given.push(match wanted {
            Wanted::Code(_) | Wanted::File(_) => {
                let (sound, said) =
                    rehearsed(&certifier, &asked.file, &text, &draft, wanted, span)?;
                ui.note_line(&format!("Vehicle {number}: {said}."));
                if !sound && !asked.anyway {
                    let error = format!("vehicle {number} cannot be done under these rules");
                    return Err(Failure::new(
                        Kind::No,
                        error,
                        "change the rules or the vehicle, or add --anyway; nothing was written",
                    ));
                }
                match wanted {
                    Wanted::File(name) => Given::Written(beside(&asked.file, name, span, &text)?),
                    Wanted::Code(code) => Given::Code(code.to_string()),
                    Wanted::Own(_) => continue,
                }
            }
            Wanted::Own(own) => {
                let fits = |scenario: Scenario| Ok(asked.anyway || work(&draft, scenario)?.solved);
                let (codes, width) = equal(&certifier, own, fits)?;
                let costs: Vec<String> = codes
                    .iter()
                    .map(|code| format!("{:.2}", code.difficulty))
                    .collect();
                ui.note_line(&format!(
                    "Vehicle {number}: {} codes of difficulty {}, at most {width:.2} apart.",
                    codes.len(),
                    costs.join(", ")
                ));
                Given::Own(codes.into_iter().map(|code| code.code).collect())
            }
        });
    }
    let vehicles = Vehicles {
        key: HEXLOWER.encode(&own_key),
        given,
    };
    let fresh = Fresh {
        salt: fresh_bytes(),
        nonce: fresh_bytes(),
    };
    let seal = passphrase.as_deref().map(|passphrase| (passphrase, &fresh));
    let handout = Handout::new(draft.rules, &vehicles, seal, key.as_ref())
        .map_err(|error| refused(&asked.file, &error))?;
    write_new(&asked.to, &handout.text(), false)?;
    let mut told = what_counts(&handout);
    told.say(Tone::Muted, protection(&handout));
    told.say(
        Tone::Hint,
        &format!(
            "Hand out {}. A learner types `hidden-ohm exercise start {}`.",
            asked.to.display(),
            asked.to.display()
        ),
    );
    ui.note(&told);
    Ok(())
}

/// What the seal does and does not do.
fn protection(handout: &Handout) -> &'static str {
    if handout.is_sealed() {
        "Until the passphrase is given nobody can read the vehicles. After that the program on the learner's machine knows them, and whoever takes it apart can too; no code is shown, and `scenario show` and `ladder` refuse the file."
    } else {
        "The vehicles are not sealed: a glance does not show them, but whoever decodes the file finds the codes. Leave --open out to seal them with a passphrase."
    }
}

/// Codes of equal difficulty for a rule that can all be done under the rules, and by how much they differ.
fn equal(
    certifier: &Certifier,
    own: &Own,
    mut fits: impl FnMut(Scenario) -> Result<bool, Failure>,
) -> Result<(Vec<Candidate>, f64), Failure> {
    let wanted = own.codes as usize;
    let mut candidates: Vec<Candidate> = Vec::new();
    for _ in 0..CANDIDATES * wanted {
        let (code, scenario) = drawn(certifier, own)?;
        if !fits(scenario.clone())? {
            continue;
        }
        let certificate = certifier.certificate(&scenario.reveal());
        let certificate =
            certificate.map_err(|error| Failure::new(Kind::No, format!("{code}: {error}"), ""))?;
        candidates.push(Candidate {
            code: code.to_string(),
            difficulty: Difficulty {
                minutes: certificate.minutes,
                bits: certificate.bits,
                depth: certificate.sequence.len(),
            }
            .index(),
        });
        // Once they are equal the rest would only make them more so.
        if let Some((best, width)) = nearest(candidates.clone(), wanted)
            && width <= EQUAL
        {
            return Ok((best, width));
        }
    }
    let level = own.level;
    let error = format!("no {wanted} codes of equal difficulty came up at level {level}");
    Err(Failure::new(
        Kind::No,
        error,
        "ask for fewer codes, name a theme or a vehicle, or allow more time and money",
    ))
}

fn new_passphrase(secret: &Secret) -> Result<String, Failure> {
    let given = passphrase(secret)?.filter(|given| !given.is_empty());
    given.ok_or_else(|| {
        let hint = "give one with --passphrase-file FILE or in HIDDEN_OHM_PASSPHRASE, or add --open to do without";
        Failure::new(Kind::Usage, "the vehicles are sealed with a passphrase, and none was given", hint)
    })
}

fn signing_key(file: &str) -> Result<ed25519_dalek::SigningKey, Failure> {
    read_key(&read_text(file)?).ok_or_else(|| {
        Failure::new(
            Kind::Input,
            format!("{file} is no secret key"),
            "`hidden-ohm exercise key FILE` makes one",
        )
    })
}

/// What an exercise asks.
pub(super) fn show(file: &str, ui: &mut Ui) -> Result<(), Failure> {
    let handout = load(file)?;
    ui.show(&what_counts(&handout))
}

/// The vehicles and what was wrong with them.
pub(super) fn reveal(file: &str, secret: &Secret, ui: &mut Ui) -> Result<(), Failure> {
    let certifier = Certifier::new(library()?);
    let handout = load(file)?;
    let now = Timestamp::now();
    match date(handout.rules.closes.as_deref()) {
        Some(closes) if now < closes => {
            return Err(Failure::new(
                Kind::No,
                format!("the exercise is open until {closes}"),
                "its vehicles are revealed after that",
            ));
        }
        None => {
            return Err(Failure::new(
                Kind::No,
                "the exercise has no closing date, so it is never closed",
                "the instructor's own text names the codes",
            ));
        }
        Some(_) => {}
    }
    let vehicles = vehicles(&handout, secret)?;
    for (number, given) in vehicles.given.iter().enumerate() {
        let sources: Vec<Source> = match given {
            Given::Code(code) => vec![coded(code)?],
            Given::Written(written) => vec![Source::Written(written.clone())],
            Given::Own(codes) => codes
                .iter()
                .map(|code| coded(code))
                .collect::<Result<_, _>>()?,
        };
        for source in sources {
            let mut text = Text::new();
            text.say(Tone::Heading, &format!("Vehicle {}", number + 1));
            text.append(revealed(source.open(&certifier)?, &certifier)?);
            ui.show(&text)?;
        }
    }
    ui.note_line(HONEST);
    Ok(())
}

/// Writes a file that must not exist yet.
pub(super) fn write_new(path: &Path, text: &str, private: bool) -> Result<(), Failure> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    if private {
        owner_only(&mut options);
    }
    let written = options.open(path).and_then(|mut file| {
        file.write_all(text.as_bytes())
            .and_then(|()| file.sync_all())
    });
    written
        .map_err(|error| Failure::file("write", path, &error, "name a file that is not there yet"))
}
