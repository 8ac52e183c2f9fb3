//! Time-stepping of ordinary differential equations `dy/dt = f(t, y)` for small state vectors.

use std::ops::ControlFlow;

use thiserror::Error;

/// One step of the classical fourth-order Runge-Kutta method.
#[must_use]
pub fn rk4_step<const N: usize>(
    mut f: impl FnMut(f64, &[f64; N]) -> [f64; N],
    t: f64,
    y: &[f64; N],
    h: f64,
) -> [f64; N] {
    let half = 0.5 * h;
    let k1 = f(t, y);
    let k2 = f(t + half, &advanced(y, half, &[(1.0, &k1)]));
    let k3 = f(t + half, &advanced(y, half, &[(1.0, &k2)]));
    let k4 = f(t + h, &advanced(y, h, &[(1.0, &k3)]));
    advanced(
        y,
        h / 6.0,
        &[(1.0, &k1), (2.0, &k2), (2.0, &k3), (1.0, &k4)],
    )
}

/// Goes from `t0` to `t1` in `steps` equal classical Runge-Kutta steps.
///
/// # Errors
/// [`OdeError::NotFinite`] when the state becomes infinite or not a number;
/// [`OdeError::Interval`] when an end is not finite.
pub fn rk4<const N: usize>(
    mut f: impl FnMut(f64, &[f64; N]) -> [f64; N],
    t0: f64,
    y0: [f64; N],
    t1: f64,
    steps: u32,
) -> Result<OdeRun<N>, OdeError> {
    check_interval(t0, t1)?;
    let h = (t1 - t0) / f64::from(steps.max(1));
    let mut run = OdeRun {
        t: t0,
        y: y0,
        steps: 0,
        rejected: 0,
        evaluations: 0,
    };
    while run.steps < steps.max(1) {
        let next = rk4_step(&mut f, run.t, &run.y, h);
        run.evaluations += 4;
        if !next.iter().all(|v| v.is_finite()) {
            return Err(OdeError::NotFinite {
                t: run.t,
                steps: run.steps,
            });
        }
        run.steps += 1;
        run.t = t0 + h * f64::from(run.steps);
        run.y = next;
    }
    run.t = t1;
    Ok(run)
}

/// `y + h * (sum of weight * slope)`.
fn advanced<const N: usize>(y: &[f64; N], h: f64, terms: &[(f64, &[f64; N])]) -> [f64; N] {
    std::array::from_fn(|i| y[i] + h * weighted(terms, i))
}

fn weighted<const N: usize>(terms: &[(f64, &[f64; N])], i: usize) -> f64 {
    terms.iter().map(|(weight, slope)| weight * slope[i]).sum()
}

fn check_interval(t0: f64, t1: f64) -> Result<(), OdeError> {
    if t0.is_finite() && t1.is_finite() {
        Ok(())
    } else {
        Err(OdeError::Interval { t0, t1 })
    }
}

/// Where an integration ended and what it took.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OdeRun<const N: usize> {
    /// Time reached.
    pub t: f64,
    /// State there.
    pub y: [f64; N],
    /// Accepted steps.
    pub steps: u32,
    /// Steps repeated because their error was too large.
    pub rejected: u32,
    /// Evaluations of the right-hand side.
    pub evaluations: u32,
}

/// Why an integration stopped short.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum OdeError {
    /// An end of the interval is not finite.
    #[error("no interval: {t0} to {t1}")]
    Interval {
        /// Start as given.
        t0: f64,
        /// End as given.
        t1: f64,
    },
    /// The state or its slope became infinite or not a number.
    #[error("the solution is not finite after t = {t} ({steps} steps)")]
    NotFinite {
        /// Last time with a finite state.
        t: f64,
        /// Steps accepted until then.
        steps: u32,
    },
    /// The step needed is too small to move the time.
    #[error(
        "step {step:e} at t = {t} is too small after {steps} steps (error {error} of what is allowed)"
    )]
    StepTooSmall {
        /// Time reached.
        t: f64,
        /// The step that was tried.
        step: f64,
        /// Steps accepted until then.
        steps: u32,
        /// Its error as a multiple of the tolerance.
        error: f64,
    },
    /// The steps ran out.
    #[error("{steps} steps were not enough: t = {t}, last error {error} of what is allowed")]
    TooManySteps {
        /// Time reached.
        t: f64,
        /// Steps taken, rejected ones included.
        steps: u32,
        /// Error of the last step as a multiple of the tolerance.
        error: f64,
    },
}

/// The Dormand-Prince 5(4) pair with error control and dense output.
///
/// J. R. Dormand and P. J. Prince, "A family of embedded Runge-Kutta formulae", Journal of
/// Computational and Applied Mathematics 6 (1980); dense output and step control after Hairer,
/// Norsett and Wanner, *Solving Ordinary Differential Equations I*, sections II.4 to II.6.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DormandPrince {
    /// Relative error allowed in a step.
    pub relative: f64,
    /// Absolute error allowed in a step, in the unit of the state.
    pub absolute: f64,
    /// First step; zero or less lets the method choose.
    pub first_step: f64,
    /// Longest step.
    pub longest_step: f64,
    /// Steps allowed, rejected ones included.
    pub max_steps: u32,
}

impl Default for DormandPrince {
    fn default() -> Self {
        Self {
            relative: 1e-6,
            absolute: 1e-9,
            first_step: 0.0,
            longest_step: f64::INFINITY,
            max_steps: 100_000,
        }
    }
}

/// An accepted step, with the solution anywhere inside it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DormandPrinceStep<const N: usize> {
    /// Time at its start.
    pub t0: f64,
    /// Time at its end.
    pub t1: f64,
    /// State at its start.
    pub y0: [f64; N],
    /// State at its end.
    pub y1: [f64; N],
    dense: [[f64; N]; 3],
}

impl<const N: usize> DormandPrinceStep<N> {
    /// State at time `t` within the step, to fourth order.
    #[must_use]
    pub fn at(&self, t: f64) -> [f64; N] {
        let s = (t - self.t0) / (self.t1 - self.t0);
        let r = 1.0 - s;
        std::array::from_fn(|i| {
            let [c3, c4, c5] = [self.dense[0][i], self.dense[1][i], self.dense[2][i]];
            self.y0[i] + s * (self.y1[i] - self.y0[i] + r * (c3 + s * (c4 + r * c5)))
        })
    }
}

/// Slopes of the seven stages; the last is the first of the next step.
struct Stages<const N: usize> {
    k: [[f64; N]; 7],
    next: [f64; N],
}

impl DormandPrince {
    /// Smallest and largest change of step, and the safety factor on it.
    const SHRINK: f64 = 0.2;
    const GROW: f64 = 5.0;
    const SAFETY: f64 = 0.9;

    /// Integrates from `t0` to `t1` (either direction) and shows every accepted step to `observe`,
    /// which may end the run early by `ControlFlow::Break`.
    ///
    /// # Errors
    /// See [`OdeError`].
    pub fn integrate<const N: usize>(
        &self,
        mut f: impl FnMut(f64, &[f64; N]) -> [f64; N],
        t0: f64,
        y0: [f64; N],
        t1: f64,
        mut observe: impl FnMut(&DormandPrinceStep<N>) -> ControlFlow<()>,
    ) -> Result<OdeRun<N>, OdeError> {
        check_interval(t0, t1)?;
        let mut run = OdeRun {
            t: t0,
            y: y0,
            steps: 0,
            rejected: 0,
            evaluations: 1,
        };
        if t0 == t1 {
            return Ok(run);
        }
        let mut slope = f(t0, &y0);
        let mut h = self.first(t0, &y0, &slope, t1, &mut f, &mut run.evaluations);
        let mut grow = Self::GROW;
        loop {
            let left = t1 - run.t;
            let last = h.abs() >= left.abs();
            if last {
                h = left;
            }
            let stages = stages(&mut f, run.t, &run.y, &slope, h);
            run.evaluations += 6;
            let error = self.error(&run.y, &stages, h);
            let finite = error.is_finite() && stages.next.iter().all(|v| v.is_finite());
            if finite && error <= 1.0 {
                let step = DormandPrinceStep {
                    t0: run.t,
                    t1: if last { t1 } else { run.t + h },
                    y0: run.y,
                    y1: stages.next,
                    dense: dense(&run.y, &stages, h),
                };
                (run.t, run.y, slope) = (step.t1, step.y1, stages.k[6]);
                run.steps += 1;
                if observe(&step).is_break() || last {
                    return Ok(run);
                }
                h *= scale(error, grow);
                grow = Self::GROW;
            } else {
                run.rejected += 1;
                // After a rejection the step may not grow at once.
                grow = 1.0;
                h *= if finite {
                    scale(error, 1.0)
                } else {
                    Self::SHRINK
                };
            }
            h = h.clamp(-self.longest_step, self.longest_step);
            if run.steps + run.rejected >= self.max_steps {
                return Err(OdeError::TooManySteps {
                    t: run.t,
                    steps: self.max_steps,
                    error,
                });
            }
            if run.t + 0.1 * h == run.t {
                let OdeRun { t, steps, .. } = run;
                let stuck = OdeError::StepTooSmall {
                    t,
                    step: h,
                    steps,
                    error,
                };
                return Err(if finite {
                    stuck
                } else {
                    OdeError::NotFinite { t, steps }
                });
            }
        }
    }

    /// Integrates from `t0` to `t1` without looking at the steps between.
    ///
    /// # Errors
    /// See [`OdeError`].
    pub fn solve<const N: usize>(
        &self,
        f: impl FnMut(f64, &[f64; N]) -> [f64; N],
        t0: f64,
        y0: [f64; N],
        t1: f64,
    ) -> Result<OdeRun<N>, OdeError> {
        self.integrate(f, t0, y0, t1, |_| ControlFlow::Continue(()))
    }

    /// Root mean square of `value` against the tolerance at `scale`.
    fn norm<const N: usize>(&self, value: &[f64; N], scale: impl Fn(usize) -> f64) -> f64 {
        let sum: f64 = (0..N)
            .map(|i| {
                let part = value[i] / (self.absolute + self.relative * scale(i));
                part * part
            })
            .sum();
        (sum / N.max(1) as f64).sqrt()
    }

    fn error<const N: usize>(&self, y: &[f64; N], stages: &Stages<N>, h: f64) -> f64 {
        let k = &stages.k;
        let terms: [(f64, &[f64; N]); 6] = [
            (ERROR[0], &k[0]),
            (ERROR[1], &k[2]),
            (ERROR[2], &k[3]),
            (ERROR[3], &k[4]),
            (ERROR[4], &k[5]),
            (ERROR[5], &k[6]),
        ];
        let difference: [f64; N] = std::array::from_fn(|i| h * weighted(&terms, i));
        self.norm(&difference, |i| y[i].abs().max(stages.next[i].abs()))
    }

    /// First step after Hairer, Norsett and Wanner, section II.4.
    fn first<const N: usize>(
        &self,
        t0: f64,
        y0: &[f64; N],
        slope: &[f64; N],
        t1: f64,
        f: &mut impl FnMut(f64, &[f64; N]) -> [f64; N],
        evaluations: &mut u32,
    ) -> f64 {
        let longest = (t1 - t0).abs().min(self.longest_step);
        let length = if self.first_step > 0.0 {
            self.first_step
        } else {
            let (d0, d1) = (
                self.norm(y0, |i| y0[i].abs()),
                self.norm(slope, |i| y0[i].abs()),
            );
            let guess = if d0 < 1e-5 || d1 < 1e-5 {
                1e-6
            } else {
                0.01 * d0 / d1
            }
            .min(longest);
            let trial = guess.copysign(t1 - t0);
            let after = f(t0 + trial, &advanced(y0, trial, &[(1.0, slope)]));
            *evaluations += 1;
            let bend: [f64; N] = std::array::from_fn(|i| after[i] - slope[i]);
            let d2 = self.norm(&bend, |i| y0[i].abs()) / guess;
            let steepest = d1.max(d2);
            let by_order = if steepest <= 1e-15 {
                (guess * 1e-3).max(1e-6)
            } else {
                libm::pow(0.01 / steepest, 0.2)
            };
            by_order.min(100.0 * guess)
        };
        length.min(longest).copysign(t1 - t0)
    }
}

fn scale(error: f64, grow: f64) -> f64 {
    if error == 0.0 {
        grow
    } else {
        (DormandPrince::SAFETY * libm::pow(error, -0.2)).clamp(DormandPrince::SHRINK, grow)
    }
}

/// Difference of the fifth- and fourth-order weights; the second stage has none.
const ERROR: [f64; 6] = [
    71.0 / 57_600.0,
    -71.0 / 16_695.0,
    71.0 / 1_920.0,
    -17_253.0 / 339_200.0,
    22.0 / 525.0,
    -1.0 / 40.0,
];

fn stages<const N: usize>(
    f: &mut impl FnMut(f64, &[f64; N]) -> [f64; N],
    t: f64,
    y: &[f64; N],
    k1: &[f64; N],
    h: f64,
) -> Stages<N> {
    let k2 = f(t + h / 5.0, &advanced(y, h, &[(1.0 / 5.0, k1)]));
    let k3 = f(
        t + h * 3.0 / 10.0,
        &advanced(y, h, &[(3.0 / 40.0, k1), (9.0 / 40.0, &k2)]),
    );
    let k4 = f(
        t + h * 4.0 / 5.0,
        &advanced(
            y,
            h,
            &[(44.0 / 45.0, k1), (-56.0 / 15.0, &k2), (32.0 / 9.0, &k3)],
        ),
    );
    let k5 = f(
        t + h * 8.0 / 9.0,
        &advanced(
            y,
            h,
            &[
                (19_372.0 / 6_561.0, k1),
                (-25_360.0 / 2_187.0, &k2),
                (64_448.0 / 6_561.0, &k3),
                (-212.0 / 729.0, &k4),
            ],
        ),
    );
    let k6 = f(
        t + h,
        &advanced(
            y,
            h,
            &[
                (9_017.0 / 3_168.0, k1),
                (-355.0 / 33.0, &k2),
                (46_732.0 / 5_247.0, &k3),
                (49.0 / 176.0, &k4),
                (-5_103.0 / 18_656.0, &k5),
            ],
        ),
    );
    let next = advanced(
        y,
        h,
        &[
            (35.0 / 384.0, k1),
            (500.0 / 1_113.0, &k3),
            (125.0 / 192.0, &k4),
            (-2_187.0 / 6_784.0, &k5),
            (11.0 / 84.0, &k6),
        ],
    );
    let k7 = f(t + h, &next);
    Stages {
        k: [*k1, k2, k3, k4, k5, k6, k7],
        next,
    }
}

fn dense<const N: usize>(y: &[f64; N], stages: &Stages<N>, h: f64) -> [[f64; N]; 3] {
    const D: [f64; 6] = [
        -12_715_105_075.0 / 11_282_082_432.0,
        87_487_479_700.0 / 32_700_410_799.0,
        -10_690_763_975.0 / 1_880_347_072.0,
        701_980_252_875.0 / 199_316_789_632.0,
        -1_453_857_185.0 / 822_651_844.0,
        69_997_945.0 / 29_380_423.0,
    ];
    let k = &stages.k;
    let c3: [f64; N] = std::array::from_fn(|i| h * k[0][i] - (stages.next[i] - y[i]));
    let c4 = std::array::from_fn(|i| stages.next[i] - y[i] - h * k[6][i] - c3[i]);
    let terms: [(f64, &[f64; N]); 6] = [
        (D[0], &k[0]),
        (D[1], &k[2]),
        (D[2], &k[3]),
        (D[3], &k[4]),
        (D[4], &k[5]),
        (D[5], &k[6]),
    ];
    let c5 = std::array::from_fn(|i| h * weighted(&terms, i));
    [c3, c4, c5]
}
