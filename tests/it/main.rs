//! One test binary.

mod circuit;
mod pump;
