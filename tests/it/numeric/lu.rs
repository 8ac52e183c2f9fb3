use hidden_ohm::numeric::{Lu, LuError};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

fn solve(rows: &[&[f64]], rhs: &[f64]) -> Result<Vec<f64>, LuError> {
    let mut lu = Lu::default();
    lu.begin(rows.len()).copy_from_slice(&rows.concat());
    lu.factor()?;
    let mut x = rhs.to_vec();
    lu.solve(&mut x);
    Ok(x)
}

/// The system that introduces Gaussian elimination in most courses, worked by hand: (2, 3, -1).
#[test]
fn a_hand_worked_system_comes_out() {
    let x = solve(
        &[&[2.0, 1.0, -1.0], &[-3.0, -1.0, 2.0], &[-2.0, 1.0, 2.0]],
        &[8.0, -11.0, -3.0],
    )
    .unwrap();
    for (got, wanted) in x.iter().zip([2.0, 3.0, -1.0]) {
        assert!((got - wanted).abs() < 1e-14, "{x:?}");
    }
}

/// Forsythe and Moler, Computer Solution of Linear Algebraic Systems: without an exchange of rows a
/// tiny pivot destroys the first unknown; both are 1 to within 1e-20 (example from memory).
#[test]
fn a_tiny_pivot_is_exchanged_away() {
    assert_eq!(
        solve(&[&[1e-20, 1.0], &[1.0, 1.0]], &[1.0, 2.0]),
        Ok(vec![1.0, 1.0])
    );
    assert_eq!(
        solve(&[&[0.0, 1.0], &[1.0, 0.0]], &[5.0, 7.0]),
        Ok(vec![7.0, 5.0])
    );
}

#[test]
fn singular_systems_name_the_row_as_given() {
    // The third row is twice the second less the first; 7 is the largest entry of column 0.
    let rows: [&[f64]; 3] = [&[1.0, 2.0, 3.0], &[4.0, 5.0, 6.0], &[7.0, 8.0, 9.0]];
    let error = solve(&rows, &[0.0; 3]).unwrap_err();
    assert!(
        matches!(
            error,
            LuError::Singular {
                row: 1,
                column: 2,
                ..
            }
        ),
        "{error}"
    );
    let error = solve(&[&[1.0, 0.0], &[0.0, 0.0]], &[0.0; 2]).unwrap_err();
    assert_eq!(
        error,
        LuError::Singular {
            row: 1,
            column: 1,
            pivot: 0.0
        }
    );
}

#[test]
fn entries_that_are_no_numbers_are_found() {
    for value in [f64::NAN, f64::INFINITY] {
        let error = solve(&[&[1.0, 0.0], &[value, 1.0]], &[0.0; 2]).unwrap_err();
        assert!(matches!(
            error,
            LuError::NotFinite {
                row: 1,
                column: 0,
                ..
            }
        ));
    }
}

#[test]
fn an_empty_system_has_an_empty_solution() {
    assert_eq!(solve(&[], &[]), Ok(vec![]));
}

#[test]
fn one_workspace_serves_systems_of_any_size_and_many_right_hand_sides() {
    let mut lu = Lu::default();
    for size in [7, 2, 5] {
        let entries = lu.begin(size);
        for row in 0..size {
            for column in 0..size {
                entries[row * size + column] = if row == column { 4.0 } else { 1.0 };
            }
        }
        lu.factor().unwrap();
        for wanted in [1.0, -3.0] {
            let mut x = vec![wanted * (size as f64 + 3.0); size];
            lu.solve(&mut x);
            assert!(x.iter().all(|v| (v - wanted).abs() < 1e-14), "{x:?}");
        }
    }
}

fn system() -> impl Strategy<Value = (usize, Vec<f64>, Vec<f64>)> {
    let entry = prop_oneof![1 => Just(0.0), 2 => -1.0..1.0];
    (1_usize..14).prop_flat_map(move |n| {
        let entries = prop::collection::vec(entry.clone(), n * n);
        (Just(n), entries, prop::collection::vec(-1.0..1.0, n))
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 500, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default()
    })]

    /// Backward stability (Wilkinson): the residual is small against the matrix times the solution,
    /// however badly the system is conditioned.
    #[test]
    fn residuals_are_small((n, entries, rhs) in system()) {
        let mut lu = Lu::default();
        lu.begin(n).copy_from_slice(&entries);
        if lu.factor().is_ok() {
            let mut x = rhs.clone();
            lu.solve(&mut x);
            let largest = x.iter().fold(1.0_f64, |m, v| m.max(v.abs()));
            for (row, b) in entries.chunks(n).zip(&rhs) {
                let residual: f64 = row.iter().zip(&x).map(|(a, v)| a * v).sum::<f64>() - b;
                prop_assert!(residual.abs() <= 1e-13 * n as f64 * largest, "{residual} of {largest}");
            }
        }
    }
}
