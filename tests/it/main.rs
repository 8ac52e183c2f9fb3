//! One test binary.

// Tests may compare with the platform's own functions, within a tolerance.
#![allow(clippy::disallowed_methods)]

mod architecture;

#[path = "../cases/mod.rs"]
mod cases;

mod certify;

mod circuit;

mod cli;

mod console;

mod evidence;

mod exercise;

mod fault;

mod fleet;
mod floor;

mod generate;

mod job;

mod laws;

mod learners;

mod meter;

mod numeric;

mod progress;
mod prompt;

mod pump;

mod readings;

mod readme;

mod record;

mod rig;

mod score;

mod seed;

mod traps;

mod units;

mod vehicle;
