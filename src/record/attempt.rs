//! Reading a whole record back.

use serde::Serialize;
use serde::de::DeserializeOwned;
use thiserror::Error;

use super::{Chain, Closing, Entry, FORMAT, Header};
use crate::units::Money;

/// An entry together with the very text it had in the record: outcomes are compared as written, to the last digit.
#[derive(Clone, PartialEq, Debug)]
pub struct Recorded {
    /// Number of the line in the file, from one.
    pub file_line: usize,
    /// The entry.
    pub entry: Entry,
    /// Its JSON object as it stands in the file, without the hash.
    pub object: String,
}

/// A record that has been read and whose chain holds.
#[derive(Clone, PartialEq, Debug)]
pub struct Attempt {
    /// The first line.
    pub header: Header,
    /// The actions, in order.
    pub entries: Vec<Recorded>,
    /// The last line, once the vehicle has been handed back.
    pub closing: Option<Closing>,
    /// The chain after the last whole line.
    pub chain: Chain,
    /// Bytes up to the end of the last whole line.
    pub whole: usize,
    /// What stands after it: a line that was being written when the program or the machine stopped.
    pub torn: Vec<u8>,
}

/// Why a record cannot be used.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Damage {
    /// Not even the header was finished.
    #[error("there is no whole line in it")]
    Empty,
    /// The first line is no header.
    #[error("line 1: this is not the record of an attempt: {reason}")]
    NotARecord {
        /// What the reader says.
        reason: String,
    },
    /// Made by a later program.
    #[error("line 1: the record has format {found}; this program reads format {FORMAT}")]
    Format {
        /// The number found.
        found: u64,
    },
    /// A line that is not text or not what should stand there.
    #[error("line {line}: {reason}")]
    Line {
        /// Number of the line, from one.
        line: usize,
        /// What is wrong with it.
        reason: String,
    },
    /// The hash of a line does not follow from the line before.
    #[error("line {line}: it was changed, or lines before it were taken out, put in or changed")]
    Chain {
        /// Number of the line, from one.
        line: usize,
    },
}

impl Attempt {
    /// The prompt line of an action whose record was cut off in the middle, if that much of it is there. Its answer had
    /// not been shown: an answer is shown once its line is whole.
    #[must_use]
    pub fn torn_line(&self) -> Option<String> {
        let text = std::str::from_utf8(&self.torn).ok()?;
        let begins = format!("{{\"n\":{},\"line\":", self.entries.len() + 1);
        let rest = text.strip_prefix(&begins)?;
        let mut values = serde_json::Deserializer::from_str(rest).into_iter::<String>();
        values.next()?.ok()
    }

    /// Reads a record. A last line without its line end is left out and counted in [`Attempt::torn`].
    ///
    /// # Errors
    /// [`Damage`], naming the line, for anything else that does not fit.
    pub fn read(bytes: &[u8]) -> Result<Attempt, Damage> {
        let whole = bytes
            .iter()
            .rposition(|byte| *byte == b'\n')
            .map_or(0, |end| end + 1);
        let mut lines = bytes[..whole]
            .split_inclusive(|byte| *byte == b'\n')
            .enumerate();
        let mut chain = Chain::default();
        let Some((_, first)) = lines.next() else {
            return Err(Damage::Empty);
        };
        let header = read_header(first, &mut chain)?;
        let mut attempt = Attempt {
            header,
            entries: Vec::new(),
            closing: None,
            chain,
            whole,
            torn: bytes[whole..].to_vec(),
        };
        for (index, line) in lines {
            attempt.take(index + 1, line)?;
        }
        Ok(attempt)
    }

    fn take(&mut self, file_line: usize, line: &[u8]) -> Result<(), Damage> {
        let wrong = |reason: String| Damage::Line {
            line: file_line,
            reason,
        };
        if self.closing.is_some() {
            return Err(wrong(
                "there is something after the end of the attempt".into(),
            ));
        }
        let text = text_of(line).map_err(wrong)?;
        let before = self.chain.clone();
        let object = self
            .chain
            .open(text)
            .ok_or(Damage::Chain { line: file_line })?;
        if object.starts_with("{\"handed_back\"") {
            let closing: Closing = json(&object).map_err(wrong)?;
            let last = self.entries.last().map(|recorded| &recorded.entry);
            let (clock_ms, spent) = last.map_or((0, 0), |entry| (entry.clock_ms, entry.spent));
            // What a list of actions says at its end must be what it says all along.
            let actions = u32::try_from(self.entries.len()).unwrap_or(u32::MAX);
            if closing != Closing::new(&before, actions, clock_ms, Money(spent)) {
                return Err(wrong("it does not close the actions before it".into()));
            }
            self.closing = Some(closing);
            return Ok(());
        }
        let entry: Entry = json(&object).map_err(wrong)?;
        // One text for one entry: anything else was not written by this program.
        if self::object(&entry) != object {
            return Err(wrong("it is not written as this program writes it".into()));
        }
        let expected = self.entries.len() + 1;
        if entry.n as usize != expected {
            return Err(wrong(format!(
                "action {} stands where action {expected} should",
                entry.n
            )));
        }
        self.entries.push(Recorded {
            file_line,
            entry,
            object,
        });
        Ok(())
    }
}

fn read_header(line: &[u8], chain: &mut Chain) -> Result<Header, Damage> {
    let not_a_record = |reason: String| Damage::NotARecord { reason };
    let text = text_of(line).map_err(not_a_record)?;
    // The format comes first: a later one may have fields this program has never heard of.
    let loose: serde_json::Value = json(text).map_err(not_a_record)?;
    match loose.get("format").and_then(serde_json::Value::as_u64) {
        Some(found) if found == u64::from(FORMAT) => {}
        Some(found) => return Err(Damage::Format { found }),
        None => {
            return Err(not_a_record(
                "it does not begin with a format number".into(),
            ));
        }
    }
    let object = chain.open(text).ok_or(Damage::Chain { line: 1 })?;
    let header: Header = json(&object).map_err(not_a_record)?;
    if self::object(&header) != object {
        return Err(not_a_record(
            "it is not written as this program writes it".into(),
        ));
    }
    Ok(header)
}

fn text_of(line: &[u8]) -> Result<&str, String> {
    if line.ends_with(b"\r\n") {
        let reason = "its line end was changed, as editors and some ways of sending do; get the file again as it was written, in an archive if need be";
        return Err(reason.to_owned());
    }
    if line.starts_with(b"\xef\xbb\xbf") {
        let reason = "an editor put a mark in front of it; get the file again as it was written";
        return Err(reason.to_owned());
    }
    let text = std::str::from_utf8(line).map_err(|_| "it is not text".to_owned())?;
    Ok(text.strip_suffix('\n').unwrap_or(text))
}

fn json<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}

/// The JSON object of a line, in the one way it is written.
///
/// # Panics
/// Never: writing JSON fails only for maps whose keys are no strings, and the structs of a record hold strings,
/// numbers, lists and each other.
pub(super) fn object<T: Serialize>(line: &T) -> String {
    serde_json::to_string(line).expect("a line of a record always has a JSON form")
}
