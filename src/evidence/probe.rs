//! Where to probe next in a circuit whose parts are each sound or not: the entropy rule of de Kleer and Williams,
//! "Diagnosing multiple faults" (Artificial Intelligence 32, 1987).

use super::logs::surprise;

/// Information gained on average by measuring a point, bits. `predictions` pairs the probability of each candidate
/// with the value it predicts there, or nothing if it leaves the point open; `values` is the number of values
/// the point may have. Probabilities must add up to one.
#[must_use]
pub fn gain(predictions: &[(f64, Option<i64>)], values: u32) -> f64 {
    let mut seen: Vec<(i64, f64)> = Vec::new();
    let mut open = 0.0;
    for &(p, value) in predictions {
        match value {
            None => open += p,
            Some(value) => match seen.iter_mut().find(|(known, _)| *known == value) {
                Some((_, sum)) => *sum += p,
                None => seen.push((value, p)),
            },
        }
    }
    // A candidate that predicts nothing spreads evenly over all values.
    let share = open / f64::from(values);
    let told: f64 = seen.iter().map(|&(_, p)| surprise(p + share)).sum();
    // Values nobody predicts are met by open candidates only.
    let unseen = (f64::from(values) - seen.len() as f64).max(0.0);
    told + unseen * surprise(share) - noise(open, values)
}

/// What open candidates would still leave to chance: their mass times the entropy of an even spread.
fn noise(open: f64, values: u32) -> f64 {
    open * libm::log2(f64::from(values))
}

/// Probabilities after reading `value`: candidates that contradict it go, open ones keep one part in `values`.
#[must_use]
pub fn after(predictions: &[(f64, Option<i64>)], values: u32, value: i64) -> Vec<f64> {
    let mut left: Vec<f64> = predictions
        .iter()
        .map(|&(p, predicted)| match predicted {
            None => p / f64::from(values),
            Some(predicted) if predicted == value => p,
            Some(_) => 0.0,
        })
        .collect();
    let whole: f64 = left.iter().sum();
    if whole > 0.0 {
        for p in &mut left {
            *p /= whole;
        }
    }
    left
}
