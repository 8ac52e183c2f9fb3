//! One bay being worked on: a line goes in, is done, is recorded, and only then is answered.

use crate::console::{Console, Reply, Step};
use crate::record::Entry;
use crate::report::text::Text;

use super::attempt_file::AttemptFile;
use super::failure::Failure;
use super::machine;
use super::ui::{Ui, refusal};

/// Whether the work goes on after a line.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum After {
    /// There may be more lines.
    More,
    /// The learner leaves.
    Left,
    /// The vehicle has been handed back.
    HandedBack,
}

/// A console with its record and its way of answering.
pub(super) struct Session {
    pub console: Console,
    pub record: Option<AttemptFile>,
    pub json: bool,
}

impl Session {
    /// Takes one line. The answer is shown once the record of it is on the disk.
    pub fn take(&mut self, line: &str, ui: &mut Ui) -> Result<After, Failure> {
        match self.console.submit(line) {
            Step::Blank => Ok(After::More),
            Step::Quit => Ok(After::Left),
            Step::Refused { line, error, hint } => {
                if self.json {
                    let bay = self.console.bay();
                    ui.json(&machine::refused(
                        &line,
                        bay.clock_s(),
                        bay.spent(),
                        &error,
                        &hint,
                    ))?;
                } else {
                    ui.show(&refusal(&error, &hint))?;
                }
                Ok(After::More)
            }
            Step::Accepted(reply) => {
                self.write(&reply)?;
                if self.json {
                    ui.json(&machine::accepted(&reply))?;
                } else {
                    ui.show(&self.console.text(&reply, ui.view()))?;
                    ui.show(&self.console.guidance())?;
                }
                Ok(if reply.handed_back {
                    After::HandedBack
                } else {
                    After::More
                })
            }
        }
    }

    fn write(&mut self, reply: &Reply) -> Result<(), Failure> {
        let Some(record) = &mut self.record else {
            return Ok(());
        };
        let entry = entry(reply);
        record.append(&entry)?;
        if reply.handed_back {
            record.close(&entry)?;
        }
        Ok(())
    }

    /// The first screen.
    pub fn greet(&self, ui: &mut Ui) -> Result<(), Failure> {
        if self.json {
            return Ok(());
        }
        let mut text = self.console.greeting();
        text.blank();
        ui.show(&text)
    }

    /// Says how to go on with unfinished work, or how to see the marks of finished work again.
    pub fn farewell(&self, after: After, ui: &mut Ui) {
        let Some(record) = &self.record else {
            return;
        };
        let path = record.path().display();
        let mut text = Text::new();
        match after {
            After::HandedBack => text.say(
                crate::report::text::Tone::Hint,
                &format!("`hidden-ohm debrief {path}` shows this again."),
            ),
            After::Left | After::More => {
                text.say(
                    crate::report::text::Tone::Hint,
                    "The work so far is kept. `hidden-ohm resume` goes on with it, or name it:",
                );
                text.say(
                    crate::report::text::Tone::Hint,
                    &format!("  hidden-ohm resume {path}"),
                );
            }
        }
        ui.note(&text);
    }
}

/// What is recorded of a reply.
pub(super) fn entry(reply: &Reply) -> Entry {
    Entry::new(
        reply.action,
        &reply.line,
        reply.clock_s,
        reply.spent,
        &reply.outcome,
    )
}
