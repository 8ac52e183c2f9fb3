//! Tests that may err: the fixture with four hypotheses, three tests and 30 for a wrong repair. All derived.
use super::assert_near;
use hidden_ohm::evidence::{
    Evaluation, Exact, Noisy, NoisyChoice, NoisyPolicy, NoisyTest, bound, information,
    realised_bits,
};

const WRONG: f64 = 30.0;

/// Outcomes 0011, 0101, 0001; each test lies with its own chance.
pub fn fixture(errors: [f64; 3]) -> Noisy {
    let columns = ["0011", "0101", "0001"];
    let test = |index: usize| {
        let q = errors[index];
        let row = |digit| {
            if digit == b'0' {
                vec![1.0 - q, q]
            } else {
                vec![q, 1.0 - q]
            }
        };
        NoisyTest {
            cost: [2.0, 3.0, 1.0][index],
            likelihood: columns[index].bytes().map(row).collect(),
        }
    };
    Noisy {
        prior: vec![0.4, 0.3, 0.2, 0.1],
        tests: (0..3).map(test).collect(),
        loss: (0..4)
            .map(|a| (0..4).map(|h| if a == h { 0.0 } else { WRONG }).collect())
            .collect(),
    }
}

/// Bound 2 on the price grid the numbers were worked out on.
fn information_bound(noisy: &Noisy) -> f64 {
    let excess: Vec<Vec<f64>> = (0..4)
        .map(|h| (0..4).map(|a| noisy.loss[a][h]).collect())
        .collect();
    let tests: Vec<(f64, f64)> = noisy
        .tests
        .iter()
        .map(|test| (test.cost, information::capacity(&test.likelihood)))
        .collect();
    let prices = (1..3000).map(|hundredths| f64::from(hundredths) / 100.0);
    prices
        .map(|price| bound::information(&noisy.prior, &excess, &tests, price))
        .fold(0.0, f64::max)
}

#[test]
fn best_greedy_and_rollout_cost_what_they_should() {
    for (errors, best, greedy, rollout, lower, bits) in [
        (
            [0.0; 3],
            4.4,
            4.9,
            4.4,
            2.692_615,
            [0.881_291, 0.970_951, 0.468_996],
        ),
        (
            [0.05; 3],
            7.285,
            7.285,
            7.285,
            4.633_499,
            [0.617_985, 0.690_104, 0.297_842],
        ),
        (
            [0.05, 0.1, 0.2],
            9.13,
            9.13,
            9.13,
            7.234_916,
            [0.617_985, 0.512_458, 0.104_818],
        ),
    ] {
        let noisy = fixture(errors);
        let mut evaluation = Evaluation::new(&noisy);
        let start = evaluation.start();
        assert_near(
            evaluation.value(&NoisyPolicy::Best, &start),
            best,
            1e-9,
            "best",
        );
        assert_near(
            evaluation.value(&NoisyPolicy::Greedy, &start),
            greedy,
            1e-9,
            "greedy",
        );
        assert_near(
            evaluation.value(&NoisyPolicy::Rollout, &start),
            rollout,
            1e-9,
            "rollout",
        );
        assert_near(information_bound(&noisy), lower, 1e-6, "information bound");
        for (test, expected) in bits.into_iter().enumerate() {
            assert_near(
                evaluation.bits(&start, test),
                expected,
                1e-6,
                "bits at the start",
            );
        }
        // Bound 5: knowing for certain what a test can tell never costs more.
        let certain = noisy.without_noise();
        let relaxed = Exact::new(&certain).value(&certain.start()).0;
        assert!(
            relaxed <= best + 1e-9,
            "{relaxed} is no lower bound of {best}"
        );
        assert_near(relaxed, 4.4, 1e-9, "without noise");
    }
}

#[test]
fn each_first_choice_has_its_price() {
    let noisy = fixture([0.05; 3]);
    let mut evaluation = Evaluation::new(&noisy);
    let start = evaluation.start();
    let stop = evaluation.stop(&start);
    assert_eq!(stop.0, 0);
    assert_near(stop.1, 18.0, 1e-12, "stopping at once");
    for (test, expected) in [7.285, 7.456_25, 7.877_125].into_iter().enumerate() {
        let q = evaluation.q(&NoisyPolicy::Best, &start, NoisyChoice::Test(test));
        assert_near(q, expected, 1e-9, "a test first");
        assert_near(
            evaluation.worth(&start, test),
            18.0 - expected,
            1e-9,
            "its worth",
        );
    }
}

#[test]
fn realised_bits_add_up_to_what_was_learned() {
    let noisy = fixture([0.05; 3]);
    let evaluation = Evaluation::new(&noisy);
    let mut history = evaluation.start();
    let truth = 2;
    let mut before = noisy.prior[truth];
    let mut total = 0.0;
    for (test, outcome, expected) in [(0, 1, 1.569_856), (1, 0, 0.568_447), (2, 0, 0.032_022)] {
        history[test] = Some(outcome);
        let after = evaluation.posterior(&history)[truth];
        let bits = realised_bits(before, after);
        assert_near(bits, expected, 1e-6, "bits of a step");
        total += bits;
        before = after;
    }
    assert_near(before, 0.900_249, 1e-6, "belief at the end");
    assert_near(total, 2.170_325, 1e-6, "sum of bits");
    assert_near(
        total,
        realised_bits(noisy.prior[truth], before),
        1e-12,
        "telescoped",
    );
}

#[test]
fn regrets_add_up_to_what_a_policy_costs_more_than_the_reference() {
    // Kakade and Langford 2002 (published identity); numbers derived.
    for (errors, cost, more) in [([0.05; 3], 7.925, 0.64), ([0.05, 0.1, 0.2], 9.35, 0.22)] {
        let noisy = fixture(errors);
        let mut evaluation = Evaluation::new(&noisy);
        let fixed = NoisyPolicy::Fixed(vec![0, 1]);
        let advantage = evaluation.advantage(&fixed, &NoisyPolicy::Best);
        assert_near(advantage.cost, cost, 1e-9, "policy T1, T2, stop");
        assert_near(
            advantage.cost - advantage.reference,
            more,
            1e-9,
            "more than the reference",
        );
        assert_near(advantage.regrets, more, 1e-9, "sum of regrets");
        // The identity holds for any reference, also one that is not the best.
        for reference in [
            NoisyPolicy::Greedy,
            NoisyPolicy::Rollout,
            NoisyPolicy::Fixed(vec![2]),
        ] {
            let other = evaluation.advantage(&fixed, &reference);
            assert_near(
                other.regrets,
                other.cost - other.reference,
                1e-9,
                "any reference",
            );
        }
    }
}

#[test]
fn two_tests_that_only_tell_something_together_are_worth_it_together() {
    // Two fair bits, the repair is their parity: alone each test costs 1 and tells nothing, together they save 15.
    let column = |bits: [usize; 4]| {
        bits.iter()
            .map(|&b| {
                if b == 0 {
                    vec![1.0, 0.0]
                } else {
                    vec![0.0, 1.0]
                }
            })
            .collect()
    };
    let parity = [0, 1, 1, 0];
    let noisy = Noisy {
        prior: vec![0.25; 4],
        tests: vec![
            NoisyTest {
                cost: 1.0,
                likelihood: column([0, 0, 1, 1]),
            },
            NoisyTest {
                cost: 1.0,
                likelihood: column([0, 1, 0, 1]),
            },
        ],
        loss: (0..2)
            .map(|a| {
                parity
                    .iter()
                    .map(|&class| if class == a { 0.0 } else { WRONG })
                    .collect()
            })
            .collect(),
    };
    let mut evaluation = Evaluation::new(&noisy);
    let start = evaluation.start();
    for test in 0..2 {
        assert_near(
            evaluation.one_step_worth(&start, test),
            -1.0,
            1e-12,
            "one step",
        );
        assert_near(evaluation.worth(&start, test), 13.0, 1e-12, "two steps");
    }
    // Greedy goes by bits about the hypothesis and so finds both as well.
    assert_near(
        evaluation.value(&NoisyPolicy::Greedy, &start),
        2.0,
        1e-12,
        "greedy",
    );
}
