//! Elimination of a grounded weighted graph (a symmetric, diagonally dominant M-matrix).
//!
//! The matrix is never formed: unknowns are vertices, positive weights are edges, and each vertex
//! may carry a *slack*, its weight to the grounded vertex. Eliminating vertex `k` joins each pair
//! of its neighbours by `w_ki * w_kj / (sum of weights at k)`, the star-mesh transformation. Only
//! positive numbers are added, multiplied and divided, so every pivot is positive and accurate to
//! a few units in the last place whatever the spread of weights (Grassmann, Taksar and Heyman,
//! "Regenerative analysis and steady state distributions for Markov chains", Operations Research
//! 33 (1985), use the same trick). No pivoting is needed.

use thiserror::Error;

/// Bits in one word of a bit row.
const WORD: usize = u64::BITS as usize;

/// Order of elimination and places of all edges, found once for each graph and reused for any weights.
///
/// The order is minimum degree, ties to the lowest vertex, so that a tree fills in nothing.
#[derive(Clone, Debug, Default)]
pub struct Pattern {
    position: Vec<u32>,
    row_start: Vec<u32>,
    column: Vec<u32>,
    fill: Vec<u32>,
}

impl Pattern {
    /// Orders the graph with vertices `0..vertices`; repeated edges and loops are harmless.
    ///
    /// # Panics
    /// If an edge names a vertex that does not exist, which is a fault of the calling code.
    #[must_use]
    pub fn new(vertices: usize, edges: &[(u32, u32)]) -> Self {
        let words = vertices.div_ceil(WORD);
        let mut rows = vec![0_u64; vertices * words];
        for &(a, b) in edges {
            let (a, b) = (a as usize, b as usize);
            assert!(
                a < vertices && b < vertices,
                "edge {a}-{b} outside 0..{vertices}"
            );
            if a != b {
                rows[a * words + b / WORD] |= 1 << (b % WORD);
                rows[b * words + a / WORD] |= 1 << (a % WORD);
            }
        }
        Self::eliminate(vertices, words, &mut rows)
    }

    fn eliminate(vertices: usize, words: usize, rows: &mut [u64]) -> Self {
        const GONE: u32 = u32::MAX;
        let mut degree: Vec<u32> = (0..vertices)
            .map(|v| {
                rows[v * words..(v + 1) * words]
                    .iter()
                    .map(|w| w.count_ones())
                    .sum()
            })
            .collect();
        let mut pattern = Self {
            position: vec![0; vertices],
            row_start: Vec::with_capacity(vertices + 1),
            column: Vec::with_capacity(2 * vertices),
            fill: Vec::with_capacity(2 * vertices),
        };
        pattern.row_start.push(0);
        let mut pivot_row = vec![0_u64; words];
        for step in 0..vertices {
            let pivot = cheapest(&degree);
            pattern.position[pivot] = index(step);
            degree[pivot] = GONE;
            pivot_row.copy_from_slice(&rows[pivot * words..(pivot + 1) * words]);
            for (w, &bits) in pivot_row.iter().enumerate() {
                let mut left = bits;
                while left != 0 {
                    let neighbour = w * WORD + left.trailing_zeros() as usize;
                    left &= left - 1;
                    pattern.column.push(index(neighbour));
                    let row = &mut rows[neighbour * words..(neighbour + 1) * words];
                    let mut count = 0;
                    for (mine, theirs) in row.iter_mut().zip(&pivot_row) {
                        *mine |= theirs;
                        count += mine.count_ones();
                    }
                    // The vertex itself came in with the pivot's row; the pivot leaves.
                    row[neighbour / WORD] &= !(1 << (neighbour % WORD));
                    row[pivot / WORD] &= !(1 << (pivot % WORD));
                    degree[neighbour] = count - 2;
                }
            }
            pattern.row_start.push(index(pattern.column.len()));
        }
        pattern.number_by_position();
        pattern.place_fill();
        pattern
    }

    /// Rewrites columns from vertex numbers to positions and sorts each row.
    fn number_by_position(&mut self) {
        for column in &mut self.column {
            *column = self.position[*column as usize];
        }
        for k in 0..self.position.len() {
            self.column[self.row_start[k] as usize..self.row_start[k + 1] as usize].sort_unstable();
        }
    }

    /// For each eliminated vertex and each pair of its neighbours, in the order the elimination
    /// visits them, notes which edge the pair's new weight is added to, counted from the end of the row.
    fn place_fill(&mut self) {
        for k in 0..self.position.len() {
            let row = self.row(k);
            for a in row.clone() {
                let target = self.row(self.column[a] as usize);
                let mut slot = target.start;
                for b in a + 1..row.end {
                    while self.column[slot] != self.column[b] {
                        slot += 1;
                    }
                    self.fill.push(index(slot - row.end));
                }
            }
        }
    }

    fn row(&self, k: usize) -> std::ops::Range<usize> {
        self.row_start[k] as usize..self.row_start[k + 1] as usize
    }

    /// Edges in each row.
    fn widths(&self) -> impl DoubleEndedIterator<Item = usize> + ExactSizeIterator {
        self.row_start.windows(2).map(|w| (w[1] - w[0]) as usize)
    }

    /// Number of vertices.
    #[must_use]
    pub fn len(&self) -> usize {
        self.position.len()
    }

    /// Whether there is nothing to solve for.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.position.is_empty()
    }

    /// Number of edges after fill-in; the measure of how much work a factorisation is.
    #[must_use]
    pub fn filled_edges(&self) -> usize {
        self.column.len()
    }

    /// Place of a vertex in the order of elimination; right-hand sides and slacks are indexed by it.
    #[must_use]
    pub fn position(&self, vertex: u32) -> usize {
        self.position[vertex as usize] as usize
    }

    /// Slot of the edge between two vertices, for [`Factor::add`]; `None` where there is none.
    #[must_use]
    pub fn edge_slot(&self, a: u32, b: u32) -> Option<usize> {
        let (p, q) = (self.position[a as usize], self.position[b as usize]);
        let (first, second) = if p < q { (p, q) } else { (q, p) };
        self.row(first as usize)
            .find(|&slot| self.column[slot] == second)
    }

    /// Slot of a vertex's slack, for [`Factor::add`].
    #[must_use]
    pub fn slack_slot(&self, vertex: u32) -> usize {
        self.column.len() + self.position(vertex)
    }

    /// A slot that belongs to nothing: what is added there changes nothing.
    #[must_use]
    pub fn spare_slot(&self) -> usize {
        self.column.len() + self.len()
    }
}

/// Sizes here are counts of vertices and edges of a graph held in memory, far below 2^32.
#[allow(clippy::cast_possible_truncation)]
fn index(value: usize) -> u32 {
    value as u32
}

/// The vertex of least degree, the lowest of equals. Nothing beats a vertex with at most one
/// neighbour, so the search stops there.
fn cheapest(degree: &[u32]) -> usize {
    let mut best = 0;
    let mut least = u32::MAX;
    for (vertex, &d) in degree.iter().enumerate() {
        if d < least {
            (best, least) = (vertex, d);
            if d <= 1 {
                break;
            }
        }
    }
    best
}

/// Why a graph could not be eliminated.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum LaplacianError {
    /// The weights at a vertex sum to nothing: a part of the graph without slack, or a weight that
    /// is zero, negative or not a number.
    #[error(
        "weights at elimination position {position} sum to {total}: that part of the graph is not grounded"
    )]
    Ungrounded {
        /// Position in the order of elimination.
        position: usize,
        /// The sum found there.
        total: f64,
    },
}

/// Weights and their factorisation; buffers are kept from one graph to the next.
#[derive(Clone, Debug, Default)]
pub struct Factor {
    /// Weights by slot. A factorisation leaves in the place of each edge its share of its row.
    weight: Vec<f64>,
    slack_share: Vec<f64>,
    pivot: Vec<f64>,
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
        let (mut left, slacks) = self.weight.split_at_mut(pattern.column.len());
        let (mut columns, mut fill) = (pattern.column.as_slice(), pattern.fill.as_slice());
        let mut sound = true;
        for (k, width) in pattern.widths().enumerate() {
            // Fill-in goes to later rows only.
            let (row, later) = left.split_at_mut(width);
            let (ends, more) = columns.split_at(width);
            let (slots, more_slots) = fill.split_at(width * width.saturating_sub(1) / 2);
            let slack = slacks[k];
            let total = slack + row.iter().sum::<f64>();
            eliminate(row, total, slots, later);
            self.pivot[k] = total;
            self.slack_share[k] = 0.0;
            // Most vertices are tied to the grounded one neither at first nor by any before them.
            if slack != 0.0 {
                self.slack_share[k] = slack / total;
                for (share, &column) in row.iter().zip(ends) {
                    slacks[column as usize] += share * slack;
                }
            }
            // Written so that a NaN total is refused too.
            sound &= total > 0.0 && total <= f64::MAX;
            (left, columns, fill) = (later, more, more_slots);
        }
        if sound {
            Ok(())
        } else {
            Err(self.ungrounded())
        }
    }

    fn ungrounded(&self) -> LaplacianError {
        let refused = |total: &f64| !(*total > 0.0 && *total <= f64::MAX);
        let position = self.pivot.iter().position(refused).unwrap_or(0);
        LaplacianError::Ungrounded {
            position,
            total: self.pivot[position],
        }
    }

    /// Replaces a right-hand side by its solution; both are indexed by position.
    pub fn solve(&self, pattern: &Pattern, rhs: &mut [f64]) {
        self.pass_on(pattern, rhs);
        for (own, pivot) in rhs.iter_mut().zip(&self.pivot) {
            *own /= pivot;
        }
        self.come_back(pattern, rhs);
    }

    /// Each vertex's current, shared out among the later ones.
    fn pass_on(&self, pattern: &Pattern, rhs: &mut [f64]) {
        for k in 0..pattern.len() {
            let own = rhs[k];
            if own != 0.0 {
                let row = pattern.row(k);
                for (share, &column) in self.weight[row.clone()].iter().zip(&pattern.column[row]) {
                    rhs[column as usize] += share * own;
                }
            }
        }
    }

    /// Each vertex's potential, from those of the later ones.
    fn come_back(&self, pattern: &Pattern, rhs: &mut [f64]) {
        let mut shares = &self.weight[..pattern.column.len()];
        let mut columns = pattern.column.as_slice();
        let slack_shares = self.slack_share.iter();
        for (k, (width, &slack_share)) in pattern.widths().zip(slack_shares).enumerate().rev() {
            let (more, row) = shares.split_at(shares.len() - width);
            let (more_ends, ends) = columns.split_at(columns.len() - width);
            (shares, columns) = (more, more_ends);
            // Away from ground a vertex lies close to its neighbours: adding a small correction
            // to one of them keeps the difference between them, which is what matters, exact.
            let (base, first) = match ends.first() {
                Some(&first) if slack_share < 0.5 => (rhs[first as usize], 1),
                _ => (0.0, 0),
            };
            let mut correction = rhs[k] - slack_share * base;
            for (share, &column) in row.iter().zip(ends).skip(first) {
                correction += share * (rhs[column as usize] - base);
            }
            rhs[k] = base + correction;
        }
    }
}

/// Turns the weights of a vertex into shares of their total, and joins its neighbours in pairs.
fn eliminate(row: &mut [f64], total: f64, slots: &[u32], later: &mut [f64]) {
    // True divisions: a dead-end vertex then has a share of exactly one.
    match (&mut *row, slots) {
        ([only], _) => *only /= total,
        // Two in series: most of what a harness is made of.
        ([one, two], &[slot]) => {
            *one /= total;
            later[slot as usize] += *one * *two;
            *two /= total;
        }
        (mut row, mut slots) => {
            while let Some((weight, others)) = row.split_first_mut() {
                *weight /= total;
                let (own, more) = slots.split_at(others.len());
                for (other, &slot) in others.iter().zip(own) {
                    later[slot as usize] += *weight * other;
                }
                (row, slots) = (others, more);
            }
        }
    }
}
