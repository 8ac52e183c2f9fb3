use hidden_ohm::numeric::{Root, RootError, RootTolerance, bracketed_root, newton_in_bracket};

/// A function with its derivative, a bracket, the root, and the evaluations each method takes.
struct Problem {
    name: &'static str,
    f: fn(f64) -> f64,
    slope: fn(f64) -> f64,
    bracket: (f64, f64),
    root: f64,
    brent: u32,
    newton: u32,
}

const PROBLEMS: [Problem; 6] = [
    Problem {
        name: "x^3 - 2x - 5, Wallis's example for Newton's method (1685): 2.0945514815...",
        f: |x| x * x * x - 2.0 * x - 5.0,
        slope: |x| 3.0 * x * x - 2.0,
        bracket: (2.0, 3.0),
        root: 2.094_551_481_542_326_5,
        brent: 8,
        newton: 9,
    },
    Problem {
        name: "cos x = x, the Dottie number: 0.7390851332...",
        f: |x| libm::cos(x) - x,
        slope: |x| -libm::sin(x) - 1.0,
        bracket: (0.0, 1.0),
        root: 0.739_085_133_215_160_6,
        brent: 9,
        newton: 7,
    },
    Problem {
        name: "x e^x = 1, the omega constant: 0.5671432904...",
        f: |x| x * libm::exp(x) - 1.0,
        slope: |x| (1.0 + x) * libm::exp(x),
        bracket: (-1.0, 1.0),
        root: 0.567_143_290_409_783_8,
        brent: 10,
        newton: 9,
    },
    Problem {
        name: "(x + 3)(x - 1)^2 on (-4, 4/3), the usual example of Brent's method: -3",
        f: |x| (x + 3.0) * (x - 1.0) * (x - 1.0),
        slope: |x| (x - 1.0) * (3.0 * x + 5.0),
        bracket: (-4.0, 4.0 / 3.0),
        root: -3.0,
        brent: 13,
        newton: 9,
    },
    Problem {
        name: "x^9 on (-1, 1.1): flat at its root, the worst of Brent's own kind",
        f: |x| libm::pow(x, 9.0),
        slope: |x| 9.0 * libm::pow(x, 8.0),
        bracket: (-1.0, 1.1),
        root: 0.0,
        brent: 143,
        newton: 104,
    },
    Problem {
        name: "atan x on (-2, 5): plain Newton diverges from either end",
        f: libm::atan,
        slope: |x| 1.0 / (1.0 + x * x),
        bracket: (-2.0, 5.0),
        root: 0.0,
        brent: 10,
        newton: 8,
    },
];

fn check(name: &str, found: Result<Root, RootError>, wanted: f64, evaluations: u32) {
    let found = found.unwrap_or_else(|e| panic!("{name}: {e}"));
    assert!(
        (found.x - wanted).abs() <= 2e-15 * (1.0 + wanted.abs()),
        "{name}: {found:?}"
    );
    assert_eq!(
        found.evaluations, evaluations,
        "{name}: more or less work than before"
    );
}

#[test]
fn classic_equations_are_solved_to_the_last_digit_with_known_work() {
    for p in PROBLEMS {
        let (lo, hi) = p.bracket;
        let tolerance = RootTolerance::default();
        check(
            p.name,
            bracketed_root(p.f, lo, hi, &tolerance),
            p.root,
            p.brent,
        );
        let both = |x| ((p.f)(x), (p.slope)(x));
        check(
            p.name,
            newton_in_bracket(both, lo, hi, hi, &tolerance),
            p.root,
            p.newton,
        );
    }
}

#[test]
fn a_root_at_either_end_is_found_at_once() {
    let tolerance = RootTolerance::default();
    for (lo, hi) in [(0.0, 1.0), (-1.0, 0.0), (0.0, 0.0)] {
        let found = bracketed_root(|x| x, lo, hi, &tolerance).unwrap();
        assert_eq!((found.x, found.evaluations), (0.0, 2));
        assert_eq!(
            newton_in_bracket(|x| (x, 1.0), lo, hi, 0.5, &tolerance),
            Ok(found)
        );
    }
}

#[test]
fn a_residual_that_is_good_enough_ends_the_search() {
    let tolerance = RootTolerance {
        residual: 1e-3,
        ..RootTolerance::default()
    };
    let rough = bracketed_root(|x| x * x - 2.0, 0.0, 2.0, &tolerance).unwrap();
    let fine = bracketed_root(|x| x * x - 2.0, 0.0, 2.0, &RootTolerance::default()).unwrap();
    assert!(rough.residual.abs() <= 1e-3 && rough.evaluations < fine.evaluations);
}

#[test]
fn one_sign_at_both_ends_is_no_bracket() {
    let error = bracketed_root(|x| x * x + 1.0, -1.0, 2.0, &RootTolerance::default());
    assert_eq!(
        error,
        Err(RootError::NotBracketed {
            lo: -1.0,
            hi: 2.0,
            f_lo: 2.0,
            f_hi: 5.0
        })
    );
    for (lo, hi) in [(1.0, 0.0), (f64::NAN, 1.0), (0.0, f64::INFINITY)] {
        let found = bracketed_root(|x| x, lo, hi, &RootTolerance::default());
        assert!(matches!(found, Err(RootError::Interval { .. })));
    }
}

#[test]
fn a_function_that_is_no_number_somewhere_says_where() {
    let holed = |x: f64| if x > 0.4 { f64::NAN } else { x - 0.5 };
    let tolerance = RootTolerance::default();
    let error = bracketed_root(holed, 0.0, 1.0, &tolerance).unwrap_err();
    assert!(
        matches!(
            error,
            RootError::NotFinite {
                x: 1.0,
                evaluations: 2,
                ..
            }
        ),
        "{error}"
    );
    let pole = |x: f64| 1.0 / x;
    let error = bracketed_root(pole, -1.0, 1.0, &tolerance).unwrap_err();
    assert!(
        matches!(error, RootError::NotFinite { x: 0.0, .. }),
        "{error}"
    );
    let error = newton_in_bracket(|x| (holed(x), 1.0), 0.0, 1.0, 0.5, &tolerance).unwrap_err();
    assert!(matches!(error, RootError::NotFinite { .. }), "{error}");
}

#[test]
fn running_out_of_evaluations_tells_how_far_it_came() {
    let tolerance = RootTolerance {
        max_evaluations: 4,
        ..RootTolerance::default()
    };
    let error = bracketed_root(|x| x * x - 2.0, 0.0, 2.0, &tolerance).unwrap_err();
    assert!(
        matches!(error, RootError::NotConverged { evaluations: 4, .. }),
        "{error}"
    );
    let newton = newton_in_bracket(|x| (x * x - 2.0, f64::NAN), 0.0, 2.0, 1.0, &tolerance);
    assert!(matches!(
        newton,
        Err(RootError::NotConverged { evaluations: 4, .. })
    ));
}

/// A derivative that is wrong, zero or no number costs time, never the root: bisection remains.
#[test]
fn newton_survives_a_useless_derivative() {
    for slope in [0.0, f64::NAN, -1.0, 1e300, 1e-300] {
        let root = newton_in_bracket(
            |x| (x * x - 2.0, slope),
            0.0,
            2.0,
            1.0,
            &RootTolerance::default(),
        );
        let root = root.unwrap_or_else(|e| panic!("slope {slope}: {e}"));
        assert!(
            (root.x - std::f64::consts::SQRT_2).abs() < 1e-15 * 4.0,
            "slope {slope}: {root:?}"
        );
    }
}
