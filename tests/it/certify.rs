//! What the certificate says of known vehicles.

use hidden_ohm::certify::{Certificate, certificate};
use hidden_ohm::scenario::{Library, Scenario, generate, written};
use hidden_ohm::seed::ScenarioCode;

fn certified(scenario: Scenario) -> Certificate {
    let (seed, conditions) = (scenario.seed(), scenario.conditions());
    certificate(&scenario.reveal(), seed, conditions).expect("the vehicle can be solved")
}

fn library() -> Library {
    Library::built_in().expect("the built-in files are right")
}

fn scenario(text: &str) -> Scenario {
    written(&library(), "scenario", text).unwrap_or_else(|wrong| panic!("{wrong:?}"))
}

fn ground() -> Scenario {
    scenario(include_str!("../data/score/ground.toml"))
}

#[test]
fn a_bad_ground_is_told_from_every_other_repair_by_volts_on_either_side_of_it() {
    let certificate = certified(ground());
    assert_eq!(certificate.indistinguishable, []);
    let found: usize = certificate
        .separating
        .iter()
        .map(|test| test.separates)
        .sum();
    assert_eq!(found + certificate.same_repair, certificate.hypotheses);
    assert!(
        certificate.separating[0].test.starts_with("volts "),
        "{:?}",
        certificate.separating
    );
}

#[test]
fn the_same_ohms_in_the_next_joint_are_held_against_the_truth() {
    // Splice 2 stands in the middle of the feed: what is beyond it and what is before it look the same from the pump,
    // so that a point beside the splice is among the tests.
    let text = include_str!("../data/score/ground.toml")
        .replace("corroded-ground", "bad-splice")
        .replace("\"G4\"", "\"SP2\"");
    let certificate = certified(scenario(&text));
    let beside = |test: &str| test.starts_with("volts SP2.a ") || test.starts_with("volts SP2.b ");
    assert!(
        certificate.separating.len() > 1,
        "{:?}",
        certificate.separating
    );
    assert!(
        certificate.separating.iter().any(|test| beside(&test.test)),
        "{:?}",
        certificate.separating
    );
}

#[test]
fn the_complaint_shows_in_the_figures_of_the_road_test() {
    let worn = scenario(include_str!("../data/score/worn-pump.toml"));
    let complaint = certified(worn).complaint;
    assert!(complaint.healthy.starts);
    assert!(
        complaint.faulty.hill_kpa < 0.85 * complaint.healthy.hill_kpa,
        "{complaint:?}"
    );
}

#[test]
fn a_fault_too_mild_for_the_margins_cannot_be_told_from_nothing_wrong() {
    let text = include_str!("../data/score/ground.toml").replace("0.5 ohm", "1 mohm");
    let certificate = certified(scenario(&text));
    assert!(
        certificate
            .indistinguishable
            .iter()
            .any(|other| other.kind == "nothing wrong")
    );
}

#[test]
fn a_wider_choice_of_generated_vehicles_is_certified_alike_every_time() {
    let library = library();
    for seed in 0..3 {
        for level in [1, 5] {
            let code = ScenarioCode::new(1, 0, level, seed).expect("set and level fit");
            let [first, second] =
                [(); 2].map(|()| certified(generate(&library, code).expect("it can be drawn")));
            assert_eq!(first, second);
            assert!(first.hypotheses > 100);
        }
    }
}
