//! Huffman's code as a bound: no set of questions of the same cost finds one of several answers faster on average.

/// Total mass moved up in Huffman's tree of `arity` outcomes a question (Huffman 1952): for probabilities the mean
/// number of questions, for counts their total. Padded with empty answers so that the tree is full.
#[must_use]
pub fn huffman(masses: &[f64], arity: usize) -> f64 {
    let arity = arity.max(2);
    let mut heap: Vec<f64> = masses.to_vec();
    while heap.len() > 1 && !(heap.len() - 1).is_multiple_of(arity - 1) {
        heap.push(0.0);
    }
    // Largest first, so that the smallest come off the end.
    heap.sort_by(|a, b| b.total_cmp(a));
    let mut total = 0.0;
    while heap.len() > 1 {
        let joined: f64 = heap.split_off(heap.len() - arity).iter().sum();
        total += joined;
        let place = heap.partition_point(|&mass| mass > joined);
        heap.insert(place, joined);
    }
    total
}

/// The bound of Pattipati and Alexandridis (IEEE SMC 20(4), 1990): with a mean of `questions` and the cheapest first,
/// no plan costs less. `costs` in any order.
#[must_use]
pub fn cost_of(questions: f64, costs: &[f64]) -> f64 {
    let mut costs = costs.to_vec();
    costs.sort_by(f64::total_cmp);
    let mut left = questions;
    let mut total = 0.0;
    for &cost in &costs {
        let share = left.clamp(0.0, 1.0);
        total += share * cost;
        left -= share;
    }
    // More questions than there are: the dearest would be asked again, which still is a bound.
    total + left.max(0.0) * costs.last().copied().unwrap_or(0.0)
}
