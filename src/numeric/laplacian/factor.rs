//! Weights of a graph and their elimination.

use super::LaplacianError;
use super::pattern::{Pattern, Run};

/// Weights and their factorisation; buffers are kept from one graph to the next.
#[derive(Clone, Debug, Default)]
pub struct Factor {
    /// Weights by slot. A factorisation leaves in the place of each edge its share of its row.
    weight: Vec<f64>,
    slack_share: Vec<f64>,
    pivot: Vec<f64>,
}

/// Calls a function with the rows of a run. Nearly all rows of a harness are narrow: where the width is a constant a row
/// takes no loop at all.
macro_rules! by_width {
    ($edges:expr, $act:ident($($argument:expr),*)) => {
        match $edges.width {
            0 => (),
            1 => $act($edges.narrow::<1>(), $($argument),*),
            2 => $act($edges.narrow::<2>(), $($argument),*),
            3 => $act($edges.narrow::<3>(), $($argument),*),
            4 => $act($edges.narrow::<4>(), $($argument),*),
            _ => $act($edges.wide(), $($argument),*),
        }
    };
}

impl Factor {
    /// Sets all weights to zero, sized for `pattern`.
    pub fn clear(&mut self, pattern: &Pattern) {
        self.weight.clear();
        self.weight.resize(pattern.spare_slot() + 1, 0.0);
        self.slack_share.resize(pattern.len(), 0.0);
        self.pivot.resize(pattern.len(), 0.0);
    }

    /// Adds a positive weight to an edge or a slack.
    pub fn add(&mut self, slot: usize, weight: f64) {
        self.weight[slot] += weight;
    }

    /// Eliminates all vertices. Weights are consumed: to change one, clear and add all again.
    ///
    /// # Errors
    /// [`LaplacianError::Ungrounded`] when a part of the graph has no slack at all.
    pub fn factor(&mut self, pattern: &Pattern) -> Result<(), LaplacianError> {
        let (edges, slacks) = self.weight.split_at_mut(pattern.filled_edges());
        let mut sweep = Sweep {
            edges,
            columns: pattern.columns(),
            fill: pattern.fill(),
            slacks,
            slack_shares: &mut self.slack_share,
            pivots: &mut self.pivot,
        };
        for run in pattern.runs() {
            match run.width {
                1 => sweep.eliminate(1, run),
                2 => sweep.eliminate(2, run),
                3 => sweep.eliminate(3, run),
                4 => sweep.eliminate(4, run),
                width => sweep.eliminate(width, run),
            }
        }
        // Written so that a NaN total is refused too.
        let refused = |total: &f64| !(*total > 0.0 && *total <= f64::MAX);
        // Without leaving early: quicker so, as nearly always none is.
        if !self.pivot.iter().fold(false, |any, p| any | refused(p)) {
            return Ok(());
        }
        let position = self.pivot.iter().position(refused).unwrap_or(0);
        Err(LaplacianError::Ungrounded {
            position,
            total: self.pivot[position],
        })
    }

    /// Replaces a right-hand side by its solution; both are indexed by position.
    pub fn solve(&self, pattern: &Pattern, rhs: &mut [f64]) {
        for run in pattern.runs() {
            let edges = Edges::of(&self.weight, pattern, run);
            by_width!(edges, pass_on(run.rows.start, rhs));
        }
        for run in pattern.runs().iter().rev() {
            let edges = Edges::of(&self.weight, pattern, run);
            let (first, rows) = (run.rows.start, run.rows.clone());
            let (slack_shares, pivots) = (&self.slack_share[rows.clone()], &self.pivot[rows]);
            if run.width == 0 {
                for (own, pivot) in rhs[run.rows.clone()].iter_mut().zip(pivots) {
                    *own /= pivot;
                }
            }
            by_width!(edges, come_back(first, slack_shares, pivots, rhs));
        }
    }
}

/// The edges of a run of rows.
struct Edges<'a> {
    shares: &'a [f64],
    columns: &'a [u32],
    width: usize,
}

impl<'a> Edges<'a> {
    fn of(weights: &'a [f64], pattern: &'a Pattern, run: &Run) -> Self {
        Self {
            shares: &weights[run.edges.clone()],
            columns: &pattern.columns()[run.edges.clone()],
            width: run.width,
        }
    }

    fn narrow<const W: usize>(&self) -> impl Rows<&'a [f64; W], &'a [u32; W]> {
        self.shares
            .as_chunks()
            .0
            .iter()
            .zip(self.columns.as_chunks().0)
    }

    fn wide(&self) -> impl Rows<&'a [f64], &'a [u32]> {
        let columns = self.columns.chunks_exact(self.width);
        self.shares.chunks_exact(self.width).zip(columns)
    }
}

/// Rows as pairs of shares and columns.
trait Rows<S, C>: DoubleEndedIterator<Item = (S, C)> + ExactSizeIterator {}

impl<S, C, R: DoubleEndedIterator<Item = (S, C)> + ExactSizeIterator> Rows<S, C> for R {}

/// Adds multiples of `terms` in their places, four at a time where there are as many.
// What comes as an array is to take no loop here.
#[allow(clippy::inline_always)]
#[inline(always)]
fn add_scaled(to: &mut [f64], places: &[u32], terms: &[f64], factor: f64) {
    let (quads, few) = terms.as_chunks::<4>();
    let (quad_places, few_places) = places.as_chunks::<4>();
    for (terms, places) in quads.iter().zip(quad_places) {
        for (term, &place) in terms.iter().zip(places) {
            to[place as usize] += term * factor;
        }
    }
    for (term, &place) in few.iter().zip(few_places) {
        to[place as usize] += term * factor;
    }
}

/// Each vertex's current, shared out among the later ones.
fn pass_on<S: AsRef<[f64]>, C: AsRef<[u32]>>(rows: impl Rows<S, C>, first: usize, rhs: &mut [f64]) {
    for (k, (shares, columns)) in (first..).zip(rows) {
        let own = rhs[k];
        if own != 0.0 {
            add_scaled(rhs, columns.as_ref(), shares.as_ref(), own);
        }
    }
}

/// Each vertex's potential, from those of the later ones.
fn come_back<S: AsRef<[f64]>, C: AsRef<[u32]>>(
    rows: impl Rows<S, C>,
    first: usize,
    slack_shares: &[f64],
    pivots: &[f64],
    rhs: &mut [f64],
) {
    let totals = slack_shares.iter().zip(pivots);
    for (k, ((shares, columns), (slack_share, pivot))) in rows.zip(totals).enumerate().rev() {
        let (k, shares, columns) = (first + k, shares.as_ref(), columns.as_ref());
        // A division here costs no time: it is done while the row waits for the potentials of others.
        let own = rhs[k] / pivot;
        // Away from ground a vertex lies close to its neighbours: adding a small correction
        // to one of them keeps the difference between them, which is what matters, exact.
        rhs[k] = if *slack_share < 0.5 {
            let base = rhs[columns[0] as usize];
            let mut correction = own - slack_share * base;
            for (share, &column) in shares[1..].iter().zip(&columns[1..]) {
                correction += share * (rhs[column as usize] - base);
            }
            base + correction
        } else {
            let mut sum = own;
            for (share, &column) in shares.iter().zip(columns) {
                sum += share * rhs[column as usize];
            }
            sum
        };
    }
}

/// An elimination under way: what belongs to the rows still to come, and all slacks and pivots.
struct Sweep<'a> {
    edges: &'a mut [f64],
    columns: &'a [u32],
    fill: &'a [u32],
    slacks: &'a mut [f64],
    slack_shares: &'a mut [f64],
    pivots: &'a mut [f64],
}

impl Sweep<'_> {
    /// Turns the weights of each vertex of a run into shares of their total, and joins its neighbours in pairs.
    // What is called with a constant for a width is to be worked out for it.
    #[allow(clippy::inline_always)]
    #[inline(always)]
    fn eliminate(&mut self, width: usize, run: &Run) {
        let mut left = std::mem::take(&mut self.edges);
        for k in run.rows.clone() {
            // Fill-in goes to later rows only.
            let (row, later) = left.split_at_mut(width);
            let (columns, more_columns) = self.columns.split_at(width);
            let (mut slots, more_slots) = self.fill.split_at(width * width.saturating_sub(1) / 2);
            let slack = self.slacks[k];
            let total = slack + row.iter().sum::<f64>();
            let mut rest = &mut *row;
            while let Some((weight, others)) = rest.split_first_mut() {
                // True divisions: a dead-end vertex then has a share of exactly one.
                let share = *weight / total;
                *weight = share;
                let (own, more) = slots.split_at(others.len());
                add_scaled(later, own, others, share);
                (rest, slots) = (others, more);
            }
            self.pivots[k] = total;
            self.slack_shares[k] = 0.0;
            // Most vertices are tied to the grounded one neither at first nor by any before them.
            if slack != 0.0 {
                self.slack_shares[k] = slack / total;
                add_scaled(self.slacks, columns, row, slack);
            }
            (left, self.columns, self.fill) = (later, more_columns, more_slots);
        }
        self.edges = left;
    }
}
