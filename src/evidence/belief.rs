//! What is believed of each hypothesis, over draws of what it leaves open.
//!
//! A hypothesis fixes what is wrong, not the exact tolerance of each part nor the exact severity. Those are stood for
//! by draws that all readings share: a repeated reading then meets the same draws again and tells little more, where
//! independent noise would multiply its evidence without end.

use super::logs::{entropy, log_sum_exp, softmax};

/// Probabilities of hypotheses, each over draws of its own, kept as logarithms.
#[derive(Clone, PartialEq, Debug)]
pub struct Belief {
    /// Hypothesis of each draw.
    of: Vec<usize>,
    hypotheses: usize,
    logs: Vec<f64>,
}

impl Belief {
    /// A belief that holds `prior`, which need not add up to one, with `draws` equally likely
    /// draws of each hypothesis.
    #[must_use]
    pub fn new(prior: &[f64], draws: usize) -> Belief {
        let draws = draws.max(1);
        let of: Vec<usize> = (0..prior.len() * draws)
            .map(|index| index / draws)
            .collect();
        let weights: Vec<f64> = of.iter().map(|&h| prior[h] / draws as f64).collect();
        Belief::weighted(of, &weights)
    }

    /// A belief in draws of given weights, which need not add up to one; `of` names the hypothesis
    /// of each.
    #[must_use]
    pub fn weighted(of: Vec<usize>, weights: &[f64]) -> Belief {
        let hypotheses = of.iter().copied().max().map_or(0, |last| last + 1);
        let logs = weights.iter().map(|&weight| libm::log(weight)).collect();
        let mut belief = Belief {
            of,
            hypotheses,
            logs,
        };
        belief.normalise();
        belief
    }

    /// Number of hypotheses.
    #[must_use]
    pub fn len(&self) -> usize {
        self.hypotheses
    }

    /// Whether there is nothing to believe in.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.hypotheses == 0
    }

    /// Hypothesis of each draw.
    #[must_use]
    pub fn hypothesis_of(&self) -> &[usize] {
        &self.of
    }

    /// Takes in one outcome: `log_likelihood(draw)` is the natural logarithm of its density or
    /// chance.
    pub fn update(&mut self, mut log_likelihood: impl FnMut(usize) -> f64) {
        for (draw, log) in self.logs.iter_mut().enumerate() {
            if *log > f64::NEG_INFINITY {
                *log += log_likelihood(draw);
            }
        }
        self.normalise();
    }

    /// Keeps the numbers near zero, so that a long job loses no digits.
    fn normalise(&mut self) {
        let whole = log_sum_exp(&self.logs);
        if whole > f64::NEG_INFINITY {
            for log in &mut self.logs {
                *log -= whole;
            }
        }
    }

    /// Probability of each hypothesis.
    #[must_use]
    pub fn probabilities(&self) -> Vec<f64> {
        self.classes(&(0..self.hypotheses).collect::<Vec<usize>>())
    }

    /// Probability of each draw.
    #[must_use]
    pub fn draws(&self) -> Vec<f64> {
        softmax(&self.logs)
    }

    /// Probability of each class, such as the repair that is right: `class_of` names each
    /// hypothesis's own.
    #[must_use]
    pub fn classes(&self, class_of: &[usize]) -> Vec<f64> {
        let classes = class_of.iter().copied().max().map_or(0, |last| last + 1);
        let mut sums = vec![0.0; classes];
        for (p, &h) in self.draws().iter().zip(&self.of) {
            sums[class_of[h]] += p;
        }
        sums
    }

    /// What is still unknown, bits.
    #[must_use]
    pub fn entropy(&self) -> f64 {
        entropy(&self.probabilities())
    }
}

/// What a step told about `truth`, bits: positive if it was believed more afterwards. Over a job these add up to
/// `log2` of the last belief over the first. It uses the answer: for looking back, never for a hint.
#[must_use]
pub fn realised_bits(before: f64, after: f64) -> f64 {
    libm::log2(after / before)
}
