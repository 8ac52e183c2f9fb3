//! Named streams of random words.

use std::fmt;

use rand_chacha::ChaCha8Rng;
use rand_core::{Rng, SeedableRng};
use sha2::{Digest, Sha256};

/// Sets our keys apart from every other use of SHA-256. Part of the meaning of every scenario code.
const DOMAIN: &[u8] = b"hidden-ohm stream v1";

/// An endless stream of random words, fixed by a seed and a name.
///
/// The words are those of `ChaCha8` (256-bit key, 64-bit block counter from zero, nonce zero) under
/// the key `SHA-256(domain || seed || length(name) || name || length(key) || key ...)`, numbers as
/// eight little-endian bytes. What is drawn from them is defined in this module alone, by our own
/// samplers.
#[derive(Clone)]
pub struct Stream {
    words: ChaCha8Rng,
}

impl Stream {
    /// The stream called `name` under `seed`: one name for each purpose ("faults", "tolerances").
    #[must_use]
    pub fn named(seed: u64, name: &str) -> Stream {
        Stream::keyed(seed, name, &[])
    }

    /// The stream called `name` for one particular thing, such as one instrument on one pair of
    /// points for the third time. Other keys, or the same pieces divided differently, give
    /// unrelated streams.
    #[must_use]
    pub fn keyed(seed: u64, name: &str, key: &[&str]) -> Stream {
        let mut hash = Sha256::new();
        hash.update(DOMAIN);
        hash.update(seed.to_le_bytes());
        for piece in std::iter::once(&name).chain(key) {
            hash.update((piece.len() as u64).to_le_bytes());
            hash.update(piece.as_bytes());
        }
        Stream {
            words: ChaCha8Rng::from_seed(hash.finalize().into()),
        }
    }

    /// The next 64-bit word, all values equally likely.
    pub fn next_u64(&mut self) -> u64 {
        self.words.next_u64()
    }
}

impl fmt::Debug for Stream {
    /// Says nothing of the state: what a stream will give is part of what a learner must not see.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Stream(..)")
    }
}
