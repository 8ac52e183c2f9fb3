//! An exercise as it is handed out: one line of JSON with the rules in clear, the vehicles sealed, and a signature.
//!
//! Sealed with a passphrase: Argon2id (RFC 9106) makes a key of it, XChaCha20-Poly1305 seals the vehicles with the rules as
//! associated data, so neither can be changed without the other. Without a passphrase the vehicles stand in base 64, which
//! hides them from a glance and from nothing else. Signed with Ed25519 (RFC 8032) if the instructor has a key.
//!
//! There is one way to write a hand-out; a file written in any other way is refused, so every changed byte shows.

use argon2::{Algorithm, Argon2, Params, Version};
use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{XChaCha20Poly1305, XNonce};
use data_encoding::{BASE64, HEXLOWER};
use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use thiserror::Error;

use super::rules::{Given, Rules, Vehicles};

/// Number of the file format.
const FORMAT: u32 = 1;
/// What every hash of an exercise begins with.
const TAG: &str = "hidden-ohm exercise v1\n";
/// What every signature is made over, before the hash.
const SIGNED: &str = "hidden-ohm signed exercise v1\n";

/// Argon2id: memory in KiB, passes, lanes. The crate's own recommendation (19 MiB, 2, 1), about 50 ms.
const COST: (u32, u32, u32) = (19 * 1024, 2, 1);

/// A hand-out.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Handout {
    /// [`FORMAT`] at the time of writing.
    hidden_ohm_exercise: u32,
    /// The rules.
    pub rules: Rules,
    vehicles: Sealed,
    /// SHA-256 over the rules and the vehicles as they stand here.
    hash: String,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    signed: Option<Signed>,
}

#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
enum Sealed {
    /// Base 64 of the JSON.
    Open(String),
    Passphrase {
        memory_kib: u32,
        passes: u32,
        lanes: u32,
        salt: String,
        nonce: String,
        text: String,
    },
}

#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Signed {
    key: String,
    signature: String,
}

/// Why a hand-out cannot be used.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum HandoutError {
    /// Not a hand-out at all.
    #[error("this is no exercise that was handed out: {0}")]
    NotAHandout(String),
    /// Made by a later program.
    #[error("the exercise has format {found}; this program reads format {FORMAT}")]
    Format {
        /// The number found.
        found: u64,
    },
    /// The bytes are not those that would be written.
    #[error(
        "the exercise was changed after it was handed out: it is not written as this program writes it"
    )]
    Rewritten,
    /// The rules or the vehicles are none that could have been handed out.
    #[error("the exercise was not made by this program: its rules or vehicles cannot be")]
    Impossible,
    /// The hash does not fit.
    #[error(
        "the exercise was changed after it was handed out: its rules or vehicles do not fit its hash"
    )]
    Changed,
    /// The signature does not fit.
    #[error("the signature of the exercise does not fit: it was changed after it was signed")]
    Signature,
    /// The passphrase does not open it.
    #[error("the passphrase does not open the vehicles")]
    Passphrase,
    /// It needs a passphrase.
    #[error("the vehicles are sealed, and no passphrase was given")]
    NeedsPassphrase,
}

/// Randomness for a seal, made by the caller.
#[derive(Clone, Debug)]
pub struct Fresh {
    /// Salt of the passphrase.
    pub salt: [u8; 16],
    /// Nonce of the seal.
    pub nonce: [u8; 24],
}

impl Handout {
    /// Puts a hand-out together.
    ///
    /// # Errors
    /// [`HandoutError::Passphrase`] for one that Argon2 cannot take (longer than 4 GiB).
    pub fn new(
        rules: Rules,
        vehicles: &Vehicles,
        seal: Option<(&str, &Fresh)>,
        key: Option<&SigningKey>,
    ) -> Result<Handout, HandoutError> {
        let plain = json(vehicles);
        let sealed = match seal {
            None => Sealed::Open(BASE64.encode(plain.as_bytes())),
            Some((passphrase, fresh)) => {
                let (memory_kib, passes, lanes) = COST;
                let cipher = cipher(passphrase, &fresh.salt, COST)?;
                let aad = json(&rules);
                let payload = Payload {
                    msg: plain.as_bytes(),
                    aad: aad.as_bytes(),
                };
                let text = cipher
                    .encrypt(&XNonce::from(fresh.nonce), payload)
                    .map_err(|_| HandoutError::Passphrase)?;
                Sealed::Passphrase {
                    memory_kib,
                    passes,
                    lanes,
                    salt: HEXLOWER.encode(&fresh.salt),
                    nonce: HEXLOWER.encode(&fresh.nonce),
                    text: BASE64.encode(&text),
                }
            }
        };
        let hash = hash(&rules, &sealed);
        let signed = key.map(|key| Signed {
            key: HEXLOWER.encode(key.verifying_key().as_bytes()),
            signature: HEXLOWER.encode(&key.sign(format!("{SIGNED}{hash}").as_bytes()).to_bytes()),
        });
        Ok(Handout {
            hidden_ohm_exercise: FORMAT,
            rules,
            vehicles: sealed,
            hash,
            signed,
        })
    }

    /// Reads a hand-out and checks everything that can be checked without the passphrase.
    ///
    /// # Errors
    /// [`HandoutError`] for anything that is not exactly what was handed out.
    pub fn read(text: &str) -> Result<Handout, HandoutError> {
        let no = |error: serde_json::Error| HandoutError::NotAHandout(error.to_string());
        let loose: serde_json::Value = serde_json::from_str(text).map_err(no)?;
        match loose
            .get("hidden_ohm_exercise")
            .and_then(serde_json::Value::as_u64)
        {
            Some(found) if found == u64::from(FORMAT) => {}
            Some(found) => return Err(HandoutError::Format { found }),
            None => return Err(HandoutError::NotAHandout("it does not say so".to_owned())),
        }
        let handout: Handout = serde_json::from_str(text).map_err(no)?;
        if handout.text() != text {
            return Err(HandoutError::Rewritten);
        }
        if handout.hash != hash(&handout.rules, &handout.vehicles) {
            return Err(HandoutError::Changed);
        }
        if !handout.rules.are_possible() {
            return Err(HandoutError::Impossible);
        }
        if let Some(signed) = &handout.signed {
            let key: [u8; 32] = bytes(&signed.key)?;
            let signature: [u8; 64] = bytes(&signed.signature)?;
            let key = VerifyingKey::from_bytes(&key).map_err(|_| HandoutError::Signature)?;
            key.verify_strict(
                format!("{SIGNED}{}", handout.hash).as_bytes(),
                &Signature::from_bytes(&signature),
            )
            .map_err(|_| HandoutError::Signature)?;
        }
        Ok(handout)
    }

    /// The file.
    #[must_use]
    pub fn text(&self) -> String {
        json(self) + "\n"
    }

    /// What attempts name the exercise by.
    #[must_use]
    pub fn hash(&self) -> &str {
        &self.hash
    }

    /// The public key it was signed with, in hexadecimal.
    #[must_use]
    pub fn signer(&self) -> Option<&str> {
        self.signed.as_ref().map(|signed| signed.key.as_str())
    }

    /// Whether a passphrase is needed.
    #[must_use]
    pub fn is_sealed(&self) -> bool {
        matches!(self.vehicles, Sealed::Passphrase { .. })
    }

    /// The vehicles.
    ///
    /// # Errors
    /// [`HandoutError`] when the passphrase is missing or wrong.
    pub fn open(&self, passphrase: Option<&str>) -> Result<Vehicles, HandoutError> {
        let plain = match &self.vehicles {
            Sealed::Open(text) => BASE64
                .decode(text.as_bytes())
                .map_err(|_| HandoutError::Changed)?,
            Sealed::Passphrase {
                memory_kib,
                passes,
                lanes,
                salt,
                nonce,
                text,
            } => {
                let passphrase = passphrase.ok_or(HandoutError::NeedsPassphrase)?;
                let salt: [u8; 16] = bytes(salt)?;
                let nonce: [u8; 24] = bytes(nonce)?;
                let text = BASE64
                    .decode(text.as_bytes())
                    .map_err(|_| HandoutError::Changed)?;
                // A file could ask for any amount of memory; none of ours asks for more than the usual.
                if (*memory_kib, *passes, *lanes) != COST {
                    return Err(HandoutError::Changed);
                }
                let rules = json(&self.rules);
                let payload = Payload {
                    msg: &text,
                    aad: rules.as_bytes(),
                };
                cipher(passphrase, &salt, COST)?
                    .decrypt(&XNonce::from(nonce), payload)
                    .map_err(|_| HandoutError::Passphrase)?
            }
        };
        let vehicles: Vehicles = serde_json::from_slice(&plain)
            .map_err(|error| HandoutError::NotAHandout(error.to_string()))?;
        let empty = |given: &Given| matches!(given, Given::Own(codes) if codes.is_empty());
        if vehicles.given.len() != self.rules.vehicles as usize || vehicles.given.iter().any(empty)
        {
            return Err(HandoutError::Impossible);
        }
        Ok(vehicles)
    }
}

/// The hash of an exercise that is not handed out but worked straight from its file.
#[must_use]
pub fn plain_hash(rules: &Rules, vehicles: &Vehicles) -> String {
    hash(
        rules,
        &Sealed::Open(BASE64.encode(json(vehicles).as_bytes())),
    )
}

fn hash(rules: &Rules, vehicles: &Sealed) -> String {
    let digest = Sha256::digest(format!("{TAG}{}\n{}\n", json(rules), json(vehicles)));
    HEXLOWER.encode(&digest)
}

fn cipher(
    passphrase: &str,
    salt: &[u8],
    (memory, passes, lanes): (u32, u32, u32),
) -> Result<XChaCha20Poly1305, HandoutError> {
    let params = Params::new(memory, passes, lanes, Some(32)).map_err(|_| HandoutError::Changed)?;
    let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    let mut key = [0; 32];
    argon
        .hash_password_into(passphrase.trim().as_bytes(), salt, &mut key)
        .map_err(|_| HandoutError::Passphrase)?;
    Ok(XChaCha20Poly1305::new(&key.into()))
}

fn bytes<const N: usize>(text: &str) -> Result<[u8; N], HandoutError> {
    let decoded = HEXLOWER
        .decode(text.as_bytes())
        .map_err(|_| HandoutError::Changed)?;
    decoded.try_into().map_err(|_| HandoutError::Changed)
}

/// JSON in the one way it is written. The structs hold strings, numbers, lists and maps with text keys only, which always
/// have a JSON form.
fn json<T: Serialize>(value: &T) -> String {
    serde_json::to_string(value).unwrap_or_default()
}
