//! The receipt of a finished attempt: sixteen symbols to paste or to read out.
//!
//! The first 80 bits of the hash of the closing line, in Crockford's base 32. Whoever notes it at the hand-in can tell
//! later that the file is the one that was handed in: another file with the same receipt would take some 2^80 tries.

use std::fmt;
use std::str::FromStr;

use super::Chain;

/// Crockford's alphabet: no I, L, O, U.
const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
/// Symbols in a receipt.
const SYMBOLS: usize = 16;

/// A receipt.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Receipt([u8; SYMBOLS]);

/// How a noted receipt stands to that of a file, the likest first.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Likeness {
    /// They are the same.
    Same,
    /// One symbol differs, or two are swapped: more likely a slip in noting it than another file.
    Slip,
    /// Another file was handed in, or this one was changed since.
    Other,
}

impl Receipt {
    /// The receipt of a record with this chain; nothing for a chain that has not begun.
    #[must_use]
    pub fn of(chain: &Chain) -> Option<Receipt> {
        let head = chain.head().get(..2 * SYMBOLS * 5 / 8)?;
        let bits = u128::from_str_radix(head, 16).ok()?;
        if bits == 0 {
            return None;
        }
        // Five bits at a time, below 32.
        let symbol = |place: usize| ALPHABET[((bits >> (5 * (SYMBOLS - 1 - place))) & 31) as usize];
        Some(Receipt(std::array::from_fn(symbol)))
    }

    /// How this, as noted, stands to the receipt of a file.
    #[must_use]
    pub fn likeness(&self, file: &Receipt) -> Likeness {
        let wrong: Vec<usize> = (0..SYMBOLS)
            .filter(|at| self.0[*at] != file.0[*at])
            .collect();
        match wrong.as_slice() {
            [] => Likeness::Same,
            [_] => Likeness::Slip,
            [a, b] if self.0[*a] == file.0[*b] && self.0[*b] == file.0[*a] => Likeness::Slip,
            _ => Likeness::Other,
        }
    }
}

impl fmt::Display for Receipt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, symbol) in self.0.iter().enumerate() {
            if place > 0 && place % 4 == 0 {
                f.write_str("-")?;
            }
            write!(f, "{}", char::from(*symbol))?;
        }
        Ok(())
    }
}

impl FromStr for Receipt {
    type Err = String;

    /// Case, hyphens and spaces do not matter; O is read as 0, I and L as 1.
    fn from_str(text: &str) -> Result<Receipt, String> {
        let plain = text.chars().filter(|c| *c != '-' && !c.is_whitespace());
        let mut symbols = Vec::new();
        for symbol in plain {
            let folded = match symbol.to_ascii_uppercase() {
                'O' => '0',
                'I' | 'L' => '1',
                other => other,
            };
            let known = ALPHABET.iter().find(|known| char::from(**known) == folded);
            symbols.push(*known.ok_or_else(|| format!("`{symbol}` is not used in receipts"))?);
        }
        let found = symbols.len();
        let symbols = symbols
            .try_into()
            .map_err(|_| format!("a receipt has {SYMBOLS} symbols, this has {found}"))?;
        Ok(Receipt(symbols))
    }
}
