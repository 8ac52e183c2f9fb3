//! Numerical methods on plain `f64`: they know no physics and no other module.
//!
//! - [`Lu`]: dense elimination with partial pivoting, for small general systems;
//! - [`laplacian`]: elimination of a grounded weighted graph without a single subtraction, which is
//!   what nodal equations of resistor networks are;
//! - [`bracketed_root`]: root finding that never leaves its bracket;
//! - [`Rodas3`]: time-stepping of small, stiff state vectors.
//!
//! Everything here is deterministic: IEEE basic operations and the `libm` crate only.

pub mod laplacian;
mod lu;
mod root;
mod stiff;

pub use lu::{Lu, LuError};
pub use root::{Root, RootError, RootTolerance, bracketed_root};
pub use stiff::{Rodas3, StiffStep};
