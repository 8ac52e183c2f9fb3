//! What must hold for every problem.
use super::trees::permutations;
use hidden_ohm::evidence::information::{expected_bits, expected_class_bits};
use hidden_ohm::evidence::service::{Try, best_order, expected_cost};
use hidden_ohm::evidence::{
    Choice, Depth, Evaluation, Exact, Noisy, NoisyPolicy, NoisyTest, Planner, Problem, Remedy,
    Search, State, Test, bound,
};
use proptest::prelude::{Just, Strategy, prop, prop_assert, proptest};

/// Up to eight hypotheses, six tests with up to three outcomes, four remedies, shared work, two states of the vehicle.
fn problems() -> impl Strategy<Value = Problem> {
    (2_usize..=8, 1_usize..=6, 2_usize..=4).prop_flat_map(|(hypotheses, tests, remedies)| {
        let one_test = (
            0.2_f64..5.0,
            0_u128..8,
            prop::option::of(0_u8..2),
            prop::collection::vec(0_u8..3, hypotheses),
        )
            .prop_map(|(cost, needs, mode, outcomes)| Test {
                cost,
                needs,
                mode,
                outcomes,
            });
        let one_remedy = (
            0_u128..8,
            prop::collection::vec(prop::sample::select(vec![0.0, 4.0, 15.0, 40.0]), hypotheses),
        )
            .prop_map(|(needs, loss)| Remedy { needs, loss });
        (
            prop::collection::vec(0.02_f64..1.0, hypotheses),
            prop::collection::vec(one_test, tests),
            prop::collection::vec(one_remedy, remedies),
            prop::collection::vec(0.0_f64..6.0, 3),
            0.0_f64..2.0,
        )
            .prop_map(|(prior, tests, remedies, works, turn)| Problem {
                prior,
                tests,
                remedies,
                works,
                modes: vec![vec![0.0, turn], vec![turn, 0.0]],
            })
    })
}

/// Follows a policy to its ends and adds up what it pays.
fn followed(planner: &mut Planner, depth: Depth, state: &State) -> f64 {
    let problem = planner.problem();
    match planner.choice(depth, state) {
        Choice::Stop(remedy) => state
            .left
            .iter()
            .map(|h| problem.prior[h] * problem.loss(remedy, h, state.done))
            .sum(),
        Choice::Test(test) => {
            let own = problem.cost(state, test) * problem.mass(&state.left);
            own + problem
                .after(state, test)
                .iter()
                .map(|next| followed(planner, depth, next))
                .sum::<f64>()
        }
    }
}

proptest! {
    #[test]
    fn bounds_optimum_and_policies_stand_in_order(problem in problems()) {
        problem.check().expect("a sound problem");
        let start = problem.start();
        let best = Exact::new(&problem).value(&start).0;
        let near = 1e-9 * best.max(1.0);
        let floor = problem.floor(&start);
        for (name, lower) in [
            ("pairs", bound::pairs(&problem, &start)),
            ("information", bound::best_information(&problem, &start)),
            ("class information", bound::class_information(&problem, &start)),
            ("certificate", bound::certificate(&problem, &start)),
            ("ambiguity", bound::ambiguity(&problem, &start)),
        ] {
            prop_assert!(floor + lower <= best + near, "{} {} above {}", name, floor + lower, best);
        }
        let mut planner = Planner::new(&problem, u64::MAX);
        let [greedy, rollout, twice] =
            [Depth::Greedy, Depth::Rollout, Depth::Twice].map(|depth| planner.value(depth, &start));
        prop_assert!(best <= twice + near && twice <= rollout + near && rollout <= greedy + near);
        prop_assert!(greedy <= problem.stop(&start).1 + near);
        for depth in [Depth::Greedy, Depth::Rollout, Depth::Twice] {
            let value = planner.value(depth, &start);
            prop_assert!((followed(&mut planner, depth, &start) - value).abs() <= near, "value is that of the policy");
        }
    }

    #[test]
    fn the_search_closes_on_the_optimum_from_both_sides(problem in problems(), limit in 0_u64..6) {
        let start = problem.start();
        let best = Exact::new(&problem).value(&start).0;
        let near = 1e-9 * best.max(1.0);
        let mut search = Search::new(&problem, &start);
        let early = search.run(limit);
        prop_assert!(early.lower <= best + near && best <= early.upper + near);
        let end = search.run(100_000);
        prop_assert!(end.closed);
        prop_assert!((end.upper - best).abs() <= near, "{} instead of {}", end.upper, best);
        prop_assert!(end.lower >= early.lower - near && end.upper <= early.upper + near);
    }

    #[test]
    fn a_limit_on_work_keeps_the_order(problem in problems(), limit in 0_u64..30) {
        let start = problem.start();
        let mut cut = Planner::new(&problem, limit);
        let twice = cut.value(Depth::Twice, &start);
        let greedy = Planner::new(&problem, u64::MAX).value(Depth::Greedy, &start);
        let near = 1e-9 * greedy.max(1.0);
        prop_assert!(twice <= greedy + near);
        prop_assert!((followed(&mut cut, Depth::Twice, &start) - twice).abs() <= near);
    }

    #[test]
    fn no_order_beats_probability_for_cost(
        tries in prop::collection::vec((0.01_f64..1.0, 0.0_f64..10.0, 0.0_f64..50.0), 1..7)
    ) {
        let whole: f64 = tries.iter().map(|t| t.0).sum();
        let tries: Vec<Try> = tries
            .into_iter()
            .map(|(p, observe, repair)| Try { probability: p / whole, observe, repair })
            .collect();
        let sorted = expected_cost(&tries, &best_order(&tries));
        for order in permutations(tries.len()) {
            prop_assert!(sorted <= expected_cost(&tries, &order) + 1e-9);
        }
    }

    #[test]
    fn knowing_the_repair_never_takes_more_bits_than_knowing_the_fault(
        (prior, classes, rows) in (2_usize..7, 2_usize..5).prop_flat_map(|(hypotheses, outcomes)| (
            prop::collection::vec(0.05_f64..1.0, hypotheses),
            prop::collection::vec(0_usize..3, hypotheses),
            prop::collection::vec(prop::collection::vec(0.01_f64..1.0, outcomes), hypotheses),
        ))
    ) {
        let one = |v: &Vec<f64>| -> Vec<f64> { let sum: f64 = v.iter().sum(); v.iter().map(|x| x / sum).collect() };
        let prior = one(&prior);
        let rows: Vec<Vec<f64>> = rows.iter().map(one).collect();
        let (fault, repair) = (expected_bits(&prior, &rows), expected_class_bits(&prior, &classes, &rows));
        prop_assert!(repair >= 0.0 && repair <= fault + 1e-12);
    }

    #[test]
    fn noise_never_helps_and_rollout_never_hurts(
        (noisy, order) in (2_usize..5, 1_usize..4).prop_flat_map(|(hypotheses, tests)| {
            let one = (0.2_f64..4.0, prop::collection::vec(0.02_f64..0.98, hypotheses))
                .prop_map(|(cost, yes)| NoisyTest { cost, likelihood: yes.iter().map(|&p| vec![1.0 - p, p]).collect() });
            (
                prop::collection::vec(0.05_f64..1.0, hypotheses),
                prop::collection::vec(one, tests),
                Just((0..tests).collect::<Vec<usize>>()),
            )
                .prop_map(move |(prior, tests, order)| {
                    let whole: f64 = prior.iter().sum();
                    let loss = (0..hypotheses).map(|a| (0..hypotheses).map(|h| if a == h { 0.0 } else { 20.0 }).collect());
                    let prior = prior.iter().map(|p| p / whole).collect();
                    (Noisy { prior, tests, loss: loss.collect() }, order)
                })
        })
    ) {
        let mut evaluation = Evaluation::new(&noisy);
        let start = evaluation.start();
        let [best, greedy, rollout] = [NoisyPolicy::Best, NoisyPolicy::Greedy, NoisyPolicy::Rollout]
            .map(|policy| evaluation.value(&policy, &start));
        prop_assert!(best <= rollout + 1e-9 && rollout <= greedy + 1e-9);
        let certain = noisy.without_noise();
        prop_assert!(Exact::new(&certain).value(&certain.start()).0 <= best + 1e-9);
        let fixed = NoisyPolicy::Fixed(order);
        let advantage = evaluation.advantage(&fixed, &NoisyPolicy::Greedy);
        prop_assert!((advantage.regrets - (advantage.cost - advantage.reference)).abs() <= 1e-9);
    }
}

#[test]
fn planning_is_the_same_in_every_run() {
    let problem = Problem {
        prior: vec![0.3, 0.2, 0.2, 0.3],
        tests: vec![
            Test {
                cost: 1.0,
                needs: 0,
                mode: None,
                outcomes: vec![0, 0, 1, 1],
            },
            Test {
                cost: 1.0,
                needs: 0,
                mode: None,
                outcomes: vec![0, 1, 0, 1],
            },
        ],
        remedies: (0..4)
            .map(|a| Remedy {
                needs: 0,
                loss: (0..4).map(|h| if a == h { 0.0 } else { 9.0 }).collect(),
            })
            .collect(),
        works: Vec::new(),
        modes: Vec::new(),
    };
    let start = problem.start();
    let run = || {
        let mut planner = Planner::new(&problem, u64::MAX);
        (
            planner.value(Depth::Twice, &start).to_bits(),
            planner.choice(Depth::Twice, &start),
            planner.work(),
        )
    };
    let first = run();
    assert_eq!(first, run());
    assert_eq!(first.1, Choice::Test(0), "ties go to the lowest index");
    assert_eq!(first.2, 25, "states valued, over all depths");
}
