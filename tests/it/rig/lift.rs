//! A lift pump in the tank and the main pump on the frame.

use std::sync::Arc;

use hidden_ohm::rig::{Attachments, Jumper, PumpState, Rig, Symptom, Tap};
use hidden_ohm::vehicle::{Key, Vehicle};

use super::{library, placed, running, with_vehicle};

fn tender() -> Arc<Vehicle> {
    let mut vehicles = library().vehicles.into_iter();
    vehicles
        .find(|vehicle| vehicle.id == "fire-tender")
        .expect("the tender")
}

fn sound() -> Rig {
    with_vehicle(&tender(), Vec::new())
}

fn with(kind: &str, part: &str, severity: f64) -> Rig {
    let vehicle = tender();
    let fault = placed(&vehicle, kind, part, severity);
    with_vehicle(&vehicle, vec![fault])
}

fn pumping(rig: &mut Rig) -> PumpState {
    running(rig);
    rig.now(&Attachments::none()).expect("a state").pump
}

fn volts(rig: &mut Rig, a: &str, b: &str, attached: &Attachments) -> Option<f64> {
    let at = |name: &str| Tap::Node(rig.vehicle().node(name).expect("a point"));
    let (a, b) = (at(a), at(b));
    rig.now(attached).expect("a state").across(a, b)
}

/// Litres an hour in a cubic metre a second.
const LPH: f64 = 3.6e6;

#[test]
fn a_sound_lift_pump_brings_more_than_the_main_pump_draws() {
    let pump = pumping(&mut sound());
    let lift = pump.lift.expect("a lift pump");
    assert!(!pump.starved && !lift.starved);
    assert!(lift.brought_m3_s > 1.2 * pump.delivered_m3_s, "{pump:?}");
    // As the service data say.
    assert!((30e3..65e3).contains(&lift.outlet_pa), "{lift:?}");
    assert!((2.0..3.5).contains(&lift.amps) && (4.0..6.0).contains(&pump.amps));
}

#[test]
fn without_its_lift_pump_the_main_one_draws_past_it_and_whines() {
    let sound = pumping(&mut sound());
    let mut dead = with("broken-wire", "W17", 1.0);
    let pump = pumping(&mut dead);
    let lift = pump.lift.expect("a lift pump");
    assert_eq!(lift.rad_s, 0.0);
    assert!(pump.starved && pump.rad_s > sound.rad_s && pump.amps < sound.amps);
    // What the by-pass passes at the suction at which the main pump's inlet boils: 24 L/h at 30 kPa in the file, with the
    // strainer and the line in series.
    let brought = lift.brought_m3_s * LPH;
    assert!((20.0..27.0).contains(&brought), "{brought} L/h");
    assert!((pump.delivered_m3_s * LPH - brought).abs() < 1e-6);
    let fade = dead.vehicle().engine.fade_fraction;
    let told = dead.drive().expect("a drive").symptoms(fade);
    assert_eq!(told, [Symptom::FadesUnderLoad, Symptom::Whines]);
}

#[test]
fn each_plug_off_leaves_the_other_pump_running() {
    let mut rig = sound();
    let before = pumping(&mut rig);
    rig.take_out(rig.vehicle().part("X8").expect("X8"), true);
    let pump = rig.now(&Attachments::none()).expect("a state").pump;
    assert!(pump.rad_s > 0.0 && pump.lift.expect("a lift pump").rad_s == 0.0);
    // The whole feed stands at the open plug, and nothing beyond it.
    let none = Attachments::none();
    let feed = volts(&mut rig, "X8.1", "B-", &none).expect("joined");
    let splice = volts(&mut rig, "SP4.b", "B-", &none).expect("joined");
    assert!((feed - splice).abs() < 1e-9, "{feed} and {splice} V");
    assert_eq!(volts(&mut rig, "L.1", "B-", &none), None);
    rig.take_out(rig.vehicle().part("X8").expect("X8"), false);
    rig.take_out(rig.vehicle().part("X5").expect("X5"), true);
    let pump = rig.now(&none).expect("a state").pump;
    let lift = pump.lift.expect("a lift pump");
    assert_eq!((pump.amps, pump.rad_s), (0.0, 0.0));
    // Alone on the feed it gets a little more.
    let with_both = before.lift.expect("a lift pump");
    assert!(lift.rad_s > with_both.rad_s && lift.rad_s < 1.1 * with_both.rad_s);
}

#[test]
fn a_seized_lift_pump_takes_its_stall_current_and_a_shorted_one_the_fuse() {
    let pump = pumping(&mut with("seized-pump", "LIFT", 1.0));
    let lift = pump.lift.expect("a lift pump");
    assert!(
        lift.rad_s == 0.0 && (8.0..12.0).contains(&lift.amps),
        "{lift:?}"
    );
    assert!(pump.starved && pump.rad_s > 0.0);
    let mut rig = sound();
    let before = pumping(&mut rig);
    assert!(before.lift.expect("a lift pump").rad_s > 0.0);
    let at = |name: &str| rig.vehicle().node(name).expect("a point");
    let (a, b) = (at("X8.1"), at("XMEM"));
    rig.set_jumper(Some(Jumper { a, b, ohms: 0.01 }));
    assert_eq!(rig.wait(10.0, &Attachments::none()).expect("time"), 1);
    let pump = rig.now(&Attachments::none()).expect("a state").pump;
    assert_eq!(
        (pump.rad_s, pump.lift.expect("a lift pump").rad_s),
        (0.0, 0.0)
    );
}

#[test]
fn a_worn_lift_pump_starves_the_main_one_while_its_volts_look_well() {
    let healthy = pumping(&mut sound()).lift.expect("a lift pump");
    let mut rig = with("worn-pump", "LIFT", 5.0);
    let worn = pumping(&mut rig).lift.expect("a lift pump");
    assert!(
        worn.outlet_pa < 0.65 * healthy.outlet_pa && worn.brought_m3_s < 0.8 * healthy.brought_m3_s
    );
    let none = Attachments::none();
    let across = volts(&mut rig, "L.1", "L.2", &none).expect("joined");
    assert!(across > 12.0, "{across} V");
    let fade = rig.vehicle().engine.fade_fraction;
    assert_eq!(
        rig.drive().expect("a drive").symptoms(fade),
        [Symptom::Whines]
    );
}

#[test]
fn an_ohmmeter_sees_the_film_of_a_resting_lift_pump() {
    let mut rig = sound();
    rig.take_out(rig.vehicle().part("X8").expect("X8"), true);
    let at = |name: &str| Tap::Node(rig.vehicle().node(name).expect("a point"));
    let (plus, minus) = (at("X8.1t"), at("X8.2t"));
    let mut attached = Attachments::none();
    // Half a volt behind a hundred ohm, as a meter's lowest range sends it.
    attached.source(minus, plus, 0.5, 100.0);
    let shown = rig.now(&attached).expect("a state").across(plus, minus);
    let shown = shown.expect("joined");
    let ohms = 100.0 * shown / (0.5 - shown);
    // Winding and brushes 1.05 ohm, film 0.4 V at 0.1 A, leads and pins.
    assert!((4.8..5.6).contains(&ohms), "{ohms} ohm");
}

#[test]
fn a_lift_pump_that_starts_is_seen_to_start() {
    let mut rig = sound();
    let turn = rig.turn_key(Key::On, &Attachments::none()).expect("a turn");
    let prime = turn.prime.expect("a prime");
    let first = prime.samples[0].pump.lift.expect("a lift pump");
    let last = prime.end().lift.expect("a lift pump");
    assert_eq!((first.rad_s, first.outlet_pa), (0.0, 0.0));
    assert!(last.rad_s > 300.0 && last.outlet_pa > 30e3, "{last:?}");
}

#[test]
fn the_screen_shows_the_ripple_of_the_pump_whose_wire_is_clamped() {
    let mut rig = sound();
    pumping(&mut rig);
    let none = Attachments::none();
    let mut ripple = |part: &str, segments: u32| {
        let vehicle = Arc::clone(rig.vehicle());
        let part = vehicle.part(part).expect("a wire");
        let element = vehicle.element(part, "").expect("its copper");
        let shown = rig.waveform(element, &none, 0.05, 5e-5).expect("a screen");
        let rpm = hidden_ohm::pump::counted_rpm(&shown.amps, shown.step_s, segments);
        let mean = shown.amps.iter().sum::<f64>() / shown.amps.len() as f64;
        (mean, rpm.expect("a ripple"))
    };
    let (lift_amps, lift_rpm) = ripple("W16", 10);
    let (main_amps, main_rpm) = ripple("W15", 8);
    let pump = rig.now(&none).expect("a state").pump;
    let lift = pump.lift.expect("a lift pump");
    let rpm = |rad_s: f64| rad_s * 60.0 / core::f64::consts::TAU;
    assert!((lift_amps - lift.amps).abs() < 0.02 && (main_amps - pump.amps).abs() < 0.02);
    assert!(
        (lift_rpm / rpm(lift.rad_s) - 1.0).abs() < 0.02,
        "{lift_rpm}"
    );
    assert!(
        (main_rpm / rpm(pump.rad_s) - 1.0).abs() < 0.02,
        "{main_rpm}"
    );
}
