//! One test binary.

mod circuit;
mod seed;
mod units;
mod pump;
