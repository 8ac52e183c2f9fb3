//! The contact thermometer: a bead held against a joint.

use super::reading::{Quantity, Reading};
use crate::seed::Stream;
use crate::units::System;

/// A contact thermometer of one job.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Thermometer {
    seed: u64,
}

impl Thermometer {
    /// How far it may be off, kelvin (usual for a type K bead with its meter; common practice, no source).
    const ERROR_K: f64 = 2.0;

    /// The thermometer that belongs to a job's seed.
    #[must_use]
    pub fn new(seed: u64) -> Thermometer {
        Thermometer { seed }
    }

    /// What it shows on a joint at `celsius`: whole degrees.
    #[must_use]
    pub fn read(&self, celsius: f64, system: System, how: String) -> Reading {
        let off = Stream::keyed(self.seed, "instruments", &["thermometer"]).between(-0.8, 0.8)
            * Self::ERROR_K;
        let value = libm::round(celsius + off);
        let shown = match system {
            System::Metric => format!("{value:.0} C"),
            System::Us => format!("{:.0} F", value * 1.8 + 32.0),
        };
        Reading {
            quantity: Quantity::Temperature,
            value: Some(value),
            shown,
            how,
        }
    }
}
