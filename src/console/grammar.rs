//! Prompt line to action. Case is ignored, unambiguous beginnings of words work, and a line that is not understood
//! changes nothing: the refusal says what to type instead.

use crate::bay::{Action, Refusal};
use crate::circuit::NodeId;
use crate::instrument::Function;
use crate::report::wire;
use crate::score::HintDepth;

use super::Names;
use super::args::{Args, begins, near_words};
use super::near::alternatives;
use super::table::words;
use super::words::Word;

/// A line longer than this is a paste that went wrong.
const LONGEST_LINE: usize = 500;

/// What a line asks for.
#[derive(Clone, PartialEq, Debug)]
pub enum Asked {
    /// Something to do on the vehicle.
    Act(Action),
    /// A page of help: a word, a group of words, or everything.
    Help(Option<&'static str>),
    /// A hint, as deep as asked or one step deeper than the last.
    Hint(Option<HintDepth>),
    /// Guidance after every step, or no more of it.
    Guide(bool),
    /// A sum about a wire.
    Reckon(wire::Question),
    /// To leave the prompt.
    Quit,
    /// Nothing: an empty line or a remark that begins with `#`.
    Nothing,
}

/// What the meter is switched to and the points its tips are on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Held {
    /// What it is switched to.
    pub function: Function,
    /// Where the red tip is.
    pub red: NodeId,
    /// Where the black tip is.
    pub black: NodeId,
}

/// Reads one line. `held` is what the meter is connected to, so that `volts` alone can read again.
///
/// # Errors
/// A refusal with what is wrong and what to type, for anything that is not understood.
pub fn parse(line: &str, names: &Names, held: Option<Held>) -> Result<Asked, Refusal> {
    let line = line.trim();
    if line.is_empty() || line.starts_with('#') {
        return Ok(Asked::Nothing);
    }
    if line.chars().count() > LONGEST_LINE {
        let error = format!("a line has at most {LONGEST_LINE} characters");
        return Err(Refusal {
            error,
            hint: "type one action at a time".into(),
        });
    }
    let pieces: Vec<&str> = line
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|piece| !piece.is_empty())
        .collect();
    let Some((first, rest)) = pieces.split_first() else {
        return Ok(Asked::Nothing);
    };
    let word = word(first)?;
    if word.written_out && !word.name.eq_ignore_ascii_case(first) {
        let error = format!(
            "`{first}` is the beginning of `{}`, which is always written out",
            word.name
        );
        let rest = rest
            .iter()
            .fold(String::new(), |all, piece| all + " " + piece);
        return Err(Refusal {
            error,
            hint: format!("if that is meant, type `{}{rest}`", word.name),
        });
    }
    (word.parse)(&mut Args::new(word, rest, names, held))
}

/// The word that `text` is or begins.
///
/// # Errors
/// A refusal when it begins none or several.
pub(super) fn word(text: &str) -> Result<&'static Word, Refusal> {
    if let Some(word) = Word::called(text) {
        return Ok(word);
    }
    let fitting: Vec<&'static Word> = words().filter(|word| begins(word.name, text)).collect();
    match fitting.as_slice() {
        [word] => Ok(word),
        [] => Err(Refusal {
            error: format!("there is no word `{text}`"),
            hint: near_words(text, words().map(|word| word.name)),
        }),
        several => Err(Refusal {
            error: format!(
                "`{text}` could be {}",
                alternatives(several.iter().map(|word| word.name))
            ),
            hint: if several.iter().all(|word| word.written_out) {
                "each of them is always written out".into()
            } else {
                "type one more letter".into()
            },
        }),
    }
}
