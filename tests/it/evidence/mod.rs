//! Evidence against published numbers, numbers derived by other means, and laws.
//!
//! "Published" is read in the source named; "textbook" is standard literature quoted from memory; "derived" was computed
//! by a separate program and agrees with nothing but arithmetic.
mod bayes;
mod costs;
mod decisions;
mod laws;
mod metered;
mod noisy;
mod probing;
mod scores;
mod trees;
mod two;
mod vehicle;

/// Both agree to `digits` decimals.
pub fn assert_near(found: f64, expected: f64, tolerance: f64, what: &str) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{what}: {found} instead of {expected}"
    );
}
