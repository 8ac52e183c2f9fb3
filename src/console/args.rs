//! What follows the word on a prompt line, taken off piece by piece.

use crate::bay::{Refusal, Target, Verdict};
use crate::circuit::NodeId;
use crate::instrument::Side;
use crate::units::UnitError;
use crate::vehicle::{AccessId, PartId, Section};

use super::near::{alternatives, closest};
use super::sections;
use super::words::Word;
use super::{Held, Names};

/// The pieces after the word, with what is needed to understand them.
pub(super) struct Args<'a> {
    /// The word they belong to.
    pub word: &'static Word,
    /// The vehicle's names.
    pub names: &'a Names,
    /// What the meter is connected to, if it is.
    pub held: Option<Held>,
    rest: &'a [&'a str],
}

impl<'a> Args<'a> {
    pub fn new(
        word: &'static Word,
        rest: &'a [&'a str],
        names: &'a Names,
        held: Option<Held>,
    ) -> Args<'a> {
        Args {
            word,
            names,
            held,
            rest,
        }
    }

    /// Whether nothing is left.
    pub fn is_empty(&self) -> bool {
        self.rest.is_empty()
    }

    /// All that is left, which stays.
    pub fn left(&self) -> &'a [&'a str] {
        self.rest
    }

    /// The next piece, which stays.
    pub fn peek(&self) -> Option<&'a str> {
        self.rest.first().copied()
    }

    /// Takes the next piece off.
    pub fn next(&mut self) -> Option<&'a str> {
        let (first, rest) = self.rest.split_first()?;
        self.rest = rest;
        Some(first)
    }

    /// Takes the next piece off if it begins `word`.
    pub fn take(&mut self, word: &str) -> bool {
        let fits = self.peek().is_some_and(|piece| begins(word, piece));
        if fits {
            self.next();
        }
        fits
    }

    /// Refuses whatever is left over.
    pub fn finish(&self) -> Result<(), Refusal> {
        if self.rest.is_empty() {
            return Ok(());
        }
        let error = format!(
            "`{}` does not know what to do with `{}`",
            self.word.name,
            self.rest.join(" ")
        );
        Err(Refusal {
            error,
            hint: self.example(),
        })
    }

    /// What to type, as a hint: "type for example `look G4`".
    pub fn example(&self) -> String {
        let word = self.word.name;
        match self.word.example_with(self.names) {
            Some(example) => format!("type for example `{example}`; `help {word}` tells more"),
            None => {
                format!("this vehicle has nothing to do it with; `help {word}` tells what it is")
            }
        }
    }

    /// A refusal because something is missing: `what` completes "`volts` needs ...".
    pub fn missing(&self, what: &str) -> Refusal {
        Refusal {
            error: format!("`{}` needs {what}", self.word.name),
            hint: self.example(),
        }
    }

    /// One of a few words, by its beginning.
    pub fn choice<'c>(&mut self, choices: &[&'c str]) -> Result<&'c str, Refusal> {
        let listed = alternatives(choices.iter().copied());
        let Some(piece) = self.next() else {
            return Err(self.missing(&listed));
        };
        let mut fitting = choices.iter().filter(|choice| begins(choice, piece));
        let exact = choices
            .iter()
            .find(|choice| choice.eq_ignore_ascii_case(piece));
        match (exact, fitting.next(), fitting.next()) {
            (Some(choice), ..) | (None, Some(choice), None) => Ok(choice),
            _ => Err(Refusal {
                error: format!("`{}` takes {listed}, not `{piece}`", self.word.name),
                hint: self.example(),
            }),
        }
    }

    /// `on` or `off`.
    pub fn on_off(&mut self) -> Result<bool, Refusal> {
        Ok(self.choice(&["on", "off"])? == "on")
    }

    /// A place a tip can touch; `what` completes "`volts` needs ...".
    pub fn point(&mut self, what: &str) -> Result<NodeId, Refusal> {
        let Some(piece) = self.next() else {
            return Err(self.missing(what));
        };
        if let Some(id) = self.names.point(piece) {
            return Ok(id);
        }
        let own = self.names.points_of(piece);
        if !own.is_empty() {
            let error = format!("`{piece}` has several points; a tip goes on one of them");
            return Err(Refusal {
                error,
                hint: format!("name one: {}", alternatives(own)),
            });
        }
        let error = if self.names.part(piece).is_some() {
            format!("no tip can be put on `{piece}` itself; it has no point of its own")
        } else {
            format!("there is no point `{piece}`")
        };
        Err(Refusal {
            error,
            hint: did_you_mean(&self.names.near_points(piece), "`points` lists them all"),
        })
    }

    /// A part.
    pub fn part(&mut self) -> Result<PartId, Refusal> {
        let Some(piece) = self.next() else {
            return Err(self.missing("a part"));
        };
        self.named_part(piece)
    }

    fn named_part(&self, piece: &str) -> Result<PartId, Refusal> {
        self.names.part(piece).ok_or_else(|| Refusal {
            error: format!("there is no part `{piece}`"),
            hint: did_you_mean(
                &self.names.near_parts(piece),
                "`diagram` and `points` show what there is",
            ),
        })
    }

    /// A part, or one leg of it: `G4`, `X7.2`, `X7 2`.
    pub fn target(&mut self) -> Result<Target, Refusal> {
        let Some(piece) = self.next() else {
            return Err(self.missing("a part"));
        };
        if let Some(part) = self.names.part(piece) {
            let leg = match self.next() {
                None => None,
                Some(leg) => Some(self.leg(piece, leg)?),
            };
            return Ok(Target { part, leg });
        }
        if let Some((owner, leg)) = piece.split_once('.')
            && let Some(part) = self.names.part(owner)
        {
            return Ok(Target {
                part,
                leg: Some(self.leg(owner, leg)?),
            });
        }
        let part = self.named_part(piece)?;
        Ok(Target { part, leg: None })
    }

    fn leg(&self, part: &str, text: &str) -> Result<String, Refusal> {
        if let Some(leg) = self.names.leg(part, text) {
            return Ok(leg.to_owned());
        }
        let part = part.to_ascii_uppercase();
        let legs: Vec<String> = self
            .names
            .legs(&part)
            .map(|leg| format!("{part}.{leg}"))
            .collect();
        let hint = if legs.is_empty() {
            format!("name the part alone: `{} {part}`", self.word.name)
        } else {
            format!("it has {}", alternatives(legs.iter().map(String::as_str)))
        };
        Err(Refusal {
            error: format!("`{part}` has no `{text}`"),
            hint,
        })
    }

    /// A piece of access work, by its beginning.
    pub fn access(&mut self) -> Result<AccessId, Refusal> {
        let every = alternatives(self.names.accesses());
        let Some(piece) = self.next() else {
            return Err(Refusal {
                error: format!("`{}` needs to know which work", self.word.name),
                hint: format!("there is {every}"),
            });
        };
        self.names.access(piece).ok_or_else(|| Refusal {
            error: format!("there is no access work `{piece}`"),
            hint: did_you_mean(
                &self.names.near_accesses(piece),
                &format!("there is {every}"),
            ),
        })
    }

    /// `red` or `black`; `otherwise` when nothing is left.
    pub fn side_or(&mut self, otherwise: Side) -> Result<Side, Refusal> {
        if self.is_empty() {
            return Ok(otherwise);
        }
        Ok(if self.choice(&["red", "black"])? == "red" {
            Side::Red
        } else {
            Side::Black
        })
    }

    /// A section and what is thought of it: everything up to the verdict names the section.
    pub fn section_and_verdict(&mut self) -> Result<(Section, Verdict), Refusal> {
        let verdict_of = |piece: &str| {
            let all = [
                ("good", Verdict::Good),
                ("bad", Verdict::Bad),
                ("unsure", Verdict::Unsure),
            ];
            all.into_iter()
                .find(|(word, _)| begins(word, piece))
                .map(|(_, verdict)| verdict)
        };
        let sections = || {
            sections::all()
                .map(|section| section.to_string())
                .collect::<Vec<_>>()
                .join(", ")
        };
        if self.is_empty() {
            let hint = format!("sections: {}; {}", sections(), self.example());
            return Err(Refusal {
                error: "`call` needs a section and a verdict (good, bad or unsure)".into(),
                hint,
            });
        }
        let at = self
            .rest
            .iter()
            .position(|piece| verdict_of(piece).is_some())
            .unwrap_or(self.rest.len());
        let (name, after) = self.rest.split_at(at);
        // With no verdict in the line, the longest beginning that names a section leaves the word that was meant for one.
        let known = (1..name.len())
            .rev()
            .find(|&pieces| sections::named(&name[..pieces].join(" ")).is_ok());
        if let Some(pieces) =
            known.filter(|_| after.is_empty() && sections::named(&name.join(" ")).is_err())
        {
            return Err(Refusal {
                error: format!("`{}` is no verdict", name[pieces]),
                hint: format!("good, bad or unsure; {}", self.example()),
            });
        }
        let name = name.join(" ");
        let section = sections::named(&name).map_err(|several| Refusal {
            error: if name.is_empty() {
                "`call` needs the section before the verdict".into()
            } else if several.is_empty() {
                format!("there is no section `{name}`")
            } else {
                format!(
                    "`{name}` could be {}",
                    alternatives(several.iter().map(String::as_str))
                )
            },
            hint: format!("sections: {}", sections()),
        })?;
        self.rest = after;
        let Some(verdict) = self.next().and_then(verdict_of) else {
            return Err(Refusal {
                error: format!("`call` needs a verdict on the {section} section"),
                hint: format!(
                    "type `call {section} good`, `call {section} bad` or `call {section} unsure`"
                ),
            });
        };
        Ok((section, verdict))
    }

    /// Turns a unit error into a refusal that shows the right form.
    pub fn unit_refusal(&self, error: &UnitError) -> Refusal {
        Refusal {
            error: error.to_string(),
            hint: self.example(),
        }
    }
}

/// Whether `piece` is a beginning of `word`, without regard to case.
pub(super) fn begins(word: &str, piece: &str) -> bool {
    !piece.is_empty()
        && word
            .get(..piece.len())
            .is_some_and(|start| start.eq_ignore_ascii_case(piece))
}

/// "did you mean ...", or what to do when nothing is alike.
fn did_you_mean(near: &[&str], otherwise: &str) -> String {
    if near.is_empty() {
        otherwise.to_owned()
    } else {
        format!(
            "did you mean {}? {otherwise}",
            alternatives(near.iter().copied())
        )
    }
}

/// Words that look like `text`, as a hint.
pub(super) fn near_words<'w>(text: &str, words: impl Iterator<Item = &'w str>) -> String {
    did_you_mean(&closest(text, words), "`help` lists the words")
}
