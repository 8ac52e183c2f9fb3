//! What a word of the grammar is. The one table of them drives parsing, help and completion.

use crate::bay::Refusal;
use crate::vehicle::Handling;

use super::args::Args;
use super::table::words;
use super::{Asked, Names};

/// What a word is for; `help` lists the words under these headings.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Group {
    /// Questions that cost nothing.
    Know,
    /// The vehicle and its surroundings.
    Vehicle,
    /// Instruments and leads.
    Tools,
    /// Reasoning, put down in writing.
    Think,
    /// Making the work safe.
    Safety,
    /// Repairing and ending.
    End,
}

impl Group {
    /// Every group in the order of the help page.
    pub const ALL: [Group; 6] = [
        Group::Know,
        Group::Vehicle,
        Group::Tools,
        Group::Think,
        Group::Safety,
        Group::End,
    ];

    /// The heading.
    #[must_use]
    pub fn heading(self) -> &'static str {
        match self {
            Group::Know => "know",
            Group::Vehicle => "vehicle",
            Group::Tools => "tools",
            Group::Think => "think",
            Group::Safety => "safety",
            Group::End => "end",
        }
    }
}

/// What may stand at one place after a word, for completion.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Slot {
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A point, or one of these words.
    Point(&'static [&'static str]),
    /// A part, or one of these words.
    Part(&'static [&'static str]),
    /// A part that this can be done with, or one of these words.
    PartFor(Handling, &'static [&'static str]),
    /// A part that this can be done with, if the word before it is this one.
    PartAfter(&'static str, Handling),
    /// A part or one leg of it.
    Target,
    /// A piece of access work.
    Access,
    /// A section, which may be two words, then a verdict.
    Call,
    /// A word of the grammar.
    Word,
    /// A number with its unit, such as these.
    Number(&'static [&'static str]),
}

/// One word of the prompt.
pub struct Word {
    /// The word itself.
    pub name: &'static str,
    /// Where it stands in the help.
    pub group: Group,
    /// What follows it.
    pub usage: &'static str,
    /// What it does, one line.
    pub about: &'static str,
    /// A line that can be typed; names in braces are replaced by the vehicle's own.
    pub example: &'static str,
    /// Has to be written out, because it cannot be undone.
    pub written_out: bool,
    /// What may follow, place by place.
    pub slots: &'static [Slot],
    /// What it does on a vehicle whose pump moves coolant, if that is something else.
    pub(super) on_coolant: Option<OnCoolant>,
    pub(super) parse: fn(&mut Args<'_>) -> Result<Asked, Refusal>,
}

/// What a word does on a vehicle whose pump moves coolant.
#[derive(Clone, Copy)]
pub(super) struct OnCoolant {
    pub about: &'static str,
    /// A line that can be typed; nothing if there is none.
    pub example: Option<&'static str>,
}

impl Word {
    /// A line that can be typed on the vehicle these names are of, if there is one.
    #[must_use]
    pub fn example_with(&self, names: &Names) -> Option<String> {
        match self.on_coolant.filter(|_| names.on_coolant()) {
            Some(other) => names.example(other.example?),
            None => names.example(self.example),
        }
    }

    /// The entry of exactly this name, without regard to case.
    #[must_use]
    pub fn called(name: &str) -> Option<&'static Word> {
        words().find(|word| word.name.eq_ignore_ascii_case(name))
    }
}
