//! The prompt's language: lines become actions, outcomes become tagged text.
//!
//! Knows no terminal, no file and no clock; the same console serves a person, a script and a replay. A line that is
//! not understood, and one the bay refuses, leave everything as it was.

mod answer;
mod args;
mod complete;
mod drawing;
mod forms;
mod grammar;
mod greeting;
mod help;
mod measures;
mod moves;
mod names;
mod near;
mod sections;
mod table;
mod words;

pub use complete::complete;
pub use grammar::{Asked, Held, parse};
pub use help::page as help_page;
pub use names::Names;
pub use near::closest;
pub use table::WORDS;
pub use words::{Group, Slot, Word};

use crate::bay::{Action, Bay, Outcome};
use crate::report::text::Text;
use crate::report::wire;
use crate::units::{Money, Seconds};

/// One bay with a prompt in front of it.
pub struct Console {
    bay: Bay,
    names: Names,
    held: Option<Held>,
}

/// What became of one line.
pub enum Step {
    /// It was done.
    Accepted(Reply),
    /// It was not understood or cannot be done now; nothing changed and nothing was charged.
    Refused {
        /// The line as typed.
        line: String,
        /// What is wrong.
        error: String,
        /// What to type instead.
        hint: String,
    },
    /// The learner wants to leave.
    Quit,
    /// There was nothing on it.
    Blank,
}

/// The answer to an accepted line.
#[derive(Clone, PartialEq, Debug)]
pub struct Reply {
    /// Number of the action, from one.
    pub action: u32,
    /// The line as typed, without the spaces round it.
    pub line: String,
    /// The bay's clock after it, seconds.
    pub clock_s: f64,
    /// All money spent after it, labour included.
    pub spent: Money,
    /// What came of it.
    pub outcome: Outcome,
    /// The vehicle went back to the customer with this action.
    pub handed_back: bool,
}

impl Console {
    /// A prompt for a bay.
    #[must_use]
    pub fn new(bay: Bay) -> Console {
        let names = Names::of(bay.vehicle());
        Console {
            bay,
            names,
            held: None,
        }
    }

    /// The work order, the cautions and the first five words.
    #[must_use]
    pub fn greeting(&self) -> Text {
        greeting::text(&self.bay)
    }

    /// `13 min  12.57 cr spent  key off > `: what one would glance at.
    #[must_use]
    pub fn prompt(&self) -> String {
        let minutes = whole_minutes(Seconds(self.bay.clock_s()));
        let spent = self.bay.spent().show(&self.bay.vehicle().currency);
        format!(
            "{minutes} min  {spent} spent  key {} > ",
            self.bay.key().name()
        )
    }

    /// Takes one line.
    pub fn submit(&mut self, line: &str) -> Step {
        let line = line.trim();
        let asked = match grammar::parse(line, &self.names, self.held) {
            Ok(asked) => asked,
            Err(refusal) => {
                return Step::Refused {
                    line: line.to_owned(),
                    error: refusal.error,
                    hint: refusal.hint,
                };
            }
        };
        let action = match asked {
            Asked::Act(action) => action,
            Asked::Help(about) => Action::Aside {
                said: help::page(about, &self.names),
            },
            Asked::Reckon(question) => Action::Aside {
                said: self.reckon(question),
            },
            Asked::Quit => return Step::Quit,
            Asked::Nothing => return Step::Blank,
        };
        match self.bay.act(&action) {
            Ok(outcome) => Step::Accepted(self.reply(line, &action, outcome)),
            Err(refusal) => Step::Refused {
                line: line.to_owned(),
                error: refusal.error,
                hint: refusal.hint,
            },
        }
    }

    fn reply(&mut self, line: &str, action: &Action, outcome: Outcome) -> Reply {
        match action {
            Action::Meter {
                function,
                red,
                black,
            } => {
                self.held = Some(Held {
                    function: *function,
                    red: *red,
                    black: *black,
                });
            }
            // A road test takes the instruments off as well.
            Action::MeterOff | Action::Drive => self.held = None,
            _ => {}
        }
        Reply {
            action: self.bay.actions(),
            line: line.to_owned(),
            clock_s: self.bay.clock_s(),
            spent: self.bay.spent(),
            outcome,
            handed_back: self.bay.closed(),
        }
    }

    fn reckon(&self, question: wire::Question) -> Vec<String> {
        match wire::answer(question) {
            Ok(answer) => answer
                .text(self.bay.system())
                .plain()
                .lines()
                .map(str::to_owned)
                .collect(),
            // The grammar has already refused sizes that no copper wire has.
            Err(error) => vec![error.to_string()],
        }
    }

    /// The names the prompt knows on this vehicle, for completion beside the console.
    #[must_use]
    pub fn names(&self) -> &Names {
        &self.names
    }

    /// Where the piece under the cursor starts, and what it could become.
    #[must_use]
    pub fn complete(&self, line: &str, cursor: usize) -> (usize, Vec<String>) {
        complete::complete(line, cursor, &self.names)
    }

    /// An answer as text: the reading first, then how it was taken, then what was said.
    #[must_use]
    pub fn text(reply: &Reply) -> Text {
        answer::text(reply)
    }

    /// The bay being worked on.
    #[must_use]
    pub fn bay(&self) -> &Bay {
        &self.bay
    }

    /// Gives the bay up, to hand it back.
    #[must_use]
    pub fn into_bay(self) -> Bay {
        self.bay
    }
}

/// Whole minutes gone by; the seconds are nobody's concern at a glance.
fn whole_minutes(time: Seconds) -> u64 {
    // The clock counts a working day at most, far inside the range of u64, and never runs backwards.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let minutes = (time.0.max(0.0) / 60.0) as u64;
    minutes
}
