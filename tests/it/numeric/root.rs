use hidden_ohm::numeric::{Root, RootError, RootTolerance, bracketed_root};

/// A function with its derivative, a bracket, the root, and the evaluations each method takes.
struct Problem {
    name: &'static str,
    f: fn(f64) -> f64,
    bracket: (f64, f64),
    root: f64,
    brent: u32,
}

const PROBLEMS: [Problem; 6] = [
    Problem {
        name: "x^3 - 2x - 5, Wallis's example for Newton's method (1685): 2.0945514815...",
        f: |x| x * x * x - 2.0 * x - 5.0,
        bracket: (2.0, 3.0),
        root: 2.094_551_481_542_326_5,
        brent: 8,
    },
    Problem {
        name: "cos x = x, the Dottie number: 0.7390851332...",
        f: |x| libm::cos(x) - x,
        bracket: (0.0, 1.0),
        root: 0.739_085_133_215_160_6,
        brent: 9,
    },
    Problem {
        name: "x e^x = 1, the omega constant: 0.5671432904...",
        f: |x| x * libm::exp(x) - 1.0,
        bracket: (-1.0, 1.0),
        root: 0.567_143_290_409_783_8,
        brent: 10,
    },
    Problem {
        name: "(x + 3)(x - 1)^2 on (-4, 4/3), the usual example of Brent's method: -3",
        f: |x| (x + 3.0) * (x - 1.0) * (x - 1.0),
        bracket: (-4.0, 4.0 / 3.0),
        root: -3.0,
        brent: 13,
    },
    Problem {
        name: "x^9 on (-1, 1.1): flat at its root, the worst of Brent's own kind",
        f: |x| libm::pow(x, 9.0),
        bracket: (-1.0, 1.1),
        root: 0.0,
        brent: 143,
    },
    Problem {
        name: "atan x on (-2, 5): steep in the middle, flat at the ends",
        f: libm::atan,
        bracket: (-2.0, 5.0),
        root: 0.0,
        brent: 10,
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
    }
}

#[test]
fn a_root_at_either_end_is_found_at_once() {
    let tolerance = RootTolerance::default();
    for (lo, hi) in [(0.0, 1.0), (-1.0, 0.0), (0.0, 0.0)] {
        let found = bracketed_root(|x| x, lo, hi, &tolerance).unwrap();
        assert_eq!((found.x, found.evaluations), (0.0, 2));
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
}
