//! The best policy by plain recursion over all consistent sets; for small problems and as a check on [`super::Search`].

use super::memo::Memo;
use super::plan::Choice;
use super::problem::{Problem, State, no_more};

/// The best policy, worked out by dynamic programming.
pub struct Exact<'p> {
    problem: &'p Problem,
    memo: Memo<(f64, Choice)>,
    states: u64,
}

impl<'p> Exact<'p> {
    /// Starts on a problem that has passed [`Problem::check`].
    #[must_use]
    pub fn new(problem: &'p Problem) -> Exact<'p> {
        Exact {
            problem,
            memo: Memo::new(),
            states: 0,
        }
    }

    /// Least expected cost from a state, times its mass, and the choice that has it; ties go to stopping, then to the
    /// lowest index. Takes up to two to the power of the hypotheses.
    pub fn value(&mut self, state: &State) -> (f64, Choice) {
        if let Some(&known) = self.memo.get(state) {
            return known;
        }
        self.states += 1;
        let (remedy, stop) = self.problem.stop(state);
        let (mut least, mut choice) = (stop, Choice::Stop(remedy));
        if !no_more(stop, self.problem.floor(state)) {
            for test in 0..self.problem.tests.len() {
                let after = self.problem.after(state, test);
                if after.len() < 2 {
                    continue;
                }
                let own = self.problem.cost(state, test) * self.problem.mass(&state.left);
                let cost = own + after.iter().map(|next| self.value(next).0).sum::<f64>();
                if !no_more(least, cost) {
                    (least, choice) = (cost, Choice::Test(test));
                }
            }
        }
        self.memo.insert(*state, (least, choice));
        (least, choice)
    }

    /// States valued so far, those with one answer left included.
    #[must_use]
    pub fn states(&self) -> u64 {
        self.states
    }
}
