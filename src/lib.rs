//! Hidden Ohm: a training simulator for diagnosing vehicle pump circuits.
//!
//! The modules stand in layers; each uses only those above it in this list (a test holds that).

pub mod circuit;
pub mod numeric;
pub mod pump;
