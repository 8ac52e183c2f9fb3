//! Sums of numbers known by their logarithms, and entropy.

/// `ln(e^a + e^b)` without overflow; either may be minus infinity.
#[must_use]
pub fn log_add_exp(a: f64, b: f64) -> f64 {
    let (high, low) = if a >= b { (a, b) } else { (b, a) };
    if low == f64::NEG_INFINITY {
        high
    } else {
        high + libm::log1p(libm::exp(low - high))
    }
}

/// `ln(sum of e^x)`, the largest taken out first; minus infinity of nothing.
#[must_use]
pub fn log_sum_exp(logs: &[f64]) -> f64 {
    let high = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if high == f64::NEG_INFINITY {
        return high;
    }
    high + libm::log(logs.iter().map(|&x| libm::exp(x - high)).sum())
}

/// The probabilities whose logarithms these are, up to a common constant. All equal if all are minus infinity: with
/// nothing possible, nothing is known.
#[must_use]
pub fn softmax(logs: &[f64]) -> Vec<f64> {
    let whole = log_sum_exp(logs);
    if whole == f64::NEG_INFINITY {
        return vec![1.0 / logs.len() as f64; logs.len()];
    }
    logs.iter().map(|&x| libm::exp(x - whole)).collect()
}

/// `-p log2 p`, nothing at zero.
#[must_use]
pub fn surprise(p: f64) -> f64 {
    if p > 0.0 { -p * libm::log2(p) } else { 0.0 }
}

/// Shannon's entropy of probabilities that add up to one, bits.
#[must_use]
pub fn entropy(probabilities: &[f64]) -> f64 {
    probabilities.iter().map(|&p| surprise(p)).sum()
}

/// Entropy of masses that need not add up to one, bits a unit of mass; nothing of no mass.
#[must_use]
pub fn entropy_of_masses(masses: &[f64]) -> f64 {
    let whole: f64 = masses.iter().sum();
    if whole > 0.0 {
        masses.iter().map(|&m| surprise(m / whole)).sum()
    } else {
        0.0
    }
}
