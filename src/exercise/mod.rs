//! The instructor's side: exercises, marking many attempts, what a class has understood.
//!
//! Knows no file, no terminal and no prompt language; text goes in and text comes out.

pub mod bank;
pub mod class;
mod file;
pub mod gradebook;
mod hand_ins;
mod handout;
pub mod items;
mod key;
mod marked;
mod marking;
mod marks;
mod memo;
mod noted;
mod rehearsal;
mod rules;
mod table;
mod went;
pub mod xapi;

pub use file::{Draft, Own, Wanted, read};
pub use hand_ins::compare;
pub use handout::{Fresh, Handout, HandoutError, plain_hash};
pub use key::{grouped, key_file, public, read_key};
pub use marked::{Marked, Verdict};
pub use marking::{Effort, Floor, Marker};
pub use marks::{Marks, PartMarks};
pub use noted::{Noted, Notes};
pub use rehearsal::{Rehearsal, RehearsalError, rehearse};
pub use rules::{Feedback, Given, Job, PARTS, Rules, Vehicles};
pub use table::{ResponseTable, Row, TableError};
pub use went::Went;
