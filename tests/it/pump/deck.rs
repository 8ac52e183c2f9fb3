//! The moving pump's lines of a SPICE deck. That they say what the transient does is for `tests/outside/31-ngspice-start-up`.

use hidden_ohm::pump::{Demand, Rest, spice_motor};

use super::van::{fuel_circuit, van};

fn lines() -> String {
    spice_motor(
        &van(),
        &fuel_circuit(),
        &Demand::none(),
        Rest::default(),
        ("plus", "minus"),
    )
    .expect("a healthy pump has a deck")
}

/// A root whose slope is infinite at no drop makes Newton's corrections vanish beside it, and SPICE, which looks at
/// corrections only, takes such a state for solved: the hose then follows the chamber without any flow.
#[test]
fn every_root_in_the_deck_has_a_slope_at_no_drop() {
    let deck = lines();
    let roots: Vec<&str> = deck
        .match_indices("sqrt(")
        .map(|(at, _)| &deck[at..])
        .collect();
    assert!(roots.len() >= 5, "{deck}");
    for root in roots {
        let inside = &root["sqrt(".len()..];
        let least = inside
            .strip_prefix("max(")
            .unwrap_or(inside)
            .split([' ', ','])
            .next()
            .and_then(|number| number.parse::<f64>().ok());
        assert!(least.is_some_and(|least| least > 0.0), "{root}");
    }
}

#[test]
fn what_the_deck_cannot_say_has_no_deck() {
    let without =
        |change: &dyn Fn(&mut hidden_ohm::pump::PumpUnit, &mut hidden_ohm::pump::Hydraulics)| {
            let (mut unit, mut hydraulics) = (van(), fuel_circuit());
            change(&mut unit, &mut hydraulics);
            spice_motor(
                &unit,
                &hydraulics,
                &Demand::none(),
                Rest::default(),
                ("a", "b"),
            )
        };
    assert!(without(&|_, _| ()).is_some());
    assert!(without(&|unit, _| unit.motor.dead_segments = 1).is_none());
    assert!(without(&|unit, _| unit.motor.seized = true).is_none());
    assert!(without(&|_, fuel| fuel.tank_empty = true).is_none());
    assert!(without(&|_, fuel| fuel.filter_pa_s_m3 = f64::INFINITY).is_none());
}
