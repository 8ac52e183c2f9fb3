//! One step of a stiffly stable Rosenbrock method for small autonomous systems.

/// Result of one step.
#[derive(Clone, Copy, Debug)]
pub struct StiffStep<const N: usize> {
    /// State at the end of the step.
    pub y: [f64; N],
    /// Estimated local error.
    pub error: [f64; N],
}

/// A matrix in row order.
pub type Square<const N: usize> = [[f64; N]; N];

/// Advances y' = f(y) by `h` with Rodas3: order 3, L-stable, stiffly accurate, two new evaluations of `f`.
///
/// Source: A. Sandu et al., *Benchmarking stiff ODE solvers for atmospheric chemistry problems II:
/// Rosenbrock solvers*, Atmospheric Environment 31 (1997), with the coefficients of its public
/// implementation. `f0` is f(y) and `jacobian` df/dy there. Returns `None` if the matrix is singular or
/// the result not finite.
pub fn rodas3_step<const N: usize>(
    y: &[f64; N],
    f0: &[f64; N],
    jacobian: &Square<N>,
    h: f64,
    mut f: impl FnMut(&[f64; N]) -> [f64; N],
) -> Option<StiffStep<N>> {
    let mut matrix = [[0.0; N]; N];
    for (row, (target, source)) in matrix.iter_mut().zip(jacobian).enumerate() {
        for (entry, value) in target.iter_mut().zip(source) {
            *entry = -value;
        }
        target[row] += 2.0 / h;
    }
    let pivots = factor(&mut matrix)?;
    let solve = |right: [f64; N]| back_substitute(&matrix, &pivots, right);
    let per_h = 1.0 / h;
    let k1 = solve(*f0);
    let k2 = solve(combine(|n| f0[n] + 4.0 * per_h * k1[n]));
    let f3 = f(&combine(|n| y[n] + 2.0 * k1[n]));
    let k3 = solve(combine(|n| f3[n] + per_h * (k1[n] - k2[n])));
    let y4 = combine(|n| y[n] + 2.0 * k1[n] + k3[n]);
    let f4 = f(&y4);
    let k4 = solve(combine(|n| {
        f4[n] + per_h * (k1[n] - k2[n] - 8.0 / 3.0 * k3[n])
    }));
    let end: [f64; N] = combine(|n| y4[n] + k4[n]);
    end.iter()
        .all(|value| value.is_finite())
        .then_some(StiffStep { y: end, error: k4 })
}

fn combine<const N: usize>(value: impl FnMut(usize) -> f64) -> [f64; N] {
    core::array::from_fn(value)
}

/// LU factors in place with row exchanges; `None` for a singular matrix.
fn factor<const N: usize>(a: &mut Square<N>) -> Option<[usize; N]> {
    let mut pivots = [0; N];
    for column in 0..N {
        let mut best = column;
        for row in column + 1..N {
            if a[row][column].abs() > a[best][column].abs() {
                best = row;
            }
        }
        pivots[column] = best;
        a.swap(column, best);
        let pivot = a[column][column];
        if pivot == 0.0 || !pivot.is_finite() {
            return None;
        }
        for row in column + 1..N {
            let factor = a[row][column] / pivot;
            a[row][column] = factor;
            for inner in column + 1..N {
                a[row][inner] -= factor * a[column][inner];
            }
        }
    }
    Some(pivots)
}

fn back_substitute<const N: usize>(
    a: &Square<N>,
    pivots: &[usize; N],
    mut x: [f64; N],
) -> [f64; N] {
    for (column, pivot) in pivots.iter().enumerate() {
        x.swap(column, *pivot);
    }
    for column in 0..N {
        for row in column + 1..N {
            x[row] -= a[row][column] * x[column];
        }
    }
    for row in (0..N).rev() {
        for column in row + 1..N {
            x[row] -= a[row][column] * x[column];
        }
        x[row] /= a[row][row];
    }
    x
}
