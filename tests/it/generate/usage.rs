//! Age and distance: on every work order, and moving the odds.

use hidden_ohm::fault::{self, Grows};
use hidden_ohm::scenario::{Usage, fault_weights};

use super::codes;
use crate::floor::{drawn, library};

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-12, "{a} is not {b}");
}

#[test]
fn every_order_tells_distance_and_age_and_they_differ() {
    let mut told = Vec::new();
    for (level, seed) in codes().take(20) {
        let known = drawn(level, seed).order().known.clone();
        assert!(
            known[0].contains(" 000 km, ") && known[0].ends_with(" years old."),
            "{known:?}"
        );
        let usage = Usage::told(&known);
        assert!((3.0..=22.0).contains(&usage.years), "{known:?}");
        assert!((20.0..=380.0).contains(&usage.thousand_km), "{known:?}");
        told.push(known[0].clone());
    }
    told.sort();
    told.dedup();
    assert!(told.len() > 15, "{told:?}");
}

#[test]
fn what_an_order_says_is_read_in_any_form_and_otherwise_taken_as_usual() {
    let usual = Usage::told(&[]);
    near(usual.factor(Grows::Distance), 1.0);
    near(usual.factor(Grows::Years), 1.0);
    let by_hand = ["New pump in May.", "118000 km.", "9 years old"].map(str::to_owned);
    let read = Usage::told(&by_hand);
    near(read.thousand_km, 118.0);
    near(read.years, 9.0);
    assert_eq!(Usage::told(&["Some km, some years.".to_owned()]), usual);
}

#[test]
fn wear_is_commoner_far_driven_rot_with_age_and_accidents_neither() {
    let (vehicle, catalogue) = (&library().vehicles[0], &library().catalogue);
    let sites = fault::sites(vehicle, catalogue);
    let place = |id: &str| {
        catalogue
            .kinds
            .iter()
            .position(|kind| kind.id == id)
            .expect("a kind")
    };
    let share = |usage: Usage, id: &str| {
        let weights = fault_weights(vehicle, catalogue, &sites, 3, usage);
        f64::from(weights[place(id)]) / f64::from(weights[place("painted-ground")])
    };
    let young = Usage {
        thousand_km: 60.0,
        years: 4.0,
    };
    let far = Usage {
        thousand_km: 300.0,
        years: 4.0,
    };
    let old = Usage {
        thousand_km: 60.0,
        years: 20.0,
    };
    for (id, grows) in [("burnt-relay-contacts", far), ("bad-splice", old)] {
        assert!(share(grows, id) > 2.0 * share(young, id), "{id}");
    }
    for (id, other) in [("bad-splice", far), ("thin-repair", old)] {
        let times = share(other, id) / share(young, id);
        assert!((0.9..1.1).contains(&times), "{id}: {times}");
    }
}
