//! Tones into colour, and long lines into the window. The only place that knows either.

use std::fmt::Write as _;

use anstyle::{AnsiColor, Style};
use textwrap::{Options, WordSeparator, WordSplitter, wrap};

use crate::report::text::{Line, Text, Tone};

/// A gap of two or more spaces that ends before this column opens a second column.
const COLUMN_LIMIT: usize = 18;
/// How far rows after the first are set in where there is no second column.
const HANGING: usize = 2;
/// Below this width a second column would leave no room for words.
const NARROW: usize = 60;

/// The text as it is written to a terminal `width` columns wide, with escape sequences for colour.
#[must_use]
pub fn painted(text: &Text, width: usize) -> String {
    let mut all = String::new();
    for line in &text.0 {
        if line.is_drawing() {
            row(&mut all, line, 0, line.plain().len());
            all.push('\n');
        } else {
            wrapped(&mut all, line, width);
        }
    }
    all
}

fn style(tone: Tone) -> Style {
    match tone {
        Tone::Plain | Tone::Drawing => Style::new(),
        Tone::Heading | Tone::Reading => Style::new().bold(),
        Tone::Muted => Style::new().dimmed(),
        Tone::Hint => Style::new().fg_color(Some(AnsiColor::Cyan.into())),
        Tone::Caution => Style::new().fg_color(Some(AnsiColor::Yellow.into())),
        Tone::Word => Style::new().underline(),
    }
}

/// Breaks the line at spaces; rows after the first line up with its text or with its second column.
fn wrapped(all: &mut String, line: &Line, width: usize) {
    let plain = line.plain();
    let plain = plain.trim_end();
    let hang = hanging(plain, width);
    let first = plain.len() - plain.trim_start().len();
    // Wrapping without indents keeps every piece a slice of the line, so that its tones can be found again.
    let room = width.saturating_sub(hang).max(8);
    let lead = if hang == first + HANGING { first } else { hang };
    let body = &plain[lead..];
    row(all, line, 0, lead);
    if body.is_empty() {
        all.push('\n');
        return;
    }
    // Paths and codes stay whole, even where they are wider than the window: they are there to be copied.
    let options = Options::new(room)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .break_words(false);
    let mut from = lead;
    for (number, piece) in wrap(body, options).iter().enumerate() {
        if number > 0 {
            let _ = write!(all, "{:hang$}", "");
        }
        // The pieces follow each other with nothing but spaces between.
        let start = plain[from..]
            .find(piece.as_ref())
            .map_or(from, |at| from + at);
        row(all, line, start, start + piece.len());
        all.push('\n');
        from = start + piece.len();
    }
}

/// How far the rows after the first are set in.
fn hanging(plain: &str, width: usize) -> usize {
    let first = plain.len() - plain.trim_start().len();
    if width < NARROW {
        return first + HANGING;
    }
    let gap = plain[first..].find("  ").map(|at| first + at);
    let column = gap.map(|at| at + plain[at..].len() - plain[at..].trim_start().len());
    match column {
        Some(column) if column <= COLUMN_LIMIT && plain.is_char_boundary(column) => column,
        _ => first + HANGING,
    }
}

/// The bytes from `start` to `end` of a line, each in its style.
fn row(all: &mut String, line: &Line, start: usize, end: usize) {
    let mut at = 0;
    for span in &line.0 {
        let (from, to) = (start.max(at), end.min(at + span.text.len()));
        if from < to {
            let style = style(span.tone);
            // What comes from a file must not steer the terminal.
            let piece = span.text[from - at..to - at].replace(char::is_control, "\u{fffd}");
            let _ = write!(all, "{style}{piece}{style:#}");
        }
        at += span.text.len();
    }
}
