//! An outcome as tagged text: the reading first, then how it was taken, then what was said; only what happened on the
//! way to the reading comes before it. No verdicts.

use crate::bay::Bay;
use crate::report::text::{Line, Text, Tone};

use super::{Reply, View, drawing, grammar, wiring};

/// Every answer is set in by this much under its prompt.
const INDENT: &str = "  ";

/// The answer to one accepted line.
#[must_use]
pub fn text(reply: &Reply, bay: &Bay, view: View) -> Text {
    let vehicle = bay.vehicle();
    let mut text = Text::new();
    let (before, said) = reply.outcome.said.split_at(reply.outcome.said_first);
    say(before, Tone::Plain, &mut text);
    for reading in &reply.outcome.readings {
        let mut line = Line::new(Tone::Plain, INDENT).and(Tone::Reading, &reading.shown);
        if !reading.how.is_empty() {
            line = line.and(Tone::Plain, "   ").and(Tone::Muted, &reading.how);
        }
        text.push(line);
    }
    if let Some(trace) = &reply.outcome.trace {
        if !view.plain {
            for row in drawing::rows(trace, view.columns.saturating_sub(INDENT.len())) {
                text.push(Line::new(Tone::Plain, INDENT).and(Tone::Drawing, &row));
            }
        }
        say(&drawing::words(trace), Tone::Plain, &mut text);
    }
    if said.is_empty() && text.0.is_empty() {
        // What leaves nothing to see or hear was done all the same.
        say(&["Done.".to_owned()], Tone::Plain, &mut text);
    }
    if !is_diagram(&reply.line) {
        say(said, Tone::Plain, &mut text);
    } else if view.plain || widest(said) + INDENT.len() > view.columns {
        say(&wiring::rows(vehicle, bay.system()), Tone::Plain, &mut text);
    } else {
        say(said, Tone::Drawing, &mut text);
        say(
            &wiring::sizes(vehicle, bay.system()),
            Tone::Plain,
            &mut text,
        );
    }
    text
}

fn say(rows: &[String], tone: Tone, text: &mut Text) {
    for row in rows.iter().flat_map(|said| said.split('\n')) {
        let indent = if row.is_empty() { "" } else { INDENT };
        text.push(Line::new(Tone::Plain, indent).and(tone, row));
    }
}

fn widest(rows: &[String]) -> usize {
    let width = |row: &String| row.chars().count();
    rows.iter().map(width).max().unwrap_or(0)
}

fn is_diagram(line: &str) -> bool {
    let first = line.split_whitespace().next().unwrap_or("");
    grammar::word(first).is_ok_and(|word| word.name == "diagram")
}
