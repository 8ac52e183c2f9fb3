//! Root finding that keeps its bracket.

use thiserror::Error;

/// When a root is good enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RootTolerance {
    /// Absolute width of the final bracket, in the unit of `x`.
    pub absolute: f64,
    /// Width relative to the root; at least two units in the last place are always allowed.
    pub relative: f64,
    /// A residual of this size or less is taken as zero, in the unit of `f`.
    pub residual: f64,
    /// Evaluations allowed before giving up.
    pub max_evaluations: u32,
}

impl Default for RootTolerance {
    /// As tight as `f64` allows.
    fn default() -> Self {
        Self {
            absolute: 1e-15,
            relative: 4.0 * f64::EPSILON,
            residual: 0.0,
            max_evaluations: 200,
        }
    }
}

impl RootTolerance {
    /// Half the width within which a root at `x` is accepted.
    fn half_width(&self, x: f64) -> f64 {
        0.5 * self.absolute + 0.5 * self.relative.max(4.0 * f64::EPSILON) * x.abs()
    }
}

/// A root and what it took.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Root {
    /// Where the function vanishes.
    pub x: f64,
    /// The function there.
    pub residual: f64,
    /// How often the function was evaluated.
    pub evaluations: u32,
}

/// Why no root was found.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum RootError {
    /// The ends are in the wrong order or not finite.
    #[error("no interval: {lo} to {hi}")]
    Interval {
        /// Lower end as given.
        lo: f64,
        /// Upper end as given.
        hi: f64,
    },
    /// The function has one sign at both ends.
    #[error("no change of sign: {f_lo} at {lo}, {f_hi} at {hi}")]
    NotBracketed {
        /// Lower end.
        lo: f64,
        /// Upper end.
        hi: f64,
        /// Function at the lower end.
        f_lo: f64,
        /// Function at the upper end.
        f_hi: f64,
    },
    /// The function is infinite or not a number somewhere in the bracket.
    #[error("the function is {value} at {x} (evaluation {evaluations})")]
    NotFinite {
        /// Where.
        x: f64,
        /// What it returned.
        value: f64,
        /// How often it had been evaluated.
        evaluations: u32,
    },
    /// The evaluations ran out.
    #[error("no root after {evaluations} evaluations: residual {residual} at {x}")]
    NotConverged {
        /// Best estimate.
        x: f64,
        /// The function there.
        residual: f64,
        /// How often it was evaluated.
        evaluations: u32,
    },
}

struct Counted<F> {
    f: F,
    evaluations: u32,
}

impl<F: FnMut(f64) -> f64> Counted<F> {
    fn at(&mut self, x: f64) -> Result<f64, RootError> {
        self.evaluations += 1;
        let value = (self.f)(x);
        if value.is_finite() {
            Ok(value)
        } else {
            Err(RootError::NotFinite {
                x,
                value,
                evaluations: self.evaluations,
            })
        }
    }

    fn found(&self, x: f64, residual: f64) -> Root {
        Root {
            x,
            residual,
            evaluations: self.evaluations,
        }
    }
}

fn check_interval(lo: f64, hi: f64) -> Result<(), RootError> {
    if lo.is_finite() && hi.is_finite() && lo <= hi {
        Ok(())
    } else {
        Err(RootError::Interval { lo, hi })
    }
}

fn same_sign(a: f64, b: f64) -> bool {
    (a > 0.0 && b > 0.0) || (a < 0.0 && b < 0.0)
}

/// Finds a root of `f` between `lo` and `hi`, where it must change sign.
///
/// Brent's method (R. P. Brent, *Algorithms for Minimization without Derivatives*, 1973, ch. 4):
/// inverse quadratic interpolation or secant where they help, bisection otherwise.
///
/// # Errors
/// See [`RootError`]; a function that returns NaN or infinity is an error, never a wrong root.
pub fn bracketed_root(
    f: impl FnMut(f64) -> f64,
    lo: f64,
    hi: f64,
    tolerance: &RootTolerance,
) -> Result<Root, RootError> {
    check_interval(lo, hi)?;
    let mut f = Counted { f, evaluations: 0 };
    let (mut a, mut b) = (lo, hi);
    let (mut fa, mut fb) = (f.at(a)?, f.at(b)?);
    for (x, value) in [(a, fa), (b, fb)] {
        if value.abs() <= tolerance.residual {
            return Ok(f.found(x, value));
        }
    }
    if same_sign(fa, fb) {
        return Err(RootError::NotBracketed {
            lo,
            hi,
            f_lo: fa,
            f_hi: fb,
        });
    }
    // `b` is the best estimate, `c` the other end of the bracket, `a` the previous estimate.
    let (mut c, mut fc) = (a, fa);
    let mut step = b - a;
    let mut step_before = step;
    loop {
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let width = tolerance.half_width(b);
        let half = 0.5 * (c - b);
        if half.abs() <= width || fb.abs() <= tolerance.residual {
            return Ok(f.found(b, fb));
        }
        if f.evaluations >= tolerance.max_evaluations {
            return Err(RootError::NotConverged {
                x: b,
                residual: fb,
                evaluations: f.evaluations,
            });
        }
        let bisect = step_before.abs() < width || fa.abs() <= fb.abs();
        let shorter = if bisect {
            None
        } else {
            interpolate([a, b, c], [fa, fb, fc], half, width, step_before)
        };
        if let Some(shorter) = shorter {
            (step_before, step) = (step, shorter);
        } else {
            (step, step_before) = (half, half);
        }
        (a, fa) = (b, fb);
        b += if step.abs() > width {
            step
        } else {
            width.copysign(half)
        };
        fb = f.at(b)?;
        if same_sign(fb, fc) {
            (c, fc) = (a, fa);
            step = b - a;
            step_before = step;
        }
    }
}

/// A step from `b` by interpolation, or `None` where it would not beat bisection.
fn interpolate(
    [a, b, c]: [f64; 3],
    [fa, fb, fc]: [f64; 3],
    half: f64,
    width: f64,
    step_before: f64,
) -> Option<f64> {
    // The step is `over / under`: Brent's p / q.
    let ratio = fb / fa;
    let (mut over, mut under) = if a == c {
        (2.0 * half * ratio, 1.0 - ratio)
    } else {
        let (old, best) = (fa / fc, fb / fc);
        (
            ratio * (2.0 * half * old * (old - best) - (b - a) * (best - 1.0)),
            (old - 1.0) * (best - 1.0) * (ratio - 1.0),
        )
    };
    if over > 0.0 {
        under = -under;
    } else {
        over = -over;
    }
    let longest = (3.0 * half * under - (width * under).abs()).min((step_before * under).abs());
    (2.0 * over < longest).then(|| over / under)
}
