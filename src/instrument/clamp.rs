//! The direct-current clamp: measures without opening the circuit, and lies until it is zeroed.

use super::reading::{Quantity, Reading};
use crate::seed::Stream;

/// A clamp of one job.
#[derive(Clone, PartialEq, Debug)]
pub struct Clamp {
    seed: u64,
    zeroed: u32,
}

impl Clamp {
    /// Share of reading that the clamp may be off (makers' data sheets give 2 to 2.5 %).
    const PERCENT: f64 = 2.0;
    /// Offset it may come out of its box with, A; ours, no source.
    const UNZEROED_A: f64 = 0.6;
    /// Offset left after zeroing, A; ours, no source.
    const ZEROED_A: f64 = 0.02;
    /// What turning it around the wire changes, A; ours, no source.
    const ORIENTATION_A: f64 = 0.02;

    /// The clamp that belongs to a job's seed, as it comes out of its box.
    #[must_use]
    pub fn new(seed: u64) -> Clamp {
        Clamp { seed, zeroed: 0 }
    }

    /// Holds the jaws closed around nothing and presses zero.
    pub fn zero(&mut self) {
        self.zeroed += 1;
    }

    /// Whether it has been zeroed.
    #[must_use]
    pub fn is_zeroed(&self) -> bool {
        self.zeroed > 0
    }

    /// What it makes of `amps` before noise and rounding: its own gain and its present offset.
    #[must_use]
    pub fn passes(&self, amps: f64) -> f64 {
        let zero = self.zeroed.to_string();
        let mut own = Stream::keyed(self.seed, "instruments", &["clamp", "gain"]);
        let gain = own.between(-0.7, 0.7) * Self::PERCENT / 100.0;
        let mut drift = Stream::keyed(self.seed, "instruments", &["clamp", "zero", &zero]);
        let offset = if self.zeroed == 0 {
            let size = drift.between(0.15, Self::UNZEROED_A);
            if drift.chance(0.5) { size } else { -size }
        } else {
            drift.between(-Self::ZEROED_A, Self::ZEROED_A)
        };
        amps * (1.0 + gain) + offset
    }

    /// What it shows around a wire carrying `amps`.
    #[must_use]
    pub fn read(&self, wire: &str, amps: f64, repeat: u32, how: String) -> Reading {
        let zero = self.zeroed.to_string();
        let mut noise = Stream::keyed(
            self.seed,
            "noise",
            &["clamp", wire, &zero, &repeat.to_string()],
        );
        let turned = noise.between(-Self::ORIENTATION_A, Self::ORIENTATION_A);
        let hundredths = libm::round((self.passes(amps) + turned) * 100.0);
        let value = if hundredths == 0.0 {
            0.0
        } else {
            hundredths / 100.0
        };
        Reading {
            quantity: Quantity::Current,
            value: Some(value),
            shown: format!("{value:.2} A"),
            how,
        }
    }
}
