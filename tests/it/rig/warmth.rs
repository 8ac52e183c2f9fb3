//! Joints, wires and coils warm with their current, and their resistance follows.

use hidden_ohm::rig::{Attachments, Tap, Warmth};

use super::{element, fault, running, van, wait};

fn amps(rig: &mut hidden_ohm::rig::Rig, part: &str, leg: &str) -> f64 {
    let id = element(rig, part, leg);
    rig.now(&Attachments::none()).expect("a state").amps(id)
}

/// Volts across the two sides of a pin.
fn drop_v(rig: &mut hidden_ohm::rig::Rig, part: &str, leg: &str) -> f64 {
    let id = element(rig, part, leg);
    let (from, to) = (
        rig.vehicle().elements[id.0].from,
        rig.vehicle().elements[id.0].to,
    );
    let instant = rig.now(&Attachments::none()).expect("a state");
    instant
        .across(Tap::Node(from), Tap::Node(to))
        .expect("joined")
}

#[test]
fn a_bad_pin_drifts_over_the_first_minute_and_then_stands() {
    let mut rig = van(vec![fault("burnt-pin", "X7", "1", 0.5)]);
    running(&mut rig);
    let ohms = |rig: &mut hidden_ohm::rig::Rig| drop_v(rig, "X7", "1") / amps(rig, "X7", "1");
    let at_once = ohms(&mut rig);
    wait(&mut rig, 10.0);
    let soon = ohms(&mut rig);
    wait(&mut rig, 50.0);
    let later = ohms(&mut rig);
    wait(&mut rig, 600.0);
    let settled = ohms(&mut rig);
    assert!(
        soon > 1.01 * at_once && later > 1.005 * soon,
        "{at_once} {soon} {later} {settled}"
    );
    assert!(
        (settled - later).abs() < 0.1 * (settled - at_once),
        "{later} {settled}"
    );
    let pin = element(&rig, "X7", "1");
    assert!(
        rig.temperature_c(pin) > 60.0,
        "{} C",
        rig.temperature_c(pin)
    );
    // Contacts rise with two thirds of copper's coefficient (R. Holm, Electric Contacts; from memory).
    let warm = 1.0 + 2.0 / 3.0 * 0.00393 * (rig.temperature_c(pin) - 20.0);
    let cold = 0.5 + rig_ohms_when_sound();
    assert!(
        (settled / (cold * warm) - 1.0).abs() < 0.02,
        "{settled} ohm, {cold} cold, {warm}"
    );
    let x7 = rig.vehicle().part("X7").expect("X7");
    assert_eq!(rig.warmth(x7), Warmth::Hot);
}

/// Resistance of the sound pin in this van.
fn rig_ohms_when_sound() -> f64 {
    let mut rig = van(Vec::new());
    running(&mut rig);
    drop_v(&mut rig, "X7", "1") / amps(&mut rig, "X7", "1")
}

#[test]
fn a_healthy_van_stays_cool_to_the_hand() {
    let mut rig = van(Vec::new());
    running(&mut rig);
    wait(&mut rig, 1800.0);
    for name in ["X7", "X8", "G4", "F12", "W12", "CLN"] {
        let part = rig.vehicle().part(name).expect("a part");
        assert_eq!(rig.warmth(part), Warmth::Cold, "{name}");
    }
}

#[test]
fn what_was_warm_cools_again_with_the_key_off() {
    let mut rig = van(vec![fault("burnt-pin", "X7", "1", 0.5)]);
    running(&mut rig);
    wait(&mut rig, 300.0);
    let pin = element(&rig, "X7", "1");
    let hot = rig.temperature_c(pin);
    rig.turn_key(hidden_ohm::vehicle::Key::Off, &Attachments::none())
        .expect("off");
    wait(&mut rig, 25.0);
    let after_one_time_constant = rig.temperature_c(pin) - 20.0;
    assert!(
        after_one_time_constant < 0.40 * (hot - 20.0)
            && after_one_time_constant > 0.25 * (hot - 20.0)
    );
    wait(&mut rig, 1000.0);
    assert!(rig.temperature_c(pin) < 20.1);
}

#[test]
fn the_end_does_not_depend_on_how_the_time_was_cut() {
    let warm = |pieces: u32| {
        let mut rig = van(vec![fault("burnt-pin", "X7", "1", 0.5)]);
        running(&mut rig);
        for _ in 0..pieces {
            wait(&mut rig, 60.0 / f64::from(pieces));
        }
        rig.temperature_c(element(&rig, "X7", "1"))
    };
    let (whole, cut) = (warm(1), warm(240));
    assert!(
        (whole - cut).abs() < 0.03 * (cut - 20.0),
        "{whole} against {cut} C"
    );
}

/// R = R20 (1 + 0.00393 (T - 20)), IEC 60028 as quoted in conductor handbooks.
#[test]
fn a_relay_coil_that_is_hot_needs_more_volts_and_draws_less() {
    let mut rig = van(Vec::new());
    running(&mut rig);
    let cold = amps(&mut rig, "K1", "coil");
    wait(&mut rig, 1800.0);
    let hot = amps(&mut rig, "K1", "coil");
    let coil = element(&rig, "K1", "coil");
    let celsius = rig.temperature_c(coil);
    assert!((60.0..110.0).contains(&celsius), "{celsius} C");
    let expected = 1.0 + 0.00393 * (celsius - 20.0);
    assert!(
        (cold / hot / expected - 1.0).abs() < 0.01,
        "{cold} {hot} {expected}"
    );
}
