//! What the certificate says of known vehicles, and what every code's must say.

use std::collections::BTreeSet;

use hidden_ohm::certify::{Certificate, Certifier, Tally, band, spearman};
use hidden_ohm::scenario::{Redraw, Scenario};
use hidden_ohm::seed::{ScenarioCode, VehicleSet};

use crate::floor::{certifier, code, library, read};

fn certified(scenario: Scenario) -> Certificate {
    certifier()
        .certificate(&scenario.reveal())
        .expect("the vehicle can be solved")
}

fn ground() -> &'static str {
    include_str!("../data/score/ground.toml")
}

#[test]
fn a_bad_ground_is_found_by_volts_and_its_certificate_holds() {
    let certificate = certified(read("ground.toml", ground()));
    assert!(certificate.holds, "{certificate:?}");
    assert!(certificate.wrong <= 0.02);
    let near = |test: &str| test.starts_with("volts G4") || test.starts_with("volts X7");
    assert!(
        certificate.sequence.iter().any(|step| near(&step.test)),
        "{:?}",
        certificate.sequence
    );
}

#[test]
fn the_same_ohms_in_the_next_joint_need_a_point_beside_it() {
    let text = ground()
        .replace("corroded-ground", "bad-splice")
        .replace("\"G4\"", "\"SP2\"");
    let certificate = certified(read("splice.toml", &text));
    assert!(certificate.holds, "{certificate:?}");
    let beside = |test: &str| test.starts_with("volts SP2.") || test.starts_with("volts X2.");
    assert!(
        certificate.sequence.iter().any(|step| beside(&step.test)),
        "{:?}",
        certificate.sequence
    );
}

#[test]
fn contacts_and_socket_of_a_relay_are_told_apart_by_a_swap_or_by_looking_in() {
    // No tip reaches between a relay's blade and its socket: volts at both are the same.
    for (kind, leg) in [("spread-socket", "87"), ("burnt-relay-contacts", "contact")] {
        let text = ground()
            .replace("corroded-ground", kind)
            .replace("part = \"G4\"", &format!("part = \"K1\"\nleg = \"{leg}\""));
        let certificate = certified(read("relay.toml", &text));
        let telling = |test: &str| test.contains("swapped") || test.starts_with("K1 opened");
        assert!(certificate.holds, "{kind}: {certificate:?}");
        assert!(
            certificate.sequence.iter().any(|step| telling(&step.test)),
            "{kind}: {:?}",
            certificate.sequence
        );
    }
}

#[test]
fn a_burnt_back_up_contact_behind_a_dead_relay_is_found_at_its_switch() {
    let text = r#"
format = 1
vehicle = "workshop-truck"
level = 5
seed = 7
customer = "It dies on the hill."

[conditions]
ambient = "8 C"
charge = "90 %"
fuel = "40 %"

[[fault]]
kind = "open-relay-coil"
part = "K2"

[[fault]]
kind = "poor-back-up-contact"
part = "OPS"
severity = "3 ohm"
"#;
    let certificate = certified(read("back-up.toml", text));
    assert!(certificate.holds, "{certificate:?}");
    let at_the_switch = "volts OPS.2 to B-, K2 unplugged, engine running";
    let steps = certificate.sequence.iter();
    assert!(
        steps.clone().any(|step| step.test == at_the_switch),
        "{:?}",
        certificate.sequence
    );
    let repairs: Vec<&str> = steps.filter_map(|step| step.repair.as_deref()).collect();
    assert_eq!(repairs.len(), 2, "{repairs:?}");
    assert!(repairs.contains(&"replace K2") && repairs.contains(&"replace OPS"));
}

#[test]
fn a_worn_pump_without_a_return_line_is_caught_from_the_feed() {
    let worn = include_str!("../data/score/worn-pump.toml")
        .replace("\"harbour-van\"", "\"mobile-library\"");
    let certificate = certified(read("worn.toml", &worn));
    assert!(certificate.holds, "{certificate:?}");
    let caught = certificate
        .sequence
        .iter()
        .find(|step| step.test.starts_with("flow out of the feed"));
    let caught = caught.expect("a catch");
    assert_eq!(caught.unit, "L/h");
    assert!(caught.value > 10.0, "{caught:?}");
}

#[test]
fn pressure_left_by_a_pump_that_no_longer_runs_tells_nothing() {
    let blown = include_str!("../../scenarios/jobs/second-fuse.toml");
    let certificate = certified(read("second-fuse.toml", blown));
    for step in &certificate.sequence {
        let left = step.test.starts_with("pressure at the port") && step.value > 0.0;
        assert!(!left, "{step:?}");
    }
}

#[test]
fn the_complaint_shows_in_the_figures_of_the_road_test() {
    let worn = include_str!("../data/score/worn-pump.toml");
    let complaint = certified(read("worn.toml", worn)).complaint;
    assert!(complaint.healthy.starts);
    assert!(
        complaint.faulty.hill_kpa < 0.85 * complaint.healthy.hill_kpa,
        "{complaint:?}"
    );
}

#[test]
fn a_fault_too_mild_to_measure_is_not_certified() {
    let text = ground().replace("0.5 ohm", "1 mohm");
    let certificate = certified(read("mild.toml", &text));
    assert!(!certificate.holds, "{certificate:?}");
    assert!(!certificate.left.is_empty());
}

#[test]
fn an_intermittent_joint_states_how_often_it_has_to_be_moved() {
    // Each move leaves it as it was in half of all cases: six leave 1/64, less than two per cent.
    let text = ground().replace("corroded-ground", "loose-ground");
    assert_eq!(certified(read("loose.toml", &text)).provocations, 6);
}

#[test]
fn a_sound_vehicle_is_certified_as_sound() {
    let text = ground();
    let sound = &text[..text.find("[[fault]]").expect("a fault")];
    let certificate = certified(read("sound.toml", sound));
    assert!(certificate.holds, "{certificate:?}");
    assert_eq!(certificate.provocations, 1);
}

#[test]
fn what_a_code_gives_is_certified_within_its_band_and_alike_every_time() {
    for seed in 0..4 {
        for level in [1, 3, 5] {
            let code = code(level, seed);
            let again = Certifier::new(library().clone());
            let [(first, nothing), second] = [certifier(), &again].map(|one| {
                let hidden = one.generate(code).expect("it can be drawn").reveal();
                let nothing = hidden.faults.is_empty() && hidden.tank_trouble().is_none();
                (one.certificate(&hidden).expect("it is solved"), nothing)
            });
            assert_eq!((&first, nothing), (&second.0, second.1), "{code}");
            assert!(first.holds && first.wrong <= 0.02, "{code}: {first:?}");
            let (low, high) = band(level, first.redraws);
            // A sound vehicle is never too easy.
            let low = if nothing { 0.0 } else { low };
            let index = libm::log2(1.0 + first.minutes) + first.bits;
            assert!((low..=high).contains(&index), "{code}: {index}");
        }
    }
}

/// A survey of a few hundred codes of each level.
fn surveyed(each: u64, set: VehicleSet) -> Tally {
    let mut tally = Tally::default();
    for seed in 0..each {
        for level in 1..=5 {
            let code = ScenarioCode::new(1, set.bits(), level, 31 + 7919 * seed).expect("a code");
            let survey = certifier().survey(code);
            tally.add(&survey.unwrap_or_else(|error| panic!("{code}: {error}")));
        }
    }
    tally
}

#[test]
fn levels_mean_something_and_buying_blindly_does_not_pay() {
    let tally = surveyed(24, VehicleSet::all());
    assert!(
        tally.most_thrown_away < 50,
        "{} draws of 64 thrown away",
        tally.most_thrown_away
    );
    let found = tally.rank_correlations();
    assert!(
        found.minutes > 0.4 && found.cost > 0.4 && found.bits > 0.4,
        "{found:?}"
    );
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    // Neighbours overlap, and two dozen codes each are few: every other level is compared.
    for (easy, hard) in [(1, 3), (2, 4), (3, 5)] {
        let (easy, hard) = (&tally.levels[&easy], &tally.levels[&hard]);
        assert!(mean(&easy.minutes) < mean(&hard.minutes));
        assert!(mean(&easy.bits) < mean(&hard.bits));
    }
    let hard: Vec<_> = tally
        .levels
        .iter()
        .filter(|(level, _)| **level >= 2)
        .collect();
    let codes: u64 = hard.iter().map(|(_, level)| level.codes).sum();
    let pump: u64 = hard.iter().map(|(_, level)| level.pump_right).sum();
    let dearest: u64 = hard.iter().map(|(_, level)| level.dearest_right).sum();
    assert!(
        4 * pump < codes && 4 * dearest < codes,
        "{pump} {dearest} of {codes}"
    );
    let kinds: BTreeSet<&String> = tally.kinds.keys().map(|(_, kind)| kind).collect();
    assert!(kinds.len() > 25, "only {kinds:?}");
    let words: BTreeSet<&str> = Redraw::ALL
        .iter()
        .map(|(reason, _)| reason.words())
        .collect();
    assert_eq!(words.len(), Redraw::ALL.len());
}

#[test]
fn rank_correlation_is_that_of_the_textbooks() {
    // Spearman's rho of ten pupils' marks in two subjects without ties: 1 - 6 * sum d^2 / (n (n^2 - 1)), with sum d^2 = 54,
    // is 0.67272727 (calc).
    let english = [56.0, 75.0, 45.0, 71.0, 62.0, 64.0, 58.0, 80.0, 76.0, 61.0];
    let maths = [66.0, 70.0, 40.0, 60.0, 65.0, 56.0, 59.0, 77.0, 67.0, 63.0];
    let pairs: Vec<(f64, f64)> = english.into_iter().zip(maths).collect();
    assert!((spearman(&pairs) - 0.672_727_272_7).abs() < 1e-9);
    // Ties share their mean rank: (1, 2.5, 2.5, 4) against (1, 2, 3, 4) is 4.5 / sqrt(4.5 * 5).
    let tied = [(1.0, 1.0), (2.0, 2.0), (2.0, 3.0), (3.0, 4.0)];
    assert!((spearman(&tied) - 0.948_683_298_05).abs() < 1e-9);
}
