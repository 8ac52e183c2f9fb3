//! Dense LU factorisation with partial pivoting, in a workspace that is reused.

use thiserror::Error;

/// Why a dense system could not be solved.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum LuError {
    /// The matrix has no unique solution, to working precision.
    #[error("singular: the best pivot left for column {column} is {pivot:e}, in row {row}")]
    Singular {
        /// Row of the matrix as given, before any exchange.
        row: usize,
        /// Column being eliminated.
        column: usize,
        /// Value of the pivot that was too small.
        pivot: f64,
    },
    /// An entry is infinite or not a number.
    #[error("entry in row {row}, column {column} is not finite: {value}")]
    NotFinite {
        /// Row of the entry.
        row: usize,
        /// Column of the entry.
        column: usize,
        /// The entry.
        value: f64,
    },
}

/// LU factorisation of a square matrix, row by row in one buffer.
///
/// Zeros are skipped, so a sparse matrix in a good order costs little more than its fill-in.
///
/// ```
/// let mut lu = hidden_ohm::numeric::Lu::default();
/// lu.begin(2).copy_from_slice(&[2.0, 1.0, 1.0, 3.0]);
/// lu.factor()?;
/// let mut x = [3.0, 5.0];
/// lu.solve(&mut x);
/// assert_eq!(x, [0.8, 1.4]);
/// # Ok::<(), hidden_ohm::numeric::LuError>(())
/// ```
#[derive(Clone, Debug, Default)]
pub struct Lu {
    size: usize,
    entries: Vec<f64>,
    /// `order[k]` is the given row that ended up in place `k`.
    order: Vec<usize>,
    column_scale: Vec<f64>,
    nonzero: Vec<usize>,
    permuted: Vec<f64>,
}

impl Lu {
    /// Starts a new `size` by `size` system and lends its entries, all zero, in row-major order.
    pub fn begin(&mut self, size: usize) -> &mut [f64] {
        self.size = size;
        self.entries.clear();
        self.entries.resize(size * size, 0.0);
        &mut self.entries
    }

    /// Unknowns in the current system.
    #[must_use]
    pub fn size(&self) -> usize {
        self.size
    }

    /// Factorises the entries in place.
    ///
    /// # Errors
    /// [`LuError::Singular`] with the row whose pivot vanished: below `size * f64::EPSILON` of the
    /// largest entry its column had at the start. [`LuError::NotFinite`] for bad entries.
    pub fn factor(&mut self) -> Result<(), LuError> {
        let n = self.size;
        self.measure_columns()?;
        self.order.clear();
        self.order.extend(0..n);
        for k in 0..n {
            let pivot_row = self.find_pivot(k);
            let pivot = self.entries[pivot_row * n + k];
            if pivot.abs() <= n as f64 * f64::EPSILON * self.column_scale[k] {
                return Err(LuError::Singular {
                    row: self.order[pivot_row],
                    column: k,
                    pivot,
                });
            }
            if pivot_row != k {
                self.order.swap(k, pivot_row);
                let (upper, lower) = self.entries.split_at_mut(pivot_row * n);
                upper[k * n..(k + 1) * n].swap_with_slice(&mut lower[..n]);
            }
            self.eliminate_below(k, pivot);
        }
        Ok(())
    }

    fn measure_columns(&mut self) -> Result<(), LuError> {
        let n = self.size;
        self.column_scale.clear();
        self.column_scale.resize(n, 0.0);
        for (at, &value) in self.entries.iter().enumerate() {
            let column = at % n;
            if !value.is_finite() {
                return Err(LuError::NotFinite {
                    row: at / n,
                    column,
                    value,
                });
            }
            if value.abs() > self.column_scale[column] {
                self.column_scale[column] = value.abs();
            }
        }
        Ok(())
    }

    /// The row with the largest entry in column `k`; on a tie the one already in place stays.
    fn find_pivot(&self, k: usize) -> usize {
        let n = self.size;
        let mut best = k;
        for row in k + 1..n {
            if self.entries[row * n + k].abs() > self.entries[best * n + k].abs() {
                best = row;
            }
        }
        best
    }

    fn eliminate_below(&mut self, k: usize, pivot: f64) {
        let n = self.size;
        let (upper, lower) = self.entries.split_at_mut((k + 1) * n);
        let pivot_row = &upper[k * n..];
        self.nonzero.clear();
        self.nonzero
            .extend((k + 1..n).filter(|&column| pivot_row[column] != 0.0));
        for row in lower.chunks_exact_mut(n) {
            if row[k] != 0.0 {
                let factor = row[k] / pivot;
                row[k] = factor;
                for &column in &self.nonzero {
                    row[column] -= factor * pivot_row[column];
                }
            }
        }
    }

    /// Replaces a right-hand side by its solution. Call [`Lu::factor`] first; any number of
    /// right-hand sides may follow.
    ///
    /// # Panics
    /// If `rhs` is not as long as the system, which is a fault of the calling code.
    pub fn solve(&mut self, rhs: &mut [f64]) {
        let n = self.size;
        assert_eq!(rhs.len(), n, "right-hand side and system differ in size");
        self.permuted.clear();
        self.permuted.extend(self.order.iter().map(|&row| rhs[row]));
        for k in 0..n {
            let (done, rest) = self.permuted.split_at_mut(k);
            let row = &self.entries[k * n..k * n + k];
            rest[0] -= row
                .iter()
                .zip(done)
                .filter(|(l, _)| **l != 0.0)
                .map(|(l, x)| l * *x)
                .sum::<f64>();
        }
        for k in (0..n).rev() {
            let (head, done) = self.permuted.split_at_mut(k + 1);
            let row = &self.entries[k * n + k + 1..(k + 1) * n];
            head[k] -= row
                .iter()
                .zip(done)
                .filter(|(u, _)| **u != 0.0)
                .map(|(u, x)| u * *x)
                .sum::<f64>();
            head[k] /= self.entries[k * n + k];
        }
        rhs.copy_from_slice(&self.permuted);
    }
}
