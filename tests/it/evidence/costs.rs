//! Costs that depend on what was done before.
use super::assert_near;
use super::trees::{naming, test};
use hidden_ohm::evidence::{
    Choice, Depth, Exact, Planner, Problem, ProblemError, Remedy, Search, Test,
};

/// Two faults in the tank and one outside. Lowering the tank is shared work, as a test and a repair both need it.
fn tank() -> Problem {
    let lowering = 1;
    Problem {
        prior: vec![0.3, 0.3, 0.4],
        tests: vec![
            test(2.0, "001"),
            Test {
                needs: lowering,
                ..test(1.0, "012")
            },
        ],
        remedies: vec![
            Remedy {
                needs: lowering,
                loss: vec![20.0, 520.0, 520.0],
            },
            Remedy {
                needs: lowering,
                loss: vec![510.0, 10.0, 510.0],
            },
            Remedy {
                needs: 0,
                loss: vec![505.0, 505.0, 5.0],
            },
        ],
        works: vec![60.0],
        modes: Vec::new(),
    }
}

#[test]
fn access_is_paid_once_and_serves_test_and_repair() {
    let problem = tank();
    problem.check().expect("a sound problem");
    let start = problem.start();
    assert_near(problem.cost(&start, 1), 61.0, 1e-12, "inside test, tank up");
    let after = problem.after(&start, 1);
    assert_near(
        problem.cost(&after[0], 1),
        1.0,
        1e-12,
        "inside test, tank down",
    );
    // By hand: outside test 2; with 0.4 repair 5; with 0.6 lower the tank once (60), test 1, repair 20 or 10.
    let expected = 2.0 + 0.4 * 5.0 + 0.6 * (60.0 + 1.0) + 0.3 * 20.0 + 0.3 * 10.0;
    let (value, choice) = Exact::new(&problem).value(&start);
    assert_near(value, expected, 1e-9, "optimum");
    assert_eq!(choice, Choice::Test(0), "outside first");
    let mut planner = Planner::new(&problem, u64::MAX);
    assert_near(
        planner.value(Depth::Twice, &start),
        expected,
        1e-9,
        "rollout of rollout",
    );
    assert!(Search::new(&problem, &start).run(u64::MAX).closed);
}

#[test]
fn changing_the_state_of_the_vehicle_is_paid_each_time() {
    // Two tests with the key on, one with it off, 3 to turn it either way; best to do those with the key on together.
    let mut problem = naming(&[0.25; 4], &[(1.0, "0011"), (1.0, "0101"), (1.0, "0110")]);
    problem.modes = vec![vec![0.0, 3.0], vec![3.0, 0.0]];
    problem.tests[0].mode = Some(1);
    problem.tests[1].mode = Some(0);
    problem.tests[2].mode = Some(1);
    problem.check().expect("a sound problem");
    let start = problem.start();
    // Off first, then on: 1 + 3 + 1. On twice: 3 + 1 + 1. Both 5; on, off would be 3 + 1 + 3 + 1.
    assert_near(Exact::new(&problem).value(&start).0, 5.0, 1e-9, "optimum");
    let on = problem.after(&start, 0)[0];
    assert_eq!(on.mode, 1);
    assert_near(problem.cost(&on, 1), 4.0, 1e-12, "back to off");
    assert_near(problem.cost(&on, 2), 1.0, 1e-12, "already on");
}

#[test]
fn trying_a_part_can_be_a_test_and_the_part_then_is_paid() {
    // Fit a part for 40 and see (5); or stop with it for 40. A wrong part brings the vehicle back for 200.
    let fitted = 1;
    let problem = Problem {
        prior: vec![0.8, 0.2],
        tests: vec![Test {
            needs: fitted,
            ..test(5.0, "01")
        }],
        remedies: vec![
            Remedy {
                needs: fitted,
                loss: vec![0.0, 200.0],
            },
            Remedy {
                needs: 0,
                loss: vec![250.0, 50.0],
            },
        ],
        works: vec![40.0],
        modes: Vec::new(),
    };
    let (value, choice) = Exact::new(&problem).value(&problem.start());
    // Fit and see: 45, then nothing more with 0.8, the other repair (50) with 0.2. Fit blindly: 40 + 0.2 * 200 = 80.
    assert_near(value, 45.0 + 0.2 * 50.0, 1e-9, "fit and see");
    assert_eq!(choice, Choice::Test(0));
}

#[test]
fn a_problem_that_does_not_fit_together_says_where() {
    let mut short = tank();
    short.tests[1].outcomes.pop();
    assert_eq!(
        short.check(),
        Err(ProblemError::Length {
            what: "test",
            index: 1,
            found: 2,
            expected: 3
        })
    );
    let mut strange = tank();
    strange.remedies[2].needs = 4;
    assert_eq!(
        strange.check(),
        Err(ProblemError::Needs {
            what: "remedy",
            index: 2
        })
    );
    let mut negative = tank();
    negative.works[0] = -1.0;
    assert_eq!(
        negative.check(),
        Err(ProblemError::Value {
            what: "cost of work",
            index: 0
        })
    );
    let mut wide = tank();
    wide.tests[0].outcomes[0] = 16;
    assert_eq!(wide.check(), Err(ProblemError::Outcomes(0)));
    assert_eq!(Problem::default().check(), Err(ProblemError::Empty));
}

#[test]
fn a_limit_on_work_still_gives_a_policy_that_can_be_followed() {
    let problem = tank();
    let start = problem.start();
    let free = Planner::new(&problem, u64::MAX).value(Depth::Twice, &start);
    let mut cut = Planner::new(&problem, 1);
    let value = cut.value(Depth::Twice, &start);
    let greedy = Planner::new(&problem, u64::MAX).value(Depth::Greedy, &start);
    assert!(cut.is_cut_short());
    assert!(
        free <= value + 1e-9 && value <= greedy + 1e-9,
        "{free} <= {value} <= {greedy}"
    );
}
