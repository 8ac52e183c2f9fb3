//! Working a record through again and comparing every outcome.

use thiserror::Error;

use super::attempt::object;
use super::{Attempt, ENGINE, Entry};

/// Why a record does not replay.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Mismatch {
    /// Another engine made it; nothing follows from that about its truth.
    #[error(
        "it was made with engine version {made} and cannot be replayed here; this program has version {ENGINE}"
    )]
    OtherEngine {
        /// The version it was made with.
        made: u32,
    },
    /// A recorded line is refused today.
    #[error("line {file_line}: action {n}, `{line}`, is not possible here: {reason}")]
    Refused {
        /// Number of the line in the file.
        file_line: usize,
        /// Number of the action.
        n: u32,
        /// The line as typed.
        line: String,
        /// The refusal.
        reason: String,
    },
    /// The outcome is another one.
    #[error("line {file_line}: action {n}, `{line}`, has another outcome than the record says")]
    Differs {
        /// Number of the line in the file.
        file_line: usize,
        /// Number of the action.
        n: u32,
        /// The line as typed.
        line: String,
    },
}

/// Hands every recorded line to `work`, which does it and says what came of it or why it was refused.
///
/// # Errors
/// [`Mismatch`] at the first line that does not come out as recorded.
pub fn replay(
    attempt: &Attempt,
    mut work: impl FnMut(&str) -> Result<Entry, String>,
) -> Result<(), Mismatch> {
    if attempt.header.engine != ENGINE {
        return Err(Mismatch::OtherEngine {
            made: attempt.header.engine,
        });
    }
    for recorded in &attempt.entries {
        let (file_line, n, line) = (
            recorded.file_line,
            recorded.entry.n,
            recorded.entry.line.clone(),
        );
        match work(&line) {
            Err(reason) => {
                return Err(Mismatch::Refused {
                    file_line,
                    n,
                    line,
                    reason,
                });
            }
            Ok(now) if object(&now) != recorded.object => {
                return Err(Mismatch::Differs { file_line, n, line });
            }
            Ok(_) => {}
        }
    }
    Ok(())
}
