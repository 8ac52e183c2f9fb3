//! One test binary.

mod circuit;
mod numeric;
