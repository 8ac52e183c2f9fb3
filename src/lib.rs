//! Hidden Ohm: a training simulator for diagnosing vehicle pump circuits.
//!
//! The modules stand in layers; each uses only those above it in this list (a test holds that).

pub mod units;

pub mod seed;

pub mod numeric;

pub mod circuit;

pub mod pump;

pub mod vehicle;

pub mod fault;

pub mod rig;

pub mod instrument;

pub mod scenario;

pub mod bay;

pub mod evidence;

pub mod certify;

pub mod score;

pub mod record;

pub mod progress;

pub mod exercise;

pub mod report;

pub mod console;

pub mod cli;
