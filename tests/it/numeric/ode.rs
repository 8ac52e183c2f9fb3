use std::ops::ControlFlow;

use hidden_ohm::numeric::{DormandPrince, OdeError, rk4};

fn with(relative: f64) -> DormandPrince {
    DormandPrince {
        relative,
        absolute: relative,
        ..DormandPrince::default()
    }
}

/// A problem with its answer: slope, start, end, solution at the end, and the work it takes at 1e-8.
struct Problem {
    name: &'static str,
    f: fn(f64, &[f64; 1]) -> [f64; 1],
    start: f64,
    answer: f64,
    steps: u32,
    rejected: u32,
}

/// Class A of the non-stiff test set by Hull, Enright, Fellen and Sedgwick (SIAM Journal on Numerical
/// Analysis 9, 1972), from t = 0 to 20, with their closed solutions.
const CLASS_A: [Problem; 4] = [
    Problem {
        name: "A1: y' = -y, y = exp(-20)",
        f: |_, y| [-y[0]],
        start: 1.0,
        answer: 2.061_153_622_438_558e-9,
        steps: 59,
        rejected: 0,
    },
    Problem {
        name: "A2: y' = -y^3/2, y = 1/sqrt(21)",
        f: |_, y| [-0.5 * y[0] * y[0] * y[0]],
        start: 1.0,
        answer: 0.218_217_890_235_992_4,
        steps: 33,
        rejected: 0,
    },
    Problem {
        name: "A3: y' = y cos t, y = exp(sin 20)",
        f: |t, y| [y[0] * libm::cos(t)],
        start: 1.0,
        answer: 2.491_650_271_850_414,
        steps: 144,
        rejected: 29,
    },
    Problem {
        name: "A4: y' = y/4 (1 - y/20), y = 20/(1 + 19 exp(-5))",
        f: |_, y| [0.25 * y[0] * (1.0 - y[0] / 20.0)],
        start: 1.0,
        answer: 17.730_166_481_314_84,
        steps: 32,
        rejected: 3,
    },
];

#[test]
fn the_standard_test_set_is_solved_with_known_work() {
    for p in CLASS_A {
        let run = with(1e-8).solve(p.f, 0.0, [p.start], 20.0).unwrap();
        let off = (run.y[0] - p.answer).abs();
        assert!(off < 1e-7 * (1.0 + p.answer), "{}: {off}", p.name);
        assert_eq!(
            (run.steps, run.rejected),
            (p.steps, p.rejected),
            "{}: work changed",
            p.name
        );
        // Six evaluations a step, and two to begin with.
        assert_eq!(run.evaluations, 6 * (run.steps + run.rejected) + 2);
    }
}

/// The restricted three-body orbit of Arenstorf, which closes after one period; constants from
/// Hairer, Norsett and Wanner, Solving Ordinary Differential Equations I, section II.0.
#[test]
fn a_satellite_orbit_closes() {
    const MOON: f64 = 0.012_277_471;
    const PERIOD: f64 = 17.065_216_560_157_96;
    let f = |_: f64, y: &[f64; 4]| {
        let earth = 1.0 - MOON;
        let cube = |x: f64| {
            let square = x * x + y[1] * y[1];
            square * square.sqrt()
        };
        let (d1, d2) = (cube(y[0] + MOON), cube(y[0] - earth));
        [
            y[2],
            y[3],
            y[0] + 2.0 * y[3] - earth * (y[0] + MOON) / d1 - MOON * (y[0] - earth) / d2,
            y[1] - 2.0 * y[2] - earth * y[1] / d1 - MOON * y[1] / d2,
        ]
    };
    let start = [0.994, 0.0, 0.0, -2.001_585_106_379_082_4];
    let run = with(1e-12).solve(f, 0.0, start, PERIOD).unwrap();
    for (end, begin) in run.y.iter().zip(start).take(2) {
        assert!((end - begin).abs() < 1e-6, "{run:?}");
    }
    assert!(
        run.rejected > 0,
        "a close passage of the moon must shorten the step"
    );
}

/// y'' = -y from (1, 0): cosine and minus sine, here after ten turns.
#[test]
fn the_circle_test_shows_fourth_order() {
    let circle = |_: f64, y: &[f64; 2]| [y[1], -y[0]];
    let ten_turns = 20.0 * std::f64::consts::PI;
    let error = |steps| {
        let run = rk4(circle, 0.0, [1.0, 0.0], ten_turns, steps).unwrap();
        assert_eq!(
            (run.steps, run.evaluations, run.t),
            (steps, 4 * steps, ten_turns)
        );
        (run.y[0] - 1.0).abs().max(run.y[1].abs())
    };
    let ratio = error(1000) / error(2000);
    assert!(
        (15.0..17.0).contains(&ratio),
        "{ratio}: halving the step should divide the error by 16"
    );
}

/// Hairer, Norsett and Wanner, II.6: the continuous solution is of fourth order inside a step.
#[test]
fn the_solution_inside_a_step_is_as_good_as_at_its_end() {
    let mut worst = 0.0_f64;
    let mut covered = 0.0;
    let run = with(1e-10).integrate(
        |t, _: &[f64; 1]| [libm::cos(t)],
        0.0,
        [0.0],
        10.0,
        |step| {
            assert_eq!((step.at(step.t0), step.at(step.t1)), (step.y0, step.y1));
            for tenth in 0..=10 {
                let t = step.t0 + (step.t1 - step.t0) * f64::from(tenth) / 10.0;
                worst = worst.max((step.at(t)[0] - libm::sin(t)).abs());
            }
            covered += step.t1 - step.t0;
            ControlFlow::Continue(())
        },
    );
    assert_eq!(run.unwrap().t, 10.0);
    assert!((covered - 10.0).abs() < 1e-12);
    assert!(worst < 1e-8, "{worst}");
}

#[test]
fn an_observer_may_end_the_run() {
    let run = with(1e-6).integrate(
        |_, y: &[f64; 1]| [-y[0]],
        0.0,
        [1.0],
        10.0,
        |step| {
            if step.y1[0] < 0.5 {
                ControlFlow::Break(())
            } else {
                ControlFlow::Continue(())
            }
        },
    );
    let run = run.unwrap();
    assert!(run.t > std::f64::consts::LN_2 && run.t < 10.0 && run.y[0] < 0.5);
}

#[test]
fn time_may_run_backwards() {
    let run = with(1e-10)
        .solve(|_, y: &[f64; 1]| [y[0]], 1.0, [1.0], 0.0)
        .unwrap();
    assert!((run.y[0] - libm::exp(-1.0)).abs() < 1e-9);
}

#[test]
fn a_blow_up_is_an_error_with_its_time() {
    // y' = y^2 from 1 is 1/(1 - t).
    let error = with(1e-6)
        .solve(|_, y: &[f64; 1]| [y[0] * y[0]], 0.0, [1.0], 2.0)
        .unwrap_err();
    let t = match error {
        OdeError::NotFinite { t, .. } | OdeError::StepTooSmall { t, .. } => t,
        other => panic!("{other}"),
    };
    assert!((t - 1.0).abs() < 1e-3, "{error}");
    let error = rk4(|_, y: &[f64; 1]| [y[0] * y[0]], 0.0, [1.0], 2.0, 100).unwrap_err();
    assert!(matches!(error, OdeError::NotFinite { .. }));
}

#[test]
fn bad_questions_are_refused() {
    let slope = |_: f64, _: &[f64; 1]| [f64::NAN];
    let error = with(1e-6).solve(slope, 0.0, [0.0], 1.0).unwrap_err();
    assert!(
        matches!(error, OdeError::NotFinite { t: 0.0, steps: 0 }),
        "{error}"
    );
    let error = with(1e-6).solve(slope, 0.0, [0.0], f64::NAN).unwrap_err();
    assert!(matches!(error, OdeError::Interval { .. }));
    let few = DormandPrince {
        max_steps: 3,
        ..with(1e-10)
    };
    let error = few
        .solve(|t, _: &[f64; 1]| [libm::cos(t)], 0.0, [0.0], 100.0)
        .unwrap_err();
    assert!(
        matches!(error, OdeError::TooManySteps { steps: 3, .. }),
        "{error}"
    );
}
