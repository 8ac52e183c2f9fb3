//! The record of an attempt: a header, every accepted action with its outcome, and how it ended.
//!
//! One JSON object a line, each sealed into a chain: a line's hash is SHA-256 over the hash before it and the line
//! itself, so nothing can be taken out, put in, reordered or changed without every later hash changing too. The chain
//! proves order and completeness against a hash somebody else has noted; it cannot stop a person who rewrites the
//! whole file, and says nothing else about who typed what. What can be checked without trust is the replay: the same
//! engine gives the same outcomes for the same lines.
//!
//! This module knows no file. Text goes in and text comes out; reading and writing is the command line's.

mod attempt;
mod chain;
mod decimal;
mod entry;
mod receipt;
mod replay;

pub use attempt::{Attempt, Damage, Recorded};
pub use chain::Chain;
pub use decimal::Decimal;
pub use entry::{Closing, ENGINE, Entry, FORMAT, Header, ReadingRow, Sitting, WrittenScenario};
pub use receipt::{Likeness, Receipt};
pub use replay::{Mismatch, replay};
