//! The table itself: every word with what follows it, what it does and an example; a file for each kind of word.

mod job;
mod know;
mod tools;
mod vehicle;

use crate::bay::Refusal;

use super::Asked;
use super::args::Args;
use super::words::{Group, Slot, Word};

/// Every word, in the order of the help page.
pub fn words() -> impl Iterator<Item = &'static Word> {
    [know::WORDS, vehicle::WORDS, tools::WORDS, job::WORDS]
        .into_iter()
        .flatten()
}

const fn word(
    group: Group,
    name: &'static str,
    usage: &'static str,
    about: &'static str,
    example: &'static str,
    slots: &'static [Slot],
    parse: fn(&mut Args<'_>) -> Result<Asked, Refusal>,
) -> Word {
    Word {
        name,
        group,
        usage,
        about,
        example,
        written_out: false,
        slots,
        parse,
    }
}

const fn written_out(mut word: Word) -> Word {
    word.written_out = true;
    word
}

const ON_OFF: Slot = Slot::Choice(&["on", "off"]);
const SIDE: Slot = Slot::Choice(&["red", "black"]);
const METER: &[Slot] = &[Slot::Point(&["off"]), Slot::Point(&[])];
