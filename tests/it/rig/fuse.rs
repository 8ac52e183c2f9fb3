//! Fuses: resistance cold and at rated current, time-current gates, time used up over several goes.

use hidden_ohm::rig::{Attachments, Jumper, fuse_opens_after};

use super::{element, fault, running, van, wait};

/// ISO 8820-3 through a maker's data sheet of 35/40 A fuses: seconds at per cent of the rating.
const GATES: [(f64, f64, f64); 5] = [
    (1.35, 0.75, 600.0),
    (1.60, 0.25, 50.0),
    (2.0, 0.15, 5.0),
    (3.5, 0.08, 0.5),
    (6.0, 0.0, 0.15),
];

#[test]
fn every_gate_of_the_standard_is_kept() {
    assert!(fuse_opens_after(1.0) >= 100.0 * 3600.0);
    for (ratio, least, most) in GATES {
        let seconds = fuse_opens_after(ratio);
        assert!((least..=most).contains(&seconds), "{seconds} s at {ratio}");
    }
}

/// Ratings of 30 A and less: 350 % from 0.04 s on, 600 % at most 0.1 s (from memory).
#[test]
fn the_gates_of_small_ratings_are_kept_as_well() {
    assert!((0.04..=0.5).contains(&fuse_opens_after(3.5)));
    assert!(fuse_opens_after(6.0) <= 0.1);
}

#[test]
fn more_current_never_takes_longer() {
    let times: Vec<f64> = (0..600)
        .map(|n| fuse_opens_after(f64::from(n) * 0.02))
        .collect();
    assert!(times.windows(2).all(|pair| pair[1] <= pair[0]));
    assert_eq!(fuse_opens_after(f64::NAN), f64::INFINITY);
}

/// A jumper from the fuse's load side to the body through a resistance that asks about `amps` of the fuse.
fn overloaded(ohms: f64) -> hidden_ohm::rig::Rig {
    let mut rig = van(Vec::new());
    let (a, b) = (
        rig.vehicle().node("F3.2").expect("F3.2"),
        rig.vehicle().node("BODY").expect("BODY"),
    );
    rig.turn_key(hidden_ohm::vehicle::Key::On, &Attachments::none())
        .expect("a prime");
    rig.set_jumper(Some(Jumper { a, b, ohms }));
    rig
}

fn fuse_amps(rig: &mut hidden_ohm::rig::Rig) -> f64 {
    let id = element(rig, "F3", "element");
    rig.now(&Attachments::none())
        .expect("a state")
        .amps(id)
        .abs()
}

#[test]
fn a_marginal_short_uses_up_its_time_over_several_goes_and_takes_the_new_fuse_too() {
    let mut rig = overloaded(0.92);
    let ratio = fuse_amps(&mut rig) / 10.0;
    assert!((1.2..1.6).contains(&ratio), "{ratio}");
    let whole = fuse_opens_after(ratio);
    let f3 = rig.vehicle().part("F3").expect("F3");
    for _ in 0..3 {
        wait(&mut rig, 0.3 * whole);
        assert!(!rig.fuse_open(f3));
    }
    wait(&mut rig, 0.4 * whole);
    assert!(rig.fuse_open(f3), "open after 1.3 times {whole} s");
    rig.cure(f3, None, hidden_ohm::fault::Remedy::Replace);
    assert!(!rig.fuse_open(f3));
    wait(&mut rig, 0.5 * whole);
    assert!(!rig.fuse_open(f3), "the new fuse has its own whole time");
    wait(&mut rig, whole);
    assert!(rig.fuse_open(f3), "the short is still there");
}

/// Ratings in A and cold resistances in ohm of a maker's data sheet, from memory.
const COLD: [(f64, f64); 4] = [
    (10.0, 7.7e-3),
    (15.0, 4.8e-3),
    (20.0, 3.4e-3),
    (30.0, 2.0e-3),
];

/// A blade fuse at its rated current has 1.3 to 1.7 times its cold resistance.
#[test]
fn a_fuse_at_its_rated_current_has_half_again_its_cold_resistance() {
    for (rated_a, cold_ohms) in COLD {
        at_its_rated_current(rated_a, cold_ohms);
    }
}

fn at_its_rated_current(of_a: f64, cold_ohms: f64) {
    let mut vehicle = hidden_ohm::vehicle::Vehicle::clone(van(Vec::new()).vehicle());
    let f3 = vehicle.part("F3").expect("F3");
    let element_of_f3 = vehicle.element(f3, "element").expect("a fuse");
    vehicle.elements[element_of_f3.0].law = hidden_ohm::vehicle::Law::Fuse {
        ohms: cold_ohms,
        rated_a: of_a,
    };
    let vehicle = std::sync::Arc::new(vehicle);
    let with_jumper = |ohms: f64| {
        let mut rig = super::with_vehicle(&vehicle, Vec::new());
        let node = |name: &str| rig.vehicle().node(name).expect("a node");
        let jumper = Jumper {
            a: node("F3.2"),
            b: node("BODY"),
            ohms,
        };
        rig.turn_key(hidden_ohm::vehicle::Key::On, &Attachments::none())
            .expect("a prime");
        rig.set_jumper(Some(jumper));
        rig
    };
    // The jumper is chosen so that about the rated current flows when everything has grown warm.
    let mut jumper_ohms = 12.0 / of_a;
    for _ in 0..4 {
        let mut trial = with_jumper(jumper_ohms);
        wait(&mut trial, 60.0);
        jumper_ohms += 12.0 / of_a - 12.0 / fuse_amps(&mut trial);
    }
    let mut rig = with_jumper(jumper_ohms);
    let ohms = |rig: &mut hidden_ohm::rig::Rig| {
        let id = element(rig, "F3", "element");
        let ends = (
            rig.vehicle().elements[id.0].from,
            rig.vehicle().elements[id.0].to,
        );
        let instant = rig.now(&Attachments::none()).expect("a state");
        let tap = hidden_ohm::rig::Tap::Node;
        instant.across(tap(ends.0), tap(ends.1)).expect("joined") / instant.amps(id)
    };
    let cold = ohms(&mut rig);
    assert!((cold / cold_ohms - 1.0).abs() < 0.15, "{cold} ohm cold");
    wait(&mut rig, 120.0);
    let ratio = fuse_amps(&mut rig) / of_a;
    let hot = ohms(&mut rig) / cold;
    assert!((0.9..1.08).contains(&ratio), "{of_a} A: {ratio} of it");
    assert!((1.3..=1.7).contains(&hot), "{of_a} A: {hot} times cold");
}

/// A fuse that opens in the middle of a prime: until then the pump ran, and what it has built up stays behind its check valve.
#[test]
fn a_marginal_short_lets_the_pump_run_until_its_fuse_has_had_its_time() {
    let mut rig = van(vec![fault("chafed-to-body", "W12", "", 0.3)]);
    let f12 = rig.vehicle().part("F12").expect("F12");
    assert!(rig.fuse_open(f12), "blown before it came in");
    rig.cure(f12, None, hidden_ohm::fault::Remedy::Replace);
    assert!(!rig.fuse_open(f12));
    let turn = rig
        .turn_key(hidden_ohm::vehicle::Key::On, &Attachments::none())
        .expect("a prime");
    assert!(rig.fuse_open(f12));
    let phase = turn.prime.expect("a prime");
    let plus = hidden_ohm::rig::Tap::Node(rig.vehicle().pump.plus);
    let minus = hidden_ohm::rig::Tap::Node(rig.reference());
    let states: Vec<(f64, f64, f64)> = phase
        .samples
        .iter()
        .map(|sample| {
            let instant = phase.instant(sample);
            let fuse = instant.amps(element(&rig, "F12", "element")).abs();
            (sample.t_s, fuse, instant.across(plus, minus).unwrap_or(0.0))
        })
        .collect();
    let opened = states
        .iter()
        .rposition(|state| state.1 > 0.0)
        .expect("current")
        + 1;
    let (at_s, before_a, before_v) = states[opened - 1];
    assert!(
        before_a > 2.0 * 10.0 && before_v > 6.0,
        "{before_a} A, {before_v} V"
    );
    // Its legal time at that current, which the surge of the pump's start shortens a little.
    let legal = fuse_opens_after(before_a / 20.0);
    assert!((0.3..2.0).contains(&at_s), "{at_s} s");
    assert!((0.6..=1.2).contains(&(at_s / legal)), "{at_s} s, {legal} s");
    // While it coasts the motor drives its own current through the short.
    let after = &states[opened..];
    assert!(after.iter().all(|state| state.1 == 0.0));
    assert!(after[0].2 > 1.0 && after[after.len() - 1].2.abs() < 0.1);
    // The pump had reached its pressure, coasts to rest and leaves it in the rail.
    assert_eq!(phase.end().rad_s, 0.0);
    assert!(rig.rail_pa() > 250e3, "{} Pa", rig.rail_pa());
    assert_eq!(phase.samples.last().expect("samples").t_s, 2.0);
    assert!(
        phase
            .samples
            .windows(2)
            .all(|pair| pair[0].t_s < pair[1].t_s)
    );
}

#[test]
fn a_dead_short_ahead_of_the_pump_opens_its_fuse_before_it_comes_in_and_a_new_one_at_the_first_prime()
 {
    let mut rig = van(vec![fault("chafed-to-body", "W12", "", 0.05)]);
    let f12 = rig.vehicle().part("F12").expect("F12");
    assert!(rig.fuse_open(f12));
    rig.cure(f12, None, hidden_ohm::fault::Remedy::Replace);
    assert!(!rig.fuse_open(f12));
    running(&mut rig);
    assert!(rig.fuse_open(f12));
}
