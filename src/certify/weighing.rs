//! Belief in explanations while tests are read, tolerances shared by all readings of a vehicle.
//!
//! Each explanation keeps its own normal distribution over what all its readings share (a Kalman filter on constants), so
//! that a repeated surprise is not counted as new evidence; gross errors are mixed in.

use super::atlas::{Particle, SOUND};
use crate::evidence::logs::softmax;
use crate::evidence::normal_log_density;

/// Chance of a gross error of a careful reading, which then lies anywhere in the range of the test; ours, no source.
const GROSS: f64 = 0.004;

/// Gross errors as logarithms: of the density of one, and of the chance of none.
struct Gross {
    wrong: f64,
    none: f64,
}

impl Gross {
    fn of(unit: &str) -> Gross {
        let range = match unit {
            "V" => 16.0,
            "A" => 20.0,
            "kPa" => 800.0,
            "L/h" => 200.0,
            _ => 8.0,
        };
        Gross {
            wrong: libm::log(GROSS) - libm::log(range),
            none: libm::log1p(-GROSS),
        }
    }

    /// Logarithm of how likely a value is, and the probability that it is no gross error.
    fn weigh(&self, value: f64, expected: &Expected) -> (f64, f64) {
        let right = self.none + normal_log_density(value, expected.mean, expected.sigma);
        let (high, low) = if right >= self.wrong {
            (right, self.wrong)
        } else {
            (self.wrong, right)
        };
        let odds = libm::exp(low - high);
        let careful = if right >= self.wrong { 1.0 } else { odds } / (1.0 + odds);
        (high + libm::log1p(odds), careful)
    }
}

/// Share of a test's tolerance that no shared direction covers.
const OWN: f64 = 0.35;
/// Largest factor by which a faulty circuit's tolerance is taken larger than a sound one's.
const MOST_SCALE: f64 = 1.5;

/// How much a prediction varies with tolerance, as a share of how a sound vehicle does: what a fault has cut off does not
/// vary; what it has made larger varies with it, within reason.
fn scale(predicted: f64, sound: f64) -> f64 {
    if libm::fabs(sound) > 0.0 {
        libm::fabs(predicted / sound).min(MOST_SCALE)
    } else {
        1.0
    }
}

/// One reading, ready to be weighed.
#[derive(Clone, Copy)]
pub(super) struct Reading<'a> {
    pub test: usize,
    pub unit: &'a str,
    pub value: f64,
    /// Standard uncertainty of the reading.
    pub sigma: f64,
    /// What a sound vehicle shows, and how that moves with tolerance.
    pub sound: f64,
    pub spread: &'a [f64; SOUND],
}

/// Shared tolerances as an explanation takes them to spread and to go together.
type Covariance = [[f64; SOUND]; SOUND];

/// Belief in a list of explanations.
#[derive(Clone)]
pub(super) struct Weighing {
    logs: Vec<f64>,
    /// What each explanation takes the tolerances that its readings share to be.
    means: Vec<[f64; SOUND]>,
    covariances: Vec<Covariance>,
}

/// Where a reading is expected, and how far it spreads.
#[derive(Clone, Copy)]
pub(super) struct Expected {
    pub mean: f64,
    pub sigma: f64,
    together: [f64; SOUND],
}

impl Weighing {
    /// Belief as it stands before anything is read: logarithms of weights, which need not add up to one.
    pub fn new(before: &[f64]) -> Weighing {
        let mut sound = [[0.0; SOUND]; SOUND];
        for (place, row) in sound.iter_mut().enumerate() {
            row[place] = 1.0;
        }
        Weighing {
            logs: before.to_vec(),
            means: vec![[0.0; SOUND]; before.len()],
            covariances: vec![sound; before.len()],
        }
    }

    /// Which explanations are less likely than the likeliest by no more than this factor, a logarithm.
    pub fn within(&self, factor: f64) -> Vec<usize> {
        let best = self.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        (0..self.logs.len())
            .filter(|&place| self.logs[place] >= best - factor)
            .collect()
    }

    /// Probability of each explanation.
    pub fn probabilities(&self) -> Vec<f64> {
        softmax(&self.logs)
    }

    /// What an explanation expects of a test.
    pub fn expected(&self, place: usize, particle: &Particle, reading: &Reading) -> Expected {
        let predicted = particle.values[reading.test];
        let scale = scale(predicted, reading.sound);
        let (mut slopes, mut together) = ([0.0; SOUND], [0.0; SOUND]);
        let (mut mean, mut own) = (predicted, 0.0);
        for (at, slope) in slopes.iter_mut().enumerate() {
            *slope = scale * reading.spread[at];
            mean += *slope * self.means[place][at];
            own += *slope * *slope;
        }
        for (row, slope) in self.covariances[place].iter().zip(&slopes) {
            for (sum, cell) in together.iter_mut().zip(row) {
                *sum += cell * slope;
            }
        }
        let variance: f64 = together.iter().zip(&slopes).map(|(sum, s)| sum * s).sum();
        let gap = particle.gaps[reading.test];
        let variance =
            variance.max(0.0) + OWN * OWN * own + gap * gap + reading.sigma * reading.sigma;
        Expected {
            mean,
            sigma: variance.sqrt(),
            together,
        }
    }

    /// How far tolerance spreads a test that reads as on a sound vehicle, as a variance, for the explanation at `place`: what
    /// shared tolerances have to do with each other is left out. For choosing a test.
    pub fn rough_variance(&self, place: usize, spread: &[f64; SOUND]) -> f64 {
        let covariance = &self.covariances[place];
        let along = spread.iter().enumerate();
        along
            .map(|(at, slope)| slope * slope * (covariance[at][at] + OWN * OWN))
            .sum()
    }

    /// What an explanation expects of a test, quicker: with the variance that [`Weighing::rough_variance`] gives for the
    /// likeliest one. For choosing a test.
    pub fn roughly(
        &self,
        place: usize,
        particle: &Particle,
        reading: &Reading,
        variance: f64,
    ) -> (f64, f64) {
        let predicted = particle.values[reading.test];
        let scale = scale(predicted, reading.sound);
        let along: f64 = reading
            .spread
            .iter()
            .zip(&self.means[place])
            .map(|(slope, mean)| slope * mean)
            .sum();
        let gap = particle.gaps[reading.test];
        let variance = scale * scale * variance + gap * gap + reading.sigma * reading.sigma;
        (predicted + scale * along, variance.sqrt())
    }

    /// Takes in a reading for the explanations that are still believed in.
    pub fn read(&mut self, particles: &[&Particle], reading: &Reading) {
        /// Logarithm of the odds below which an explanation is left alone.
        const HOPELESS: f64 = -40.0;
        let gross = Gross::of(reading.unit);
        let best = self.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for (place, particle) in particles.iter().enumerate() {
            if self.logs[place] < best + HOPELESS {
                continue;
            }
            let expected = self.expected(place, particle, reading);
            let (log, careful) = gross.weigh(reading.value, &expected);
            self.logs[place] += log;
            let off = reading.value - expected.mean;
            let gain = careful / (expected.sigma * expected.sigma);
            let covariance = self.covariances[place].iter_mut();
            let rows = self.means[place].iter_mut().zip(covariance);
            for ((mean, row), along) in rows.zip(&expected.together) {
                let gain = gain * along;
                *mean += gain * off;
                for (cell, other) in row.iter_mut().zip(&expected.together) {
                    *cell -= gain * other;
                }
            }
        }
    }
}
