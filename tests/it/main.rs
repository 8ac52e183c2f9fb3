//! One test binary.

mod circuit;
