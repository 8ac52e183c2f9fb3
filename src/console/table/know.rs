//! The words that ask and cost nothing.

use super::super::forms;
use super::super::words::Group::Know;
use super::super::words::{Slot, Word};
use super::word;

/// In the order of the help page.
pub(super) static WORDS: &[Word] = &[
    word(
        Know,
        "order",
        "",
        "the work order again",
        "order",
        &[],
        forms::order,
    ),
    word(
        Know,
        "diagram",
        "",
        "the wiring diagram",
        "diagram",
        &[],
        forms::diagram,
    ),
    word(
        Know,
        "points",
        "[PART|reachable]",
        "test points: what they are, where, what it takes to reach them",
        "points {plug}",
        &[Slot::Part(&["reachable"])],
        forms::points,
    ),
    word(
        Know,
        "data",
        "",
        "what figures there are for this vehicle",
        "data",
        &[],
        forms::data,
    ),
    word(
        Know,
        "prices",
        "[PART]",
        "parts, repairs and their labour, of the whole vehicle or of one part",
        "prices {plug}",
        &[Slot::Part(&[])],
        forms::prices,
    ),
    word(
        Know,
        "log",
        "",
        "what has been done so far",
        "log",
        &[],
        forms::log,
    ),
    word(
        Know,
        "clock",
        "",
        "time and money so far, and what is connected",
        "clock",
        &[],
        forms::clock,
    ),
    word(
        Know,
        "help",
        "[WORD]",
        "the words, or one of them with an example",
        "help volts",
        &[Slot::Word],
        forms::help,
    ),
];
