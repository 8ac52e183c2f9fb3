//! An instructor's signing key as a file: one line of text each for the secret and the public half.

use data_encoding::HEXLOWER;
use ed25519_dalek::SigningKey;

/// What the secret line begins with.
const SECRET: &str = "hidden-ohm-secret-key-1 ";

/// The file of a new key made of fresh bytes, to be kept to oneself.
#[must_use]
pub fn key_file(fresh: [u8; 32]) -> String {
    format!("{SECRET}{}\n", HEXLOWER.encode(&fresh))
}

/// Reads the file of a key; nothing if it is none.
#[must_use]
pub fn read_key(text: &str) -> Option<SigningKey> {
    let secret = text.trim().strip_prefix(SECRET)?;
    let bytes: [u8; 32] = HEXLOWER.decode(secret.as_bytes()).ok()?.try_into().ok()?;
    Some(SigningKey::from_bytes(&bytes))
}

/// The public half, for learners to compare: in groups of four.
#[must_use]
pub fn public(key: &SigningKey) -> String {
    HEXLOWER.encode(key.verifying_key().as_bytes())
}

/// A public key as it is read out: in groups of four.
#[must_use]
pub fn grouped(public: &str) -> String {
    let symbols: Vec<char> = public.chars().collect();
    let groups: Vec<String> = symbols
        .chunks(4)
        .map(|group| group.iter().collect())
        .collect();
    groups.join(" ")
}
