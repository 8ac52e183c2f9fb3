//! Marginal likelihood of latent-trait models for 0/1 answers.
//!
//! `P(right) = 1 / (1 + exp(-(a theta + d)))` with `theta` standard normal over learners; difficulty `b = -d / a`. Bock and
//! Lieberman, "Fitting a response model for n dichotomously scored items", Psychometrika 35, 1970; Bock and Aitkin, 1981.

use std::collections::BTreeMap;

use serde::Serialize;

use super::super::table::ResponseTable;
use super::quadrature;

/// Nodes of the quadrature.
const NODES: usize = 61;

/// Which slopes are free.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Model {
    /// All slopes are 1.
    Rasch,
    /// One slope for all items.
    OneSlope,
    /// A slope for each item.
    Slopes,
}

impl Model {
    /// What it is called.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Model::Rasch => "Rasch (slope 1)",
            Model::OneSlope => "1PL (one slope)",
            Model::Slopes => "2PL (a slope for each item)",
        }
    }

    /// Free parameters for `items` items.
    #[must_use]
    pub fn parameters(self, items: usize) -> usize {
        match self {
            Model::Rasch => items,
            Model::OneSlope => items + 1,
            Model::Slopes => 2 * items,
        }
    }
}

/// Answer patterns with how many learners gave each, ready to be weighed.
#[derive(Clone, Debug)]
pub struct Likelihood {
    model: Model,
    items: usize,
    /// Answers: 0 wrong, 1 right, 2 missing.
    patterns: Vec<(Vec<u8>, f64)>,
    nodes: Vec<(f64, f64)>,
}

/// What the likelihood says at one set of parameters.
#[derive(Clone, Debug)]
pub struct Weighed {
    /// Natural logarithm of the marginal likelihood.
    pub log_likelihood: f64,
    /// Its slope in each parameter.
    pub gradient: Vec<f64>,
}

impl Likelihood {
    /// Learners with equal answers are put together.
    #[must_use]
    pub fn new(table: &ResponseTable, model: Model) -> Likelihood {
        let mut counted: BTreeMap<Vec<u8>, f64> = BTreeMap::new();
        for row in &table.rows {
            let answer = |score: &Option<f64>| score.map_or(2, |score| u8::from(score > 0.5));
            let pattern: Vec<u8> = row.scores.iter().map(answer).collect();
            *counted.entry(pattern).or_default() += f64::from(row.count);
        }
        Likelihood {
            model,
            items: table.items.len(),
            patterns: counted.into_iter().collect(),
            nodes: quadrature::normal(NODES),
        }
    }

    /// Learners.
    #[must_use]
    pub fn learners(&self) -> f64 {
        self.patterns.iter().map(|(_, count)| count).sum()
    }

    /// Slope and intercept of an item among the parameters: first all intercepts, then the slopes.
    #[must_use]
    pub fn item(&self, parameters: &[f64], item: usize) -> (f64, f64) {
        let slope = match self.model {
            Model::Rasch => 1.0,
            Model::OneSlope => parameters[self.items],
            Model::Slopes => parameters[self.items + item],
        };
        (slope, parameters[item])
    }

    /// Where the search begins: intercepts from the share of right answers, slopes of one.
    #[must_use]
    pub fn start(&self) -> Vec<f64> {
        let mut start = vec![1.0; self.model.parameters(self.items)];
        for (item, d) in start.iter_mut().enumerate().take(self.items) {
            let (mut right, mut all) = (0.0, 0.0);
            for (pattern, count) in self
                .patterns
                .iter()
                .filter(|(pattern, _)| pattern[item] < 2)
            {
                right += count * f64::from(pattern[item]);
                all += count;
            }
            let share = (right + 0.5) / (all + 1.0);
            *d = 1.1 * libm::log(share / (1.0 - share));
        }
        start
    }

    /// Chances of a right answer: by item, then node.
    fn chances(&self, parameters: &[f64]) -> Vec<Vec<f64>> {
        let chance = |item: usize| {
            let (a, d) = self.item(parameters, item);
            self.nodes
                .iter()
                .map(|(theta, _)| 1.0 / (1.0 + libm::exp(-(a * theta + d))))
                .collect()
        };
        (0..self.items).map(chance).collect()
    }

    /// Calls `take` with each pattern, how many gave it, the logarithm of its probability and its posterior over nodes.
    fn posteriors(&self, chances: &[Vec<f64>], mut take: impl FnMut(&[u8], f64, f64, &[f64])) {
        let mut weights = vec![0.0; self.nodes.len()];
        for (pattern, count) in &self.patterns {
            for (q, weight) in weights.iter_mut().enumerate() {
                *weight = self.nodes[q].1;
                for (answer, chance) in pattern.iter().zip(chances) {
                    match answer {
                        0 => *weight *= 1.0 - chance[q],
                        1 => *weight *= chance[q],
                        _ => {}
                    }
                }
            }
            let whole: f64 = weights.iter().sum();
            for weight in &mut weights {
                *weight /= whole;
            }
            take(pattern, *count, libm::log(whole), &weights);
        }
    }

    /// Value and slope of the log likelihood.
    #[must_use]
    pub fn weigh(&self, parameters: &[f64]) -> Weighed {
        let chances = self.chances(parameters);
        let mut log_likelihood = 0.0;
        let mut gradient = vec![0.0; parameters.len()];
        let (items, model) = (self.items, self.model);
        self.posteriors(&chances, |pattern, count, log, posterior| {
            log_likelihood += count * log;
            for (item, answer) in pattern
                .iter()
                .enumerate()
                .filter(|(_, answer)| **answer < 2)
            {
                let (mut d, mut a) = (0.0, 0.0);
                for (q, weight) in posterior.iter().enumerate() {
                    let left = weight * (f64::from(*answer) - chances[item][q]);
                    d += left;
                    a += left * self.nodes[q].0;
                }
                gradient[item] += count * d;
                match model {
                    Model::Rasch => {}
                    Model::OneSlope => gradient[items] += count * a,
                    Model::Slopes => gradient[items + item] += count * a,
                }
            }
        });
        Weighed {
            log_likelihood,
            gradient,
        }
    }

    /// Mean squares of the residuals of each item over the posterior, unweighted (outfit) and weighted by information
    /// (infit). Both are near 1 where the model holds (Wright and Masters, "Rating Scale Analysis", 1982; over the
    /// posterior instead of at one estimate of each learner).
    #[must_use]
    pub fn mean_squares(&self, parameters: &[f64]) -> Vec<(f64, f64)> {
        let chances = self.chances(parameters);
        let mut sums = vec![[0.0; 4]; self.items];
        self.posteriors(&chances, |pattern, count, _, posterior| {
            for (item, answer) in pattern
                .iter()
                .enumerate()
                .filter(|(_, answer)| **answer < 2)
            {
                for (q, weight) in posterior.iter().enumerate() {
                    let p = chances[item][q];
                    let left = f64::from(*answer) - p;
                    let (square, information) = (left * left, p * (1.0 - p));
                    let weight = weight * count;
                    sums[item][0] += weight * square / information;
                    sums[item][1] += weight;
                    sums[item][2] += weight * square;
                    sums[item][3] += weight * information;
                }
            }
        });
        sums.iter().map(|s| (s[0] / s[1], s[2] / s[3])).collect()
    }

    /// Posterior mean and standard deviation of the trait for each pattern, with its answers and count.
    #[must_use]
    pub fn abilities(&self, parameters: &[f64]) -> Vec<(Vec<u8>, f64, f64, f64)> {
        let chances = self.chances(parameters);
        let mut all = Vec::new();
        self.posteriors(&chances, |pattern, count, _, posterior| {
            let moment = |power: &dyn Fn(f64) -> f64| -> f64 {
                posterior
                    .iter()
                    .zip(&self.nodes)
                    .map(|(w, (theta, _))| w * power(*theta))
                    .sum()
            };
            let mean = moment(&|theta| theta);
            let variance = moment(&|theta| (theta - mean) * (theta - mean));
            all.push((pattern.to_vec(), count, mean, variance.sqrt()));
        });
        all
    }
}
