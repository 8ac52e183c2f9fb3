//! The chain of hashes.
//!
//! A record line is a JSON object whose last member is `hash`. Its value is the SHA-256, in lower-case hexadecimal, of
//! the hash of the line before (64 zeros before the first) followed by the object without that member. With the line
//! in hand anybody can check it: `printf '%s%s' PREVIOUS_HASH OBJECT | sha256sum`.

use serde::Serialize;
use sha2::{Digest, Sha256};

use super::attempt::object;

/// What stands before the first line.
const NOTHING: &str = "0000000000000000000000000000000000000000000000000000000000000000";
/// What stands between the object and its hash.
const MEMBER: &str = ",\"hash\":\"";
/// What stands after the hash.
const END: &str = "\"}";

/// The state of the chain after some lines.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Chain {
    head: String,
}

impl Default for Chain {
    fn default() -> Chain {
        Chain {
            head: NOTHING.to_owned(),
        }
    }
}

impl Chain {
    /// The hash of the last line.
    #[must_use]
    pub fn head(&self) -> &str {
        &self.head
    }

    /// Seals a JSON object: the line to write, without its line end.
    #[must_use]
    pub fn seal(&mut self, object: &str) -> String {
        self.head = hash(&self.head, object);
        let open = object.strip_suffix('}').unwrap_or(object);
        format!("{open}{MEMBER}{}{END}", self.head)
    }

    /// Seals a header, an entry or a closing: the line to write, without its line end.
    #[must_use]
    pub fn write<T: Serialize>(&mut self, line: &T) -> String {
        self.seal(&object(line))
    }

    /// The object inside a sealed line, provided the line belongs here. `None` leaves the chain as it was.
    pub fn open(&mut self, line: &str) -> Option<String> {
        let (open, tail) = line.rsplit_once(MEMBER)?;
        let sealed = tail.strip_suffix(END)?;
        let object = format!("{open}}}");
        let expected = hash(&self.head, &object);
        if sealed != expected {
            return None;
        }
        self.head = expected;
        Some(object)
    }
}

fn hash(before: &str, object: &str) -> String {
    let digest = Sha256::new()
        .chain_update(before)
        .chain_update(object)
        .finalize();
    hexadecimal(&digest)
}

/// Bytes in lower-case hexadecimal.
pub(super) fn hexadecimal(bytes: &[u8]) -> String {
    data_encoding::HEXLOWER.encode(bytes)
}
