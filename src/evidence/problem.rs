//! A planning problem: hypotheses, tests without noise, repairs, and what each costs given what is done already.

use thiserror::Error;

use super::set::Set;

/// Outcomes a test may have.
pub const MOST_OUTCOMES: usize = 16;
/// Pieces of shared work a problem may have.
pub const MOST_WORKS: usize = 128;
/// Relative difference below which two values are the same.
pub(super) const SAME: f64 = 1e-12;

/// A test that gives the same outcome whenever the same hypothesis is true.
#[derive(Clone, PartialEq, Debug)]
pub struct Test {
    /// Cost of doing it once everything it needs is there.
    pub cost: f64,
    /// Shared work it needs, one bit each: paid the first time, then there for all.
    pub needs: u128,
    /// State the vehicle has to be in, if that matters, which is changed at the cost the problem states.
    pub mode: Option<u8>,
    /// Outcome under each hypothesis.
    pub outcomes: Vec<u8>,
}

/// A last action: what is repaired before the vehicle goes back.
#[derive(Clone, PartialEq, Debug)]
pub struct Remedy {
    /// Shared work it needs, one bit each.
    pub needs: u128,
    /// Cost under each hypothesis, what comes back later included; infinite if it must not happen.
    pub loss: Vec<f64>,
}

/// What planning starts from. Costs are all in one unit.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Problem {
    /// Probability of each hypothesis; need not add up to one.
    pub prior: Vec<f64>,
    /// Tests.
    pub tests: Vec<Test>,
    /// Last actions.
    pub remedies: Vec<Remedy>,
    /// Cost of each piece of shared work, such as opening a way or fitting a part.
    pub works: Vec<f64>,
    /// Cost of changing from one state of the vehicle (row) to another; may be empty if no test asks for one.
    pub modes: Vec<Vec<f64>>,
}

/// Where planning stands: what can still be true, which shared work is done, how the vehicle is set.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct State {
    /// Hypotheses that agree with all outcomes so far.
    pub left: Set,
    /// Shared work done.
    pub done: u128,
    /// State of the vehicle.
    pub mode: u8,
}

/// Why a problem cannot be planned on.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum ProblemError {
    /// More hypotheses than a set can hold.
    #[error("{0} hypotheses; merge or drop some, at most {most} can be planned on", most = Set::CAPACITY)]
    TooMany(usize),
    /// Nothing to plan on.
    #[error("a problem needs hypotheses and at least one remedy")]
    Empty,
    /// A list does not have one entry for each hypothesis.
    #[error("{what} {index} has {found} entries for {expected} hypotheses")]
    Length {
        /// Test or remedy.
        what: &'static str,
        /// Which.
        index: usize,
        /// Its entries.
        found: usize,
        /// What it should have.
        expected: usize,
    },
    /// A cost or probability is negative or not a number, or a cost other than a loss is infinite.
    #[error("{what} {index} is negative, infinite or not a number")]
    Value {
        /// What it is.
        what: &'static str,
        /// Which.
        index: usize,
    },
    /// A test has too many outcomes.
    #[error("test {0} has an outcome beyond {most}; put outcomes together", most = MOST_OUTCOMES - 1)]
    Outcomes(usize),
    /// Shared work or a state of the vehicle that the problem does not describe.
    #[error("{what} {index} needs work or a state of the vehicle that has no cost stated")]
    Needs {
        /// Test or remedy.
        what: &'static str,
        /// Which.
        index: usize,
    },
}

impl Problem {
    /// Checks that everything fits together.
    pub fn check(&self) -> Result<(), ProblemError> {
        let count = self.prior.len();
        if count > Set::CAPACITY {
            return Err(ProblemError::TooMany(count));
        }
        if count == 0 || self.remedies.is_empty() {
            return Err(ProblemError::Empty);
        }
        let sound = |x: f64| (0.0..f64::INFINITY).contains(&x);
        all("probability", self.prior.iter().map(|&p| sound(p)))?;
        all("cost of work", self.works.iter().map(|&c| sound(c)))?;
        all(
            "row of modes",
            self.modes
                .iter()
                .map(|row| row.len() == self.modes.len() && row.iter().all(|&c| sound(c))),
        )?;
        all(
            "cost of test",
            self.tests.iter().map(|test| sound(test.cost)),
        )?;
        all(
            "loss of remedy",
            self.remedies
                .iter()
                .map(|r| r.loss.iter().all(|&l| l >= 0.0)),
        )?;
        let known = self.works.len().min(MOST_WORKS);
        let known = if known == MOST_WORKS {
            u128::MAX
        } else {
            (1 << known) - 1
        };
        for (index, test) in self.tests.iter().enumerate() {
            length("test", index, test.outcomes.len(), count)?;
            if test
                .outcomes
                .iter()
                .any(|&outcome| usize::from(outcome) >= MOST_OUTCOMES)
            {
                return Err(ProblemError::Outcomes(index));
            }
            let lost = test
                .mode
                .is_some_and(|mode| usize::from(mode) >= self.modes.len());
            if lost || test.needs & !known != 0 {
                return Err(ProblemError::Needs {
                    what: "test",
                    index,
                });
            }
        }
        for (index, remedy) in self.remedies.iter().enumerate() {
            length("remedy", index, remedy.loss.len(), count)?;
            if remedy.needs & !known != 0 {
                return Err(ProblemError::Needs {
                    what: "remedy",
                    index,
                });
            }
        }
        Ok(())
    }

    /// Everything possible, nothing done, the vehicle in its first state.
    #[must_use]
    pub fn start(&self) -> State {
        State {
            left: Set::below(self.prior.len()),
            done: 0,
            mode: 0,
        }
    }

    /// Probability mass of a set.
    #[must_use]
    pub fn mass(&self, set: &Set) -> f64 {
        set.iter().map(|h| self.prior[h]).sum()
    }

    /// Cost of shared work not done yet.
    #[must_use]
    pub fn work(&self, needs: u128, done: u128) -> f64 {
        let mut left = needs & !done;
        let mut total = 0.0;
        while left != 0 {
            total += self.works[left.trailing_zeros() as usize];
            left &= left - 1;
        }
        total
    }

    /// Cost of a test as things stand.
    #[must_use]
    pub fn cost(&self, state: &State, test: usize) -> f64 {
        let test = &self.tests[test];
        let change = test.mode.map_or(0.0, |mode| {
            if mode == state.mode {
                0.0
            } else {
                self.change(state.mode, mode)
            }
        });
        test.cost + self.work(test.needs, state.done) + change
    }

    fn change(&self, from: u8, to: u8) -> f64 {
        self.modes[usize::from(from)][usize::from(to)]
    }

    /// What a test leaves, an entry for each outcome that can come.
    #[must_use]
    pub fn after(&self, state: &State, test: usize) -> Vec<State> {
        let one = &self.tests[test];
        let mut sets = [Set::default(); MOST_OUTCOMES];
        let mut last = 0;
        for h in state.left.iter() {
            let outcome = usize::from(one.outcomes[h]);
            sets[outcome].insert(h);
            last = last.max(outcome);
        }
        let (done, mode) = (state.done | one.needs, one.mode.unwrap_or(state.mode));
        let kept = sets[..=last].iter().filter(|set| !set.is_empty());
        kept.map(|&left| State { left, done, mode }).collect()
    }

    /// Mass of each outcome of a test.
    #[must_use]
    pub(super) fn masses(&self, set: &Set, test: usize) -> [f64; MOST_OUTCOMES] {
        let outcomes = &self.tests[test].outcomes;
        let mut masses = [0.0; MOST_OUTCOMES];
        for h in set.iter() {
            masses[usize::from(outcomes[h])] += self.prior[h];
        }
        masses
    }

    /// Cost of one remedy under one hypothesis, work still missing included.
    #[must_use]
    pub fn loss(&self, remedy: usize, hypothesis: usize, done: u128) -> f64 {
        let remedy = &self.remedies[remedy];
        remedy.loss[hypothesis] + self.work(remedy.needs, done)
    }

    /// The best remedy without another test, and its cost times the mass it covers.
    #[must_use]
    pub fn stop(&self, state: &State) -> (usize, f64) {
        let mut best = (0, f64::INFINITY);
        for (index, remedy) in self.remedies.iter().enumerate() {
            let work = self.work(remedy.needs, state.done);
            let cost: f64 = state
                .left
                .iter()
                .map(|h| weigh(self.prior[h], remedy.loss[h] + work))
                .sum();
            if cost < best.1 {
                best = (index, cost);
            }
        }
        best
    }

    /// What would be paid even if the truth were told for nothing: each hypothesis with its own best remedy.
    #[must_use]
    pub fn floor(&self, state: &State) -> f64 {
        let work: Vec<f64> = self
            .remedies
            .iter()
            .map(|r| self.work(r.needs, state.done))
            .collect();
        let least = |h: usize| {
            let losses = self.remedies.iter().zip(&work).map(|(r, w)| r.loss[h] + w);
            losses.fold(f64::INFINITY, f64::min)
        };
        state
            .left
            .iter()
            .map(|h| weigh(self.prior[h], least(h)))
            .sum()
    }
}

/// Mass times cost, where nothing times infinity is nothing.
pub(super) fn weigh(mass: f64, cost: f64) -> f64 {
    if mass == 0.0 { 0.0 } else { mass * cost }
}

/// Whether `a` is no more than `b` but for rounding.
pub(super) fn no_more(a: f64, b: f64) -> bool {
    a <= b || a - b <= SAME * libm::fabs(b)
}

fn all(what: &'static str, sound: impl Iterator<Item = bool>) -> Result<(), ProblemError> {
    let mut sound = sound.enumerate();
    match sound.find(|&(_, fine)| !fine) {
        Some((index, _)) => Err(ProblemError::Value { what, index }),
        None => Ok(()),
    }
}

fn length(
    what: &'static str,
    index: usize,
    found: usize,
    expected: usize,
) -> Result<(), ProblemError> {
    if found == expected {
        Ok(())
    } else {
        Err(ProblemError::Length {
            what,
            index,
            found,
            expected,
        })
    }
}
