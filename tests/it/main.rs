//! One test binary.

// Tests may compare with the platform's own functions, within a tolerance.
#![allow(clippy::disallowed_methods)]

mod architecture;

mod circuit;

mod fault;

mod numeric;

mod pump;

mod seed;

mod units;

mod vehicle;
