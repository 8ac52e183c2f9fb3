//! Resistor networks: the network as data, its operating point, and what an instrument between two
//! of its nodes would see.
//!
//! A [`Network`] holds branches and sources between numbered nodes; names, places and
//! meanings stay with the caller. Parts only state their *stamps* (two nodes and a value); the
//! matrix belongs to [`Solver`] alone, and the reference node is not in it. All values are bare
//! `f64` in SI units.
//!
//! The equations are nodal: Kirchhoff's current law at every node, with each source of some
//! resistance replaced by its Norton equivalent. Nodes joined by ideal sources differ by known
//! volts, so they share one unknown, and the current of such a source follows from Kirchhoff's law
//! at its nodes. What remains is a weighted graph, eliminated by
//! [`numeric::laplacian`](crate::numeric::laplacian).
//!
//! Open circuits are everyday input. A part of the network without a conducting path to the
//! reference is a floating island: its lowest node is pinned at 0 V, its currents are solved like
//! any others, and the solution says that it floats.
//!
//! ```
//! use hidden_ohm::circuit::{Branch, Network, NodeId, Solver, Source};
//! let ground = NodeId(0);
//! let mut net = Network::new(ground);
//! let post = net.add_node();
//! net.add_source(Source { from: ground, to: post, volts: 12.6, ohms: 0.1, tag: 0 });
//! net.add_branch(Branch { from: post, to: ground, ohms: 2.0, tag: 1 });
//! let solution = Solver::new().operate(&net)?;
//! assert!((solution.volts(post) - 12.0).abs() < 1e-14);
//! # Ok::<(), hidden_ohm::circuit::CircuitError>(())
//! ```

mod check;
pub mod conductor;
mod error;
mod key;
mod network;
mod parts;
mod port;
mod probe;
mod solution;
mod solver;
mod spice;
mod stage;
mod topology;

pub use error::CircuitError;
pub use network::{Branch, MAX_OHMS, MIN_OHMS, Network, NodeId, Source};
pub use port::{Port, Thevenin};
pub use probe::ProbeTable;
pub use solution::Solution;
pub use solver::{Solver, Work};
pub use spice::{SpiceParts, spice_deck, spice_parts};
pub use stage::{Stage, StagePort};
