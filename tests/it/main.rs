//! One test binary.

mod circuit;
mod numeric;
mod pump;
