use hidden_ohm::numeric::Lu;
use hidden_ohm::numeric::laplacian::{Factor, LaplacianError, Pattern};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

type Edge = (u32, u32, f64);

/// Solves by elimination of the graph; the right-hand side and the answer are by vertex.
fn solve(
    vertices: usize,
    edges: &[Edge],
    slack: &[f64],
    rhs: &[f64],
) -> Result<Vec<f64>, LaplacianError> {
    let ends: Vec<(u32, u32)> = edges.iter().map(|&(a, b, _)| (a, b)).collect();
    let pattern = Pattern::new(vertices, &ends);
    let mut factor = Factor::default();
    factor.clear(&pattern);
    for &(a, b, weight) in edges.iter().filter(|(a, b, _)| a != b) {
        factor.add(pattern.edge_slot(a, b).expect("an edge given"), weight);
    }
    let at = |vertex: usize| pattern.position(u32::try_from(vertex).unwrap());
    let mut moved = vec![0.0; vertices];
    for vertex in 0..vertices {
        factor.add(
            pattern.slack_slot(u32::try_from(vertex).unwrap()),
            slack[vertex],
        );
        moved[at(vertex)] = rhs[vertex];
    }
    factor.factor(&pattern)?;
    factor.solve(&pattern, &mut moved);
    Ok((0..vertices).map(|vertex| moved[at(vertex)]).collect())
}

fn filled(vertices: u32, edges: &[(u32, u32)]) -> usize {
    Pattern::new(vertices as usize, edges).filled_edges()
}

#[test]
fn trees_fill_in_nothing_and_a_ring_one_chord_a_step() {
    let path: Vec<(u32, u32)> = (0..99).map(|v| (v, v + 1)).collect();
    assert_eq!(filled(100, &path), 99);
    let star: Vec<(u32, u32)> = (1..100).map(|v| (0, v)).collect();
    assert_eq!(filled(100, &star), 99);
    // A ring of n has n edges and its elimination n - 3 chords (a triangulated polygon).
    let ring: Vec<(u32, u32)> = (0..100).map(|v| (v, (v + 1) % 100)).collect();
    assert_eq!(filled(100, &ring), 197);
    assert_eq!(filled(3, &[(0, 0), (0, 1), (1, 0)]), 1);
}

#[test]
fn a_series_chain_adds_up() {
    // Weights 2 and 2 in series with slack 1, on paper: 1/2 + 1/2 + 1 = 2 at the far end for a unit driven in.
    let x = solve(
        3,
        &[(0, 1, 2.0), (1, 2, 2.0)],
        &[1.0, 0.0, 0.0],
        &[0.0, 0.0, 1.0],
    )
    .unwrap();
    assert_eq!(x, [1.0, 1.5, 2.0]);
}

/// Twenty-four decades in one chain, which a subtracting elimination loses altogether
/// (1e6 + 1e-18 is 1e6): all digits of the far end are still there.
#[test]
fn any_spread_of_weights_keeps_all_digits() {
    let edges = [(0, 1, 1e6), (1, 2, 1e-6), (2, 3, 1e6)];
    let x = solve(4, &edges, &[1e-18, 0.0, 0.0, 0.0], &[0.0, 0.0, 0.0, 1.0]).unwrap();
    // Inverse weights add up along the chain.
    for (value, wanted) in x
        .iter()
        .zip([1e18, 1e18 + 1e-6, 1e18 + 1e6, 1e18 + 1e6 + 1e-6])
    {
        assert!(
            (value / wanted - 1.0).abs() < 1e-15,
            "{value} against {wanted}"
        );
    }
}

#[test]
fn a_part_without_slack_is_refused() {
    let error = solve(3, &[(1, 2, 5.0)], &[1.0, 0.0, 0.0], &[0.0; 3]).unwrap_err();
    let LaplacianError::Ungrounded { total, .. } = error;
    assert_eq!(total, 0.0);
    assert!(solve(1, &[], &[f64::NAN], &[0.0]).is_err());
}

fn graph() -> impl Strategy<Value = (usize, Vec<Edge>, Vec<f64>, Vec<f64>)> {
    (1_u32..30).prop_flat_map(|n| {
        let size = n as usize;
        let edge = (0..n, 0..n, 0.01..10.0_f64);
        (
            Just(size),
            prop::collection::vec(edge, 0..60),
            prop::collection::vec(0.01..1.0_f64, size),
            prop::collection::vec(-1.0..1.0_f64, size),
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 300, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default()
    })]

    #[test]
    fn dense_elimination_agrees((n, edges, slack, rhs) in graph()) {
        let ours = solve(n, &edges, &slack, &rhs).unwrap();
        let mut lu = Lu::default();
        let matrix = lu.begin(n);
        for &(a, b, weight) in &edges {
            let (a, b) = (a as usize, b as usize);
            matrix[a * n + a] += weight;
            matrix[b * n + b] += weight;
            matrix[a * n + b] -= weight;
            matrix[b * n + a] -= weight;
        }
        for v in 0..n {
            matrix[v * n + v] += slack[v];
        }
        lu.factor().unwrap();
        let mut dense = rhs;
        lu.solve(&mut dense);
        for (ours, dense) in ours.iter().zip(&dense) {
            prop_assert!((ours - dense).abs() < 1e-10, "{ours} against {dense}");
        }
    }
}
