//! What makes a job hard, and which jobs belong to a level.
//!
//! The difficulty of a certified draw is one number: minutes of the reference's tests on a logarithmic scale, and the bits
//! that have to be found. A level takes draws from a band of it. Bands overlap, and widen with the number of draws thrown
//! away, so that a vehicle on which few faults are easy (or hard) still gives something at every level.

use serde::Serialize;

/// What makes a job hard.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Difficulty {
    /// Minutes of the reference's tests, access included.
    pub minutes: f64,
    /// Bits about the right repair that have to be found.
    pub bits: f64,
    /// Tests of the reference.
    pub depth: usize,
}

impl Difficulty {
    /// One number: doubling the minutes counts like one bit more.
    #[must_use]
    pub fn index(&self) -> f64 {
        libm::log2(1.0 + self.minutes) + self.bits
    }
}

/// Lowest and highest difficulty that a level takes on the draw of this number. Measured on the built-in vehicles; ours.
#[must_use]
pub fn band(level: u8, draw: u32) -> (f64, f64) {
    let (low, high) = match level {
        1 => (0.0, 7.5),
        2 => (6.0, 9.5),
        3 => (7.0, 11.0),
        4 => (8.5, 14.0),
        _ => (10.5, f64::INFINITY),
    };
    let wider = f64::from(draw) / 8.0;
    (low - wider, high + wider)
}
