//! The prompt: rustyline in front of a session. The only module that knows rustyline.

use std::path::PathBuf;

use rustyline::completion::Completer;
use rustyline::config::Configurer;
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::history::DefaultHistory;
use rustyline::validate::Validator;
use rustyline::{CompletionType, Config, Context, Editor, Helper};

use crate::console::{Names, complete};

use super::failure::{Failure, Kind};

/// How many typed lines are remembered between sessions.
const HISTORY_LINES: usize = 1000;

/// What the person at the prompt did.
pub(super) enum Typed {
    /// A line.
    Line(String),
    /// Ctrl-C: the line is dropped.
    Dropped,
    /// Ctrl-D: leave.
    End,
}

/// A line editor with the vehicle's names.
pub(super) struct Prompt {
    editor: Editor<Completion, DefaultHistory>,
    history: Option<PathBuf>,
}

struct Completion {
    names: Names,
}

impl Prompt {
    /// An editor that completes these names and remembers lines in `history`, if there is one.
    pub fn new(names: Names, history: Option<PathBuf>) -> Result<Prompt, Failure> {
        let config = Config::builder()
            .completion_type(CompletionType::List)
            .history_ignore_space(true)
            // A pasted line is a typed one: it ends where the paste has an end of line, and the next follows it.
            .bracketed_paste(false)
            .build();
        let mut editor = Editor::with_config(config).map_err(|error| terminal(&error))?;
        editor.set_helper(Some(Completion { names }));
        // A history that cannot be read or kept is a comfort lost, not a reason to stop.
        let _ = editor.set_max_history_size(HISTORY_LINES);
        if let Some(path) = &history {
            let _ = editor.load_history(path);
        }
        Ok(Prompt { editor, history })
    }

    /// Waits for the next line.
    pub fn read(&mut self, prompt: &str) -> Result<Typed, Failure> {
        match self.editor.readline(prompt) {
            Ok(line) => {
                if !line.trim().is_empty()
                    && self
                        .editor
                        .add_history_entry(line.as_str())
                        .unwrap_or(false)
                    && let Some(path) = &self.history
                {
                    let _ = self.editor.append_history(path);
                }
                Ok(Typed::Line(line))
            }
            Err(ReadlineError::Interrupted) => Ok(Typed::Dropped),
            Err(ReadlineError::Eof) => Ok(Typed::End),
            Err(error) => Err(terminal(&error)),
        }
    }
}

fn terminal(error: &ReadlineError) -> Failure {
    Failure::new(
        Kind::System,
        format!("the terminal gave up: {error}"),
        "the attempt is kept; `hidden-ohm resume` goes on",
    )
}

impl Completer for Completion {
    type Candidate = String;

    fn complete(
        &self,
        line: &str,
        pos: usize,
        _: &Context<'_>,
    ) -> rustyline::Result<(usize, Vec<String>)> {
        let (start, mut candidates) = complete(line, pos, &self.names);
        if let [only] = candidates.as_mut_slice() {
            only.push(' ');
        }
        Ok((start, candidates))
    }
}

impl Hinter for Completion {
    type Hint = String;
}

impl Highlighter for Completion {}
impl Validator for Completion {}
impl Helper for Completion {}
