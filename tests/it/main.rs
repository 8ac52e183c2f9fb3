//! One test binary.

// Tests may compare with the platform's own functions, within a tolerance.
#![allow(clippy::disallowed_methods)]

mod architecture;

mod circuit;

mod cli;

mod console;

mod evidence;

mod fault;

mod numeric;

mod prompt;

mod pump;

mod record;

mod seed;

mod units;

mod vehicle;
