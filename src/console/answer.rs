//! An outcome as tagged text: the reading first, then how it was taken, then what was said. No verdicts.

use crate::report::text::{Line, Text, Tone};

use super::{Reply, grammar};

/// Every answer is set in by this much under its prompt.
const INDENT: &str = "  ";

/// The answer to one accepted line.
#[must_use]
pub fn text(reply: &Reply) -> Text {
    let mut text = Text::new();
    for reading in &reply.outcome.readings {
        let mut line = Line::new(Tone::Plain, INDENT).and(Tone::Reading, &reading.shown);
        if !reading.how.is_empty() {
            line = line.and(Tone::Plain, "   ").and(Tone::Muted, &reading.how);
        }
        text.push(line);
    }
    if let Some(trace) = &reply.outcome.trace {
        for row in super::drawing::rows(trace) {
            text.push(Line::new(Tone::Plain, INDENT).and(Tone::Drawing, &row));
        }
    }
    let tone = if is_drawing(&reply.line) {
        Tone::Drawing
    } else {
        Tone::Plain
    };
    for row in reply.outcome.said.iter().flat_map(|said| said.split('\n')) {
        let indent = if row.is_empty() { "" } else { INDENT };
        text.push(Line::new(Tone::Plain, indent).and(tone, row));
    }
    text
}

fn is_drawing(line: &str) -> bool {
    let first = line.split_whitespace().next().unwrap_or("");
    grammar::word(first).is_ok_and(|word| word.name == "diagram")
}
