//! What no policy can beat: lower bounds on the cost of tests and of wrong remedies together.
//!
//! All bound the excess over [`Problem::floor`], times the mass of the state, and hold for any problem without noise;
//! [`information`] takes the capacity of each test and so holds with noise as well. Shared work may serve a remedy too,
//! so tests are counted at their own cost alone and remedies with the work still missing: no plan pays less than that.

use super::code;
use super::logs::{entropy, entropy_of_masses};
use super::problem::{Problem, State, weigh};

/// A state seen from its hypotheses.
struct View<'p> {
    problem: &'p Problem,
    left: Vec<usize>,
    mass: f64,
    /// Excess loss of each remedy over the best one, a row for each hypothesis left.
    excess: Vec<Vec<f64>>,
    /// A best remedy of each hypothesis left.
    class: Vec<usize>,
    /// Least excess of a remedy that is not best, for each hypothesis left; infinite if there is none.
    wrong: Vec<f64>,
}

impl<'p> View<'p> {
    fn new(problem: &'p Problem, state: &State) -> View<'p> {
        let work: Vec<f64> = problem
            .remedies
            .iter()
            .map(|r| problem.work(r.needs, state.done))
            .collect();
        let left: Vec<usize> = state.left.iter().collect();
        let excess: Vec<Vec<f64>> = left
            .iter()
            .map(|&h| {
                let losses: Vec<f64> = problem
                    .remedies
                    .iter()
                    .zip(&work)
                    .map(|(r, w)| r.loss[h] + w)
                    .collect();
                let least = losses.iter().copied().fold(f64::INFINITY, f64::min);
                losses
                    .iter()
                    .map(|&loss| if loss <= least { 0.0 } else { loss - least })
                    .collect()
            })
            .collect();
        let class = excess
            .iter()
            .map(|row| row.iter().position(|&d| d == 0.0).unwrap_or(0))
            .collect();
        let wrong = excess
            .iter()
            .map(|row| {
                row.iter()
                    .copied()
                    .filter(|&d| d > 0.0)
                    .fold(f64::INFINITY, f64::min)
            })
            .collect();
        let mass = problem.mass(&state.left);
        View {
            problem,
            left,
            mass,
            excess,
            class,
            wrong,
        }
    }

    fn p(&self, place: usize) -> f64 {
        self.problem.prior[self.left[place]]
    }

    /// No remedy is best for both.
    fn differ(&self, a: usize, b: usize) -> bool {
        self.class[a] != self.class[b]
            && !self.excess[a]
                .iter()
                .zip(&self.excess[b])
                .any(|(&x, &y)| x == 0.0 && y == 0.0)
    }

    /// Outcomes of a test that are possible here.
    fn arity(&self, test: usize) -> usize {
        let outcomes = &self.problem.tests[test].outcomes;
        let seen = self
            .left
            .iter()
            .fold(0_u16, |seen, &h| seen | 1 << outcomes[h]);
        seen.count_ones() as usize
    }

    /// Own cost and most bits of each test that can tell something here.
    fn capacities(&self) -> Vec<(f64, f64)> {
        let tests = self.problem.tests.iter().enumerate();
        tests
            .map(|(index, test)| (test.cost, libm::log2(self.arity(index) as f64)))
            .filter(|&(_, bits)| bits > 0.0)
            .collect()
    }
}

/// Bound 1: a plan for a set is a plan for each of its parts. Takes the hypotheses in pairs, dearest pair first; a pair
/// costs the cheapest test that tells it apart or the cheaper of its two wrong remedies.
#[must_use]
pub fn pairs(problem: &Problem, state: &State) -> f64 {
    pairs_of(&View::new(problem, state), &Apart::new(problem))
}

fn pairs_of(view: &View, apart: &Apart) -> f64 {
    let mut worth: Vec<(f64, usize, usize)> = Vec::new();
    for a in 0..view.left.len() {
        for b in a + 1..view.left.len() {
            if view.differ(a, b) {
                let apart = (view.p(a) + view.p(b)) * apart.cost(view.left[a], view.left[b]);
                let wrong = weigh(view.p(a), view.wrong[a]).min(weigh(view.p(b), view.wrong[b]));
                worth.push((apart.min(wrong), a, b));
            }
        }
    }
    worth.sort_by(|x, y| y.0.total_cmp(&x.0).then((x.1, x.2).cmp(&(y.1, y.2))));
    let mut taken = vec![false; view.left.len()];
    let mut total = 0.0;
    for (value, a, b) in worth {
        if !taken[a] && !taken[b] {
            (taken[a], taken[b]) = (true, true);
            total += value;
        }
    }
    total
}

/// The cheapest test that tells each two hypotheses apart, worked out once for a problem.
pub(super) struct Apart {
    count: usize,
    costs: Vec<f64>,
}

impl Apart {
    pub fn new(problem: &Problem) -> Apart {
        let count = problem.prior.len();
        let mut costs = vec![f64::INFINITY; count * count];
        for test in &problem.tests {
            for (a, row) in costs.chunks_mut(count).enumerate() {
                for (cost, outcome) in row.iter_mut().zip(&test.outcomes) {
                    if test.outcomes[a] != *outcome {
                        *cost = cost.min(test.cost);
                    }
                }
            }
        }
        Apart { count, costs }
    }

    fn cost(&self, a: usize, b: usize) -> f64 {
        self.costs[a * self.count + b]
    }
}

/// Bound 2 for given tests, as `(cost, capacity in bits)`, each used at most once: bits have to be bought by tests or
/// left to wrong remedies, at `price` each. `excess` has a row for each hypothesis. Holds for tests that err.
#[must_use]
pub fn information(masses: &[f64], excess: &[Vec<f64>], tests: &[(f64, f64)], price: f64) -> f64 {
    let whole: f64 = masses.iter().sum();
    if whole <= 0.0 || price <= 0.0 {
        return 0.0;
    }
    let remedies = excess.first().map_or(0, Vec::len);
    let spread = |remedy: usize| {
        excess
            .iter()
            .map(|row| libm::exp2(-row[remedy] / price))
            .sum::<f64>()
    };
    let widest = (0..remedies).map(spread).fold(0.0, f64::max);
    let bits = entropy_of_masses(masses) - libm::log2(widest);
    whole * (price * bits - too_cheap(tests, price))
}

fn too_cheap(tests: &[(f64, f64)], price: f64) -> f64 {
    tests
        .iter()
        .map(|&(cost, bits)| (price * bits - cost).max(0.0))
        .sum()
}

/// Bound 2 at its best price.
#[must_use]
pub fn best_information(problem: &Problem, state: &State) -> f64 {
    let view = View::new(problem, state);
    let masses: Vec<f64> = (0..view.left.len()).map(|place| view.p(place)).collect();
    let tests = view.capacities();
    best_price(&tests, |price| {
        information(&masses, &view.excess, &tests, price)
    })
}

/// Bound 2 on the remedy that is right instead of the hypothesis: often weaker, always cheap to work out.
#[must_use]
pub fn class_information(problem: &Problem, state: &State) -> f64 {
    class_information_of(&View::new(problem, state))
}

fn class_information_of(view: &View) -> f64 {
    let problem = view.problem;
    let mut masses = vec![0.0; problem.remedies.len()];
    let mut fits = vec![vec![false; problem.remedies.len()]; problem.remedies.len()];
    for (place, row) in view.excess.iter().enumerate() {
        masses[view.class[place]] += view.p(place);
        for (remedy, &excess) in row.iter().enumerate() {
            fits[remedy][view.class[place]] |= excess == 0.0;
        }
    }
    let classes = masses.iter().filter(|&&m| m > 0.0).count();
    let shares: Vec<f64> = masses.iter().map(|m| m / view.mass).collect();
    // One remedy may be best for members of several classes.
    let right = fits
        .iter()
        .map(|row| row.iter().filter(|&&fit| fit).count())
        .max()
        .unwrap_or(1);
    let least = view.wrong.iter().copied().fold(f64::INFINITY, f64::min);
    let tests = view.capacities();
    best_price(&tests, |price| {
        let others = (classes - right.min(classes)) as f64;
        let widest = right as f64 + others * libm::exp2(-least / price);
        view.mass * (price * (entropy(&shares) - libm::log2(widest)) - too_cheap(&tests, price))
    })
}

/// The largest value over prices of a bit. Bound 2 is concave in the price, so thirds of a bracket close in on it.
fn best_price(tests: &[(f64, f64)], bound: impl Fn(f64) -> f64) -> f64 {
    const ROUNDS: u32 = 40;
    let (mut low, mut high) = (
        0.0,
        tests
            .iter()
            .map(|&(cost, bits)| cost / bits)
            .fold(1e-9, f64::max),
    );
    while bound(2.0 * high) > bound(high) && high < 1e9 {
        high *= 2.0;
    }
    high *= 2.0;
    for _ in 0..ROUNDS {
        let (one, two) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if bound(one) < bound(two) {
            low = one;
        } else {
            high = two;
        }
    }
    bound(0.5 * (low + high)).max(0.0)
}

/// Bound 3: whoever is right, the others have to be ruled out by tests, cheapest first and in parts, or be paid for by
/// a wrong remedy.
#[must_use]
pub fn certificate(problem: &Problem, state: &State) -> f64 {
    let view = View::new(problem, state);
    let least = view.wrong.iter().copied().fold(f64::INFINITY, f64::min);
    let price = least / (2.0 * view.mass);
    let places = 0..view.left.len();
    let one = |h: usize| {
        let others: Vec<usize> = (0..view.left.len())
            .filter(|&other| view.differ(h, other))
            .collect();
        let mut left: f64 = others.iter().map(|&other| view.p(other)).sum();
        let mut rates: Vec<(f64, f64)> = problem
            .tests
            .iter()
            .map(|test| {
                let gone = others
                    .iter()
                    .filter(|&&o| test.outcomes[view.left[o]] != test.outcomes[view.left[h]]);
                (test.cost, gone.map(|&other| view.p(other)).sum::<f64>())
            })
            .filter(|&(_, gone)| gone > 0.0)
            .collect();
        rates.sort_by(|x, y| (x.0 * y.1).total_cmp(&(y.0 * x.1)));
        let mut cost = 0.0;
        for (own, gone) in rates {
            let share = (left / gone).clamp(0.0, 1.0);
            if own / gone >= price {
                break;
            }
            cost += share * own;
            left -= share * gone;
        }
        // What rounding leaves over is not paid for by a loss that may be infinite.
        if left > 1e-12 * view.mass {
            cost + left * price
        } else {
            cost
        }
    };
    places.map(|h| view.p(h) * one(h)).sum()
}

/// Bound 4: excess that is left after all tests, because no test tells some hypotheses apart.
#[must_use]
pub fn ambiguity(problem: &Problem, state: &State) -> f64 {
    let view = View::new(problem, state);
    let mut groups: Vec<(Vec<u8>, Vec<f64>)> = Vec::new();
    for (place, &h) in view.left.iter().enumerate() {
        let signature: Vec<u8> = problem.tests.iter().map(|test| test.outcomes[h]).collect();
        let excess = view.excess[place].iter().map(|&d| weigh(view.p(place), d));
        match groups.iter_mut().find(|(known, _)| *known == signature) {
            Some((_, sums)) => sums.iter_mut().zip(excess).for_each(|(sum, d)| *sum += d),
            None => groups.push((signature, excess.collect())),
        }
    }
    groups
        .iter()
        .map(|(_, sums)| sums.iter().copied().fold(f64::INFINITY, f64::min))
        .sum()
}

/// Huffman's bound, for when only naming the class is paid for: the code over class masses at the cheapest tests.
/// Holds if wrong remedies are out of the question.
#[must_use]
pub fn naming(problem: &Problem, state: &State) -> f64 {
    let view = View::new(problem, state);
    let mut masses = vec![0.0; problem.remedies.len()];
    for place in 0..view.left.len() {
        masses[view.class[place]] += view.p(place) / view.mass;
    }
    masses.retain(|&m| m > 0.0);
    let useful: Vec<usize> = (0..problem.tests.len())
        .filter(|&test| view.arity(test) > 1)
        .collect();
    let arity = useful
        .iter()
        .map(|&test| view.arity(test))
        .max()
        .unwrap_or(2);
    let costs: Vec<f64> = useful
        .iter()
        .map(|&test| problem.tests[test].cost)
        .collect();
    view.mass * code::cost_of(code::huffman(&masses, arity), &costs)
}

/// Largest set whose pairs [`quick`] looks at; their number grows with the square.
const MOST_IN_PAIRS: usize = 48;

/// The best of the bounds that are cheap to work out, floor included.
#[must_use]
pub(super) fn quick(problem: &Problem, state: &State, apart: &Apart) -> f64 {
    let view = View::new(problem, state);
    let pairs = if view.left.len() <= MOST_IN_PAIRS {
        pairs_of(&view, apart)
    } else {
        0.0
    };
    problem.floor(state) + pairs.max(class_information_of(&view))
}

/// The best of all bounds, floor included.
#[must_use]
pub fn best(problem: &Problem, state: &State) -> f64 {
    let bounds = [
        pairs(problem, state),
        class_information(problem, state),
        best_information(problem, state),
        certificate(problem, state),
        ambiguity(problem, state),
    ];
    problem.floor(state) + bounds.into_iter().fold(0.0, f64::max)
}
