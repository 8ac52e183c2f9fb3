//! What a test tells on average.

use super::logs::{entropy, entropy_of_masses, surprise};
use super::mixture::Mixture;

/// Expected information of a test with finitely many outcomes, bits. `likelihood[h][o]` is the chance of outcome `o`
/// under hypothesis `h`.
#[must_use]
pub fn expected_bits(prior: &[f64], likelihood: &[Vec<f64>]) -> f64 {
    let outcomes = likelihood.first().map_or(0, Vec::len);
    let mut whole = vec![0.0; outcomes];
    let mut noise = 0.0;
    for (&p, row) in prior.iter().zip(likelihood) {
        for (sum, &q) in whole.iter_mut().zip(row) {
            *sum += p * q;
        }
        noise += p * entropy(row);
    }
    (entropy(&whole) - noise).max(0.0)
}

/// Expected information about a class of hypotheses, such as the right repair, bits.
#[must_use]
pub fn expected_class_bits(prior: &[f64], class_of: &[usize], likelihood: &[Vec<f64>]) -> f64 {
    let classes = class_of.iter().copied().max().map_or(0, |last| last + 1);
    let outcomes = likelihood.first().map_or(0, Vec::len);
    let mut joint = vec![vec![0.0; outcomes]; classes];
    for ((&p, &class), row) in prior.iter().zip(class_of).zip(likelihood) {
        for (sum, &q) in joint[class].iter_mut().zip(row) {
            *sum += p * q;
        }
    }
    let class_masses: Vec<f64> = joint.iter().map(|row| row.iter().sum()).collect();
    let left: f64 = (0..outcomes)
        .map(|o| {
            let column: Vec<f64> = joint.iter().map(|row| row[o]).collect();
            column.iter().sum::<f64>() * entropy_of_masses(&column)
        })
        .sum();
    (entropy_of_masses(&class_masses) - left).max(0.0)
}

/// A prediction of a reading: where it lies and how far it spreads, in the reading's unit.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Predicted {
    /// Expected reading.
    pub mean: f64,
    /// Standard uncertainty.
    pub sigma: f64,
}

/// Nodes and weights of Gauss-Legendre quadrature with eight points on -1..1, the positive half (Abramowitz and
/// Stegun, table 25.4).
const GAUSS_8: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_5),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_3),
];
/// Where the range is cut for quadrature: so many standard uncertainties either side of each prediction.
const CUTS: [f64; 9] = [0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 9.0];

/// Expected information of a continuous reading, bits, by quadrature. The same number of steps whatever the numbers.
#[must_use]
pub fn expected_bits_of_reading(prior: &[f64], predicted: &[Predicted], mixture: &Mixture) -> f64 {
    let mut cuts: Vec<f64> = predicted
        .iter()
        .flat_map(|p| {
            CUTS.iter()
                .flat_map(move |&k| [p.mean - k * p.sigma, p.mean + k * p.sigma])
        })
        .collect();
    if mixture.chance > 0.0 {
        cuts.extend([mixture.low, mixture.high]);
    }
    cuts.sort_by(f64::total_cmp);
    let left: f64 = cuts
        .windows(2)
        .map(|ends| {
            gauss(ends[0], ends[1], |y| {
                unknown_after(prior, predicted, mixture, y)
            })
        })
        .sum();
    (entropy(prior) - left).max(0.0)
}

/// Entropy after reading `y`, times the density of `y`.
fn unknown_after(prior: &[f64], predicted: &[Predicted], mixture: &Mixture, y: f64) -> f64 {
    let masses: Vec<f64> = prior
        .iter()
        .zip(predicted)
        .map(|(&p, at)| p * mixture.density(y, at.mean, at.sigma))
        .collect();
    let density: f64 = masses.iter().sum();
    density * entropy_of_masses(&masses)
}

fn gauss(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    if half <= 0.0 {
        return 0.0;
    }
    half * GAUSS_8
        .iter()
        .map(|&(x, w)| w * (f(middle - half * x) + f(middle + half * x)))
        .sum::<f64>()
}

/// Chance of each bin between neighbouring `edges` for each prediction, with all that lies outside added to the bins
/// at the ends. Binning never adds information.
#[must_use]
pub fn binned(predicted: &[Predicted], mixture: &Mixture, edges: &[f64]) -> Vec<Vec<f64>> {
    let last = edges.len().saturating_sub(2);
    predicted
        .iter()
        .map(|at| {
            edges
                .windows(2)
                .enumerate()
                .map(|(bin, ends)| {
                    let from = if bin == 0 { f64::NEG_INFINITY } else { ends[0] };
                    let to = if bin == last { f64::INFINITY } else { ends[1] };
                    mixture.between(from, to, at.mean, at.sigma)
                })
                .collect()
        })
        .collect()
}

/// Capacity of a test that answers yes or no and lies with chance `q`, bits (binary symmetric channel; Shannon 1948).
#[must_use]
pub fn symmetric_capacity(q: f64) -> f64 {
    1.0 - surprise(q) - surprise(1.0 - q)
}

/// Rounds of [`capacity`]; the error falls at least as their inverse, in practice geometrically.
const CAPACITY_ROUNDS: u32 = 2000;
/// Gap between the two bounds at which [`capacity`] stops, bits.
const CAPACITY_GAP: f64 = 1e-9;

/// Capacity of a test, the most it can tell under any belief, bits: the upper bound of Blahut and Arimoto (1972) after
/// their rounds have closed the gap, so never too small.
#[must_use]
pub fn capacity(likelihood: &[Vec<f64>]) -> f64 {
    let rows = likelihood.len();
    let outcomes = likelihood.first().map_or(0, Vec::len);
    let mut input = vec![1.0 / rows as f64; rows];
    let mut upper = 0.0;
    for _ in 0..CAPACITY_ROUNDS {
        let mut output = vec![0.0; outcomes];
        for (&p, row) in input.iter().zip(likelihood) {
            output
                .iter_mut()
                .zip(row)
                .for_each(|(sum, &q)| *sum += p * q);
        }
        let divergence: Vec<f64> = likelihood
            .iter()
            .map(|row| {
                let terms = row.iter().zip(&output);
                terms
                    .map(|(&q, &r)| if q > 0.0 { q * libm::log2(q / r) } else { 0.0 })
                    .sum()
            })
            .collect();
        let grown: Vec<f64> = input
            .iter()
            .zip(&divergence)
            .map(|(&p, &d)| p * libm::exp2(d))
            .collect();
        let whole: f64 = grown.iter().sum();
        let lower = libm::log2(whole);
        upper = divergence.iter().copied().fold(0.0, f64::max);
        if upper - lower < CAPACITY_GAP {
            break;
        }
        input = grown.iter().map(|g| g / whole).collect();
    }
    upper
}
