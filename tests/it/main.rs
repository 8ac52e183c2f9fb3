//! One test binary.

mod circuit;
// Tests may compare with the platform's own functions, within a tolerance.
#![allow(clippy::disallowed_methods)]

mod architecture;

mod circuit;

mod pump;

mod seed;
mod units;
mod pump;
mod seed;

mod units;
mod circuit;
mod pump;
mod vehicle;
