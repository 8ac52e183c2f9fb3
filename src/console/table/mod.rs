//! The table itself: every word with what follows it, what it does and an example; a file for each kind of word.

mod job;
mod know;
mod tools;
mod vehicle;

use crate::bay::Refusal;

use super::Asked;
use super::args::Args;
use super::words::{Group, OnCoolant, Slot, Word};

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
        on_coolant: None,
        parse,
    }
}

/// The word with what it does on a vehicle whose pump moves coolant.
const fn on_coolant(mut word: Word, about: &'static str, example: Option<&'static str>) -> Word {
    word.on_coolant = Some(OnCoolant { about, example });
    word
}

const fn written_out(mut word: Word) -> Word {
    word.written_out = true;
    word
}

const ON_OFF: Slot = Slot::Choice(&["on", "off"]);
const SIDE: Slot = Slot::Choice(&["red", "black"]);
const LENGTH: Slot = Slot::Number(&["1m", "5m", "3ft", "15ft"]);
const SIZE: Slot = Slot::Number(&["1.0mm2", "1.5mm2", "18AWG", "16AWG"]);
const TIME: Slot = Slot::Number(&["15s", "30s", "5min", "1h"]);
const METER: &[Slot] = &[Slot::Point(&["off"]), Slot::Point(&[])];
