//! A cooling circuit: one lump of heat, a closed loop of flow.

use std::sync::Arc;

use hidden_ohm::fault::Fault;
use hidden_ohm::rig::{Attachments, EngineLoad, Moment, Rig, Symptom};
use hidden_ohm::vehicle::{Key, Vehicle};

use super::{library, placed, with_vehicle};

fn minibus() -> Arc<Vehicle> {
    Arc::clone(
        library()
            .vehicle("school-minibus")
            .expect("the minibus is built in"),
    )
}

fn rig(faults: Vec<Fault>) -> Rig {
    with_vehicle(&minibus(), faults)
}

fn fault(kind: &str, part: &str, severity: f64) -> Fault {
    placed(&minibus(), kind, part, severity)
}

/// The engine runs at a load.
fn runs(mut rig: Rig, load: EngineLoad) -> Rig {
    let turn = rig
        .turn_key(Key::Run, &Attachments::none())
        .expect("it turns");
    assert!(turn.started);
    rig.set_load(load);
    rig
}

fn wait(rig: &mut Rig, seconds: f64) {
    rig.wait(seconds, &Attachments::none())
        .expect("time passes");
}

fn flow_m3_s(rig: &mut Rig) -> f64 {
    let instant = rig.now(&Attachments::none()).expect("a state");
    instant.pump.return_m3_s
}

/// First law of thermodynamics, by hand: below the thermostat's temperature all heat but the loss stays in the lump.
#[test]
fn a_cold_engine_warms_by_the_heat_it_gives_off_over_its_heat_capacity() {
    let mut rig = runs(rig(Vec::new()), EngineLoad::Cruise);
    let cooling = rig.vehicle().cooling.expect("it cools");
    let before_c = rig.medium_c();
    wait(&mut rig, 10.0);
    let rise_k = rig.medium_c() - before_c;
    let by_hand_k = cooling.heat_w[1] * 10.0 / cooling.holds_j_k;
    // The loss of the few kelvin on the way is a part in a thousand.
    assert!(
        (rise_k / by_hand_k - 1.0).abs() < 2e-3,
        "{rise_k} K, by hand {by_hand_k} K"
    );
}

/// In balance the heat given equals what loss and radiator take. The radiator's share follows from the published
/// effectiveness of a counterflow exchanger, (1 - exp(-N (1 - C))) / (1 - C exp(-N (1 - C))) with N transfer units and C
/// the ratio of the streams (Kays and London, *Compact Heat Exchangers*, from memory).
#[test]
fn on_a_long_hill_the_heat_that_goes_in_comes_out() {
    let mut rig = runs(rig(Vec::new()), EngineLoad::Hill);
    // The battery fills up and the pump slows a little; the heat follows.
    for _ in 0..6 {
        wait(&mut rig, 1800.0);
    }
    let cooling = rig.vehicle().cooling.expect("it cools");
    let above_k = rig.medium_c() - rig.conditions().ambient_c;
    assert!(rig.medium_c() > cooling.opens_c, "the thermostat is open");
    let flow = flow_m3_s(&mut rig);
    let hot = 1030.0 * 3600.0 * flow * (1.0 - cooling.heater_share);
    let cold = cooling.air_w_k[2];
    let (least, most) = (hot.min(cold), hot.max(cold));
    let share = flow / cooling.rated_m3_s;
    let units = 2.0 * cooling.radiator_w_k / (1.0 + share.powf(-0.8)) / least;
    let left = (-units * (1.0 - least / most)).exp();
    let effectiveness = (1.0 - left) / (1.0 - least / most * left);
    let taken_w = above_k * (cooling.loss_w_k + effectiveness * least);
    assert!(
        (taken_w / cooling.heat_w[2] - 1.0).abs() < 1e-3,
        "{taken_w} W of {} W",
        cooling.heat_w[2]
    );
}

#[test]
fn the_thermostat_holds_its_temperature_while_there_is_heat_to_spare() {
    let mut rig = runs(rig(Vec::new()), EngineLoad::Cruise);
    wait(&mut rig, 1800.0);
    let opens_c = rig.vehicle().cooling.expect("it cools").opens_c;
    assert!(
        (rig.medium_c() - opens_c).abs() < 0.01,
        "{}",
        rig.medium_c()
    );
}

#[test]
fn cutting_time_into_pieces_changes_the_temperature_by_next_to_nothing() {
    let hill = |pieces: u32| {
        let mut rig = runs(rig(Vec::new()), EngineLoad::Hill);
        for _ in 0..pieces {
            wait(&mut rig, 240.0 / f64::from(pieces));
        }
        rig.medium_c()
    };
    let (whole, cut) = (hill(1), hill(60));
    assert!((whole - cut).abs() < 0.2, "{whole} and {cut}");
}

/// Round the loop the pressures add up to nothing: what the pump builds up, radiator and hose take.
#[test]
fn the_pump_works_against_radiator_and_hose_and_nothing_else() {
    let ladder = rig(Vec::new())
        .ladder(Key::On, true, Moment::Settled)
        .expect("a ladder");
    let (h, flow) = (ladder.solved.hydraulics, ladder.point.delivered_m3_s);
    let drop_pa = h.filter_pa_s_m3 * flow + h.line_pa_s2_m6 * flow * flow;
    assert!(
        (ladder.point.outlet_pa / drop_pa - 1.0).abs() < 1e-9,
        "{} Pa and {drop_pa} Pa",
        ladder.point.outlet_pa
    );
    assert!((ladder.pumps[0].kpa - drop_pa / 1e3).abs() < 1e-6);
    assert!((20e3..60e3).contains(&drop_pa), "{drop_pa}");
}

fn notices(faults: Vec<Fault>) -> Vec<Symptom> {
    let mut rig = rig(faults);
    let report = rig.drive().expect("a drive");
    let glance = rig.glance().expect("a glance");
    let fade = rig.vehicle().engine.fade_fraction;
    assert_eq!(report.symptoms(fade), glance.symptoms(fade));
    report.symptoms(fade)
}

#[test]
fn what_a_driver_notices_follows_from_the_flow() {
    assert_eq!(notices(Vec::new()), []);
    let dead = notices(vec![fault("blown-fuse", "F14", 1.0)]);
    assert_eq!(dead, [Symptom::BoilsOver, Symptom::HeaterCold]);
    let weak = notices(vec![fault("corroded-ground", "G11", 0.9)]);
    assert_eq!(weak, [Symptom::RunsHot]);
    let shut = notices(vec![fault("thermostat-shut", "THERMOSTAT", 1.0)]);
    assert_eq!(shut, [Symptom::BoilsOver]);
    let open = notices(vec![fault("thermostat-open", "THERMOSTAT", 1.0)]);
    assert_eq!(open, [Symptom::HeaterCold]);
    let dry = notices(vec![fault("low-coolant", "EXPANSION", 1.0)]);
    assert!(
        dry.contains(&Symptom::Whines) && dry.contains(&Symptom::BoilsOver),
        "{dry:?}"
    );
}

#[test]
fn hotter_weather_and_less_flow_are_never_cooler() {
    let mut last = f64::NEG_INFINITY;
    for severity in [0.0, 0.2, 0.5, 0.9, 1.5, 3.0, 8.0] {
        let faults = if severity > 0.0 {
            vec![fault("corroded-ground", "G11", severity)]
        } else {
            Vec::new()
        };
        let report = rig(faults).drive().expect("a drive");
        let hottest_c = report.heat.expect("it cools").hottest_c;
        assert!(
            hottest_c >= last - 1e-9,
            "{severity} ohm: {hottest_c} after {last}"
        );
        last = hottest_c;
    }
}

/// The pump with the engine off, its relay closed: amps, litres an hour, kPa behind it, revolutions a minute.
fn pumping(faults: Vec<Fault>) -> [f64; 4] {
    let ladder = rig(faults)
        .ladder(Key::On, true, Moment::Settled)
        .expect("a ladder");
    let point = ladder.point;
    [
        point.amps,
        point.delivered_m3_s * 3.6e6,
        point.outlet_pa / 1e3,
        point.rad_s * 60.0 / core::f64::consts::TAU,
    ]
}

/// A centrifugal wheel takes power with its flow: what resists lightens it (Gulich, *Centrifugal Pumps*, from memory). The
/// figures of the sound vehicle are ours.
#[test]
fn what_resists_the_coolant_takes_current_off_its_pump_and_lets_it_turn_faster() {
    let [amps, flow, kpa, rpm] = pumping(Vec::new());
    let sound = format!("{amps} A, {flow} L/h, {kpa} kPa, {rpm} rpm");
    assert!((6.2..7.0).contains(&amps), "{sound}");
    assert!((2300.0..2700.0).contains(&flow), "{sound}");
    assert!((27.0..35.0).contains(&kpa), "{sound}");
    for (kind, part, severity) in [
        ("clogged-radiator", "RADIATOR", 5.0),
        ("clogged-radiator", "RADIATOR", 60.0),
        ("kinked-coolant-hose", "LINE", 5.0),
        ("kinked-coolant-hose", "LINE", 80.0),
    ] {
        let [a, f, p, n] = pumping(vec![fault(kind, part, severity)]);
        let seen = format!("{kind} {severity}: {a} A, {f} L/h, {p} kPa, {n} rpm; sound {sound}");
        assert!(a < 0.95 * amps && f < 0.8 * flow, "{seen}");
        assert!(n > rpm && (kpa..1.8 * kpa).contains(&p), "{seen}");
    }
    // Air, or an inlet that boils: lighter still, faster still, and no pressure.
    let [shut_amps, _, _, shut_rpm] = pumping(vec![fault("clogged-radiator", "RADIATOR", 60.0)]);
    for (kind, part, severity) in [
        ("low-coolant", "EXPANSION", 1.0),
        ("blocked-screen", "SCREEN", 300.0),
    ] {
        let [a, _, p, n] = pumping(vec![fault(kind, part, severity)]);
        assert!(
            a < shut_amps && n > shut_rpm && p < 0.3 * kpa,
            "{kind}: {a} A"
        );
    }
    // A worn wheel moves less against less pressure with no more current; friction takes current and speed.
    let [a, f, p, _] = pumping(vec![fault("worn-pump", "PUMP", 5.0)]);
    assert!(f < 0.75 * flow && p < 0.6 * kpa, "{f} L/h, {p} kPa");
    assert!((0.7..1.0).contains(&(a / amps)), "{a} A");
    let [a, f, _, n] = pumping(vec![fault("dragging-pump", "PUMP", 0.045)]);
    assert!(a > 1.1 * amps && f < flow && n < 0.98 * rpm, "{a} A");
}
