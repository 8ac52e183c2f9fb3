//! Outcomes that are known already, shared between attempts at one vehicle.
//!
//! A tree of prompt lines: each node is what came of a line after the lines above it, kept as the SHA-256 of the entry as
//! a record writes it. Every node was worked by the physics once, in this run, so an attempt whose entries have the same
//! hashes all the way down has been verified as surely as by working it again; nothing in it comes from an attempt.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError, RwLock};

use sha2::{Digest, Sha256};

use super::marks::Marks;
use super::rules::Job;
use crate::record::Attempt;
use crate::units::System;

/// Bytes kept in all. Beyond that new paths are worked but not kept, so memory stays flat.
const MOST_BYTES: usize = 96 << 20;
/// Bytes of a node beside its line: itself and its place in its parent, the room that lists leave free included.
const NODE_BYTES: usize = 250;

type Hash = [u8; 32];
/// A tree that several threads follow and add to.
pub(super) type Shared = Arc<RwLock<Tree>>;

/// A node: what came of one line.
#[derive(Default)]
struct Node {
    hash: Hash,
    next: BTreeMap<Box<str>, u32>,
    /// The vehicle was handed back with this line.
    closed: bool,
    marks: Option<Arc<Marks>>,
}

/// The tree of one vehicle. The first node is the vehicle as it comes.
pub(super) struct Tree {
    nodes: Vec<Node>,
}

impl Default for Tree {
    fn default() -> Tree {
        Tree {
            nodes: vec![Node::default()],
        }
    }
}

/// How far an attempt is known.
pub(super) enum Known {
    /// All of it.
    Whole {
        /// The vehicle was handed back with its last line.
        closed: bool,
        /// What it earned, if it was marked before.
        marks: Option<Arc<Marks>>,
    },
    /// The entry at this place (from zero) has another outcome.
    Differs(usize),
    /// Not all of it.
    Part,
}

/// What the trees hold.
#[derive(Default)]
struct Kept {
    nodes: usize,
    bytes: usize,
}

/// All trees of a run.
#[derive(Default)]
pub(super) struct Memo {
    trees: Mutex<BTreeMap<(Job, System), Shared>>,
    kept: Mutex<Kept>,
}

/// The hash a node keeps.
pub(super) fn hash(object: &str) -> Hash {
    Sha256::digest(object).into()
}

impl Memo {
    /// The tree of a vehicle worked in a unit system.
    pub fn tree(&self, job: &Job, system: System) -> Shared {
        // What a panicking thread left behind is whole: every change is a single insertion.
        let mut trees = self.trees.lock().unwrap_or_else(PoisonError::into_inner);
        Arc::clone(trees.entry((job.clone(), system)).or_default())
    }

    /// Whether there is room for these lines; takes it if there is.
    pub fn room(&self, more: &[(String, Hash)]) -> bool {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let bytes: usize = more.iter().map(|(line, _)| line.len() + NODE_BYTES).sum();
        if kept.bytes + bytes > MOST_BYTES {
            return false;
        }
        kept.bytes += bytes;
        kept.nodes += more.len();
        true
    }

    /// Distinct outcomes worked and kept.
    pub fn kept(&self) -> usize {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.nodes
    }
}

impl Tree {
    /// Follows an attempt as far as it is known.
    pub fn follow(&self, attempt: &Attempt) -> Known {
        let mut at = &self.nodes[0];
        for (place, recorded) in attempt.entries.iter().enumerate() {
            let Some(next) = at.next.get(recorded.entry.line.as_str()) else {
                return Known::Part;
            };
            // A place in `next` is that of a node that was pushed before.
            at = &self.nodes[*next as usize];
            if at.hash != hash(&recorded.object) {
                return Known::Differs(place);
            }
        }
        Known::Whole {
            closed: at.closed,
            marks: at.marks.clone(),
        }
    }

    /// Lines of an attempt that are known already, and so take no room.
    pub fn known(&self, path: &[(String, Hash)]) -> usize {
        let mut at = 0;
        for (place, (line, _)) in path.iter().enumerate() {
            match self.nodes[at].next.get(line.as_str()) {
                Some(next) => at = *next as usize,
                None => return place,
            }
        }
        path.len()
    }

    /// Keeps what was worked.
    pub fn keep(&mut self, path: &[(String, Hash)], closed: bool, marks: Option<&Arc<Marks>>) {
        let mut at = 0;
        for (line, hash) in path {
            if let Some(next) = self.nodes[at].next.get(line.as_str()) {
                at = *next as usize;
                continue;
            }
            // At most `MOST_BYTES` of them, far below what 32 bits hold.
            let new = self.nodes.len();
            let place = u32::try_from(new).unwrap_or(u32::MAX);
            self.nodes.push(Node {
                hash: *hash,
                ..Node::default()
            });
            self.nodes[at].next.insert(line.as_str().into(), place);
            at = new;
        }
        self.nodes[at].closed |= closed;
        if let Some(marks) = marks {
            self.nodes[at].marks = Some(Arc::clone(marks));
        }
    }
}
