//! The two output streams: results on standard output, everything else on standard error.

use std::io::{self, IsTerminal, Write};

use crate::console::View;
use crate::report::text::{Line, Text, Tone};

use super::failure::Failure;
use super::paint::painted;

/// Width when nothing says otherwise.
const USUAL_WIDTH: usize = 80;
/// Nothing can be read in less.
const LEAST_WIDTH: usize = 20;

/// Where answers go.
pub struct Ui {
    out: Box<dyn Write>,
    err: Box<dyn Write>,
    plain: bool,
}

impl Ui {
    /// The two streams; `plain` leaves drawings out.
    #[must_use]
    pub fn new(plain: bool) -> Ui {
        Ui {
            out: Box::new(anstream::stdout()),
            err: Box::new(anstream::stderr()),
            plain,
        }
    }

    /// How answers are laid out here.
    #[must_use]
    pub fn view(&self) -> View {
        View {
            columns: width(),
            plain: self.plain,
        }
    }

    /// A result.
    ///
    /// # Errors
    /// When standard output cannot be written, or its reader has gone.
    pub fn show(&mut self, text: &Text) -> Result<(), Failure> {
        self.out.write_all(painted(text, width()).as_bytes())?;
        Ok(self.out.flush()?)
    }

    /// A result as it stands.
    ///
    /// # Errors
    /// As for [`Ui::show`].
    pub fn raw(&mut self, text: &str) -> Result<(), Failure> {
        self.out.write_all(text.as_bytes())?;
        Ok(self.out.flush()?)
    }

    /// A result that is one JSON value, on one line.
    ///
    /// # Errors
    /// As for [`Ui::show`].
    pub fn json(&mut self, value: &serde_json::Value) -> Result<(), Failure> {
        self.raw(&format!("{value}\n"))
    }

    /// Something that is not a result. Nothing can be done when it cannot be written.
    pub fn note(&mut self, text: &Text) {
        let _ = self.err.write_all(painted(text, width()).as_bytes());
        let _ = self.err.flush();
    }

    /// One line that is not a result.
    pub fn note_line(&mut self, line: &str) {
        self.note(&Text(vec![Line::new(Tone::Plain, line)]));
    }

    /// Why the command stopped.
    pub fn failure(&mut self, failure: &Failure) {
        self.note(&refusal(&failure.error, &failure.hint));
    }
}

/// An error with what to do about it.
#[must_use]
pub fn refusal(error: &str, hint: &str) -> Text {
    let mut text = Text::new();
    let mut lines = error.split('\n');
    text.push(Line::new(Tone::Caution, "error: ").and(Tone::Plain, lines.next().unwrap_or("")));
    for line in lines {
        // Places in files and the source lines under them keep their columns.
        text.say(Tone::Drawing, line);
    }
    if !hint.is_empty() {
        text.push(Line::new(Tone::Hint, "hint: ").and(Tone::Plain, hint));
    }
    text
}

/// How many columns there are: `COLUMNS`, the terminal's own width, or 80.
fn width() -> usize {
    let stated = std::env::var("COLUMNS")
        .ok()
        .and_then(|text| text.parse().ok());
    let own = || {
        let terminal = io::stdout()
            .is_terminal()
            .then(terminal_size::terminal_size)
            .flatten();
        terminal.map(|(width, _)| usize::from(width.0))
    };
    stated.or_else(own).unwrap_or(USUAL_WIDTH).max(LEAST_WIDTH)
}
