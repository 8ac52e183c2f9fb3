//! The lines of a script, from a file or as another program writes them.

use std::io::BufRead;
use std::path::Path;

use super::failure::Failure;
use super::source::read_text;

/// Lines to be worked one after the other.
pub(super) enum Script {
    /// A file's, which is known as a whole.
    File(std::vec::IntoIter<String>),
    /// What another program writes to standard input, each line taken when it has come.
    Stream,
}

impl Script {
    /// The script of a file; `-` stands for standard input.
    pub fn open(name: &str) -> Result<Script, Failure> {
        if name == "-" {
            return Ok(Script::Stream);
        }
        let text = read_text(name)?;
        let lines: Vec<String> = text.lines().filter_map(work).collect();
        Ok(Script::File(lines.into_iter()))
    }

    /// The next line that says something.
    pub fn next(&mut self) -> Result<Option<String>, Failure> {
        match self {
            Script::File(lines) => Ok(lines.next()),
            Script::Stream => {
                while let Some(line) = piped()? {
                    if let Some(line) = work(&line) {
                        return Ok(Some(line));
                    }
                }
                Ok(None)
            }
        }
    }

    /// How many lines are known to be left. Another program may wait for its answers before it ends, so what it might
    /// still write is not waited for.
    pub fn left(self) -> usize {
        match self {
            Script::File(lines) => lines.len(),
            Script::Stream => 0,
        }
    }
}

/// What a line asks for; nothing for blank lines and remarks.
fn work(line: &str) -> Option<String> {
    let line = line.trim();
    (!line.is_empty() && !line.starts_with('#')).then(|| line.to_owned())
}

/// The next line of standard input.
pub(super) fn piped() -> Result<Option<String>, Failure> {
    let mut bytes = Vec::new();
    let read = std::io::stdin().lock().read_until(b'\n', &mut bytes);
    let read =
        read.map_err(|error| Failure::file("read", Path::new("standard input"), &error, ""))?;
    Ok((read > 0).then(|| String::from_utf8_lossy(&bytes).into_owned()))
}
