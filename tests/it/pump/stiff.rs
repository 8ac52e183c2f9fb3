//! The stiff stepper against problems with known answers.

use hidden_ohm::numeric::Rodas3;

/// Goes from 0 to 1 in equal steps and returns the state.
fn run<const N: usize>(
    steps: u32,
    mut y: [f64; N],
    f: impl Fn(&[f64; N]) -> [f64; N],
    jacobian: impl Fn(&[f64; N]) -> [[f64; N]; N],
) -> [f64; N] {
    let mut stepper = Rodas3::default();
    for _ in 0..steps {
        y = stepper
            .step(&y, &f(&y), &jacobian(&y), 1.0 / f64::from(steps), &f)
            .expect("a regular step")
            .y;
    }
    y
}

/// Undamped pendulum y'' = -y (1 - y^2/6), against steps a hundred times shorter: halving the step
/// divides the error by eight.
#[test]
fn rodas3_is_of_third_order() {
    let f = |y: &[f64; 2]| [y[1], -y[0] * (1.0 - y[0] * y[0] / 6.0)];
    let jacobian = |y: &[f64; 2]| [[0.0, 1.0], [-1.0 + y[0] * y[0] / 2.0, 0.0]];
    let exact = run(8_000, [1.0, 0.5], f, jacobian);
    let error = |steps| (run(steps, [1.0, 0.5], f, jacobian)[0] - exact[0]).abs();
    for steps in [20, 40, 80] {
        let order = (error(steps) / error(2 * steps)).log2();
        assert!(
            (2.8..=3.3).contains(&order),
            "order {order} at {steps} steps"
        );
    }
}

/// y1' = -1e6 (y1 - y2), y2' = -y2: the fast part dies in the first step and stays dead.
#[test]
fn a_fast_mode_costs_no_accuracy() {
    let f = |y: &[f64; 2]| [-1e6 * (y[0] - y[1]), -y[1]];
    let jacobian = |_: &[f64; 2]| [[-1e6, 1e6], [0.0, -1.0]];
    let end = run(50, [5.0, 1.0], f, jacobian);
    for value in end {
        assert!((value - (-1.0_f64).exp()).abs() < 3e-6, "{end:?}");
    }
}

#[test]
fn a_singular_step_is_refused_and_not_answered() {
    let step = Rodas3::default().step(&[1.0], &[1.0], &[[2.0]], 1.0, |y| *y);
    assert_eq!(step, None);
}
