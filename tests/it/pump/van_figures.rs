//! The healthy van, whose figures the vehicle file uses.

use hidden_ohm::pump::{Demand, Outlet, RegulatorStuck, Rest, Supply, operating_point, prime};

use super::van::{KPA, LPH, fuel_circuit, idle, key_on, van};

/// Return-type port injection: 250 kPa at idle, 300 with the vacuum off (makers' data).
#[test]
fn pressure_is_250_at_idle_and_300_without_vacuum() {
    let off =
        operating_point(&van(), &fuel_circuit(), &key_on(), &Demand::none()).expect("solvable");
    assert!(
        (off.rail_pa - 300.0 * KPA).abs() < 5.0 * KPA,
        "{} Pa",
        off.rail_pa
    );
    let (supply, demand) = idle();
    let idling = operating_point(&van(), &fuel_circuit(), &supply, &demand).expect("solvable");
    assert!(
        (idling.rail_pa - 250.0 * KPA).abs() < 5.0 * KPA,
        "{} Pa",
        idling.rail_pa
    );
}

/// 80 to 140 L/h and 3 to 5 A running: common practice, no source.
#[test]
fn flow_and_current_are_those_of_a_healthy_van() {
    let (supply, demand) = idle();
    for (supply, demand) in [
        (key_on(), Demand::none()),
        (supply, demand),
        (
            supply,
            Demand {
                manifold_pa: 0.0,
                ..demand
            },
        ),
    ] {
        let point = operating_point(&van(), &fuel_circuit(), &supply, &demand).expect("solvable");
        assert!(
            (80.0..=140.0).contains(&(point.delivered_m3_s / LPH)),
            "{} L/h",
            point.delivered_m3_s / LPH
        );
        assert!((3.0..=5.05).contains(&point.amps), "{} A", point.amps);
        assert!(!point.starved && !point.stalled && point.relief_m3_s == 0.0);
    }
}

#[test]
fn a_prime_builds_up_pressure_in_half_a_second_after_a_surge() {
    let trace = prime(
        &van(),
        &fuel_circuit(),
        &key_on(),
        &Demand::none(),
        Rest::default(),
        2.0,
        0.001,
    )
    .expect("steps");
    let full = trace
        .samples
        .iter()
        .find(|sample| sample.rail_pa >= 295.0 * KPA)
        .expect("it gets there");
    assert!((0.4..=0.6).contains(&full.t_s), "{} s", full.t_s);
    assert!(
        (13.0..=16.0).contains(&trace.peak.amps),
        "{} A",
        trace.peak.amps
    );
    let spun_up = trace
        .samples
        .iter()
        .find(|sample| sample.rad_s >= 0.632 * 600.0)
        .expect("it turns");
    assert!((0.01..=0.05).contains(&spun_up.t_s), "{} s", spun_up.t_s);
    assert!(
        trace.samples.len() == 2001
            && trace
                .samples
                .windows(2)
                .all(|pair| pair[1].t_s > pair[0].t_s)
    );
    // Work is pinned so that a slow-down shows: about 250 steps of 7 evaluations, and one a sample.
    assert!(
        trace.steps + trace.rejected < 320,
        "{} steps, {} rejected",
        trace.steps,
        trace.rejected
    );
}

/// Dead-head pressure 1.5 to 2 times the working pressure: common practice, no source.
#[test]
fn the_dead_head_pressure_is_between_one_and_a_half_and_twice_the_working_pressure() {
    let mut circuit = fuel_circuit();
    circuit.regulator.stuck = Some(RegulatorStuck::Shut);
    let point = operating_point(
        &van(),
        &circuit,
        &Supply {
            volts: 12.0,
            ohms: 0.0,
        },
        &Demand::none(),
    )
    .expect("solvable");
    assert!(
        (1.5..=2.0).contains(&(point.rail_pa / (300.0 * KPA))),
        "{} Pa",
        point.rail_pa
    );
}

/// 0.5 L in 15 to 30 s: common practice, no source. Without pressure at the end of the line it runs faster.
#[test]
fn half_a_litre_runs_into_the_can_in_fifteen_to_thirty_seconds() {
    let into = |outlet| {
        operating_point(
            &van(),
            &fuel_circuit(),
            &key_on(),
            &Demand {
                outlet,
                ..Demand::none()
            },
        )
        .expect("solvable")
    };
    let at_pressure = into(Outlet::ReturnIntoCan);
    assert_eq!(at_pressure, into(Outlet::Rail));
    let seconds = 0.5e-3 / at_pressure.return_m3_s;
    assert!((15.0..=30.0).contains(&seconds), "{seconds} s");
    let free = into(Outlet::LineIntoCan);
    assert!(
        free.can_m3_s > 1.5 * at_pressure.return_m3_s
            && free.rail_pa == 0.0
            && free.amps < at_pressure.amps
    );
}

#[test]
fn the_settled_prime_is_the_operating_point() {
    let trace = prime(
        &van(),
        &fuel_circuit(),
        &key_on(),
        &Demand::none(),
        Rest::default(),
        3.0,
        1.0,
    )
    .expect("steps");
    let point =
        operating_point(&van(), &fuel_circuit(), &key_on(), &Demand::none()).expect("solvable");
    for (what, stepped, settled) in [
        ("current", trace.end.amps, point.amps),
        ("speed", trace.end.rad_s, point.rad_s),
        ("outlet", trace.end.outlet_pa, point.outlet_pa),
        ("rail", trace.end.rail_pa, point.rail_pa),
    ] {
        assert!(
            (stepped - settled).abs() < 2e-5 * settled,
            "{what}: {stepped} against {settled}"
        );
    }
}
