//! Pressure after the pump stops.

use hidden_ohm::pump::{
    Demand, Hydraulics, Motion, RegulatorPlace, RegulatorStuck, Supply, hold_pressure, transient,
};

use super::van::{KPA, fuel_circuit, van};

/// Leak-down through an orifice: sqrt(P) falls linearly (derivation).
#[test]
fn the_root_of_pressure_falls_linearly() {
    let mut circuit = fuel_circuit();
    circuit.check_valve.leak_m2 = 2e-7;
    let root = |seconds| hold_pressure(&circuit, 290.0 * KPA, seconds).sqrt();
    let lost = root(0.0) - root(0.1);
    assert!(lost > 0.0);
    for tenths in 1..8 {
        let seconds = 0.1 * f64::from(tenths);
        let expected = root(0.0) - f64::from(tenths) * lost;
        assert!(
            (root(seconds) - expected).abs() < 1e-9 * root(0.0),
            "after {seconds} s"
        );
    }
    assert_eq!(hold_pressure(&circuit, 290.0 * KPA, 1e6), 0.0);
}

/// The closed form agrees with the time-stepper, which knows nothing of it.
#[test]
fn the_closed_form_agrees_with_stepping_for_every_leak() {
    let off = Supply {
        volts: 0.0,
        ohms: f64::INFINITY,
    };
    let mut check = fuel_circuit();
    check.check_valve.leak_m2 = 1e-7;
    let mut hose = fuel_circuit();
    hose.in_tank_leak_m2 = 1e-7;
    let mut injector = fuel_circuit();
    injector.injector_leak_m2 = 1e-7;
    let mut regulator = fuel_circuit();
    regulator.regulator.stuck = Some(RegulatorStuck::Open { area_m2: 1e-7 });
    for (what, circuit) in [
        ("check valve", check),
        ("hose", hose),
        ("injector", injector),
        ("regulator", regulator),
    ] {
        let from = Motion {
            outlet_pa: 280.0 * KPA,
            rail_pa: 280.0 * KPA,
            ..Motion::default()
        };
        let trace =
            transient(&van(), &circuit, &off, &Demand::none(), from, 2.0, 1.0).expect("steps");
        let closed = hold_pressure(&circuit, 280.0 * KPA, 2.0);
        assert!(closed < 250.0 * KPA, "{what}: {closed}");
        assert!(
            (trace.end.rail_pa - closed).abs() < 1e-3 * closed,
            "{what}: {} against {closed}",
            trace.end.rail_pa
        );
    }
}

/// What leaks on the tank's side of a line that is squeezed shut does not empty the rail; what leaks at the rail does.
#[test]
fn a_line_squeezed_shut_keeps_the_rail_from_what_leaks_in_the_tank() {
    let left = |spoil: &dyn Fn(&mut Hydraulics)| {
        let mut circuit = fuel_circuit();
        spoil(&mut circuit);
        let open = hold_pressure(&circuit, 280.0 * KPA, 60.0);
        circuit.line_shut = true;
        (open, hold_pressure(&circuit, 280.0 * KPA, 60.0))
    };
    let open = Some(RegulatorStuck::Open { area_m2: 1e-7 });
    let behind: [&dyn Fn(&mut Hydraulics); 3] = [
        &|circuit| circuit.check_valve.leak_m2 = 1e-7,
        &|circuit| circuit.in_tank_leak_m2 = 1e-7,
        &|circuit| {
            circuit.regulator.place = RegulatorPlace::Tank;
            circuit.regulator.stuck = open;
        },
    ];
    for spoil in behind {
        assert_eq!(left(spoil), (0.0, 280.0 * KPA));
    }
    let at_the_rail: [&dyn Fn(&mut Hydraulics); 2] =
        [&|circuit| circuit.injector_leak_m2 = 1e-7, &|circuit| {
            circuit.regulator.stuck = open;
        }];
    for spoil in at_the_rail {
        assert_eq!(left(spoil), (0.0, 0.0));
    }
}

/// Hold about five minutes; more than 5 psi lost is a fault (makers' data, see the published check values).
#[test]
fn a_healthy_van_holds_and_a_leaking_check_valve_does_not() {
    let healthy = hold_pressure(&fuel_circuit(), 295.0 * KPA, 300.0);
    assert!(
        295.0 * KPA - healthy < 5.0 * 6_894.757,
        "healthy lost {} Pa",
        295.0 * KPA - healthy
    );
    let mut leaking = fuel_circuit();
    leaking.check_valve.leak_m2 = 2e-8;
    assert!(hold_pressure(&leaking, 295.0 * KPA, 300.0) < 50.0 * KPA);
}

#[test]
fn pressure_above_the_regulator_does_not_hold() {
    assert!(hold_pressure(&fuel_circuit(), 500.0 * KPA, 0.0) <= 295.0 * KPA);
    let mut shut = fuel_circuit();
    shut.regulator.stuck = Some(RegulatorStuck::Shut);
    assert!(hold_pressure(&shut, 500.0 * KPA, 1.0) > 490.0 * KPA);
}

/// Switched off, an open circuit lets the motor coast: friction alone stops it, within tenths of a second.
#[test]
fn a_pump_switched_off_coasts_to_rest_and_the_rail_stays_up() {
    let off = Supply {
        volts: 0.0,
        ohms: f64::INFINITY,
    };
    let from = Motion {
        amps: 4.8,
        rad_s: 580.0,
        outlet_pa: 307.0 * KPA,
        rail_pa: 299.0 * KPA,
    };
    let trace = transient(
        &van(),
        &fuel_circuit(),
        &off,
        &Demand::none(),
        from,
        1.0,
        0.01,
    )
    .expect("steps");
    assert_eq!((trace.end.amps, trace.end.rad_s), (0.0, 0.0));
    assert!(
        trace
            .samples
            .windows(2)
            .all(|pair| pair[1].rad_s <= pair[0].rad_s)
    );
    assert!(trace.end.rail_pa > 290.0 * KPA && trace.end.rail_pa < 300.0 * KPA);
}
