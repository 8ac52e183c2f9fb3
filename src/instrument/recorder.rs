//! The meter's recorder: lowest and highest of the intervals since it was switched on.
//!
//! Each interval keeps the mean of what the input saw in it, with the noise of a reading of its own. A short interval
//! catches the surge of a starting motor; a long one smooths it away.

use super::meter::{Display, Function, Meter};

/// How often the recorder keeps a value.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Interval {
    /// Every 5 ms: peaks, at the price of some counts more of error.
    Peaks,
    /// Every tenth of a second.
    Tenth,
    /// Every second.
    Second,
}

impl Interval {
    /// Every interval there is.
    pub const ALL: [Interval; 3] = [Interval::Peaks, Interval::Tenth, Interval::Second];

    /// Its length, s.
    #[must_use]
    pub fn seconds(self) -> f64 {
        match self {
            Interval::Peaks => 0.005,
            Interval::Tenth => 0.1,
            Interval::Second => 1.0,
        }
    }

    /// Its length as it is typed.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Interval::Peaks => "5 ms",
            Interval::Tenth => "0.1 s",
            Interval::Second => "1 s",
        }
    }

    /// What a value kept at this pace may be off besides the stated accuracy, counts; makers state some for fast
    /// recording (from memory), the number is ours.
    #[must_use]
    pub fn extra_counts(self) -> f64 {
        match self {
            Interval::Peaks => 3.0,
            Interval::Tenth | Interval::Second => 0.0,
        }
    }
}

/// What has been kept since the recorder was switched on or the tips were moved.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Recorder {
    /// How often it keeps a value.
    pub interval: Interval,
    kept: Option<(f64, f64)>,
}

impl Recorder {
    /// A recorder that has kept nothing.
    #[must_use]
    pub fn new(interval: Interval) -> Recorder {
        Recorder {
            interval,
            kept: None,
        }
    }

    /// Keeps what one interval saw; `noise` in -1..=1 is that interval's own. An overload is kept as nothing. Gives the
    /// value as it was kept.
    pub fn keep(
        &mut self,
        meter: &Meter,
        function: Function,
        range: usize,
        seen: Option<f64>,
        noise: f64,
    ) -> Option<f64> {
        let extra = self.interval.extra_counts();
        let value = meter.kept(function, range, seen, noise, extra)?;
        self.kept = Some(match self.kept {
            None => (value, value),
            Some((least, most)) => (least.min(value), most.max(value)),
        });
        Some(value)
    }

    /// Lowest and highest as the display tells them; nothing before a value was kept.
    #[must_use]
    pub fn extremes(&self, meter: &Meter, function: Function) -> Option<[Display; 2]> {
        let (least, most) = self.kept?;
        Some([least, most].map(|value| meter.display_recorded(function, value)))
    }
}
