//! Regret, redundancy, justified stops.
use super::assert_near;
use super::noisy::fixture;
use hidden_ohm::evidence::decision::{
    Conclusion, LIMITS, counted_regret, efficiency, is_justified, is_redundant,
};
use hidden_ohm::evidence::{Evaluation, NoisyChoice, NoisyPolicy};

#[test]
fn small_regret_is_forgiven_and_large_counts_above_the_deadband() {
    assert_eq!(counted_regret(100.9, 100.0, &LIMITS), 0.0);
    assert_near(
        counted_regret(105.0, 100.0, &LIMITS),
        3.0,
        1e-12,
        "5 too much, 2 % of 100 forgiven",
    );
    assert_near(
        counted_regret(12.5, 10.0, &LIMITS),
        1.5,
        1e-12,
        "2.5 too much, one unit forgiven",
    );
    assert_eq!(
        counted_regret(90.0, 100.0, &LIMITS),
        0.0,
        "beating the reference is no debt"
    );
}

#[test]
fn efficiency_falls_as_tabulated() {
    // Derived.
    for (share, expected) in [(0.0, 1.0), (0.1, 0.905), (0.5, 0.607), (1.0, 0.368)] {
        assert_near(
            efficiency(share * 80.0, 80.0, 1.0),
            expected,
            5e-4,
            "efficiency",
        );
    }
}

#[test]
fn a_test_is_redundant_only_if_it_tells_nothing_and_is_worth_nothing() {
    assert!(is_redundant(0.001, -1.0, &LIMITS));
    assert!(
        !is_redundant(0.001, 13.0, &LIMITS),
        "tells something together with another"
    );
    assert!(
        !is_redundant(0.3, -1.0, &LIMITS),
        "tells something, if too dear"
    );
}

#[test]
fn stopping_is_justified_only_when_no_test_is_worth_its_cost() {
    let noisy = fixture([0.05; 3]);
    let mut evaluation = Evaluation::new(&noisy);
    let mut history = evaluation.start();
    let judge = |evaluation: &mut Evaluation, history: &Vec<Option<usize>>| {
        let (action, stop) = evaluation.stop(history);
        let mass: f64 = {
            let q: f64 = evaluation.value(&NoisyPolicy::Best, history);
            assert!(q <= stop + 1e-12);
            stop
        };
        let open: Vec<usize> = (0..3).filter(|&test| history[test].is_none()).collect();
        let best = open
            .into_iter()
            .map(|test| evaluation.q(&NoisyPolicy::Best, history, NoisyChoice::Test(test)))
            .fold(f64::INFINITY, f64::min);
        is_justified(mass, best, evaluation.posterior(history)[action], &LIMITS)
    };
    assert!(!judge(&mut evaluation, &history), "stopping at once");
    history[0] = Some(1);
    history[1] = Some(0);
    assert!(
        !judge(&mut evaluation, &history),
        "90 % are not reached before the third test"
    );
    history[2] = Some(0);
    assert!(judge(&mut evaluation, &history), "all done, 90 % sure");
}

#[test]
fn lucky_and_unlucky_stand_apart() {
    assert_eq!(Conclusion::of(true, true), Conclusion::Earned);
    assert_eq!(Conclusion::of(true, false), Conclusion::Lucky);
    assert_eq!(Conclusion::of(false, true), Conclusion::Unlucky);
    assert_eq!(Conclusion::of(false, false), Conclusion::Unfounded);
}
