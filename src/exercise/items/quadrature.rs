//! Gauss-Hermite nodes and weights for means over a standard normal variable.

use core::f64::consts::PI;

/// Nodes and weights such that `sum w f(x)` is the mean of `f` over a standard normal variable, exact for polynomials
/// up to degree `2 count - 1`.
///
/// Newton's method on the orthonormal Hermite recurrence (as in the standard literature on numerical methods). `count`
/// up to 100 is sound.
#[must_use]
pub fn normal(count: usize) -> Vec<(f64, f64)> {
    let n = count as f64;
    let mut roots: Vec<(f64, f64)> = Vec::with_capacity(count);
    let mut z = 0.0;
    for i in 0..count.div_ceil(2) {
        // Starting values for the largest roots first; the later ones extrapolate from those before.
        z = match i {
            0 => (2.0 * n + 1.0).sqrt() - 1.855_75 * libm::pow(2.0 * n + 1.0, -0.166_67),
            1 => z - 1.14 * libm::pow(n, 0.426) / z,
            2 => 1.86 * z - 0.86 * roots[0].0,
            3 => 1.91 * z - 0.91 * roots[1].0,
            _ => 2.0 * z - roots[i - 2].0,
        };
        let mut slope = 0.0;
        for _ in 0..100 {
            let (mut p, mut before) = (libm::pow(PI, -0.25), 0.0);
            for j in 1..=count {
                let j = j as f64;
                let next = z * (2.0 / j).sqrt() * p - ((j - 1.0) / j).sqrt() * before;
                before = p;
                p = next;
            }
            slope = (2.0 * n).sqrt() * before;
            let step = p / slope;
            z -= step;
            if libm::fabs(step) < 1e-14 {
                break;
            }
        }
        roots.push((z, 2.0 / (slope * slope)));
    }
    // From exp(-x^2) to the standard normal density.
    let scaled = |(x, w): &(f64, f64)| (x * 2.0_f64.sqrt(), w / PI.sqrt());
    let upper: Vec<(f64, f64)> = roots.iter().map(scaled).collect();
    let mut all: Vec<(f64, f64)> = upper.iter().map(|(x, w)| (-x, *w)).collect();
    if count % 2 == 1 {
        // The middle root is zero and stands once.
        if let Some(middle) = all.last_mut() {
            middle.0 = 0.0;
        }
        all.extend(upper.iter().rev().skip(1));
    } else {
        all.extend(upper.iter().rev());
    }
    all
}
