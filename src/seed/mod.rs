//! Seeds, scenario codes and named random streams: the only maker of generators in the project.
//!
//! Everything random in a scenario comes from a [`Stream`], named by its purpose, so that a new
//! draw in one place shifts nothing elsewhere. What a stream gives is part of the meaning of a
//! scenario code: a change to the samplers, to the way streams are keyed or to the order of draws
//! needs a new [`GENERATOR_VERSION`].

mod code;
mod sample;
mod set;
mod stream;

pub use code::{CodeError, GENERATOR_VERSION, ScenarioCode};
pub use set::VehicleSet;
pub use stream::Stream;

/// A seed nobody has had before, from the operating system's randomness. The one value here that
/// cannot be reproduced; it is for picking a new scenario, whose code then carries it.
#[must_use]
pub fn fresh() -> u64 {
    rand::random()
}

/// Bytes nobody has had before, for keys, salts and nonces.
#[must_use]
pub fn fresh_bytes<const N: usize>() -> [u8; N] {
    core::array::from_fn(|_| rand::random())
}
