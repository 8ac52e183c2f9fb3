//! What is believed of each hypothesis, over draws of what it leaves open.
//!
//! A hypothesis fixes what is wrong, not the exact tolerance of each part nor the exact severity. Those are stood for
//! by draws that all readings share: a repeated reading then meets the same draws again and tells little more, where
//! independent noise would multiply its evidence without end.

use super::logs::{entropy, log_sum_exp, softmax};

/// Probabilities of hypotheses, each over the same number of draws, kept as logarithms.
#[derive(Clone, PartialEq, Debug)]
pub struct Belief {
    draws: usize,
    /// Unnormalised, `draws` for each hypothesis in turn.
    logs: Vec<f64>,
}

impl Belief {
    /// A belief that holds `prior`, which need not add up to one, with every draw equally likely.
    #[must_use]
    pub fn new(prior: &[f64], draws: usize) -> Belief {
        let draws = draws.max(1);
        let share = libm::log(draws as f64);
        let logs = prior
            .iter()
            .flat_map(|&p| std::iter::repeat_n(libm::log(p) - share, draws))
            .collect();
        Belief { draws, logs }
    }

    /// Draws of each hypothesis.
    #[must_use]
    pub fn draws(&self) -> usize {
        self.draws
    }

    /// Number of hypotheses.
    #[must_use]
    pub fn len(&self) -> usize {
        self.logs.len() / self.draws
    }

    /// Whether there is nothing to believe in.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.logs.is_empty()
    }

    /// Takes in one outcome: `log_likelihood(hypothesis, draw)` is the natural logarithm of its density or chance.
    pub fn update(&mut self, mut log_likelihood: impl FnMut(usize, usize) -> f64) {
        for (index, log) in self.logs.iter_mut().enumerate() {
            if *log > f64::NEG_INFINITY {
                *log += log_likelihood(index / self.draws, index % self.draws);
            }
        }
        // Kept near zero, so that a long job loses no digits.
        let whole = log_sum_exp(&self.logs);
        if whole > f64::NEG_INFINITY {
            self.logs.iter_mut().for_each(|log| *log -= whole);
        }
    }

    /// Probability of each hypothesis.
    #[must_use]
    pub fn probabilities(&self) -> Vec<f64> {
        let marginal: Vec<f64> = self.logs.chunks(self.draws).map(log_sum_exp).collect();
        softmax(&marginal)
    }

    /// Probability of each hypothesis together with each of its draws, `draws` for each hypothesis in turn.
    #[must_use]
    pub fn joint(&self) -> Vec<f64> {
        softmax(&self.logs)
    }

    /// Probability of each class, such as the repair that is right: `class_of` names each hypothesis's own.
    #[must_use]
    pub fn classes(&self, class_of: &[usize]) -> Vec<f64> {
        let classes = class_of.iter().copied().max().map_or(0, |last| last + 1);
        let mut sums = vec![0.0; classes];
        for (p, &class) in self.probabilities().iter().zip(class_of) {
            sums[class] += p;
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
