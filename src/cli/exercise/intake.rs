//! Attempts on their way in: files, folders, packed lines, and the receipts noted at the hand-in. Nothing in them is
//! trusted: whatever they hold, they take no more memory than an attempt may.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, BufRead, Read};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::exercise::{Noted, Notes};

use super::super::failure::{Failure, Kind};
use super::super::source::read_text;

/// Longest attempt that is read. Forty actions take some 12 kB.
const MOST_BYTES: usize = 16 << 20;
/// Longest packed line: the same with every byte escaped, and the name of its file.
const MOST_LINE: usize = 2 * MOST_BYTES + (1 << 16);
/// Attempts in memory at a time.
const MOST_AT_ONCE: usize = 256;
/// Bytes of attempts in memory at a time, but for the last of them.
const MOST_BYTES_AT_ONCE: usize = 64 << 20;
/// Folders in folders that are looked into.
const DEEPEST: usize = 16;

/// One attempt on one line.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Packed {
    pub file: String,
    pub text: String,
}

/// An attempt to be marked, or why it could not be read.
pub(super) type Input = (String, Result<Vec<u8>, String>);

/// As many attempts as are worked on at a time; none at the end.
pub(super) fn chunk(
    mut next: impl FnMut() -> Result<Option<Input>, Failure>,
) -> Result<Vec<Input>, Failure> {
    let (mut all, mut bytes) = (Vec::new(), 0);
    while all.len() < MOST_AT_ONCE && bytes < MOST_BYTES_AT_ONCE {
        let Some((file, read)) = next()? else {
            break;
        };
        bytes += read.as_ref().map_or(0, Vec::len);
        all.push((file, read));
    }
    Ok(all)
}

/// An attempt from its file.
pub(super) fn file(path: &Path) -> Input {
    (path.display().to_string(), bytes(path))
}

/// The bytes of a file that may be an attempt.
pub(super) fn bytes(path: &Path) -> Result<Vec<u8>, String> {
    let told = |error: io::Error| error.to_string();
    // A pipe or a device would be waited for, or have no end.
    if !fs::metadata(path).map_err(told)?.is_file() {
        return Err("it is no ordinary file".to_owned());
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(told)?;
    file.take(MOST_BYTES as u64 + 1)
        .read_to_end(&mut bytes)
        .map_err(told)?;
    within(bytes)
}

fn within(bytes: Vec<u8>) -> Result<Vec<u8>, String> {
    if bytes.len() > MOST_BYTES {
        let most = MOST_BYTES >> 20;
        return Err(format!("it is longer than {most} MiB, and no attempt is"));
    }
    Ok(bytes)
}

/// The attempts on the lines of a stream.
pub(super) struct PackedLines<R> {
    input: R,
    number: usize,
}

impl<R: BufRead> PackedLines<R> {
    pub fn new(input: R) -> PackedLines<R> {
        PackedLines { input, number: 0 }
    }

    /// The next attempt; nothing at the end of the stream.
    pub fn next(&mut self) -> Result<Option<Input>, Failure> {
        loop {
            let line = self.line();
            let line = line
                .map_err(|error| Failure::file("read", Path::new("standard input"), &error, ""))?;
            let Some(line) = line else {
                return Ok(None);
            };
            let wrong = |reason: String| {
                let file = format!("input line {}", self.number);
                (file, Err(format!("this is no packed attempt: {reason}")))
            };
            if line.len() > MOST_LINE {
                let most = MOST_LINE >> 20;
                return Ok(Some(wrong(format!("the line is longer than {most} MiB"))));
            }
            if line.iter().all(u8::is_ascii_whitespace) {
                continue;
            }
            return Ok(Some(match serde_json::from_slice::<Packed>(&line) {
                Ok(packed) => (packed.file, within(packed.text.into_bytes())),
                Err(error) => wrong(error.to_string()),
            }));
        }
    }

    /// A line, or as much of a line that is too long as shows that it is; the rest of it is passed over.
    fn line(&mut self) -> io::Result<Option<Vec<u8>>> {
        let mut line = Vec::new();
        let most = MOST_LINE as u64 + 1;
        if self
            .input
            .by_ref()
            .take(most)
            .read_until(b'\n', &mut line)?
            == 0
        {
            return Ok(None);
        }
        self.number += 1;
        if line.len() > MOST_LINE && line.last() != Some(&b'\n') {
            self.input.skip_until(b'\n')?;
        }
        Ok(Some(line))
    }
}

/// The files that may be attempts among what was named, each once: of a folder everything in it and in the folders in it
/// that is not hidden, in the order of the names, as nobody knows what a hand-in is called.
pub(super) fn found(given: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut files = Vec::new();
    for path in given {
        if path.is_dir() {
            inside(path, DEEPEST, &mut files)?;
        } else if path.exists() {
            files.push(path.clone());
        } else {
            let error = format!("there is no file or folder {}", path.display());
            return Err(Failure::new(Kind::System, error, "check its name"));
        }
    }
    let mut seen = BTreeSet::new();
    files.retain(|file| seen.insert(file.clone()));
    Ok(files)
}

fn inside(folder: &Path, deepest: usize, files: &mut Vec<PathBuf>) -> Result<(), Failure> {
    let read = |error| {
        Failure::file(
            "read the folder",
            folder,
            &error,
            "check whether you may read it",
        )
    };
    let entries: Result<Vec<fs::DirEntry>, io::Error> =
        fs::read_dir(folder).map_err(read)?.collect();
    let mut entries = entries.map_err(read)?;
    entries.sort_by_key(fs::DirEntry::file_name);
    for entry in entries {
        if entry.file_name().as_encoded_bytes().starts_with(b".") {
            continue;
        }
        let is_folder = entry.file_type().map_err(read)?.is_dir();
        if !is_folder {
            files.push(entry.path());
        } else if deepest > 0 {
            inside(&entry.path(), deepest - 1, files)?;
        }
    }
    Ok(())
}

/// The receipts of a CSV file: columns `learner` and `receipt`, and `vehicle` where that was noted.
pub(super) fn receipts(file: &str) -> Result<Notes, Failure> {
    let wrong = |line: u64, reason: &str| {
        let error = format!("{file}: line {line}: {reason}");
        let hint =
            "the first line names the columns: `learner,receipt` or `learner,vehicle,receipt`";
        Failure::new(Kind::Input, error, hint)
    };
    let broken = |error: &csv::Error| {
        let line = error.position().map_or(1, csv::Position::line);
        wrong(line, &error.to_string())
    };
    let text = read_text(file)?;
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(text.as_bytes());
    let headings = reader.headers().map_err(|error| broken(&error))?.clone();
    let column = |name: &str| {
        headings
            .iter()
            .position(|heading| heading.eq_ignore_ascii_case(name))
    };
    let (Some(learner), Some(receipt)) = (column("learner"), column("receipt")) else {
        return Err(wrong(1, "there is no column `learner` or none `receipt`"));
    };
    let vehicle = column("vehicle");
    let mut notes = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|error| broken(&error))?;
        let line = record.position().map_or(1, csv::Position::line);
        let cell = |at: usize| record.get(at).filter(|cell| !cell.is_empty());
        let (Some(learner), Some(receipt)) = (cell(learner), cell(receipt)) else {
            return Err(wrong(line, "it needs a name and a receipt"));
        };
        let vehicle = vehicle.and_then(cell).map(|cell| {
            let number = cell.parse::<u32>();
            number.map_err(|_| wrong(line, &format!("`{cell}` is no number of a vehicle")))
        });
        notes.push(Noted {
            learner: learner.to_owned(),
            vehicle: vehicle.transpose()?,
            receipt: receipt
                .parse()
                .map_err(|error: String| wrong(line, &error))?,
        });
    }
    Ok(notes.into_iter().collect())
}
