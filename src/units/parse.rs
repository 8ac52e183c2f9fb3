//! Text to quantity: a number, a unit, nothing else.

use std::str::FromStr;

use thiserror::Error;

use super::tables::{self, Kind, Unit};
use super::{Amp, Area, Celsius, Flow, Metre, Ohm, Pascal, Seconds, Volt, Volume, Watt, gauge};

/// Why a text is not a quantity; each says the text, what was expected and how to write it.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum UnitError {
    /// Nothing but spaces.
    #[error("{noun} is missing; write it like `{example}`")]
    Empty {
        /// What was expected, with its article.
        noun: &'static str,
        /// A right form.
        example: &'static str,
    },
    /// A number alone.
    #[error("`{text}` has no unit; write it like `{example}`")]
    NoUnit {
        /// The text as given.
        text: String,
        /// A right form.
        example: String,
    },
    /// No number at the start.
    #[error("`{text}` is not {noun}; write it like `{example}`")]
    NoNumber {
        /// The text as given.
        text: String,
        /// What was expected, with its article.
        noun: &'static str,
        /// A right form.
        example: &'static str,
    },
    /// A decimal comma.
    #[error("`{text}` has a comma; write the decimal mark as a point, like `{example}`")]
    Comma {
        /// The text as given.
        text: String,
        /// A right form.
        example: &'static str,
    },
    /// The number is fine, what follows is not a unit of this quantity.
    #[error("`{unit}` in `{text}` is not a unit of {noun}; these are: {known}")]
    UnknownUnit {
        /// The text as given.
        text: String,
        /// What stands where the unit should.
        unit: String,
        /// What was expected, with its article.
        noun: &'static str,
        /// The units that can be used.
        known: String,
    },
    /// `m` and `M` differ by a factor of a thousand million, so their case is not guessed.
    #[error("`{unit}` in `{text}` leaves open whether milli or mega is meant; write {choices}")]
    MilliOrMega {
        /// The text as given.
        text: String,
        /// The unit as given.
        unit: String,
        /// The spellings that are clear.
        choices: String,
    },
    /// A number too large for any use, or a value the quantity cannot have.
    #[error("`{text}` is outside what {noun} can be; write it like `{example}`")]
    OutOfRange {
        /// The text as given.
        text: String,
        /// What was expected, with its article.
        noun: &'static str,
        /// A right form.
        example: &'static str,
    },
    /// A wire gauge that does not exist.
    #[error("`{text}` is no wire gauge; gauges run from `4/0 AWG` to `40 AWG`, in whole numbers")]
    Gauge {
        /// The text as given.
        text: String,
    },
}

macro_rules! parsing {
    ($($name:ident: $kind:ident),+ $(,)?) => {$(
        impl FromStr for $name {
            type Err = UnitError;
            fn from_str(text: &str) -> Result<Self, UnitError> {
                read(text, None, &tables::$kind).map($name)
            }
        }

        impl $name {
            /// Like parsing, except that a number alone is taken to be in `unit`, so that a prompt
            /// may accept `flow 15`.
            ///
            /// # Errors
            /// As for [`FromStr`]; an unknown `unit` is reported the same way.
            pub fn parse_in(text: &str, unit: &str) -> Result<Self, UnitError> {
                read(text, Some(unit), &tables::$kind).map($name)
            }
        }
    )+};
}

parsing! {
    Volt: VOLT, Amp: AMP, Ohm: OHM, Watt: WATT, Metre: METRE, Area: AREA,
    Pascal: PASCAL, Flow: FLOW, Volume: VOLUME, Seconds: SECONDS, Celsius: CELSIUS,
}

fn read(given: &str, default_unit: Option<&str>, kind: &Kind) -> Result<f64, UnitError> {
    let text = given.trim();
    if text.is_empty() {
        return Err(UnitError::Empty {
            noun: kind.noun,
            example: kind.example,
        });
    }
    if kind.gauges
        && let Some(area) = read_gauge(text)
    {
        return area.map(|a| a.0);
    }
    let (number, rest) = split_number(text);
    let rest = rest.trim_start();
    let Some(number) = number else {
        return Err(UnitError::NoNumber {
            text: text.into(),
            noun: kind.noun,
            example: kind.example,
        });
    };
    if rest.starts_with(',') {
        return Err(UnitError::Comma {
            text: text.into(),
            example: kind.example,
        });
    }
    let unit_text = match (rest.is_empty(), default_unit) {
        (false, _) => rest,
        (true, Some(unit)) => unit,
        (true, None) => {
            let usual = kind.units[0].names[0];
            return Err(UnitError::NoUnit {
                text: text.into(),
                example: format!("{text} {usual}"),
            });
        }
    };
    let unit = find_unit(text, unit_text, kind)?;
    // Adding zero turns a negative zero into a plain one.
    let value = (number + unit.shift) * unit.times / unit.by + 0.0;
    if value.is_finite() && value >= kind.lowest {
        Ok(value)
    } else {
        Err(UnitError::OutOfRange {
            text: text.into(),
            noun: kind.noun,
            example: kind.example,
        })
    }
}

/// `AWG 14`, `14 AWG`, `14 gauge`, `4/0 AWG`; `None` when the text does not speak of gauges.
fn read_gauge(text: &str) -> Option<Result<Area, UnitError>> {
    let lower = text.to_ascii_lowercase();
    let number = ["awg", "gauge"]
        .iter()
        .find_map(|word| {
            lower
                .strip_prefix(word)
                .or_else(|| lower.strip_suffix(word))
        })?
        .trim();
    let area = gauge::number(number).and_then(Area::from_awg);
    Some(area.ok_or_else(|| UnitError::Gauge { text: text.into() }))
}

/// Splits a leading decimal number off. Groups of three digits may stand apart (`148 000 km`). The
/// number is `None` when the text does not start with one.
pub(super) fn split_number(text: &str) -> (Option<f64>, &str) {
    let (negative, body) = match text.chars().next() {
        // The second is the typographic minus sign.
        Some(sign @ ('-' | '\u{2212}')) => (true, &text[sign.len_utf8()..]),
        Some('+') => (false, &text[1..]),
        _ => (false, text),
    };
    let bytes = body.as_bytes();
    let run = |from: usize| {
        bytes[from.min(bytes.len())..]
            .iter()
            .take_while(|b| b.is_ascii_digit())
            .count()
    };
    let mut end = run(0);
    let mut whole = body[..end].to_owned();
    if (1..=3).contains(&end) {
        while bytes.get(end) == Some(&b' ') && run(end + 1) == 3 {
            whole.push_str(&body[end + 1..end + 4]);
            end += 4;
        }
    }
    let mut literal = whole;
    if bytes.get(end) == Some(&b'.') {
        let decimals = run(end + 1);
        literal.push_str(&body[end..=end + decimals]);
        end += 1 + decimals;
    }
    if !literal.bytes().any(|b| b.is_ascii_digit()) {
        return (None, text);
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let digits = run(end + 1 + sign);
        if digits > 0 {
            literal.push_str(&body[end..end + 1 + sign + digits]);
            end += 1 + sign + digits;
        }
    }
    let number = literal
        .parse::<f64>()
        .ok()
        .map(|n| if negative { -n } else { n });
    (number, &body[end..])
}

fn find_unit<'k>(text: &str, given: &str, kind: &'k Kind) -> Result<&'k Unit, UnitError> {
    // Any spacing inside a unit is the same unit: `fl  oz`, `L / h`.
    let unit_text = given
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .replace(" /", "/")
        .replace("/ ", "/");
    let first = unit_text.chars().next();
    let folded = unit_text.to_lowercase();
    let mut wrong_case = Vec::new();
    for unit in kind.units {
        for name in unit
            .names
            .iter()
            .filter(|name| name.to_lowercase() == folded)
        {
            if !unit.case_matters || name.chars().next() == first {
                return Ok(unit);
            }
            wrong_case.push(format!("`{name}`"));
        }
    }
    if !wrong_case.is_empty() {
        return Err(UnitError::MilliOrMega {
            text: text.into(),
            unit: unit_text,
            choices: wrong_case.join(" or "),
        });
    }
    let mut known: Vec<&str> = kind.units.iter().map(|unit| unit.names[0]).collect();
    if kind.gauges {
        known.push("AWG");
    }
    Err(UnitError::UnknownUnit {
        text: text.into(),
        unit: unit_text,
        noun: kind.noun,
        known: known.join(" "),
    })
}
