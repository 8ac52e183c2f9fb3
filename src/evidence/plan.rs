//! Policies that can be computed at any size: greedy information for cost, rollout, and rollout of that.
//!
//! One step of looking ahead on a policy that always does the same in the same state never does worse than it
//! (Bertsekas, Tsitsiklis and Wu 1997). So the rollout costs at most what the greedy policy costs, and its own rollout
//! at most that, by construction; how far they are from the best is another matter, see [`super::Search`].

use super::logs::surprise;
use super::memo::Memo;
use super::problem::{Problem, State, no_more};

/// How many steps of looking ahead stand on the greedy policy.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Depth {
    /// The test with most bits for its cost; ties go to the lowest index.
    Greedy,
    /// One step of looking ahead, then greedy.
    Rollout,
    /// One step of looking ahead, then rollout: the reference.
    Twice,
}

/// What to do next.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Choice {
    /// Apply a remedy and finish.
    Stop(usize),
    /// Do a test.
    Test(usize),
}

/// Plans on one problem and remembers what it has worked out.
pub struct Planner<'p> {
    problem: &'p Problem,
    memos: [Memo<(f64, Choice)>; 3],
    limit: u64,
    work: u64,
}

impl<'p> Planner<'p> {
    /// A planner that looks ahead while it has valued fewer than `limit` states. Beyond, each depth goes on with what
    /// the depth below would do, so that values stay those of a policy that can be followed and the order between
    /// depths holds.
    ///
    /// The problem must have passed [`Problem::check`].
    #[must_use]
    pub fn new(problem: &'p Problem, limit: u64) -> Planner<'p> {
        Planner {
            problem,
            memos: [Memo::new(), Memo::new(), Memo::new()],
            limit,
            work: 0,
        }
    }

    /// The problem planned on.
    #[must_use]
    pub fn problem(&self) -> &'p Problem {
        self.problem
    }

    /// States valued so far, each depth counted.
    #[must_use]
    pub fn work(&self) -> u64 {
        self.work
    }

    /// Whether the limit was met.
    #[must_use]
    pub fn is_cut_short(&self) -> bool {
        self.work >= self.limit
    }

    /// Expected cost of going on by a policy, times the mass of the state.
    pub fn value(&mut self, depth: Depth, state: &State) -> f64 {
        self.entry(depth, state).0
    }

    /// What a policy does.
    pub fn choice(&mut self, depth: Depth, state: &State) -> Choice {
        self.entry(depth, state).1
    }

    /// Expected cost of one choice and the policy after it, times the mass of the state.
    pub fn q(&mut self, depth: Depth, state: &State, choice: Choice) -> f64 {
        match choice {
            Choice::Stop(remedy) => {
                let losses = state.left.iter().map(|h| {
                    super::problem::weigh(
                        self.problem.prior[h],
                        self.problem.loss(remedy, h, state.done),
                    )
                });
                losses.sum()
            }
            Choice::Test(test) => self
                .cost_with(depth, state, test, f64::INFINITY)
                .unwrap_or(f64::INFINITY),
        }
    }

    fn entry(&mut self, depth: Depth, state: &State) -> (f64, Choice) {
        if let Some(&known) = self.memos[depth as usize].get(state) {
            return known;
        }
        self.work += 1;
        let entry = match depth {
            Depth::Greedy => self.greedy(state),
            Depth::Rollout => self.look_ahead(depth, Depth::Greedy, state),
            Depth::Twice => self.look_ahead(depth, Depth::Rollout, state),
        };
        self.memos[depth as usize].insert(*state, entry);
        entry
    }

    fn greedy(&mut self, state: &State) -> (f64, Choice) {
        let (remedy, stop) = self.problem.stop(state);
        let stopping = (stop, Choice::Stop(remedy));
        if no_more(stop, self.problem.floor(state)) {
            return stopping;
        }
        let Some(test) = self.most_bits_for_cost(state) else {
            return stopping;
        };
        match self.cost_with(Depth::Greedy, state, test, stop) {
            Some(cost) if cost < stop => (cost, Choice::Test(test)),
            _ => stopping,
        }
    }

    fn most_bits_for_cost(&self, state: &State) -> Option<usize> {
        let whole = self.problem.mass(&state.left);
        let mut best: Option<(usize, f64)> = None;
        for test in 0..self.problem.tests.len() {
            let masses = self.problem.masses(&state.left, test);
            let bits: f64 = masses
                .iter()
                .filter(|&&m| m > 0.0)
                .map(|m| surprise(m / whole))
                .sum();
            if bits <= 0.0 {
                continue;
            }
            let rate = bits / self.problem.cost(state, test);
            // Rates that differ by rounding only are ties.
            if best.is_none_or(|(_, known)| rate > known * (1.0 + super::problem::SAME)) {
                best = Some((test, rate));
            }
        }
        best.map(|(test, _)| test)
    }

    fn look_ahead(&mut self, depth: Depth, base: Depth, state: &State) -> (f64, Choice) {
        let (mut least, mut choice) = self.entry(base, state);
        if matches!(choice, Choice::Stop(_)) && no_more(least, self.problem.floor(state)) {
            return (least, choice);
        }
        if !self.is_cut_short() {
            for test in 0..self.problem.tests.len() {
                if let Some(cost) = self.cost_with(base, state, test, least)
                    && !no_more(least, cost)
                {
                    (least, choice) = (cost, Choice::Test(test));
                }
            }
        }
        match choice {
            Choice::Stop(_) => (least, choice),
            // Going on by this depth costs no more than going on by its base.
            Choice::Test(test) => {
                let cost = self.cost_with(depth, state, test, f64::INFINITY);
                (cost.unwrap_or(least).min(least), choice)
            }
        }
    }

    /// Cost of a test and the policy after it; nothing if the test tells nothing or the cost reaches `abort`.
    fn cost_with(&mut self, depth: Depth, state: &State, test: usize, abort: f64) -> Option<f64> {
        let problem = self.problem;
        let mut cost = problem.cost(state, test) * problem.mass(&state.left);
        if cost >= abort {
            return None;
        }
        let after = problem.after(state, test);
        if after.len() < 2 {
            return None;
        }
        for next in &after {
            cost += self.entry(depth, next).0;
            if cost > abort {
                return None;
            }
        }
        Some(cost)
    }
}
