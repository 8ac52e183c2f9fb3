//! The order of elimination.

use std::ops::Range;

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
    runs: Vec<Run>,
}

/// Rows of equal width that follow each other: a processor guesses where the short loops over each of them end.
#[derive(Clone, Debug)]
pub(super) struct Run {
    pub rows: Range<usize>,
    /// Slots of all their edges.
    pub edges: Range<usize>,
    /// Edges in each row.
    pub width: usize,
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
            runs: Vec::new(),
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
        pattern.find_runs();
        pattern.put_side_by_side();
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

    fn find_runs(&mut self) {
        for k in 0..self.len() {
            let edges = self.row(k);
            match self.runs.last_mut() {
                Some(run) if run.width == edges.len() => {
                    run.rows.end = k + 1;
                    run.edges.end = edges.end;
                }
                _ => self.runs.push(Run {
                    rows: k..k + 1,
                    width: edges.len(),
                    edges,
                }),
            }
        }
    }

    /// Orders the rows of each run so that those that do not wait for each other follow each other, and a processor
    /// that looks ahead works on several at once: along a chain of vertices each row waits for the one before.
    ///
    /// A row takes its turn behind those that add to it, and not before an earlier one that adds to a same row: so each
    /// sum keeps the order of its terms, and the result its last digit.
    fn put_side_by_side(&mut self) {
        let rows = self.len();
        let mut turn = vec![0_u32; rows];
        // The last turn in which something is added to a row.
        let mut added = vec![0; rows];
        for k in 0..rows {
            let ends = &self.column[self.row(k)];
            let latest = ends.iter().map(|&end| added[end as usize]).max();
            turn[k] = turn[k].max(latest.unwrap_or(0));
            for end in ends.iter().map(|&end| end as usize) {
                added[end] = turn[k];
                turn[end] = turn[end].max(turn[k] + 1);
            }
        }
        let mut order: Vec<usize> = (0..rows).collect();
        for run in &self.runs {
            order[run.rows.clone()].sort_by_key(|&k| turn[k]);
        }
        let mut moved = vec![0; rows];
        for (new, &old) in order.iter().enumerate() {
            moved[old] = index(new);
        }
        let columns = order.iter().flat_map(|&old| &self.column[self.row(old)]);
        self.column = columns.map(|&end| moved[end as usize]).collect();
        for position in &mut self.position {
            *position = moved[*position as usize];
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

    fn row(&self, k: usize) -> Range<usize> {
        self.row_start[k] as usize..self.row_start[k + 1] as usize
    }

    pub(super) fn runs(&self) -> &[Run] {
        &self.runs
    }

    /// Position at the far end of each edge.
    pub(super) fn columns(&self) -> &[u32] {
        &self.column
    }

    /// What each pair of edges of a row adds to, counted from the row's end.
    pub(super) fn fill(&self) -> &[u32] {
        &self.fill
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

    /// Slot of the edge between two vertices, for [`Factor::add`](super::Factor::add); `None` where there is none.
    #[must_use]
    pub fn edge_slot(&self, a: u32, b: u32) -> Option<usize> {
        let (p, q) = (self.position[a as usize], self.position[b as usize]);
        let (first, second) = if p < q { (p, q) } else { (q, p) };
        self.row(first as usize)
            .find(|&slot| self.column[slot] == second)
    }

    /// Slot of a vertex's slack, for [`Factor::add`](super::Factor::add).
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
