//! Why a network could not be solved.

use thiserror::Error;

use super::NodeId;

/// A network that has no solution, with the part that is to blame.
///
/// `tag` is the caller's own part number, as given with the part.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum CircuitError {
    /// A resistance is negative or not a number.
    #[error("branch {branch} (part {tag}) has {ohms} ohm; give a number from 0 to infinity")]
    BranchOhms {
        /// Index of the branch.
        branch: usize,
        /// The caller's part index.
        tag: u32,
        /// The value refused.
        ohms: f64,
    },
    /// A source's resistance is negative or not a number.
    #[error("source {source_index} (part {tag}) has {ohms} ohm; give a number from 0 to infinity")]
    SourceOhms {
        /// Index of the source.
        source_index: usize,
        /// The caller's part index.
        tag: u32,
        /// The value refused.
        ohms: f64,
    },
    /// A source's voltage is not finite.
    #[error("source {source_index} (part {tag}) has {volts} V; give a finite number")]
    SourceVolts {
        /// Index of the source.
        source_index: usize,
        /// The caller's part index.
        tag: u32,
        /// The value refused.
        volts: f64,
    },
    /// A part, or a question, names a node that was never added.
    #[error("node {} does not exist; the network has {node_count} nodes", node.0)]
    NoSuchNode {
        /// The node named.
        node: NodeId,
        /// Nodes there are.
        node_count: u32,
    },
    /// Ideal sources close a loop, so that their currents have no single answer.
    #[error(
        "source {source_index} (part {tag}) closes a loop of sources without resistance; give one of them some ohms"
    )]
    IdealSourceLoop {
        /// Index of the source that closes the loop.
        source_index: usize,
        /// The caller's part index.
        tag: u32,
    },
    /// A voltage or current grew beyond what `f64` holds; some source is absurdly large.
    #[error("a voltage or current at node {} came out as {value}; a source is too large", node.0)]
    NotFinite {
        /// The node.
        node: NodeId,
        /// What came out, in volts or amps.
        value: f64,
    },
    /// The elimination lost a pivot: a fault of this program, kept as an error rather than a panic.
    #[error("the nodal equations are singular near node {}: {total} S", node.0)]
    Singular {
        /// A node of the unknown whose equation failed.
        node: NodeId,
        /// The conductance left there, in siemens.
        total: f64,
    },
}
