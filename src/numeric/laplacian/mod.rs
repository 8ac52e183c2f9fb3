//! Elimination of a grounded weighted graph (a symmetric, diagonally dominant M-matrix).
//!
//! The matrix is never formed: unknowns are vertices, positive weights are edges, and each vertex
//! may carry a *slack*, its weight to the grounded vertex. Eliminating vertex `k` joins each pair
//! of its neighbours by `w_ki * w_kj / (sum of weights at k)`, the star-mesh transformation. Only
//! positive numbers are added, multiplied and divided, so every pivot is positive and accurate to
//! a few units in the last place whatever the spread of weights (Grassmann, Taksar and Heyman,
//! "Regenerative analysis and steady state distributions for Markov chains", Operations Research
//! 33 (1985), use the same trick). No pivoting is needed.
//!
//! The order of elimination and the places of all edges are a [`Pattern`], found once for each
//! graph; a [`Factor`] holds weights and eliminates them in that order.

mod factor;
mod pattern;

use thiserror::Error;

pub use factor::Factor;
pub use pattern::Pattern;

/// Why a graph could not be eliminated.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum LaplacianError {
    /// The weights at a vertex sum to nothing: a part of the graph without slack, or a weight that
    /// is zero, negative or not a number.
    #[error(
        "weights at elimination position {position} sum to {total}: that part of the graph is not grounded"
    )]
    Ungrounded {
        /// Position in the order of elimination.
        position: usize,
        /// The sum found there.
        total: f64,
    },
}
