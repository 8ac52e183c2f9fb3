//! Decimal numbers as a record writes them: one text for one number, on every machine.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Billionths in one.
const ONE: i64 = 1_000_000_000;

/// A number in whole billionths, written without needless zeros: `"0.243"`, `"-12.6"`, `"300000"`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub struct Decimal(pub i64);

impl Decimal {
    /// The nearest billionth. What a display shows is far below the nine thousand million that fit.
    #[must_use]
    pub fn of(value: f64) -> Decimal {
        // A cast from a float saturates, and a display shows no more than fits.
        #[expect(clippy::cast_possible_truncation)]
        let billionths = libm::round(value * ONE as f64) as i64;
        Decimal(billionths)
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, part) = (
            self.0.unsigned_abs() / ONE.unsigned_abs(),
            self.0.unsigned_abs() % ONE.unsigned_abs(),
        );
        if part == 0 {
            return write!(f, "{sign}{whole}");
        }
        let digits = format!("{part:09}");
        write!(f, "{sign}{whole}.{}", digits.trim_end_matches('0'))
    }
}

impl FromStr for Decimal {
    type Err = String;

    /// Reads the one way of writing and no other.
    fn from_str(text: &str) -> Result<Decimal, String> {
        let wrong = || format!("`{text}` is not a decimal as records write it");
        let (negative, digits) = text
            .strip_prefix('-')
            .map_or((false, text), |rest| (true, rest));
        let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
        if part.len() > 9
            || !whole
                .bytes()
                .chain(part.bytes())
                .all(|byte| byte.is_ascii_digit())
        {
            return Err(wrong());
        }
        let number: i128 = format!("{whole}{part:0<9}").parse().map_err(|_| wrong())?;
        let signed = if negative { -number } else { number };
        let found = Decimal(i64::try_from(signed).map_err(|_| wrong())?);
        if found.to_string() == text {
            Ok(found)
        } else {
            Err(wrong())
        }
    }
}

impl Serialize for Decimal {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Decimal {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Decimal, D::Error> {
        String::deserialize(from)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}
