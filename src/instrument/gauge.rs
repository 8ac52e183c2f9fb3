//! The pressure gauge on the rail's service port, and the can that catches fuel for a timed flow.

use super::reading::{Quantity, Reading};
use crate::seed::Stream;
use crate::units::{Pascal, System, Volume};

/// How far off a gauge may be, by its grade (ASME B40.100: A as makers publish it, B to D from memory).
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Grade {
    /// 2-1-2 % of span.
    A,
    /// 3-2-3 %.
    B,
    /// 4-3-4 %.
    C,
    /// 5 % throughout.
    D,
}

impl Grade {
    /// Error allowed at a share of the span, as a share of the span: over the middle half, and in the quarters at both ends.
    #[must_use]
    pub fn allows(self, share: f64) -> f64 {
        let (middle, ends) = self.shares();
        if (0.25..=0.75).contains(&share) {
            middle
        } else {
            ends
        }
    }

    fn shares(self) -> (f64, f64) {
        match self {
            Grade::A => (0.01, 0.02),
            Grade::B => (0.02, 0.03),
            Grade::C => (0.03, 0.04),
            Grade::D => (0.05, 0.05),
        }
    }

    /// How far off a gauge of this grade grows towards the ends of its dial: without a step, and never beyond what is
    /// allowed.
    fn worst(self, share: f64) -> f64 {
        let (middle, ends) = self.shares();
        let outside = (libm::fabs(share - 0.5) - 0.25).clamp(0.0, 0.25) / 0.25;
        middle + (ends - middle) * outside
    }
}

/// A pressure gauge of one job.
#[derive(Clone, PartialEq, Debug)]
pub struct Gauge {
    seed: u64,
    grade: Grade,
}

impl Gauge {
    /// Full scale, Pa.
    pub const SPAN_PA: f64 = 700e3;

    /// The gauge that belongs to a job's seed: a workshop's good one, of grade A.
    #[must_use]
    pub fn new(seed: u64) -> Gauge {
        Gauge::of_grade(seed, Grade::A)
    }

    /// One of another grade.
    #[must_use]
    pub fn of_grade(seed: u64, grade: Grade) -> Gauge {
        Gauge { seed, grade }
    }

    /// What it shows at a gauge pressure in Pa: read to 5 kPa, or to 1 psi.
    #[must_use]
    pub fn read(&self, pa: f64, system: System, how: String) -> Reading {
        /// One pound-force a square inch, Pa (exact by definition of the pound and the inch, rounded).
        const PSI_PA: f64 = 6_894.757_293_168;
        let mut own = Stream::keyed(self.seed, "instruments", &["gauge"]);
        let worst = self.grade.worst(pa / Self::SPAN_PA);
        let off = own.between(-0.8, 0.8) * worst * Self::SPAN_PA;
        let needle = if pa < 1e3 {
            0.0
        } else {
            (pa + off).clamp(0.0, Self::SPAN_PA)
        };
        let (step, decimals_pa) = match system {
            System::Metric => (5e3, 5e3),
            System::Us => (PSI_PA, PSI_PA),
        };
        let value = libm::round(needle / step) * decimals_pa;
        let shown = match system {
            System::Metric => format!("{:.0} kPa", value / 1e3),
            System::Us => format!("{:.0} psi", value / PSI_PA),
        };
        Reading {
            quantity: Quantity::Pressure,
            value: Some(Pascal(value).0),
            shown,
            how,
        }
    }
}

/// A marked can held under the return line.
#[derive(Clone, PartialEq, Debug)]
pub struct Can {
    seed: u64,
}

impl Can {
    /// How far the marks and the eye may be off, share of reading; ours, no source.
    const ERROR: f64 = 0.02;

    /// The can that belongs to a job's seed.
    #[must_use]
    pub fn new(seed: u64) -> Can {
        Can { seed }
    }

    /// What the marks show for a volume in m3: read to 10 mL, or to a quarter of a US fluid ounce.
    #[must_use]
    pub fn read(&self, volume_m3: f64, system: System, repeat: u32, how: String) -> Reading {
        /// One US fluid ounce, m3 (exact by definition).
        const FLUID_OUNCE_M3: f64 = 29.573_529_562_5e-6;
        let off = Stream::keyed(self.seed, "instruments", &["can"]).between(-0.7, 0.7);
        let eye =
            Stream::keyed(self.seed, "noise", &["can", &repeat.to_string()]).between(-0.3, 0.3);
        let level = volume_m3 * (1.0 + Self::ERROR * (off + eye));
        let step = match system {
            System::Metric => 10e-6,
            System::Us => FLUID_OUNCE_M3 / 4.0,
        };
        let value = Volume(libm::round(level / step) * step);
        let shown = match system {
            System::Metric => format!("{:.0} mL", value.0 * 1e6),
            System::Us => format!("{:.2} fl oz", value.0 / FLUID_OUNCE_M3),
        };
        Reading {
            quantity: Quantity::Volume,
            value: Some(value.0),
            shown,
            how,
        }
    }
}
