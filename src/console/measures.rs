//! Numbers with units on a prompt line.

use crate::bay::Refusal;
use crate::instrument::Extension;
use crate::report::wire;
use crate::units::{Amp, Area, Celsius, Metre};

use super::args::{Args, begins};

/// The temperature conductor tables are made for.
const TABLE_TEMPERATURE: Celsius = Celsius(20.0);

/// Numbers with units, in whatever order they were typed.
#[derive(Default)]
pub(super) struct Measures {
    pub length: Option<Metre>,
    pub area: Option<Area>,
    pub current: Option<Amp>,
    pub temperature: Option<Celsius>,
}

impl Measures {
    /// Takes a quantity in. Whether it is the first of its kind; nothing if it is of no kind known here.
    fn take(&mut self, text: &str) -> Option<bool> {
        fn first<T>(slot: &mut Option<T>, value: T) -> bool {
            slot.replace(value).is_none()
        }
        let length = text.parse().map(|value| first(&mut self.length, value));
        let area = |_| text.parse().map(|value| first(&mut self.area, value));
        length.or_else(area).ok().or_else(|| {
            let current = text.parse().map(|value| first(&mut self.current, value));
            let temperature = |_| {
                text.parse()
                    .map(|value| first(&mut self.temperature, value))
            };
            current.or_else(temperature).ok()
        })
    }

    /// The wire they describe, when both its length and its size are there and copper wire of that size exists.
    pub fn wire(&self, args: &Args<'_>, what: &str) -> Result<Extension, Refusal> {
        let question = self.question(args, what)?;
        Ok(Extension {
            length_m: question.length.0,
            size: wire::size(question.area),
        })
    }

    /// The same with everything else that can be asked of a wire.
    pub fn question(&self, args: &Args<'_>, what: &str) -> Result<wire::Question, Refusal> {
        let (Some(length), Some(area)) = (self.length, self.area) else {
            return Err(args.missing(what));
        };
        let temperature = self.temperature.unwrap_or(TABLE_TEMPERATURE);
        let question = wire::Question {
            length,
            area,
            current: self.current,
            temperature,
        };
        let answer = wire::answer(question);
        answer.map(|_| question).map_err(|error| Refusal {
            error: error.to_string(),
            hint: args.example(),
        })
    }
}

/// Whether a quantity that begins with one piece goes on in the next: `5` with `m`, `awg` with `18`.
pub(super) fn goes_on(first: &str, second: &str) -> bool {
    let bare = first
        .chars()
        .all(|c| c.is_ascii_digit() || ".-+/\u{2212}".contains(c));
    first.eq_ignore_ascii_case("awg") || bare && !second.starts_with(|c: char| c.is_ascii_digit())
}

impl Args<'_> {
    /// A number and its unit, joined: `5 m`, `5m`, `18 AWG`, `AWG 18`.
    pub fn quantity_text(&mut self) -> Option<String> {
        let first = self.next()?;
        match self.peek() {
            Some(second) if goes_on(first, second) => {
                self.next();
                Some(format!("{first} {second}"))
            }
            _ => Some(first.to_owned()),
        }
    }

    /// Everything left as lengths, sizes, currents and temperatures, each at most once and in any order.
    pub fn measures(&mut self) -> Result<Measures, Refusal> {
        let mut found = Measures::default();
        while self.peek().is_some_and(|piece| {
            piece.starts_with(|c: char| !c.is_ascii_alphabetic()) || begins("awg", piece)
        }) {
            let Some(text) = self.quantity_text() else {
                break;
            };
            let Some(fresh) = found.take(&text) else {
                let error = format!(
                    "`{text}` is not a length, a size, a current or a temperature with its unit"
                );
                return Err(Refusal {
                    error,
                    hint: self.example(),
                });
            };
            if !fresh {
                let error = format!("`{text}` gives a second value for the same thing");
                return Err(Refusal {
                    error,
                    hint: self.example(),
                });
            }
        }
        Ok(found)
    }
}
