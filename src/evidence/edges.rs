//! The equivalence-class edge-cutting gain of Golovin, Krause and Ray, "Near-optimal Bayesian active learning with
//! noisy observations" (2010): a test is good if it tells hypotheses apart that need different repairs, and only those.

/// Weight of all pairs of hypotheses of different classes.
#[must_use]
pub fn weight(masses: &[f64], class_of: &[usize]) -> f64 {
    let classes = class_of.iter().copied().max().map_or(0, |last| last + 1);
    let mut sums = vec![0.0; classes];
    for (&mass, &class) in masses.iter().zip(class_of) {
        sums[class] += mass;
    }
    let whole: f64 = sums.iter().sum();
    0.5 * (whole * whole - sums.iter().map(|s| s * s).sum::<f64>())
}

/// Weight a noise-free test cuts on average; `outcome_of` is each hypothesis's outcome.
#[must_use]
pub fn gain(prior: &[f64], class_of: &[usize], outcome_of: &[usize]) -> f64 {
    let outcomes = outcome_of.iter().copied().max().map_or(0, |last| last + 1);
    let left: f64 = (0..outcomes)
        .map(|outcome| {
            let kept = prior.iter().zip(outcome_of);
            let masses: Vec<f64> = kept
                .map(|(&p, &o)| if o == outcome { p } else { 0.0 })
                .collect();
            masses.iter().sum::<f64>() * weight(&masses, class_of)
        })
        .sum();
    weight(prior, class_of) - left
}
