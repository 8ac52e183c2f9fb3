//! Scenario codes: 80 bits and a check, as text that survives being read out over a telephone.
//!
//! Layout, most significant bit first: generator version (5 bits), vehicle set (8), level (3), seed
//! (64): sixteen Crockford base-32 symbols. Two more symbols hold the check value (10 bits) that
//! makes the 90-bit number divisible by 1021. 1021 is prime and 32 has order 68 modulo 1021, so the
//! eighteen place values 32^0 .. 32^17 differ from each other and from zero: one wrong symbol
//! changes the remainder by d * 32^i, two swapped symbols by d * (32^i - 32^j), with 0 < |d| < 32,
//! and neither can be a multiple of 1021. Every such slip is therefore caught.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

/// The generator version this program draws new scenarios with.
pub const GENERATOR_VERSION: u8 = 1;

/// Crockford's alphabet: no I, L, O, U.
const ALPHABET: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const SYMBOLS: usize = 18;
const CHECK_BITS: u32 = 10;
const MODULUS: u128 = 1021;
const LEVELS: std::ops::RangeInclusive<u8> = 1..=5;

/// What reproduces a generated scenario. Its fields always fit the code's bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ScenarioCode {
    version: u8,
    set: u8,
    level: u8,
    seed: u64,
}

/// Why a text is no scenario code, or one that cannot be used here.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum CodeError {
    /// A character that no code contains.
    #[error(
        "`{symbol}` at place {place} is not used in codes; they have the digits and the letters without I, L, O, U"
    )]
    UnknownSymbol {
        /// The character as given.
        symbol: char,
        /// Its place among the symbols, from 1, hyphens and spaces not counted.
        place: usize,
    },
    /// Too many or too few symbols.
    #[error("a code has 18 symbols, this has {found}; it looks like 1010-28T5-CY4T-QKFF-5Q")]
    WrongLength {
        /// How many symbols there were.
        found: usize,
    },
    /// The check symbols do not fit.
    #[error(
        "the code does not check: one symbol is wrong or two are swapped; compare it with the original"
    )]
    Check,
    /// The symbols are right, the level is none of ours.
    #[error("the code asks for level {level}; levels run from 1 to 5")]
    Level {
        /// The level in the code.
        level: u8,
    },
    /// A version number that does not fit in a code.
    #[error("a code cannot carry generator version {version}; versions run from 0 to 31")]
    Version {
        /// The version asked for.
        version: u8,
    },
    /// Made by a generator that this program does not have.
    #[error("this code needs generator version {needs}; this program has version {have}")]
    UnknownVersion {
        /// The version in the code.
        needs: u8,
        /// The newest version this program has.
        have: u8,
    },
}

impl ScenarioCode {
    /// Puts a code together for generator `version` (0 to 31), vehicle `set` (the bits of a
    /// [`super::VehicleSet`]), `level` (1 to 5) and `seed`.
    ///
    /// # Errors
    /// [`CodeError::Version`] or [`CodeError::Level`] when one does not fit.
    pub fn new(version: u8, set: u8, level: u8, seed: u64) -> Result<ScenarioCode, CodeError> {
        if version > 31 {
            Err(CodeError::Version { version })
        } else if !LEVELS.contains(&level) {
            Err(CodeError::Level { level })
        } else {
            Ok(ScenarioCode {
                version,
                set,
                level,
                seed,
            })
        }
    }

    /// The generator version that gives the code its meaning.
    #[must_use]
    pub fn version(&self) -> u8 {
        self.version
    }

    /// The bits of the [`super::VehicleSet`].
    #[must_use]
    pub fn set(&self) -> u8 {
        self.set
    }

    /// The level, 1 to 5.
    #[must_use]
    pub fn level(&self) -> u8 {
        self.level
    }

    /// The seed of all the scenario's streams.
    #[must_use]
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// Whether this program's generator understands the code.
    ///
    /// # Errors
    /// [`CodeError::UnknownVersion`] when it does not.
    pub fn supported(&self) -> Result<(), CodeError> {
        if self.version == GENERATOR_VERSION {
            Ok(())
        } else {
            Err(CodeError::UnknownVersion {
                needs: self.version,
                have: GENERATOR_VERSION,
            })
        }
    }

    fn payload(self) -> u128 {
        u128::from(self.version) << 75
            | u128::from(self.set) << 67
            | u128::from(self.level) << 64
            | u128::from(self.seed)
    }
}

impl fmt::Display for ScenarioCode {
    /// Four groups of four symbols and the two check symbols, with hyphens between.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shifted = self.payload() << CHECK_BITS;
        let whole = shifted + (MODULUS - shifted % MODULUS) % MODULUS;
        let mut text = String::with_capacity(SYMBOLS + 4);
        for place in 0..SYMBOLS {
            if place > 0 && place % 4 == 0 {
                text.push('-');
            }
            let symbol = (whole >> (5 * (SYMBOLS - 1 - place))) & 31;
            text.push(char::from(ALPHABET[symbol as usize]));
        }
        f.pad(&text)
    }
}

impl FromStr for ScenarioCode {
    type Err = CodeError;

    /// Case, hyphens and spaces do not matter; O is read as 0, I and L as 1. Any version is
    /// accepted here: see [`ScenarioCode::supported`].
    fn from_str(text: &str) -> Result<ScenarioCode, CodeError> {
        let mut whole: u128 = 0;
        let mut found = 0;
        for symbol in text.chars().filter(|c| *c != '-' && !c.is_whitespace()) {
            found += 1;
            let value = value_of(symbol).ok_or(CodeError::UnknownSymbol {
                symbol,
                place: found,
            })?;
            // Longer texts are refused below; what falls off the top here does not matter.
            whole = whole << 5 | value;
        }
        if found != SYMBOLS {
            return Err(CodeError::WrongLength { found });
        }
        let check = whole & ((1 << CHECK_BITS) - 1);
        if check >= MODULUS || !whole.is_multiple_of(MODULUS) {
            return Err(CodeError::Check);
        }
        // The 80 bits end where the number ends, so the top six of its sixteen bytes are zero.
        let [_, _, _, _, _, _, first, second, seed @ ..] = (whole >> CHECK_BITS).to_be_bytes();
        let (version, set, level) = (first >> 3, first << 5 | second >> 3, second & 7);
        ScenarioCode::new(version, set, level, u64::from_be_bytes(seed))
    }
}

fn value_of(symbol: char) -> Option<u128> {
    let plain = match symbol.to_ascii_uppercase() {
        'O' => '0',
        'I' | 'L' => '1',
        other => other,
    };
    ALPHABET
        .iter()
        .position(|known| char::from(*known) == plain)
        .map(|value| value as u128)
}
