//! One test binary.

mod seed;

mod units;
mod circuit;
mod pump;
mod vehicle;
mod fault;
