//! The prompt's language: lines become actions, outcomes become tagged text.
//!
//! Knows no terminal, no file and no clock; the same console serves a person, a script and a replay. A line that is
//! not understood, and one the bay refuses, leave everything as it was.

mod answer;
mod args;
mod coach;
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
mod wiring;
mod words;

pub use complete::complete;
pub use grammar::{Asked, Held, parse};
pub use help::page as help_page;
pub use names::Names;
pub use near::closest;
pub use table::words;
pub use words::{Group, Slot, Word};

use coach::Asking;

use crate::bay::{Action, Bay, Outcome, Refusal};
use crate::report::text::{Line, Text, Tone};
use crate::report::wire;
use crate::units::{Money, Seconds};

/// How answers are laid out. It changes how a thing is told, never what is recorded of it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct View {
    /// Columns of the window.
    pub columns: usize,
    /// No drawings: everything in words.
    pub plain: bool,
}

impl View {
    /// Columns that most lines can be typed in: `flow 15 s jumper K3.30 K3.87`.
    const LINE: usize = 32;

    /// Whether a line has room beside a prompt; one that wraps loses its list of completions.
    fn has_room_beside(self, prompt: &str) -> bool {
        prompt.chars().count() + View::LINE <= self.columns
    }
}

/// One bay with a prompt in front of it.
pub struct Console {
    bay: Bay,
    names: Names,
    asking: Asking,
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
        let names = Names::of(bay.vehicle()).told_in(bay.system());
        Console {
            bay,
            names,
            asking: Asking::default(),
        }
    }

    /// The work order, the cautions and the first five words.
    #[must_use]
    pub fn greeting(&self) -> Text {
        greeting::text(&self.bay)
    }

    /// `7.  13 min  12.57 cr spent  key off > `: the number the next action will have, which marks cite, and what one
    /// would glance at. Without room beside that the line is typed on a row of its own: `7 > `.
    #[must_use]
    pub fn prompt(&self, view: View) -> String {
        let next = self.bay.actions() + 1;
        let minutes = whole_minutes(Seconds(self.bay.clock_s()));
        let currency = &self.bay.vehicle().currency;
        let spent = self.bay.spent().show(currency);
        let limits = self.bay.limits();
        // An exercise may have an end of time or money, which belongs where one glances.
        let of_time = limits.seconds.map_or_else(String::new, |seconds| {
            format!(" of {}", whole_minutes(Seconds(seconds)))
        });
        let of_money = limits
            .money
            .map_or_else(String::new, |money| format!(" of {}", money.show(currency)));
        let glance = format!(
            "{minutes}{of_time} min  {spent}{of_money} spent  key {}",
            self.bay.key().name()
        );
        let beside = format!("{next}.  {glance} > ");
        if view.has_room_beside(&beside) {
            beside
        } else {
            format!("{glance}\n{next} > ")
        }
    }

    /// Takes one line.
    pub fn submit(&mut self, line: &str) -> Step {
        let line = line.trim();
        let refused = |refusal: Refusal| Step::Refused {
            line: line.to_owned(),
            error: refusal.error,
            hint: refusal.hint,
        };
        let asked = match grammar::parse(line, &self.names, self.held()) {
            Ok(asked) => asked,
            Err(refusal) => return refused(refusal),
        };
        let guide = match asked {
            Asked::Guide(on) => Some(on),
            _ => None,
        };
        let action = match asked {
            Asked::Act(action) => action,
            Asked::Guide(on) => Asking::guide(on),
            Asked::Hint(depth) => match self.asking.hint(&self.bay, depth) {
                Ok(action) => action,
                Err(refusal) => return refused(refusal),
            },
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
            Ok(outcome) => {
                self.asking.done(&action, guide);
                Step::Accepted(self.reply(line, outcome))
            }
            Err(refusal) => refused(refusal),
        }
    }

    /// What the meter is connected to, so that a word alone reads again.
    fn held(&self) -> Option<Held> {
        let (function, red, black) = self.bay.metered()?;
        Some(Held {
            function,
            red,
            black,
        })
    }

    /// What could still be wrong and the next kind of step, while the work is guided; it is told beside the answers and
    /// is no part of them.
    pub fn guidance(&mut self) -> Text {
        let mut text = Text::new();
        if self.asking.guided() && !self.bay.closed() {
            let said = match self.asking.guidance(&self.bay) {
                Ok(said) => said,
                Err(refusal) => vec![refusal.error],
            };
            for line in said {
                text.push(Line::new(Tone::Hint, format!("  {line}")));
            }
        }
        text
    }

    fn reply(&self, line: &str, outcome: Outcome) -> Reply {
        Reply {
            action: outcome.number,
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
    pub fn text(&self, reply: &Reply, view: View) -> Text {
        answer::text(reply, &self.bay, view)
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
