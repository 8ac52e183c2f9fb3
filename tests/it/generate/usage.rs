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
        let scenario = drawn(level, seed);
        let (van, known) = (scenario.vehicle(), &scenario.order().known);
        assert!(
            known[0].contains(" 000 km, ") && known[0].ends_with(" years old."),
            "{known:?}"
        );
        let usage = Usage::told(van, known);
        assert!((3.0..=22.0).contains(&usage.years), "{known:?}");
        // From half of what is usual for it in a year to nearly twice as much.
        let share = 1e3 * usage.thousand_km / usage.years / van.service.km_a_year;
        assert!((0.5..2.0).contains(&share), "{share}: {known:?}");
        told.push(known[0].clone());
    }
    told.sort();
    told.dedup();
    assert!(told.len() > 15, "{told:?}");
}

#[test]
fn what_an_order_says_is_read_in_any_form_and_otherwise_taken_as_usual() {
    let van = &library().vehicles[0];
    let usual = Usage::told(van, &[]);
    for vehicle in &library().vehicles {
        let usual = Usage::told(vehicle, &[]);
        near(usual.factor(vehicle, Grows::Distance), 1.0);
        near(usual.factor(vehicle, Grows::Years), 1.0);
    }
    let by_hand = ["New pump in May.", "118000 km.", "9 years old"].map(str::to_owned);
    let read = Usage::told(van, &by_hand);
    near(read.thousand_km, 118.0);
    near(read.years, 9.0);
    let vague = ["Some km, some years.".to_owned()];
    assert_eq!(Usage::told(van, &vague), usual);
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

#[test]
fn a_past_fits_the_use_of_its_vehicle_and_names_no_part() {
    for vehicle in &library().vehicles {
        let service = &vehicle.service;
        assert!(service.past.len() >= 4, "{}", vehicle.id);
        for line in &service.past {
            let lower = line.to_lowercase();
            let mut parts = vehicle.parts.iter();
            let named = parts.find(|part| lower.contains(&part.title.to_lowercase()));
            assert!(named.is_none(), "{}: {line}", vehicle.id);
        }
    }
    // Nobody drives a fire tender as far as a school bus.
    let most = |id: &str| {
        let vehicle = library().vehicle(id).expect("a vehicle");
        Usage::usual(vehicle).thousand_km
    };
    assert!(4.0 * most("fire-tender") < most("school-minibus"));
    let mut told = 0;
    for (level, seed) in codes().take(40) {
        let scenario = drawn(level, seed);
        for line in &scenario.order().known {
            let others = library().vehicles.iter();
            let of: Vec<&str> = others
                .filter(|vehicle| vehicle.service.past.contains(line))
                .map(|vehicle| vehicle.id.as_str())
                .collect();
            told += usize::from(!of.is_empty());
            let own = scenario.vehicle().id.as_str();
            assert!(of.is_empty() || of.contains(&own), "{own}: {line}");
        }
    }
    assert!(told > 5, "{told}");
}
