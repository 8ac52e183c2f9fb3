//! `exercise mark`, `pack` and `receipt`: attempts in, marks out.

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, IsTerminal};
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::ThreadPool;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::exercise::{Effort, Marked, Marker, Verdict};
use crate::record::Receipt;
use crate::report::text::{Text, Tone};

use super::super::failure::{Failure, Kind};
use super::super::source::{library, read_text};
use super::super::ui::Ui;
use super::super::{attempt_file, folders};
use super::arguments::Mark;
use super::exports;
use super::hall::Hall;
use super::load::{load, vehicles};
use super::start::hand_in;

/// Attempts in memory at a time.
const CHUNK: usize = 256;

/// One attempt on one line.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Packed {
    file: String,
    text: String,
}

/// An attempt to be marked, or why it could not be read.
type Input = (String, Result<Vec<u8>, String>);

/// Marks attempts.
pub(super) fn mark(asked: &Mark, ui: &mut Ui) -> Result<(), Failure> {
    let library = library()?;
    let handout = load(&asked.exercise)?;
    let vehicles = vehicles(&handout, &asked.secret)?;
    let effort = if asked.verify {
        Effort::Verify
    } else {
        Effort::Full
    };
    let mut marker = Marker::new(
        Hall::new(library.clone()),
        handout.rules.clone(),
        vehicles,
        handout.hash(),
        effort,
    );
    if let Some(file) = &asked.receipts {
        marker = marker.with_receipts(receipts(file)?);
    }
    if asked.unshared {
        marker = marker.sharing_nothing();
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
    let bar = bar(files.len());
    let mut all = Vec::new();
    let mut bad = 0;
    for chunk in files.chunks(CHUNK) {
        let inputs = chunk.iter().map(|path| {
            let bytes = fs::read(path).map_err(|error| error.to_string());
            (path.display().to_string(), bytes)
        });
        for marked in marked(&marker, &pool, inputs.collect()) {
            bad += usize::from(!matches!(
                marked.verdict,
                Verdict::Verified | Verdict::Unfinished
            ));
            if asked.json {
                bar.suspend(|| ui.raw(&(json(&marked) + "\n")))?;
            }
            all.push(marked);
        }
        bar.inc(chunk.len() as u64);
    }
    bar.finish_and_clear();
    if !asked.json {
        ui.show(&table(&all))?;
    }
    if let Some(folder) = &asked.into {
        exports::write(folder, &handout, &library, &asked.secret, &all, ui)?;
    }
    if bad > 0 {
        let error = format!(
            "{bad} of {} attempts cannot be given marks as they are",
            all.len()
        );
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
    let mut input = std::io::stdin().lock();
    let bar = bar(0);
    let mut line_number = 0;
    loop {
        let mut inputs: Vec<Input> = Vec::with_capacity(CHUNK);
        while inputs.len() < CHUNK {
            let mut line = Vec::new();
            let read = input.read_until(b'\n', &mut line);
            let read = read
                .map_err(|error| Failure::file("read", Path::new("standard input"), &error, ""))?;
            if read == 0 {
                break;
            }
            line_number += 1;
            if line.iter().all(u8::is_ascii_whitespace) {
                continue;
            }
            inputs.push(match serde_json::from_slice::<Packed>(&line) {
                Ok(packed) => (packed.file, Ok(packed.text.into_bytes())),
                Err(error) => (
                    format!("input line {line_number}"),
                    Err(format!("this is no packed attempt: {error}")),
                ),
            });
        }
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
fn bar(length: usize) -> ProgressBar {
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
        "{pos} attempts, {per_sec}"
    } else {
        "{pos} of {len} attempts, {per_sec}, {eta} left"
    };
    if let Ok(style) = ProgressStyle::with_template(form) {
        bar.set_style(style);
    }
    bar
}

/// The attempts that files and folders name, in order, each once.
fn found(given: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for path in given {
        if path.is_dir() {
            files.extend(folders::every_attempt(path)?);
        } else if path.exists() {
            files.push(path.clone());
        } else {
            let error = format!("there is no file or folder {}", path.display());
            return Err(Failure::new(Kind::System, error, "check its name"));
        }
    }
    files.dedup();
    Ok(files)
}

fn receipts(file: &str) -> Result<BTreeMap<String, Receipt>, Failure> {
    let wrong = |line: u64, reason: String| {
        let error = format!("{file}: line {line}: {reason}");
        Failure::new(Kind::Input, error, "the columns are `learner,receipt`")
    };
    let text = read_text(file)?;
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut noted = BTreeMap::new();
    for record in reader.records() {
        let record = record.map_err(|error| {
            wrong(
                error.position().map_or(1, csv::Position::line),
                error.to_string(),
            )
        })?;
        let line = record.position().map_or(1, csv::Position::line);
        let (Some(learner), Some(receipt)) = (record.get(0), record.get(1)) else {
            return Err(wrong(line, "it needs a name and a receipt".to_owned()));
        };
        noted.insert(
            learner.to_owned(),
            receipt.parse().map_err(|error| wrong(line, error))?,
        );
    }
    Ok(noted)
}

fn table(all: &[Marked]) -> Text {
    let mut text = Text::new();
    text.say(
        Tone::Drawing,
        &format!(
            "{:<18} {:>3} {:>6} {:<6} {}",
            "learner", "no.", "marks", "", "verdict"
        ),
    );
    for marked in all {
        let name = marked.learner.as_deref().unwrap_or(&marked.file);
        let name: String = name.chars().take(18).collect();
        let number = marked
            .vehicle
            .map_or_else(String::new, |number| number.to_string());
        let points = marked
            .marks
            .as_ref()
            .map_or_else(String::new, |marks| permille(marks.permille));
        let passed = match marked.marks.as_ref().and_then(|marks| marks.passed) {
            Some(true) => "passed",
            Some(false) => "not",
            None => "",
        };
        text.say(
            Tone::Drawing,
            &format!(
                "{name:<18} {number:>3} {points:>6} {passed:<6} {}",
                marked.verdict.name()
            ),
        );
        if let Some(reason) = &marked.reason {
            text.say(Tone::Caution, &format!("  {}: {reason}", marked.file));
        }
        for remark in &marked.remarks {
            text.say(Tone::Muted, &format!("  {}: {remark}", marked.file));
        }
    }
    text
}

/// Thousandths as per cent with one decimal.
pub(super) fn permille(permille: u32) -> String {
    format!("{}.{}", permille / 10, permille % 10)
}

/// Puts attempts on one line each.
pub(super) fn pack(given: &[PathBuf], ui: &mut Ui) -> Result<(), Failure> {
    for path in found(given)? {
        let bytes = fs::read(&path)
            .map_err(|error| Failure::file("read", &path, &error, "check its name"))?;
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
