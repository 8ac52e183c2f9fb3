//! The order in which to try repairs when each can be judged by itself (Kadane and Simon 1975; Heckerman, Breese and
//! Rommelse, Communications of the ACM 38(3), 1995).
//!
//! One fault, independent actions, a look after each whether it is cured. Not the best order when actions share work
//! such as lowering a tank, or when a test tells parts apart: then plan on a [`super::Problem`].

/// One thing that can be tried.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Try {
    /// Probability that this is the fault.
    pub probability: f64,
    /// Cost of finding out.
    pub observe: f64,
    /// Cost of putting it right if it is.
    pub repair: f64,
}

/// Expected cost of trying in `order`, as indices into `tries`: all that were not found earlier are looked at.
#[must_use]
pub fn expected_cost(tries: &[Try], order: &[usize]) -> f64 {
    let mut left = 1.0;
    let mut total = 0.0;
    for &index in order {
        let one = tries[index];
        total += left * one.observe + one.probability * one.repair;
        left -= one.probability;
    }
    total
}

/// The best order: by probability over the cost of finding out, highest first, ties by index.
#[must_use]
pub fn best_order(tries: &[Try]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..tries.len()).collect();
    // Compared crosswise, so that something free to look at comes first without a division by zero.
    order.sort_by(|&a, &b| {
        let (one, other) = (tries[a], tries[b]);
        (other.probability * one.observe).total_cmp(&(one.probability * other.observe))
    });
    order
}
