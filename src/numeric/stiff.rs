//! Time-stepping of stiff systems: slow change beside fast decay.

use super::Lu;

/// Rodas3: a Rosenbrock method of order 3, L-stable and stiffly accurate, for y' = f(y).
///
/// One step costs a factorisation, four substitutions and two evaluations of f besides the one at the
/// start. It needs no iteration, and a mode that decays within the step costs no accuracy.
///
/// Source: A. Sandu and others, *Benchmarking stiff ODE solvers for atmospheric chemistry problems II:
/// Rosenbrock solvers*, Atmospheric Environment 31 (1997); coefficients from memory, checked by order and
/// stability tests.
#[derive(Clone, Debug, Default)]
pub struct Rodas3 {
    lu: Lu,
}

/// Result of one step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StiffStep<const N: usize> {
    /// State at the end of the step.
    pub y: [f64; N],
    /// Estimated local error, of the order h cubed.
    pub error: [f64; N],
}

impl Rodas3 {
    /// Advances by `h` from `y`, where f is `f0` and its derivative `jacobian` (row by row).
    ///
    /// Returns `None` if the matrix is singular or the result not finite; a shorter step may succeed.
    pub fn step<const N: usize>(
        &mut self,
        y: &[f64; N],
        f0: &[f64; N],
        jacobian: &[[f64; N]; N],
        h: f64,
        mut f: impl FnMut(&[f64; N]) -> [f64; N],
    ) -> Option<StiffStep<N>> {
        let per_h = 1.0 / h;
        let matrix = self.lu.begin(N);
        for (target, source) in matrix.chunks_exact_mut(N).zip(jacobian) {
            for (entry, value) in target.iter_mut().zip(source) {
                *entry = -value;
            }
        }
        // Rows are scaled to one, since their units may differ by many orders of magnitude.
        let mut scale = [1.0; N];
        for (n, row) in matrix.chunks_exact_mut(N).enumerate() {
            row[n] += 2.0 * per_h;
            let largest = row
                .iter()
                .fold(0.0_f64, |largest, entry| largest.max(entry.abs()));
            scale[n] = 1.0 / largest;
            for entry in row {
                *entry /= largest;
            }
        }
        self.lu.factor().ok()?;
        let lu = &mut self.lu;
        let mut solve = |right: [f64; N]| {
            let mut x = each(|n| right[n] * scale[n]);
            lu.solve(&mut x);
            x
        };
        let k1 = solve(*f0);
        let k2 = solve(each(|n| f0[n] + 4.0 * per_h * k1[n]));
        let f3 = f(&each(|n| y[n] + 2.0 * k1[n]));
        let k3 = solve(each(|n| f3[n] + per_h * (k1[n] - k2[n])));
        let y4 = each(|n| y[n] + 2.0 * k1[n] + k3[n]);
        let f4 = f(&y4);
        let k4 = solve(each(|n| {
            f4[n] + per_h * (k1[n] - k2[n] - 8.0 / 3.0 * k3[n])
        }));
        let end: [f64; N] = each(|n| y4[n] + k4[n]);
        let finite = end.iter().all(|value| value.is_finite());
        finite.then_some(StiffStep { y: end, error: k4 })
    }
}

fn each<const N: usize>(value: impl FnMut(usize) -> f64) -> [f64; N] {
    core::array::from_fn(value)
}
