//! The direct-current clamp: measures without opening the circuit, and lies until it is zeroed.

use super::reading::{Quantity, Reading};
use crate::seed::Stream;

/// A clamp of one job.
#[derive(Clone, PartialEq, Debug)]
pub struct Clamp {
    seed: u64,
    zeroed: u32,
    /// Time since its zero was set, s.
    since_s: f64,
}

impl Clamp {
    /// Share of reading that the clamp may be off (makers' data sheets give 2 to 2.5 %).
    const PERCENT: f64 = 2.0;
    /// Offset it may come out of its box with, A; ours, no source.
    const UNZEROED_A: f64 = 0.6;
    /// Offset left after zeroing, A; ours, no source.
    const ZEROED_A: f64 = 0.02;
    /// How far the zero wanders from where it was set as the clamp warms in hand and beside the engine, A at most; makers
    /// state such a drift by temperature (from memory), the figure is ours.
    const DRIFT_A: f64 = 0.05;
    /// How soon it does, s; ours, no source.
    const DRIFT_S: f64 = 900.0;
    /// What turning it around the wire changes, A; ours, no source.
    const ORIENTATION_A: f64 = 0.02;

    /// The clamp that belongs to a job's seed, as it comes out of its box.
    #[must_use]
    pub fn new(seed: u64) -> Clamp {
        Clamp {
            seed,
            zeroed: 0,
            since_s: 0.0,
        }
    }

    /// Lets time pass, in which the zero wanders.
    pub fn wait(&mut self, seconds: f64) {
        self.since_s += seconds;
    }

    /// Holds the jaws closed around nothing and presses zero.
    pub fn zero(&mut self) {
        self.zeroed += 1;
        self.since_s = 0.0;
    }

    /// What it makes of `amps` before noise and rounding: its own gain, its offset and how far that has wandered.
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
            let set = drift.between(-Self::ZEROED_A, Self::ZEROED_A);
            let wanders = drift.between(-Self::DRIFT_A, Self::DRIFT_A);
            set + wanders * (1.0 - libm::exp(-self.since_s / Self::DRIFT_S))
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
