//! Which test is worth most next: bits about the right repair for its minutes.

use super::effort::Done;
use super::policy::{Case, LIMITS};
use super::probe::sigma;
use super::weighing::Weighing;
use crate::evidence::logs::{entropy, surprise};

/// Shares of a rate within which two tests are as good as each other, so that the order of the tests decides.
const TIE: f64 = 1e-9;
/// How far below the best rate a test cannot come near it any more, whatever is a tie with what.
const BEATEN: f64 = 1e-6;

/// What the explanations still believed in expect.
struct Live<'a> {
    case: &'a Case<'a>,
    weighing: &'a Weighing,
    /// Places of the explanations.
    places: Vec<usize>,
    /// Their probabilities, which add up to one.
    p: Vec<f64>,
    /// The likeliest of them.
    likeliest: usize,
    /// A number for each set of repairs, for each of them.
    classes: Vec<usize>,
    /// Probability of each set of repairs.
    by_class: Vec<f64>,
}

/// The test that tells most about the repair for its minutes; nothing if none tells anything. `used` and work `done` so far.
pub(super) fn next(
    case: &Case,
    weighing: &Weighing,
    p: &[f64],
    used: &[bool],
    done: &Done,
) -> Option<usize> {
    let live = Live::new(case, weighing, p)?;
    // No test tells more than all there is to know.
    let most = entropy(&live.by_class);
    let telling = live.telling(used);
    let minutes = |test: usize| LIMITS.thinking + case.atlas.efforts.minutes(test, done);
    let mut quick: Vec<(f64, usize)> = telling.iter().map(|&test| (minutes(test), test)).collect();
    quick.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut rates = vec![0.0; used.len()];
    let (mut highest, mut cells) = (0.0_f64, Vec::with_capacity(p.len()));
    for (minutes, test) in quick {
        // Nor does any of the tests that take longer.
        if most / minutes < highest * (1.0 - BEATEN) {
            break;
        }
        let bits = live.bits(test, &mut cells);
        if bits >= LIMITS.bits {
            rates[test] = bits / minutes;
            highest = highest.max(rates[test]);
        }
    }
    let mut best: Option<(usize, f64)> = None;
    for test in telling.into_iter().filter(|&test| rates[test] > 0.0) {
        if best.is_none_or(|(_, known)| rates[test] > known * (1.0 + TIE)) {
            best = Some((test, rates[test]));
        }
    }
    best.map(|(test, _)| test)
}

impl<'a> Live<'a> {
    fn new(case: &'a Case, weighing: &'a Weighing, p: &[f64]) -> Option<Live<'a>> {
        let places: Vec<usize> = (0..p.len()).filter(|&at| p[at] > LIMITS.counts).collect();
        let likeliest = places
            .iter()
            .copied()
            .reduce(|best, at| if p[at] > p[best] { at } else { best })?;
        let whole: f64 = places.iter().map(|&at| p[at]).sum();
        let p: Vec<f64> = places.iter().map(|&at| p[at] / whole).collect();
        let (classes, count) = case.repairs.classes(&places);
        let mut by_class = vec![0.0; count];
        for (&class, p) in classes.iter().zip(&p) {
            by_class[class] += p;
        }
        Some(Live {
            case,
            weighing,
            places,
            p,
            likeliest,
            classes,
            by_class,
        })
    }

    /// The tests that may be done and of which these explanations do not all expect the same, within less than the
    /// reading itself is known.
    fn telling(&self, used: &[bool]) -> Vec<usize> {
        let count = used.len();
        let (mut low, mut high) = (vec![f64::INFINITY; count], vec![f64::NEG_INFINITY; count]);
        for &at in &self.places {
            let values = &self.case.particles[at].values;
            for ((low, high), &value) in low.iter_mut().zip(&mut high).zip(values) {
                *low = low.min(value);
                *high = high.max(value);
            }
        }
        let tells = |&test: &usize| {
            let least = sigma(self.case.atlas.probes[test], low[test], self.case.figures);
            high[test] - low[test] >= 0.5 * LIMITS.width * least
        };
        (0..count)
            .filter(|&test| !used[test] && self.case.allowed[test])
            .filter(tells)
            .collect()
    }

    /// Bits about the repair that a test is expected to tell. `cells` is room to work in.
    fn bits(&self, test: usize, cells: &mut Vec<(u64, f64)>) -> f64 {
        let spread = &self.case.atlas.spread[test];
        let variance = self.weighing.rough_variance(self.likeliest, spread);
        let mut means = Vec::with_capacity(self.places.len());
        let (mut width, mut low) = (0.0, f64::INFINITY);
        for (&at, p) in self.places.iter().zip(&self.p) {
            let particle = self.case.particles[at];
            let reading = self.case.reading(test, particle.values[test]);
            let (mean, sigma) = self.weighing.roughly(at, particle, &reading, variance);
            means.push(mean);
            low = low.min(mean);
            width += sigma * p;
        }
        let width = LIMITS.width * width;
        cells.clear();
        for ((mean, &class), &p) in means.iter().zip(&self.classes).zip(&self.p) {
            cells.push((cell((mean - low) / width, class), p));
        }
        cells.sort_unstable_by_key(|&(cell, _)| cell);
        class_bits(cells, &self.by_class)
    }
}

/// What a reading tells about the class, bits: `cells` gives, in order, the range of the reading and the class of each
/// explanation, and how likely it is.
fn class_bits(cells: &[(u64, f64)], by_class: &[f64]) -> f64 {
    let (mut joint, mut ranges) = (0.0, 0.0);
    let (mut in_cell, mut in_range) = (0.0, 0.0);
    for (place, &(cell, p)) in cells.iter().enumerate() {
        in_cell += p;
        in_range += p;
        let next = cells.get(place + 1).map(|&(next, _)| next);
        if next != Some(cell) {
            joint += surprise(in_cell);
            in_cell = 0.0;
        }
        if next.is_none_or(|next| next >> 32 != cell >> 32) {
            ranges += surprise(in_range);
            in_range = 0.0;
        }
    }
    (entropy(by_class) + ranges - joint).max(0.0)
}

/// A range of readings and a class as one number, the range first.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the clamp keeps the number within the integer's range"
)]
fn cell(steps: f64, class: usize) -> u64 {
    let range = libm::floor(steps + 0.5).clamp(0.0, 1e9) as u64;
    range << 32 | class as u64
}
