//! The ripple on the pump's current tells its speed, and a dead segment shows.

use hidden_ohm::pump::{Demand, counted_rpm, current_waveform, operating_point};

use super::van::{fuel_circuit, key_on, van};

const SAMPLE_S: f64 = 2e-5;

/// rpm = 60 f / segments; 8 segments, 6000 rpm, 800 Hz (published ripple rule).
#[test]
fn the_speed_can_be_counted_from_the_ripple() {
    let (unit, supply) = (van(), key_on());
    let point = operating_point(&unit, &fuel_circuit(), &supply, &Demand::none()).expect("a point");
    let record = current_waveform(
        &unit.motor,
        supply.ohms,
        point.amps,
        point.rad_s,
        0.1,
        SAMPLE_S,
    );
    let counted = counted_rpm(&record, SAMPLE_S, unit.motor.segments).expect("ripple");
    let turned = point.rad_s * 60.0 / core::f64::consts::TAU;
    assert!(
        (counted / turned - 1.0).abs() < 2e-3,
        "{counted} counted, {turned} rpm"
    );
    assert!(
        (counted_rpm(&eight_hundred_hertz(), SAMPLE_S, 8).expect("ripple") - 6000.0).abs() < 1.0
    );
}

fn eight_hundred_hertz() -> Vec<f64> {
    (0..5000)
        .map(|n| (core::f64::consts::TAU * 800.0 * f64::from(n) * SAMPLE_S).sin())
        .collect()
}

#[test]
fn the_mean_of_the_ripple_is_the_settled_current() {
    let (mut unit, supply) = (van(), key_on());
    for segments in [8, 10, 12] {
        unit.motor.segments = segments;
        let point =
            operating_point(&unit, &fuel_circuit(), &supply, &Demand::none()).expect("a point");
        // Ten whole turns.
        let turn_s = core::f64::consts::TAU / point.rad_s;
        let record = current_waveform(
            &unit.motor,
            supply.ohms,
            point.amps,
            point.rad_s,
            10.0 * turn_s,
            turn_s / 2000.0,
        );
        let mean = record.iter().sum::<f64>() / record.len() as f64;
        assert!(
            (mean / point.amps - 1.0).abs() < 2e-3,
            "{segments}: {mean} against {} A",
            point.amps
        );
        let swing =
            record.iter().copied().fold(0.0, f64::max) - record.iter().copied().fold(9e9, f64::min);
        assert!(
            swing > 0.01 * point.amps && swing < 0.8 * point.amps,
            "{segments}: {swing} A of swing"
        );
    }
}

#[test]
fn a_dead_segment_is_a_gap_once_a_turn() {
    let (mut unit, supply) = (van(), key_on());
    unit.motor.dead_segments = 1;
    let point = operating_point(&unit, &fuel_circuit(), &supply, &Demand::none()).expect("a point");
    let record = current_waveform(
        &unit.motor,
        supply.ohms,
        point.amps,
        point.rad_s,
        0.2,
        SAMPLE_S,
    );
    let open = record.iter().filter(|&&amps| amps == 0.0).count() as f64 / record.len() as f64;
    assert!((open - 1.0 / 8.0).abs() < 0.02, "{open} of the time open");
    let counted = counted_rpm(&record, SAMPLE_S, 1).expect("gaps");
    let turned = point.rad_s * 60.0 / core::f64::consts::TAU;
    assert!(
        (counted / turned - 1.0).abs() < 1e-2,
        "{counted} gaps a minute, {turned} rpm"
    );
}

#[test]
fn nothing_that_rests_ripples() {
    let (mut unit, supply) = (van(), key_on());
    unit.motor.seized = true;
    let point = operating_point(&unit, &fuel_circuit(), &supply, &Demand::none()).expect("a point");
    let record = current_waveform(
        &unit.motor,
        supply.ohms,
        point.amps,
        point.rad_s,
        0.01,
        SAMPLE_S,
    );
    assert!(record.iter().all(|&amps| amps == point.amps) && record.len() >= 499);
    assert_eq!(counted_rpm(&record, SAMPLE_S, 8), None);
}
