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

/// A blade fuse at its rated current has 1.3 to 1.7 times its cold resistance.
#[test]
fn a_fuse_at_its_rated_current_has_half_again_its_cold_resistance() {
    let mut rig = overloaded(1.35);
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
    wait(&mut rig, 120.0);
    let ratio = fuse_amps(&mut rig) / 10.0;
    let hot = ohms(&mut rig) / cold;
    assert!((0.9..1.08).contains(&ratio), "{ratio} of the rating");
    assert!((1.3..=1.7).contains(&hot), "{hot} times cold at {ratio}");
}

#[test]
fn a_dead_short_ahead_of_the_pump_opens_its_fuse_at_the_first_prime() {
    let mut rig = van(vec![fault("chafed-to-body", "W12", "", 0.05)]);
    running(&mut rig);
    let f12 = rig.vehicle().part("F12").expect("F12");
    assert!(rig.fuse_open(f12));
}
