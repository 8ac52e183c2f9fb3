//! Money in whole minor units, so that sums are exact. The currency mark belongs to the vehicle
//! file, not to us.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Sub};
use std::str::FromStr;

use super::UnitError;
use super::show::grouped;

/// An amount in whole minor units (hundredths). Sums stop at the ends of `i64` instead of wrapping
/// round.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Money(pub i64);

const NOUN: &str = "an amount of money";
const EXAMPLE: &str = "12.57";

impl Money {
    /// `12.57 cr`, `1 234.50 cr`, with `mark` as the currency mark; an empty mark leaves the number
    /// alone.
    #[must_use]
    pub fn show(self, mark: &str) -> String {
        let sign = if self.0 < 0 { "-" } else { "" };
        let minor = self.0.unsigned_abs();
        let number = grouped(&format!("{sign}{}.{:02}", minor / 100, minor % 100), 4);
        if mark.is_empty() {
            number
        } else {
            format!("{number} {mark}")
        }
    }
}

impl FromStr for Money {
    type Err = UnitError;

    /// Reads `12`, `12.5`, `12.57` or `1 234.50`, without a currency mark.
    fn from_str(given: &str) -> Result<Money, UnitError> {
        let text = given.trim();
        let wrong = || UnitError::NoNumber {
            text: text.into(),
            noun: NOUN,
            example: EXAMPLE,
        };
        if text.is_empty() {
            return Err(UnitError::Empty {
                noun: NOUN,
                example: EXAMPLE,
            });
        }
        if text.contains(',') {
            return Err(UnitError::Comma {
                text: text.into(),
                example: EXAMPLE,
            });
        }
        let (negative, amount) = text
            .strip_prefix('-')
            .map_or((false, text), |rest| (true, rest));
        let (whole, decimals) = amount.split_once('.').unwrap_or((amount, "00"));
        let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
        let mut groups = whole.split(' ');
        let first = groups.next().unwrap_or("");
        let well_grouped = !first.is_empty()
            && digits(first)
            && (first.len() <= 3 || first == whole)
            && groups.all(|group| group.len() == 3 && digits(group));
        if !well_grouped || !(1..=2).contains(&decimals.len()) || !digits(decimals) {
            return Err(wrong());
        }
        let sign = if negative { "-" } else { "" };
        let minor = format!("{sign}{}{decimals:0<2}", whole.replace(' ', ""));
        let out_of_range = |_| UnitError::OutOfRange {
            text: text.into(),
            noun: NOUN,
            example: EXAMPLE,
        };
        minor.parse().map(Money).map_err(out_of_range)
    }
}

impl Add for Money {
    type Output = Money;
    fn add(self, more: Money) -> Money {
        Money(self.0.saturating_add(more.0))
    }
}

impl Sub for Money {
    type Output = Money;
    fn sub(self, less: Money) -> Money {
        Money(self.0.saturating_sub(less.0))
    }
}

impl AddAssign for Money {
    fn add_assign(&mut self, more: Money) {
        *self = *self + more;
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Money>>(parts: I) -> Money {
        parts.fold(Money(0), Add::add)
    }
}
