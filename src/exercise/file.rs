//! The instructor's file of an exercise, in TOML. Everything wrong in it comes back at once, with line and column.

use std::collections::BTreeMap;
use std::ops::Range;

use jiff::Timestamp;
use toml::Spanned;

use super::rules::{Feedback, MOST_SECONDS, MOST_TRIES, MOST_VEHICLES, MOST_WEIGHT, PARTS, Rules};
use crate::bay::Equipment;
use crate::scenario::{Generator, Theme};
use crate::seed::{ScenarioCode, VehicleSet};
use crate::units::Seconds;
use crate::vehicle::Diagnostic;
use crate::vehicle::diagnostic::{Source, did_you_mean};
use crate::vehicle::reader::{Reader, Table, choose};

/// Codes a rule chooses from when the file does not say how many.
const USUAL_CODES: u32 = 6;
/// More codes take too long to hold against each other.
const MOST_CODES: u32 = 60;

/// A vehicle as the file asks for it.
#[derive(Clone, PartialEq, Debug)]
pub enum Wanted {
    /// A code for everybody.
    Code(ScenarioCode),
    /// A hand-written scenario for everybody, by the name of its file.
    File(String),
    /// A code for each learner.
    Own(Own),
}

/// A rule that gives each learner a code of equal difficulty.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Own {
    /// Level, 1 to 5.
    pub level: u8,
    /// Vehicle types, as codes name them.
    pub set: u8,
    /// What the fault is about.
    pub theme: Option<Theme>,
    /// How many codes there are to go round.
    pub codes: u32,
}

/// An exercise as its file says it; the vehicles are yet to be looked up.
#[derive(Clone, PartialEq, Debug)]
pub struct Draft {
    /// The rules.
    pub rules: Rules,
    /// The vehicles, each with its place in the text.
    pub wanted: Vec<(Range<usize>, Wanted)>,
    /// The public key the instructor will sign with, if the file names it.
    pub key: Option<String>,
}

/// Reads the file of an exercise.
///
/// # Errors
/// Everything wrong in it, in the order of the text.
pub fn read(file: &str, text: &str) -> Result<Draft, Vec<Diagnostic>> {
    let mut reader = Reader::new(Source { file, text });
    let draft = reader.parse().and_then(|tree| {
        let mut top = Table::new("the exercise", 0..0, tree.get_ref());
        top.format(&mut reader);
        let draft = read_top(&mut reader, &mut top);
        top.finish(&mut reader);
        draft
    });
    match draft {
        Some(draft) if reader.is_clean() => Ok(draft),
        _ => Err(reader.into_diagnostics()),
    }
}

fn read_top(reader: &mut Reader, top: &mut Table) -> Option<Draft> {
    let title = top.text(reader, "title");
    let opens = read_date(reader, top, "opens");
    let closes = read_date(reader, top, "closes");
    if let (Some(opens), Some(closes)) = (&opens, &closes)
        && closes.get_ref() <= opens.get_ref()
    {
        let hint = Some(format!("it opens at {}", opens.get_ref()));
        reader.report(
            closes.span(),
            "the exercise closes before it opens".to_owned(),
            hint,
        );
    }
    let tries = read_number(reader, top, "tries", 1..=MOST_TRIES).unwrap_or(1);
    let seconds = top
        .quantity_if_any::<Seconds>(reader, "time")
        .and_then(|time| {
            let whole = libm::round(time.get_ref().0);
            if (60.0..=f64::from(MOST_SECONDS)).contains(&whole) {
                // Bounded above, so it fits.
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                return Some(whole as u32);
            }
            let hint = Some("write it like `time = \"90 min\"`".to_owned());
            reader.report(
                time.span(),
                "the simulated time must be from 1 min to 11 days".to_owned(),
                hint,
            );
            None
        });
    let money = top.money_if_any(reader, "money").map(|money| money.0);
    let tools = top.has("instruments").then(|| read_tools(reader, top));
    let hints = read_flag(reader, top, "hints", true);
    let service_data = read_flag(reader, top, "service_data", true);
    let feedback = top
        .choice_if_any(reader, "feedback", &Feedback::NAMES)
        .unwrap_or_default();
    let class = read_class(reader, top);
    let key = top.text_if_any(reader, "key").map(Spanned::into_inner);
    let (pass, weights) = read_marking(reader, top);
    let wanted: Vec<(Range<usize>, Wanted)> = top
        .tables(reader, "vehicle", "name")
        .into_iter()
        .filter_map(|mut table| {
            let span = table.span.clone();
            let wanted = read_vehicle(reader, &mut table);
            table.finish(reader);
            Some((span, wanted?))
        })
        .collect();
    if wanted.len() > MOST_VEHICLES as usize {
        let message = format!("an exercise has at most {MOST_VEHICLES} vehicles");
        reader.report(0..0, message, None);
    }
    if wanted.is_empty() && reader.is_clean() {
        let hint = Some("write `[[vehicle]]` and under it `code = \"...\"`".to_owned());
        reader.report(
            0..0,
            "the exercise has no vehicle to work on".to_owned(),
            hint,
        );
    }
    if feedback == Feedback::AfterClosing && closes.is_none() {
        let hint = Some("write `closes = \"2026-03-06T18:00:00Z\"`".to_owned());
        reader.report(
            0..0,
            "feedback after closing needs a closing date".to_owned(),
            hint,
        );
    }
    let date = |date: Option<Spanned<Timestamp>>| date.map(|date| date.get_ref().to_string());
    Some(Draft {
        rules: Rules {
            title: title?.into_inner(),
            opens: date(opens),
            closes: date(closes),
            tries,
            seconds,
            money,
            tools,
            hints,
            service_data,
            feedback,
            pass,
            weights,
            class,
            vehicles: u32::try_from(wanted.len()).ok()?,
        },
        wanted,
        key,
    })
}

fn read_date(
    reader: &mut Reader,
    top: &mut Table,
    key: &'static str,
) -> Option<Spanned<Timestamp>> {
    let text = top.text_if_any(reader, key)?;
    if let Ok(time) = text.get_ref().parse::<Timestamp>() {
        return Some(Spanned::new(text.span(), time));
    }
    let hint = format!("write it like `{key} = \"2026-03-06T18:00:00+01:00\"`");
    reader.report(
        text.span(),
        format!("`{key}` is no date with a time of day and a zone"),
        Some(hint),
    );
    None
}

fn read_number(
    reader: &mut Reader,
    table: &mut Table,
    key: &'static str,
    range: std::ops::RangeInclusive<u32>,
) -> Option<u32> {
    if !table.has(key) {
        // Asked for all the same, so that a key that is nearly this one is told what it is near to.
        let _ = table.texts(reader, key);
        return None;
    }
    let number = table.count(reader, key)?;
    if range.contains(number.get_ref()) {
        return Some(*number.get_ref());
    }
    let (low, high) = (range.start(), range.end());
    reader.report(
        number.span(),
        format!("`{key}` must be from {low} to {high}"),
        None,
    );
    None
}

fn read_flag(reader: &mut Reader, top: &mut Table, key: &'static str, absent: bool) -> bool {
    // Asked for either way, so that the key is known.
    let there = top.has(key);
    let flag = top.flag(reader, key);
    if there { flag } else { absent }
}

fn read_tools(reader: &mut Reader, top: &mut Table) -> Vec<String> {
    let words = top.texts(reader, "instruments");
    let mut tools: Vec<Equipment> = words
        .iter()
        .filter_map(|word| choose(reader, word, &Equipment::NAMES))
        .collect();
    // One order, so that two files that allow the same are the same exercise.
    tools.sort();
    tools.dedup();
    tools.iter().map(|tool| tool.name().to_owned()).collect()
}

fn read_class(reader: &mut Reader, top: &mut Table) -> Vec<String> {
    let mut class: Vec<String> = Vec::new();
    for name in top.texts(reader, "class") {
        let plain = name
            .get_ref()
            .split_whitespace()
            .collect::<Vec<&str>>()
            .join(" ");
        if class
            .iter()
            .any(|known| known.to_lowercase() == plain.to_lowercase())
        {
            let hint = Some("add a letter or a number that tells them apart".to_owned());
            reader.report(
                name.span(),
                format!("`{plain}` is on the class list twice"),
                hint,
            );
        }
        class.push(plain);
    }
    class
}

fn read_marking(reader: &mut Reader, top: &mut Table) -> (Option<u32>, BTreeMap<String, u32>) {
    let Some(mut marking) = top.table_if_any(reader, "marking") else {
        return (None, BTreeMap::new());
    };
    let pass = if marking.has("pass") {
        marking.fraction(reader, "pass")
    } else {
        None
    };
    // From 0 to 100, so it fits.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let pass = pass.map(|share| libm::round(share * 100.0) as u32);
    let mut weights = BTreeMap::new();
    if let Some(mut table) = marking.table_if_any(reader, "weights") {
        for part in PARTS {
            if let Some(weight) = read_number(reader, &mut table, part, 0..=MOST_WEIGHT) {
                weights.insert(part.to_owned(), weight);
            }
        }
        if weights.values().all(|weight| *weight == 0) {
            reader.report(
                table.span.clone(),
                "no part of the marks has a weight above 0".to_owned(),
                None,
            );
        }
        table.finish(reader);
    }
    marking.finish(reader);
    (pass, weights)
}

fn read_vehicle(reader: &mut Reader, table: &mut Table) -> Option<Wanted> {
    let code = table.text_if_any(reader, "code");
    let file = table.text_if_any(reader, "file");
    let own = table.table_if_any(reader, "own");
    let ways =
        usize::from(code.is_some()) + usize::from(file.is_some()) + usize::from(own.is_some());
    if ways != 1 {
        let hint = "write one of `code = \"...\"`, `file = \"...\"` and `own = { level = 2 }`";
        let message = format!(
            "{} needs one way of saying which it is, not {ways}",
            table.what
        );
        reader.report(table.span.clone(), message, Some(hint.to_owned()));
        return None;
    }
    if let Some(file) = file {
        return Some(Wanted::File(file.into_inner()));
    }
    if let Some(code) = code {
        let found = code
            .get_ref()
            .parse::<ScenarioCode>()
            .and_then(|found| found.supported().map(|()| found));
        return match found {
            Ok(found) => Some(Wanted::Code(found)),
            Err(error) => {
                let hint = Some("`hidden-ohm scenario new` prints a code".to_owned());
                reader.report(code.span(), error.to_string(), hint);
                None
            }
        };
    }
    let mut own = own?;
    let level = own.count(reader, "level").and_then(|level| {
        let fits = u8::try_from(*level.get_ref())
            .ok()
            .filter(|level| (1..=5).contains(level));
        if fits.is_none() {
            reader.report(level.span(), "levels run from 1 to 5".to_owned(), None);
        }
        fits
    });
    let set = read_set(reader, &mut own);
    let theme = own.choice_if_any(reader, "theme", &Theme::ALL);
    let codes = read_number(reader, &mut own, "codes", 2..=MOST_CODES).unwrap_or(USUAL_CODES);
    own.finish(reader);
    Some(Wanted::Own(Own {
        level: level?,
        set: set?,
        theme,
        codes,
    }))
}

/// The vehicle types a rule draws from.
fn read_set(reader: &mut Reader, own: &mut Table) -> Option<u8> {
    let Some(id) = own.text_if_any(reader, "vehicle") else {
        return Some(VehicleSet::all().bits());
    };
    let generator = Generator::newest();
    let place = generator.place(id.get_ref());
    let set = place.and_then(|place| VehicleSet::all().with(place));
    if set.is_none() {
        let known = generator.vehicles.iter().copied();
        reader.report(
            id.span(),
            format!("no vehicle is called `{}`", id.get_ref()),
            did_you_mean(id.get_ref(), known),
        );
    }
    set.map(VehicleSet::bits)
}
