//! `exercise mark`, `pack` and `receipt`: attempts in, marks out.

use std::collections::BTreeMap;
use std::io::IsTerminal;
use std::path::PathBuf;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::ThreadPool;
use rayon::prelude::*;

use crate::exercise::gradebook::percent;
use crate::exercise::{Effort, Marked, Marker, Verdict, compare};
use crate::record::Receipt;
use crate::report::text::{Text, Tone};

use super::super::failure::{Failure, Kind};
use super::super::source::library;
use super::super::ui::Ui;
use super::super::{attempt_file, folders};
use super::arguments::Mark;
use super::exports::Exports;
use super::hall::Hall;
use super::intake::{self, Input, Packed, PackedLines, chunk, found, receipts};
use super::load::{load, vehicles};
use super::start::hand_in;

/// Letters of a name or a file that are shown beside its marks.
const WIDEST: usize = 32;

/// Marks attempts.
pub(super) fn mark(asked: &Mark, ui: &mut Ui) -> Result<(), Failure> {
    let library = library()?;
    let handout = load(&asked.exercise)?;
    let given = vehicles(&handout, &asked.secret)?;
    let effort = if asked.verify {
        Effort::Verify
    } else {
        Effort::Full
    };
    let mut marker = Marker::new(
        Hall::new(library.clone()),
        handout.rules.clone(),
        given.clone(),
        handout.hash(),
        effort,
    );
    if let Some(file) = &asked.receipts {
        marker = marker.with_receipts(receipts(file)?);
    }
    if asked.unshared {
        marker = marker.sharing_nothing();
    }
    if asked.into.is_some() {
        marker = marker.keeping_lines();
    }
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(asked.threads)
        .build()
        .map_err(|error| {
            Failure::new(
                Kind::System,
                format!("no threads: {error}"),
                "try --threads 1",
            )
        })?;
    if asked.attempts.iter().any(|path| path.as_os_str() == "-") {
        if asked.attempts.len() > 1 || asked.into.is_some() {
            let error = "packed attempts from standard input go by themselves, one line out for each line in";
            return Err(Failure::new(
                Kind::Usage,
                error,
                "name files or folders to write results",
            ));
        }
        return stream(&marker, &pool, ui);
    }
    let files = found(&asked.attempts)?;
    let bar = bar(files.len(), "attempts");
    let mut all = Vec::new();
    let (mut bad, count) = (0, files.len());
    let mut files = files.iter();
    loop {
        let inputs = chunk(|| Ok(files.next().map(|path| intake::file(path))))?;
        if inputs.is_empty() {
            break;
        }
        let done = inputs.len();
        for marked in marked(&marker, &pool, inputs) {
            bad += usize::from(!matches!(
                marked.verdict,
                Verdict::Verified | Verdict::Unfinished
            ));
            if asked.json {
                bar.suspend(|| ui.raw(&(json(&marked) + "\n")))?;
            }
            if !asked.json || asked.into.is_some() {
                all.push(marked);
            }
        }
        bar.inc(done as u64);
    }
    bar.finish_and_clear();
    compare(&mut all);
    if !asked.json {
        ui.show(&table(&all))?;
    }
    if let Some(folder) = &asked.into {
        let exports = Exports {
            folder,
            handout: &handout,
            vehicles: &given,
            stock: &library,
        };
        exports.write(&all, &pool, ui)?;
    }
    if bad > 0 {
        let error = format!("{bad} of {count} attempts cannot be given marks as they are");
        return Err(Failure::new(
            Kind::No,
            error,
            "the lines above say why; the others are marked",
        ));
    }
    Ok(())
}

/// One line out for each line in, whatever is on it: a filter that other engines can run on parts of a large input.
fn stream(marker: &Marker<Hall>, pool: &ThreadPool, ui: &mut Ui) -> Result<(), Failure> {
    let mut lines = PackedLines::new(std::io::stdin().lock());
    let bar = bar(0, "attempts");
    loop {
        let inputs = chunk(|| lines.next())?;
        if inputs.is_empty() {
            bar.finish_and_clear();
            return Ok(());
        }
        let count = inputs.len() as u64;
        let mut out = String::new();
        for marked in marked(marker, pool, inputs) {
            out += &json(&marked);
            out.push('\n');
        }
        ui.raw(&out)?;
        bar.inc(count);
    }
}

fn marked(marker: &Marker<Hall>, pool: &ThreadPool, inputs: Vec<Input>) -> Vec<Marked> {
    let one = |(file, bytes): Input| match bytes {
        Ok(bytes) => marker.mark(&file, &bytes),
        Err(error) => Marked::refused(&file, Verdict::NotARecord, None, error),
    };
    // The results come back in the order of the inputs, whichever thread was quicker.
    pool.install(|| inputs.into_par_iter().map(one).collect())
}

fn json(marked: &Marked) -> String {
    marked.json().unwrap_or_default()
}

/// A bar on standard error, if that is a terminal.
pub(super) fn bar(length: usize, what: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = if length == 0 {
        ProgressBar::no_length()
    } else {
        ProgressBar::new(length as u64)
    };
    bar.set_draw_target(ProgressDrawTarget::stderr());
    let form = if length == 0 {
        format!("{{pos}} {what}, {{per_sec}}")
    } else {
        format!("{{pos}} of {{len}} {what}, {{per_sec}}, {{eta}} left")
    };
    if let Ok(style) = ProgressStyle::with_template(&form) {
        bar.set_style(style);
    }
    bar
}

/// How many files had which verdict.
fn summary(all: &[Marked]) -> String {
    let mut counts: BTreeMap<Verdict, usize> = BTreeMap::new();
    for marked in all {
        *counts.entry(marked.verdict).or_default() += 1;
    }
    let counts = counts
        .iter()
        .map(|(verdict, count)| format!("{count} {}", verdict.name()));
    let (files, plural) = (all.len(), if all.len() == 1 { "" } else { "s" });
    let counts: Vec<String> = counts.collect();
    format!("{files} file{plural}: {}.", counts.join(", "))
}

fn table(all: &[Marked]) -> Text {
    let mut text = Text::new();
    let name = |marked: &Marked| {
        let name = marked.learner.as_ref().unwrap_or(&marked.file);
        // The end of a path tells more than its beginning.
        let letters = name.chars().count();
        if letters <= WIDEST {
            return name.clone();
        }
        let end: String = name.chars().skip(letters - WIDEST + 2).collect();
        format!("..{end}")
    };
    let width = all.iter().map(|marked| name(marked).chars().count());
    let width = width.max().unwrap_or(0).max("learner".len());
    text.say(
        Tone::Drawing,
        &format!(
            "{:<width$}  vehicle  try  marks  {:<10}  verdict",
            "learner", ""
        ),
    );
    let number = |number: Option<u32>| number.map_or_else(String::new, |number| number.to_string());
    for marked in all {
        let points = marked
            .marks
            .as_ref()
            .map_or_else(String::new, |marks| percent(marks.permille));
        let passed = match marked.marks.as_ref().and_then(|marks| marks.passed) {
            Some(true) => "passed",
            Some(false) => "not passed",
            None => "",
        };
        text.say(
            Tone::Drawing,
            &format!(
                "{:<width$}  {:>7}  {:>3}  {points:>5}  {passed:<10}  {}",
                name(marked),
                number(marked.vehicle),
                number(marked.attempt),
                marked.verdict.name()
            ),
        );
        let file = &marked.file;
        if let Some(reason) = &marked.reason {
            text.say(Tone::Caution, &format!("  {file}: {reason}"));
        }
        for remark in &marked.remarks {
            text.say(Tone::Muted, &format!("  {file}: {remark}"));
        }
    }
    text.blank();
    text.say(Tone::Plain, &summary(all));
    text
}

/// Puts attempts on one line each.
pub(super) fn pack(given: &[PathBuf], ui: &mut Ui) -> Result<(), Failure> {
    for path in found(given)? {
        let bytes = intake::bytes(&path).map_err(|error| {
            let error = format!("cannot pack {}: {error}", path.display());
            Failure::new(Kind::System, error, "name attempts, or a folder of them")
        })?;
        // A byte that is no text cannot be in a record; its stand-in is as wrong as it was.
        let packed = Packed {
            file: path.display().to_string(),
            text: String::from_utf8_lossy(&bytes).into_owned(),
        };
        ui.raw(&(serde_json::to_string(&packed).unwrap_or_default() + "\n"))?;
    }
    Ok(())
}

/// Shows a receipt again.
pub(super) fn receipt(name: &str, ui: &mut Ui) -> Result<(), Failure> {
    let path = folders::named_attempt(name);
    let attempt = attempt_file::read(&path)?;
    if attempt.closing.is_none() {
        let error = format!(
            "{}: the vehicle has not been handed back yet",
            path.display()
        );
        let hint = format!("`hidden-ohm resume {}` goes on with it", path.display());
        return Err(Failure::new(Kind::No, error, hint));
    }
    ui.show(&hand_in(
        &path.display().to_string(),
        Receipt::of(&attempt.chain).as_ref(),
    ))
}
