//! How likely a reading is under a hypothesis: a normal density about what is predicted, mixed with a wide one for
//! readings that went wrong, such as a tip that did not touch.
//!
//! Without the wide part one slipped tip would rule the truth out for ever. The mixture caps what one reading can do.

use core::f64::consts::{PI, SQRT_2};

use super::logs::log_add_exp;

/// Standard uncertainty of a limit that all errors lie within, evenly: its half-width over the square root of three
/// (JCGM 100:2008, 4.3.7).
#[must_use]
pub fn rectangular(half_width: f64) -> f64 {
    half_width / 3.0_f64.sqrt()
}

/// Standard uncertainty of rounding to a display step (JCGM 100:2008, F.2.2.1).
#[must_use]
pub fn resolution(step: f64) -> f64 {
    step / 12.0_f64.sqrt()
}

/// Gross errors: how often a reading is wrong, and where it then lies.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Mixture {
    /// Chance that a reading is wrong, 0 to below 1.
    pub chance: f64,
    /// Lowest value a wrong reading shows.
    pub low: f64,
    /// Highest value a wrong reading shows; wrong readings lie evenly between the two.
    pub high: f64,
}

impl Mixture {
    /// Readings that are never wrong beyond their stated spread.
    pub const NONE: Mixture = Mixture {
        chance: 0.0,
        low: 0.0,
        high: 1.0,
    };

    fn gross_log_density(&self) -> f64 {
        // Taken everywhere, also beyond the ends: a reading there must not rule everything out.
        libm::log(self.chance) - libm::log(self.high - self.low)
    }

    /// Natural logarithm of the density of reading `y` where `mean` is predicted with standard uncertainty `sigma`.
    #[must_use]
    pub fn log_likelihood(&self, y: f64, mean: f64, sigma: f64) -> f64 {
        let right = libm::log1p(-self.chance) + normal_log_density(y, mean, sigma);
        if self.chance > 0.0 {
            log_add_exp(right, self.gross_log_density())
        } else {
            right
        }
    }

    /// Density of reading `y`; the wide part only between its ends, so that it integrates to one.
    #[must_use]
    pub fn density(&self, y: f64, mean: f64, sigma: f64) -> f64 {
        let wide = if y >= self.low && y <= self.high {
            self.chance / (self.high - self.low)
        } else {
            0.0
        };
        (1.0 - self.chance) * libm::exp(normal_log_density(y, mean, sigma)) + wide
    }

    /// Chance of a reading between two limits, either of which may be infinite.
    #[must_use]
    pub fn between(&self, from: f64, to: f64, mean: f64, sigma: f64) -> f64 {
        let right = normal_below((to - mean) / sigma) - normal_below((from - mean) / sigma);
        let wide = (to.min(self.high) - from.max(self.low)).max(0.0) / (self.high - self.low);
        (1.0 - self.chance) * right + self.chance * wide
    }

    /// The most that one reading can move the odds for a prediction of spread `sigma`, bits.
    #[must_use]
    pub fn cap_bits(&self, sigma: f64) -> f64 {
        let best = self.log_likelihood(0.0, 0.0, sigma);
        (best - self.gross_log_density()) / core::f64::consts::LN_2
    }
}

/// Natural logarithm of the normal density.
#[must_use]
pub fn normal_log_density(y: f64, mean: f64, sigma: f64) -> f64 {
    let z = (y - mean) / sigma;
    -0.5 * z * z - libm::log(sigma) - 0.5 * libm::log(2.0 * PI)
}

/// Chance that a standard normal value lies below `z`.
#[must_use]
pub fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}
