//! What the certificate says of known vehicles.

use hidden_ohm::certify::{Certificate, certificate};
use hidden_ohm::scenario::{Library, Scenario, generate, written};
use hidden_ohm::seed::ScenarioCode;

fn certified(scenario: Scenario) -> Certificate {
    let (seed, conditions) = (scenario.seed(), scenario.conditions());
    certificate(&scenario.reveal(), seed, conditions).expect("the vehicle can be solved")
}

fn ground() -> Scenario {
    let library = Library::built_in().expect("the built-in files are right");
    written(&library, "ground", include_str!("../data/score/ground.toml")).unwrap_or_else(|wrong| panic!("{wrong:?}"))
}

#[test]
fn tmp() {
    let t = std::time::Instant::now();
    let c = certified(ground());
    eprintln!("{:?} {c:#?}", t.elapsed());
}
