//! The screen behind the current clamp: samples over time, and the two figures it counts by itself.

use super::clamp::Clamp;
use super::reading::{Quantity, Reading};
use crate::rig::Waveform;

/// What the screen shows: samples as displayed.
#[derive(Clone, PartialEq, Debug)]
pub struct Trace {
    /// Time between samples, s.
    pub step_s: f64,
    /// Samples, A.
    pub amps: Vec<f64>,
}

/// The screen.
pub struct Screen;

impl Screen {
    /// How long it samples, s: some twenty turns of a pump.
    pub const SECONDS: f64 = 0.2;
    /// Time between samples, s: a dozen for each commutation of a pump at speed.
    pub const STEP_S: f64 = 1e-4;

    /// A waveform as the clamp passes it on: with its gain and offset, in steps of 10 mA.
    #[must_use]
    pub fn trace(clamp: &Clamp, waveform: &Waveform) -> Trace {
        let shown = |amps: &f64| {
            let hundredths = libm::round(clamp.passes(*amps) * 100.0);
            if hundredths == 0.0 {
                0.0
            } else {
                hundredths / 100.0
            }
        };
        Trace {
            step_s: waveform.step_s,
            amps: waveform.amps.iter().map(shown).collect(),
        }
    }
}

impl Trace {
    /// Mean of the samples, A.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.amps.iter().sum::<f64>() / self.amps.len().max(1) as f64
    }

    /// Repeats a second, counted where the trace rises through its mean; nothing on a flat one. Small wobble around
    /// the mean does not count twice: the trace has to have gone below by a sixth of its height.
    #[must_use]
    pub fn hertz(&self) -> Option<f64> {
        let mean = self.mean();
        let extreme = |pick: fn(f64, f64) -> f64| self.amps.iter().copied().fold(mean, pick);
        let height = extreme(f64::max) - extreme(f64::min);
        if height < Self::VISIBLE_A {
            return None;
        }
        let mut armed = false;
        let mut crossings: Vec<usize> = Vec::new();
        for (index, &amps) in self.amps.iter().enumerate() {
            if amps < mean - height / 6.0 {
                armed = true;
            } else if armed && amps >= mean {
                armed = false;
                crossings.push(index);
            }
        }
        let (&first, &last) = (crossings.first()?, crossings.last()?);
        (last > first).then(|| (crossings.len() - 1) as f64 / ((last - first) as f64 * self.step_s))
    }

    /// Height below which a trace is a flat line on the screen, A.
    const VISIBLE_A: f64 = 0.04;

    /// The two readings the screen prints beside the trace.
    #[must_use]
    pub fn readings(&self, how: &str) -> Vec<Reading> {
        let mean = libm::round(self.mean() * 100.0) / 100.0;
        let mut readings = vec![Reading {
            quantity: Quantity::Current,
            value: Some(mean),
            shown: format!("{mean:.2} A mean"),
            how: how.to_owned(),
        }];
        if let Some(hertz) = self.hertz().map(libm::round) {
            readings.push(Reading {
                quantity: Quantity::Frequency,
                value: Some(hertz),
                shown: format!("{hertz:.0} Hz"),
                how: how.to_owned(),
            });
        }
        readings
    }
}
