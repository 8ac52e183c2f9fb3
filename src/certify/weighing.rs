//! Belief in explanations while tests are read, tolerances shared by all readings of a vehicle.
//!
//! Each explanation keeps its own normal distribution over what all its readings share (a Kalman filter on constants), so
//! that a repeated surprise is not counted as new evidence; gross errors are mixed in.

use super::atlas::{Particle, SOUND};
use crate::evidence::Mixture;
use crate::evidence::logs::softmax;

/// Gross errors of a careful reading: rare, and anywhere in the range of the test.
fn mixture(unit: &str) -> Mixture {
    let (low, high) = match unit {
        "V" => (0.0, 16.0),
        "A" => (0.0, 20.0),
        "kPa" => (0.0, 800.0),
        "L/h" => (0.0, 200.0),
        _ => (-2.0, 6.0),
    };
    Mixture {
        chance: 0.004,
        low,
        high,
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

/// What one explanation knows of the tolerances its readings share.
#[derive(Clone)]
struct Shared {
    mean: [f64; SOUND],
    covariance: [[f64; SOUND]; SOUND],
}

/// Belief in a list of explanations.
#[derive(Clone)]
pub(super) struct Weighing {
    logs: Vec<f64>,
    shared: Vec<Shared>,
}

/// Where a reading is expected, and how far it spreads.
#[derive(Clone, Copy)]
pub(super) struct Expected {
    pub mean: f64,
    pub sigma: f64,
    together: [f64; SOUND],
}

impl Weighing {
    /// Belief as it stands before anything is read; `prior` need not add up to one.
    pub fn new(prior: &[f64]) -> Weighing {
        let mut covariance = [[0.0; SOUND]; SOUND];
        for (place, row) in covariance.iter_mut().enumerate() {
            row[place] = 1.0;
        }
        let shared = Shared {
            mean: [0.0; SOUND],
            covariance,
        };
        Weighing {
            logs: prior.iter().map(|&p| libm::log(p)).collect(),
            shared: vec![shared; prior.len()],
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
        let shared = &self.shared[place];
        let (mut slopes, mut together) = ([0.0; SOUND], [0.0; SOUND]);
        let (mut mean, mut own) = (predicted, 0.0);
        for (at, slope) in slopes.iter_mut().enumerate() {
            *slope = scale * reading.spread[at];
            mean += *slope * shared.mean[at];
            own += *slope * *slope;
        }
        let mut variance = 0.0;
        for (at, sum) in together.iter_mut().enumerate() {
            let row = &shared.covariance[at];
            *sum = row.iter().zip(&slopes).map(|(c, s)| c * s).sum();
            variance += *sum * slopes[at];
        }
        let gap = particle.gaps[reading.test];
        variance = variance.max(0.0) + OWN * OWN * own + gap * gap + reading.sigma * reading.sigma;
        Expected {
            mean,
            sigma: variance.sqrt(),
            together,
        }
    }

    /// How far tolerance spreads a test that reads as on a sound vehicle, as a variance, for the explanation at `place`: what
    /// shared tolerances have to do with each other is left out. For choosing a test.
    pub fn rough_variance(&self, place: usize, spread: &[f64; SOUND]) -> f64 {
        let covariance = &self.shared[place].covariance;
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
        let means = &self.shared[place].mean;
        let along: f64 = reading
            .spread
            .iter()
            .zip(means)
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
        let mixture = mixture(reading.unit);
        let best = self.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for (place, particle) in particles.iter().enumerate() {
            if self.logs[place] < best + HOPELESS {
                continue;
            }
            let expected = self.expected(place, particle, reading);
            let log = mixture.log_likelihood(reading.value, expected.mean, expected.sigma);
            let right = libm::log1p(-mixture.chance)
                + crate::evidence::normal_log_density(reading.value, expected.mean, expected.sigma);
            let weight = libm::exp(right - log);
            self.logs[place] += log;
            let shared = &mut self.shared[place];
            let off = reading.value - expected.mean;
            let variance = expected.sigma * expected.sigma;
            for at in 0..SOUND {
                let gain = weight * expected.together[at] / variance;
                shared.mean[at] += gain * off;
                for (cell, other) in shared.covariance[at].iter_mut().zip(&expected.together) {
                    *cell -= gain * other;
                }
            }
        }
    }
}
