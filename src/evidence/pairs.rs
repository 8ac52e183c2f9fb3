//! Belief in pairs of faults.
//!
//! A vehicle with two faults is not solved for every pair: there are hundreds of thousands. What one fault moves a
//! reading by is known from the draws of single faults, and two move it by the sum, where the second is taken as many
//! times as the first leaves of the load: nothing is lost in a joint that carries nothing. Readings of one vehicle share
//! its tolerances, so they are weighed together, as one normal vector whose covariance the sound draws give; how much
//! worse than drawn each fault is, is integrated out. What is seen or heard counts for a pair what it counts for each,
//! less what it counts for a sound vehicle, and never more than for the likelier of the two.

use super::joint::{Joint, Number};
use super::likelihood::{Predicted, Reading};
use super::logs::{log_add_exp, log_sum_exp};

/// Share of the evidence of numbers that is believed: the sum leaves out what two faults do to each other. Ours, set so
/// that what was stated came true as often in jobs of simulated learners.
const BELIEVED: f64 = 0.5;
/// Chance that the sum does not hold at all; likewise.
const MISFIT: f64 = 0.35;
/// Readings that may each have gone wrong are weighed with and without, the doubtful ones up to so many.
const DOUBTFUL: usize = 3;
/// Standard deviations from which a reading is doubtful.
const DOUBTFUL_FROM: f64 = 4.0;
/// Probability of a pair, against the likeliest, from which it is still followed.
const FOLLOWED_FROM: f64 = 1e-9;

/// Two draws that a vehicle has the faults of both of.
#[derive(Clone, Copy)]
struct Pair {
    of: [u32; 2],
    /// Natural logarithm of its weight by all but numbers.
    seen: f64,
    /// Probability.
    p: f64,
}

/// One number read.
struct Row {
    value: f64,
    number: Number,
    /// Logarithms of the chance that it is right, and of a gross error's chance and density.
    right_log: f64,
    gross_log: f64,
}

/// Belief in pairs.
pub(super) struct Pairs {
    followed: Vec<Pair>,
    /// All of them, as they were before anything was seen or read.
    begun: Vec<([u32; 2], f64)>,
    rows: Vec<Row>,
    /// Share of the pump's load that each draw leaves, 0 to 1.
    left_of_load: Vec<f64>,
    draws: usize,
}

impl Pairs {
    /// Pairs of `draws` with a weight of each that need not add up to one; `share` is how often each is among a pair,
    /// as a share of all members of all pairs. Nothing where no pair has a weight.
    pub fn new(draws: usize, weight: impl Fn(usize, usize) -> f64, share: &[f64]) -> Option<Pairs> {
        /// Rounds of fitting the weights to how often each draw comes in.
        const ROUNDS: usize = 4;
        let mut followed = Vec::new();
        for i in 0..draws {
            for j in i + 1..draws {
                let p = weight(i, j);
                if p > 0.0 {
                    let of = [i, j].map(|at| u32::try_from(at).unwrap_or(u32::MAX));
                    followed.push(Pair { of, seen: 0.0, p });
                }
            }
        }
        let mut all = Pairs {
            followed,
            begun: Vec::new(),
            rows: Vec::new(),
            left_of_load: vec![1.0; draws],
            draws,
        };
        for _ in 0..ROUNDS {
            let found = all.members();
            let factor = |at: usize| {
                let (share, found) = (share[at], found[at]);
                if found > 0.0 {
                    (share / found).sqrt()
                } else {
                    0.0
                }
            };
            let factors: Vec<f64> = (0..draws).map(factor).collect();
            for pair in &mut all.followed {
                pair.p *= factors[pair.of[0] as usize] * factors[pair.of[1] as usize];
            }
        }
        all.followed.retain(|pair| pair.p > 0.0);
        if all.followed.is_empty() {
            return None;
        }
        for pair in &mut all.followed {
            pair.seen = libm::log(pair.p);
        }
        all.weigh();
        all.begun = all.followed.iter().map(|pair| (pair.of, pair.p)).collect();
        Some(all)
    }

    /// Share of each draw among all members of all pairs.
    pub fn members(&self) -> Vec<f64> {
        let mut sums = vec![0.0; self.draws];
        let mut whole = 0.0;
        for pair in &self.followed {
            whole += 2.0 * pair.p;
            for at in pair.of {
                sums[at as usize] += pair.p;
            }
        }
        for sum in &mut sums {
            *sum /= whole;
        }
        sums
    }

    /// Each pair's draws with its probability, for what is stated: with the chance that two faults do to each other what
    /// the sum leaves out, what was read says nothing.
    fn stated(&self) -> impl Iterator<Item = ([usize; 2], f64)> {
        let now = self
            .followed
            .iter()
            .map(|pair| (pair.of, (1.0 - MISFIT) * pair.p));
        let first = self.begun.iter().map(|(of, p)| (*of, MISFIT * p));
        now.chain(first)
            .map(|(of, p)| (of.map(|at| at as usize), p))
    }

    /// Probability that one of two is such, and that both are.
    pub fn one_and_both(&self, such: &[bool]) -> (f64, f64) {
        let (mut one, mut both) = (0.0, 0.0);
        for ([a, b], p) in self.stated() {
            one += if such[a] || such[b] { p } else { 0.0 };
            both += if such[a] && such[b] { p } else { 0.0 };
        }
        (one, both)
    }

    /// Probability that each of `classes` is among what a pair needs, where `class_of` names that of each draw.
    pub fn classes(&self, class_of: &[usize], classes: usize) -> Vec<f64> {
        let mut sums = vec![0.0; classes];
        for ([a, b], p) in self.stated() {
            let [a, b] = [a, b].map(|at| class_of[at]);
            sums[a] += p;
            if b != a {
                sums[b] += p;
            }
        }
        sums
    }

    /// Each pair given to one of its draws: the one that `better` holds higher, else the first.
    pub fn each_as_one(&self, better: impl Fn(usize) -> f64) -> Vec<f64> {
        let worth: Vec<f64> = (0..self.draws).map(better).collect();
        let mut sums = vec![0.0; self.draws];
        for pair in &self.followed {
            let [a, b] = pair.of.map(|at| at as usize);
            sums[if worth[b] > worth[a] { b } else { a }] += pair.p;
        }
        sums
    }

    /// Takes in something seen: the logarithm of its chance under each draw, and of a sound vehicle's.
    pub fn see(&mut self, logs: &[Option<f64>], sound: f64) {
        for pair in &mut self.followed {
            let [a, b] = pair.of.map(|at| logs[at as usize].unwrap_or(sound));
            pair.seen += (a + b - sound).min(a.max(b).max(sound));
        }
        self.weigh();
    }

    /// Takes in a number read; `sound` is what a sound vehicle predicts.
    pub fn read(&mut self, predicted: &[Option<Predicted>], sound: &Predicted, reading: &Reading) {
        let moves = |predicted: &Option<Predicted>| {
            predicted
                .as_ref()
                .map_or([0.0; 2], |one| [one.mean - sound.mean, one.slopes[1]])
        };
        let mut slopes = sound.slopes;
        slopes[1] = 0.0;
        for (left, predicted) in self.left_of_load.iter_mut().zip(predicted) {
            if let Some(share) = predicted.as_ref().and_then(|one| one.load) {
                *left = share.min(1.0);
            }
        }
        self.rows.push(Row {
            value: reading.value,
            number: Number {
                off: reading.value - sound.mean,
                variance: reading.own_variance(sound),
                slopes: slopes.to_vec(),
                loaded: predicted.iter().flatten().any(|one| one.load.is_some()),
                moves: predicted.iter().map(moves).collect(),
            },
            right_log: libm::log1p(-reading.gross.chance),
            gross_log: reading.gross_log(),
        });
        self.weigh();
    }

    /// This number was read with a tip that did touch.
    pub fn prove(&mut self, reading: &Reading) {
        let mut rows = self.rows.iter_mut().rev();
        if let Some(row) = rows.find(|row| row.value == reading.value) {
            row.right_log = libm::log1p(-reading.gross.chance);
            row.gross_log = reading.gross_log();
        }
        self.weigh();
    }

    /// Works out each pair's probability.
    fn weigh(&mut self) {
        let mut logs = self.by_numbers(None);
        if !self.rows.is_empty() {
            let best = (0..logs.len()).max_by(|&a, &b| {
                let log = |at: usize| logs[at] + self.followed[at].seen;
                log(a).total_cmp(&log(b))
            });
            for out in best.map_or_else(Vec::new, |best| self.doubtful(best)) {
                for (log, without) in logs.iter_mut().zip(self.by_numbers(Some(out))) {
                    *log = log_add_exp(*log, without);
                }
            }
        }
        for (pair, log) in self.followed.iter().zip(&mut logs) {
            *log = pair.seen + BELIEVED * *log;
        }
        let whole = log_sum_exp(&logs);
        for (pair, log) in self.followed.iter_mut().zip(&logs) {
            pair.p = libm::exp(log - whole);
        }
        let most = self.followed.iter().map(|pair| pair.p).fold(0.0, f64::max);
        self.followed.retain(|pair| pair.p >= FOLLOWED_FROM * most);
    }

    /// What is left where one draw of each pair is cured: belief in the other, by all that was seen and read. Of pairs
    /// with both cured, the first stands for them.
    pub fn left(&self, cured: &[bool]) -> Vec<f64> {
        self.each_as_one(|draw| f64::from(u8::from(!cured[draw])))
    }

    /// The same by how often each other one comes in beside the cured ones, and nothing else.
    pub fn left_at_first(&self, cured: &[bool]) -> Vec<f64> {
        let mut before = vec![0.0; self.draws];
        for &([a, b], p) in &self.begun {
            before[a as usize] += p;
            before[b as usize] += p;
        }
        let now = self.members();
        let share = |draw: u32| {
            let draw = draw as usize;
            if cured[draw] && before[draw] > 0.0 {
                now[draw] / before[draw]
            } else {
                0.0
            }
        };
        let mut left = vec![0.0; self.draws];
        for &([a, b], p) in &self.begun {
            left[a as usize] += p * share(b);
            left[b as usize] += p * share(a);
        }
        left
    }

    /// Rows that a pair does not explain, the least explained first.
    fn doubtful(&self, pair: usize) -> Vec<usize> {
        let order = self.in_order(&self.followed[pair]);
        let mut off: Vec<(f64, usize)> = (0..self.rows.len())
            .map(|at| {
                let number = &self.rows[at].number;
                (number.deviations(order, self.left_of_load[order[0]]), at)
            })
            .filter(|(off, _)| *off > DOUBTFUL_FROM)
            .collect();
        off.sort_by(|a, b| b.0.total_cmp(&a.0));
        off.truncate(DOUBTFUL);
        off.into_iter().map(|(_, at)| at).collect()
    }

    /// Draws of a pair, the one that leaves less of the load first.
    fn in_order(&self, pair: &Pair) -> [usize; 2] {
        let [a, b] = pair.of.map(|at| at as usize);
        if self.left_of_load[b] < self.left_of_load[a] {
            [b, a]
        } else {
            [a, b]
        }
    }

    /// Logarithm of the density of all numbers under each pair, where the one at `out` went wrong.
    fn by_numbers(&self, out: Option<usize>) -> Vec<f64> {
        let (mut kept, mut chances) = (Vec::new(), 0.0);
        for (at, row) in self.rows.iter().enumerate() {
            if out == Some(at) {
                chances += row.gross_log;
            } else {
                chances += row.right_log;
                kept.push(&row.number);
            }
        }
        let joint = Joint::of(&kept, self.draws);
        let density = |pair: &Pair| {
            let [first, then] = self.in_order(pair);
            chances + joint.log_density([first, then], self.left_of_load[first])
        };
        self.followed.iter().map(density).collect()
    }
}
