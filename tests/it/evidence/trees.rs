//! Test sequencing without noise: optima, greedy, Huffman.
use super::assert_near;
use hidden_ohm::evidence::logs::entropy;
use hidden_ohm::evidence::service::{Try, best_order, expected_cost};
use hidden_ohm::evidence::{
    Choice, Depth, Exact, Planner, Problem, Remedy, Search, Test, bound, code,
};

/// Each hypothesis has a remedy of its own and no other will do.
pub fn naming(prior: &[f64], tests: &[(f64, &str)]) -> Problem {
    let only = |right: usize| {
        let loss = (0..prior.len()).map(|h| if h == right { 0.0 } else { f64::INFINITY });
        Remedy {
            needs: 0,
            loss: loss.collect(),
        }
    };
    let problem = Problem {
        prior: prior.to_vec(),
        tests: tests
            .iter()
            .map(|&(cost, column)| test(cost, column))
            .collect(),
        remedies: (0..prior.len()).map(only).collect(),
        works: Vec::new(),
        modes: Vec::new(),
    };
    problem.check().expect("a sound problem");
    problem
}

/// Outcomes of one test as digits, a digit for each hypothesis.
pub fn test(cost: f64, column: &str) -> Test {
    Test {
        cost,
        needs: 0,
        mode: None,
        outcomes: column.bytes().map(|digit| digit - b'0').collect(),
    }
}

/// Five states and five tests; rows 00000 01001 00110 10011 11110, here by column.
const COLUMNS: [&str; 5] = ["00011", "01001", "00101", "00111", "01010"];
const STATES: [f64; 5] = [0.70, 0.01, 0.02, 0.10, 0.17];

fn five_by_five(costs: [f64; 5]) -> Problem {
    let tests: Vec<(f64, &str)> = costs.into_iter().zip(COLUMNS).collect();
    naming(&STATES, &tests)
}

#[test]
fn five_states_and_five_tests_have_their_known_optimum() {
    // Derived: exact recursion by a separate program.
    for (costs, best, root, greedy) in [
        ([1.0, 1.0, 1.0, 1.0, 1.0], 2.11, 2, 2.12),
        ([1.0, 2.0, 3.0, 4.0, 5.0], 5.15, 0, 5.15),
        ([5.0, 4.0, 3.0, 2.0, 1.0], 3.76, 3, 3.76),
        ([2.0, 1.0, 1.0, 3.0, 1.0], 2.11, 2, 2.11),
    ] {
        let problem = five_by_five(costs);
        let start = problem.start();
        let mut exact = Exact::new(&problem);
        let (value, choice) = exact.value(&start);
        assert_near(value, best, 1e-9, "optimum");
        assert_eq!(choice, Choice::Test(root), "first test at costs {costs:?}");
        assert_eq!(exact.states(), 19, "consistent sets");
        let mut planner = Planner::new(&problem, u64::MAX);
        assert_near(planner.value(Depth::Greedy, &start), greedy, 1e-9, "greedy");
        assert_near(
            planner.value(Depth::Twice, &start),
            best,
            1e-9,
            "rollout of rollout",
        );
        let interval = Search::new(&problem, &start).run(u64::MAX);
        assert!(interval.closed);
        assert_near(interval.upper, best, 1e-9, "search");
        assert!(bound::best(&problem, &start) <= best + 1e-9);
    }
    let mut planner_choice = Planner::new(&five_by_five([1.0; 5]), u64::MAX)
        .choice(Depth::Greedy, &five_by_five([1.0; 5]).start());
    assert_eq!(
        planner_choice,
        Choice::Test(3),
        "greedy takes the fourth test first"
    );
    planner_choice = Planner::new(&five_by_five([1.0; 5]), u64::MAX)
        .choice(Depth::Rollout, &five_by_five([1.0; 5]).start());
    assert_eq!(
        planner_choice,
        Choice::Test(2),
        "one step of looking ahead finds the better first test"
    );
}

#[test]
fn huffman_and_entropy_bound_the_five_by_five_problem_from_below() {
    // Derived.
    assert_near(code::huffman(&STATES, 2), 1.46, 1e-12, "Huffman");
    assert_near(entropy(&STATES), 1.306_297, 1e-6, "entropy");
    let problem = five_by_five([1.0; 5]);
    assert_near(
        bound::naming(&problem, &problem.start()),
        1.46,
        1e-9,
        "at unit costs",
    );
    // Costs 1 to 5 and 1.46 questions: the cheapest whole, 0.46 of the next.
    assert_near(
        code::cost_of(1.46, &[5.0, 4.0, 3.0, 2.0, 1.0]),
        1.0 + 0.46 * 2.0,
        1e-12,
        "cheapest first",
    );
}

#[test]
fn huffman_codes_have_their_textbook_lengths() {
    // Cover and Thomas, Elements of Information Theory, ch. 5 (textbook): 2.3 bits, ternary 1.5.
    let five = [0.25, 0.25, 0.2, 0.15, 0.15];
    assert_near(code::huffman(&five, 2), 2.3, 1e-12, "binary");
    assert_near(code::huffman(&five, 3), 1.5, 1e-12, "ternary");
    assert_near(entropy(&five), 2.285_475, 1e-6, "entropy");
    // Cormen, Leiserson, Rivest and Stein, Introduction to Algorithms, ch. 16 (textbook): 224 thousand bits.
    assert_near(
        code::huffman(&[45.0, 13.0, 12.0, 16.0, 9.0, 5.0], 2),
        224.0,
        1e-12,
        "six letters",
    );
    assert_eq!(code::huffman(&[1.0], 2), 0.0);
}

#[test]
fn eight_objects_and_three_bit_tests_have_total_path_length_24() {
    // Garey and Johnson, problem MS15; value published in a public test suite.
    let problem = naming(
        &[1.0; 8],
        &[(1.0, "00001111"), (1.0, "00110011"), (1.0, "01010101")],
    );
    assert_near(
        Exact::new(&problem).value(&problem.start()).0,
        24.0,
        1e-9,
        "total path length",
    );
}

#[test]
fn greedy_falls_into_its_traps_and_looking_ahead_does_not() {
    // Derived; weights are masses here, values totals.
    for (weights, columns, best, greedy) in [
        (
            [6.0, 1.0, 9.0, 6.0, 1.0],
            ["10100", "11011", "00110", "01100"],
            47.0,
            53.0,
        ),
        (
            [4.0, 1.0, 1.0, 5.0, 1.0],
            ["00011", "00111", "01011", "01001"],
            26.0,
            29.0,
        ),
    ] {
        let tests: Vec<(f64, &str)> = columns.into_iter().map(|column| (1.0, column)).collect();
        let problem = naming(&weights, &tests);
        let start = problem.start();
        let mut planner = Planner::new(&problem, u64::MAX);
        assert_near(planner.value(Depth::Greedy, &start), greedy, 1e-9, "greedy");
        assert_near(Exact::new(&problem).value(&start).0, best, 1e-9, "optimum");
        assert_near(planner.value(Depth::Rollout, &start), best, 1e-9, "rollout");
    }
}

#[test]
fn parts_are_tried_by_probability_for_cost() {
    // Rule of Kadane and Simon (1975), Heckerman and others (1995); numbers derived.
    let tries: Vec<Try> = [(0.5, 10.0), (0.3, 2.0), (0.2, 1.0)]
        .into_iter()
        .map(|(probability, observe)| Try {
            probability,
            observe,
            repair: 0.0,
        })
        .collect();
    let order = best_order(&tries);
    assert_eq!(order, [2, 1, 0]);
    assert_near(expected_cost(&tries, &order), 7.6, 1e-12, "best order");
    let mut all: Vec<f64> = permutations(3)
        .iter()
        .map(|order| expected_cost(&tries, order))
        .collect();
    all.sort_by(f64::total_cmp);
    for (found, expected) in all.iter().zip([7.6, 7.7, 9.2, 9.6, 11.1, 11.2]) {
        assert_near(*found, expected, 1e-12, "another order");
    }
    assert_near(
        expected_cost(&tries, &[0, 1, 2]),
        11.2,
        1e-12,
        "likeliest first is the worst of all",
    );
}

/// All orders of `n` things.
pub fn permutations(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return vec![Vec::new()];
    }
    let shorter = permutations(n - 1);
    let insert = |order: &Vec<usize>, place: usize| {
        let mut longer = order.clone();
        longer.insert(place, n - 1);
        longer
    };
    shorter
        .iter()
        .flat_map(|order| (0..n).map(move |place| insert(order, place)))
        .collect()
}
