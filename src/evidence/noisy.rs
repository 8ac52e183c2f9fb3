//! Small problems whose tests may err, each used at most once: the best policy, greedy, rollout, and what each decision
//! of any policy costs against a reference. Exact, by recursion over histories.

use std::collections::BTreeMap;

use super::information::expected_bits;
use super::problem::{no_more, weigh};

/// A test with the chance of each outcome under each hypothesis.
#[derive(Clone, PartialEq, Debug)]
pub struct NoisyTest {
    /// Cost.
    pub cost: f64,
    /// `likelihood[h][o]`; each row adds up to one.
    pub likelihood: Vec<Vec<f64>>,
}

/// Hypotheses, tests that may err, and losses.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Noisy {
    /// Probability of each hypothesis.
    pub prior: Vec<f64>,
    /// Tests.
    pub tests: Vec<NoisyTest>,
    /// `loss[a][h]`: cost of last action `a` under `h`.
    pub loss: Vec<Vec<f64>>,
}

/// What has been seen: nothing for a test not yet done, otherwise its outcome.
pub type History = Vec<Option<usize>>;

/// What to do next.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NoisyChoice {
    /// Finish with this action.
    Stop(usize),
    /// Do this test.
    Test(usize),
}

/// A policy.
#[derive(Clone, PartialEq, Debug)]
pub enum NoisyPolicy {
    /// Least expected cost.
    Best,
    /// Most bits for cost while that is expected to cost less than stopping.
    Greedy,
    /// One step of looking ahead, then greedy.
    Rollout,
    /// These tests in this order whatever comes, then the best last action.
    Fixed(Vec<usize>),
}

/// What a policy costs, worked out two ways.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Advantage {
    /// Expected cost of the policy.
    pub cost: f64,
    /// Expected cost of the reference.
    pub reference: f64,
    /// Expected sum, over the decisions the policy takes, of what each costs more than the reference's own: equal to
    /// the difference of the two (Kakade and Langford 2002).
    pub regrets: f64,
}

/// Policies on one problem with what has been worked out of them.
pub struct Evaluation<'n> {
    noisy: &'n Noisy,
    known: [BTreeMap<History, f64>; 3],
}

impl<'n> Evaluation<'n> {
    /// Starts on a problem.
    #[must_use]
    pub fn new(noisy: &'n Noisy) -> Evaluation<'n> {
        Evaluation {
            noisy,
            known: [BTreeMap::new(), BTreeMap::new(), BTreeMap::new()],
        }
    }

    /// The history before any test.
    #[must_use]
    pub fn start(&self) -> History {
        vec![None; self.noisy.tests.len()]
    }

    /// Probability of each hypothesis together with a history.
    fn masses(&self, history: &History) -> Vec<f64> {
        let mut masses = self.noisy.prior.clone();
        for (test, outcome) in self.noisy.tests.iter().zip(history) {
            if let Some(outcome) = *outcome {
                masses
                    .iter_mut()
                    .zip(&test.likelihood)
                    .for_each(|(mass, row)| *mass *= row[outcome]);
            }
        }
        masses
    }

    /// Probability of each hypothesis after a history.
    #[must_use]
    pub fn posterior(&self, history: &History) -> Vec<f64> {
        let masses = self.masses(history);
        let whole: f64 = masses.iter().sum();
        masses.iter().map(|m| m / whole).collect()
    }

    /// The best last action and its cost times the probability of the history.
    #[must_use]
    pub fn stop(&self, history: &History) -> (usize, f64) {
        let masses = self.masses(history);
        let mut best = (0, f64::INFINITY);
        for action in 0..self.noisy.loss.len() {
            let cost = self.stop_with(&masses, action);
            if cost < best.1 {
                best = (action, cost);
            }
        }
        best
    }

    fn stop_with(&self, masses: &[f64], action: usize) -> f64 {
        masses
            .iter()
            .zip(&self.noisy.loss[action])
            .map(|(&m, &l)| weigh(m, l))
            .sum()
    }

    /// Expected information of a test after a history, bits.
    #[must_use]
    pub fn bits(&self, history: &History, test: usize) -> f64 {
        expected_bits(&self.posterior(history), &self.noisy.tests[test].likelihood)
    }

    fn after(&self, history: &History, test: usize) -> Vec<History> {
        let outcomes = self.noisy.tests[test]
            .likelihood
            .first()
            .map_or(0, Vec::len);
        let with = |outcome| {
            let mut next = history.clone();
            next[test] = Some(outcome);
            next
        };
        let possible = |next: &History| self.masses(next).iter().any(|&m| m > 0.0);
        (0..outcomes).map(with).filter(possible).collect()
    }

    fn open(&self, history: &History) -> Vec<usize> {
        (0..self.noisy.tests.len())
            .filter(|&test| history[test].is_none())
            .collect()
    }

    /// What a policy does after a history.
    pub fn choice(&mut self, policy: &NoisyPolicy, history: &History) -> NoisyChoice {
        let (action, stop) = self.stop(history);
        let stopping = NoisyChoice::Stop(action);
        match policy {
            NoisyPolicy::Fixed(order) => {
                let next = order.iter().copied().find(|&test| history[test].is_none());
                next.map_or(stopping, NoisyChoice::Test)
            }
            NoisyPolicy::Greedy => {
                let mut best: Option<(usize, f64)> = None;
                for test in self.open(history) {
                    let rate = self.bits(history, test) / self.noisy.tests[test].cost;
                    if rate > best.map_or(0.0, |(_, known)| known) {
                        best = Some((test, rate));
                    }
                }
                match best {
                    Some((test, _)) if !no_more(stop, self.test(policy, history, test)) => {
                        NoisyChoice::Test(test)
                    }
                    _ => stopping,
                }
            }
            NoisyPolicy::Best | NoisyPolicy::Rollout => {
                let base = if *policy == NoisyPolicy::Best {
                    NoisyPolicy::Best
                } else {
                    NoisyPolicy::Greedy
                };
                let (mut least, mut choice) = (stop, stopping);
                for test in self.open(history) {
                    let cost = self.test(&base, history, test);
                    if !no_more(least, cost) {
                        (least, choice) = (cost, NoisyChoice::Test(test));
                    }
                }
                choice
            }
        }
    }

    /// Cost of a test and the policy after it.
    fn test(&mut self, policy: &NoisyPolicy, history: &History, test: usize) -> f64 {
        let whole: f64 = self.masses(history).iter().sum();
        let own = self.noisy.tests[test].cost * whole;
        own + self
            .after(history, test)
            .iter()
            .map(|next| self.value(policy, next))
            .sum::<f64>()
    }

    /// Expected cost of a policy from a history on, times the probability of the history.
    pub fn value(&mut self, policy: &NoisyPolicy, history: &History) -> f64 {
        let slot = match policy {
            NoisyPolicy::Best => Some(0),
            NoisyPolicy::Greedy => Some(1),
            NoisyPolicy::Rollout => Some(2),
            NoisyPolicy::Fixed(_) => None,
        };
        if let Some(&known) = slot.and_then(|slot| self.known[slot].get(history)) {
            return known;
        }
        let choice = self.choice(policy, history);
        let value = self.q(policy, history, choice);
        if let Some(slot) = slot {
            self.known[slot].insert(history.clone(), value);
        }
        value
    }

    /// Cost of one choice and the policy after it, times the probability of the history.
    pub fn q(&mut self, policy: &NoisyPolicy, history: &History, choice: NoisyChoice) -> f64 {
        match choice {
            NoisyChoice::Stop(action) => self.stop_with(&self.masses(history), action),
            NoisyChoice::Test(test) => self.test(policy, history, test),
        }
    }

    /// What a test is worth if nothing but stopping can follow it (Howard 1966), times the probability of the history.
    /// Tests that only tell something together look worthless by this.
    #[must_use]
    pub fn one_step_worth(&self, history: &History, test: usize) -> f64 {
        let whole: f64 = self.masses(history).iter().sum();
        let after: f64 = self
            .after(history, test)
            .iter()
            .map(|next| self.stop(next).1)
            .sum();
        self.stop(history).1 - self.noisy.tests[test].cost * whole - after
    }

    /// What a test is worth if the best policy follows it, times the probability of the history.
    pub fn worth(&mut self, history: &History, test: usize) -> f64 {
        self.stop(history).1 - self.test(&NoisyPolicy::Best, history, test)
    }

    /// What a policy costs against a reference.
    pub fn advantage(&mut self, policy: &NoisyPolicy, reference: &NoisyPolicy) -> Advantage {
        let start = self.start();
        Advantage {
            cost: self.value(policy, &start),
            reference: self.value(reference, &start),
            regrets: self.regrets(policy, reference, &start),
        }
    }

    fn regrets(&mut self, policy: &NoisyPolicy, reference: &NoisyPolicy, history: &History) -> f64 {
        let choice = self.choice(policy, history);
        let own = self.q(reference, history, choice) - self.value(reference, history);
        let after = match choice {
            NoisyChoice::Stop(_) => Vec::new(),
            NoisyChoice::Test(test) => self.after(history, test),
        };
        own + after
            .iter()
            .map(|next| self.regrets(policy, reference, next))
            .sum::<f64>()
    }
}

impl Noisy {
    /// The same problem with each test telling without error which hypotheses it cannot tell apart from the true one.
    /// Nobody does worse with that (Blackwell 1953), so its least cost bounds this one's from below.
    #[must_use]
    pub fn without_noise(&self) -> super::Problem {
        let tests = self.tests.iter().map(|test| {
            let mut laws: Vec<&Vec<f64>> = Vec::new();
            let outcomes = test.likelihood.iter().map(|row| {
                let place = laws
                    .iter()
                    .position(|known| *known == row)
                    .unwrap_or_else(|| {
                        laws.push(row);
                        laws.len() - 1
                    });
                u8::try_from(place).unwrap_or(u8::MAX)
            });
            super::Test {
                cost: test.cost,
                needs: 0,
                mode: None,
                outcomes: outcomes.collect(),
            }
        });
        super::Problem {
            prior: self.prior.clone(),
            tests: tests.collect(),
            remedies: self
                .loss
                .iter()
                .map(|loss| super::Remedy {
                    needs: 0,
                    loss: loss.clone(),
                })
                .collect(),
            works: Vec::new(),
            modes: Vec::new(),
        }
    }
}
