//! Numerical methods on plain `f64`: they know no physics and no other module.
//!
//! - [`Lu`]: dense elimination with partial pivoting, for small general systems;
//! - [`laplacian`]: elimination of a grounded weighted graph without a single subtraction, which is
//!   what nodal equations of resistor networks are;
//! - [`bracketed_root`], [`newton_in_bracket`]: root finding that never leaves its bracket;
//! - [`rk4`], [`DormandPrince`]: time-stepping of small state vectors;
//! - [`Rodas3`]: the same for stiff systems.
//!
//! Everything here is deterministic: IEEE basic operations and the `libm` crate only.

pub mod laplacian;
mod lu;
mod ode;
mod root;
mod stiff;

pub use lu::{Lu, LuError};
pub use ode::{DormandPrince, DormandPrinceStep, OdeError, OdeRun, rk4, rk4_step};
pub use root::{Root, RootError, RootTolerance, bracketed_root, newton_in_bracket};
pub use stiff::{Rodas3, StiffStep};
