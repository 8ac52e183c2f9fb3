//! The best policy by AO* search: bounds from below and above grow together, and what is left between them is known
//! whenever the search is stopped (steps as tabulated by Hansen and Zilberstein, "LAO*", Artificial Intelligence 2001).

use std::collections::BTreeSet;

use super::bound;
use super::memo::Memo;
use super::plan::{Choice, Depth, Planner};
use super::problem::{Problem, State, no_more};

/// What is known of the least expected cost.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Interval {
    /// No policy costs less.
    pub lower: f64,
    /// A policy that was found costs this.
    pub upper: f64,
    /// States whose tests were all laid out.
    pub expanded: u64,
    /// The two are the same: the policy is the best there is.
    pub closed: bool,
}

struct Node {
    state: State,
    lower: f64,
    upper: f64,
    choice: Choice,
    /// Choice that `lower` stands on.
    follow: Option<usize>,
    branches: Vec<Branch>,
    expanded: bool,
    parents: Vec<usize>,
}

struct Branch {
    test: usize,
    cost: f64,
    next: Vec<usize>,
}

impl Node {
    fn solved(&self) -> bool {
        no_more(self.upper, self.lower)
    }
}

/// A search under way.
pub struct Search<'p> {
    problem: &'p Problem,
    planner: Planner<'p>,
    apart: bound::Apart,
    nodes: Vec<Node>,
    known: Memo<usize>,
    expanded: u64,
}

impl<'p> Search<'p> {
    /// Starts a search from a state of a problem that has passed [`Problem::check`].
    #[must_use]
    pub fn new(problem: &'p Problem, start: &State) -> Search<'p> {
        let planner = Planner::new(problem, u64::MAX);
        let mut search = Search {
            problem,
            planner,
            apart: bound::Apart::new(problem),
            nodes: Vec::new(),
            known: Memo::new(),
            expanded: 0,
        };
        search.node(start);
        let root = &mut search.nodes[0];
        root.lower = root.lower.max(bound::best(problem, start)).min(root.upper);
        search
    }

    /// Goes on until the interval closes or `limit` states have been expanded since the start.
    pub fn run(&mut self, limit: u64) -> Interval {
        while !self.nodes[0].solved() && self.expanded < limit {
            let tip = self.tip();
            if self.nodes[tip].expanded {
                // All that follows is settled: what is left between the bounds is rounding.
                self.nodes[tip].lower = self.nodes[tip].upper;
            } else {
                self.expand(tip);
            }
            self.back_up(tip);
        }
        let root = &self.nodes[0];
        Interval {
            lower: root.lower,
            upper: root.upper,
            expanded: self.expanded,
            closed: root.solved(),
        }
    }

    /// What the best policy found does first.
    #[must_use]
    pub fn choice(&self) -> Choice {
        self.nodes[0].choice
    }

    /// The place of a state, laid out anew if it is not known.
    fn node(&mut self, state: &State) -> usize {
        if let Some(&place) = self.known.get(state) {
            return place;
        }
        let (remedy, stop) = self.problem.stop(state);
        let floor = self.problem.floor(state);
        let mut node = Node {
            state: *state,
            lower: stop,
            upper: stop,
            choice: Choice::Stop(remedy),
            follow: None,
            branches: Vec::new(),
            expanded: false,
            parents: Vec::new(),
        };
        if !no_more(stop, floor) {
            node.upper = self.planner.value(Depth::Greedy, state);
            node.choice = self.planner.choice(Depth::Greedy, state);
            node.lower = bound::quick(self.problem, state, &self.apart).min(node.upper);
        }
        let place = self.nodes.len();
        self.nodes.push(node);
        self.known.insert(*state, place);
        place
    }

    /// Follows the best partial policy to a state not yet expanded, by the branch that is least certain.
    fn tip(&self) -> usize {
        let mut place = 0;
        loop {
            let node = &self.nodes[place];
            let next = node.follow.and_then(|branch| {
                let open = node.branches[branch]
                    .next
                    .iter()
                    .copied()
                    .filter(|&n| !self.nodes[n].solved());
                open.max_by(|&a, &b| self.gap(a).total_cmp(&self.gap(b)).then(b.cmp(&a)))
            });
            match next {
                Some(next) if node.expanded => place = next,
                _ => return place,
            }
        }
    }

    fn gap(&self, place: usize) -> f64 {
        self.nodes[place].upper - self.nodes[place].lower
    }

    fn expand(&mut self, place: usize) {
        self.expanded += 1;
        let state = self.nodes[place].state;
        let mass = self.problem.mass(&state.left);
        let mut branches = Vec::new();
        for test in 0..self.problem.tests.len() {
            let after = self.problem.after(&state, test);
            let cost = mass * self.problem.cost(&state, test);
            if after.len() < 2 || cost >= self.nodes[place].upper {
                continue;
            }
            let next: Vec<usize> = after.iter().map(|state| self.node(state)).collect();
            for &child in &next {
                self.nodes[child].parents.push(place);
            }
            branches.push(Branch { test, cost, next });
        }
        self.nodes[place].branches = branches;
        self.nodes[place].expanded = true;
    }

    /// Carries news from a state to all that lead to it, smallest sets first so that each is renewed once.
    fn back_up(&mut self, from: usize) {
        let mut waiting = BTreeSet::from([(self.nodes[from].state.left.len(), from)]);
        while let Some((_, place)) = waiting.pop_first() {
            if self.renew(place) || place == from {
                let parents = self.nodes[place].parents.iter();
                waiting
                    .extend(parents.map(|&parent| (self.nodes[parent].state.left.len(), parent)));
            }
        }
    }

    /// Works a state's bounds out from those of what follows. True if they have moved.
    fn renew(&mut self, place: usize) -> bool {
        let node = &self.nodes[place];
        let (remedy, stop) = self.problem.stop(&node.state);
        let (mut lower, mut follow) = (stop, None);
        let (mut upper, mut choice) = (node.upper, node.choice);
        if stop < upper {
            (upper, choice) = (stop, Choice::Stop(remedy));
        }
        for (index, branch) in node.branches.iter().enumerate() {
            let low = branch.cost
                + branch
                    .next
                    .iter()
                    .map(|&n| self.nodes[n].lower)
                    .sum::<f64>();
            let high = branch.cost
                + branch
                    .next
                    .iter()
                    .map(|&n| self.nodes[n].upper)
                    .sum::<f64>();
            if low < lower {
                (lower, follow) = (low, Some(index));
            }
            if high < upper {
                (upper, choice) = (high, Choice::Test(branch.test));
            }
        }
        let node = &mut self.nodes[place];
        // A bound once proved stays proved.
        lower = lower.max(node.lower).min(upper);
        let moved = lower != node.lower || upper != node.upper;
        (node.lower, node.upper, node.choice, node.follow) = (lower, upper, choice, follow);
        moved
    }
}
