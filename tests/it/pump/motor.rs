//! Worked examples of the brushed motor.

use hidden_ohm::pump::{
    Demand, Element, ElementKind, Motor, OperatingPoint, PumpUnit, Rest, Supply, operating_point,
    prime,
};

use super::van::fuel_circuit;

/// One turn a minute in rad/s.
const RPM: f64 = core::f64::consts::TAU / 60.0;

/// A motor without losses beyond what an example states, and with nothing to pump.
fn bare(ke: f64, ohms: f64, load_nm: f64) -> PumpUnit {
    PumpUnit {
        motor: Motor {
            winding_ohms: ohms,
            brush_ohms: 0.0,
            brush_volts: 0.0,
            ke,
            inductance_h: 1e-4,
            inertia_kg_m2: 1e-6,
            dry_nm: load_nm,
            viscous_nm_s: 0.0,
            segments: 8,
            dead_segments: 0,
            stopped_on_dead: false,
            seized: false,
        },
        element: Element {
            displacement_m3_rad: 0.0,
            leak_m3_s_pa: 0.0,
            kind: ElementKind::Roller { rollers: 5 },
        },
    }
}

fn run(unit: &PumpUnit, volts: f64, ohms: f64) -> OperatingPoint {
    operating_point(
        unit,
        &fuel_circuit(),
        &Supply { volts, ohms },
        &Demand::none(),
    )
    .expect("the example is solvable")
}

fn close(what: &str, got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "{what}: got {got}, expected {expected}"
    );
}

/// Permanent-magnet motor, textbook companion 1892 Ex 4.5 inputs (Scilab TBC); recomputed \[calc\].
#[test]
fn a_permanent_magnet_motor_runs_as_in_the_textbook_companion() {
    let ke = 120.0 / (6000.0 * RPM);
    close("ke", ke, 0.19099, 3e-5);
    let point = run(&bare(ke, 2.5, 0.5), 60.0, 0.0);
    close("current", point.amps, 2.6180, 2e-5);
    close("back-EMF", point.back_emf_v, 53.455, 2e-5);
    close("speed", point.rad_s / RPM, 2672.75, 2e-5);
}

/// 12 V motor, no load 3800 rpm, stall 30 mNm, run at 2500 rpm: \[calc\] from an exercise's inputs.
#[test]
fn a_twelve_volt_motor_divides_its_power_as_in_the_exercise() {
    let ke = 12.0 / (3800.0 * RPM);
    close("k", ke, 0.030_155_7, 2e-5);
    let ohms = ke * 12.0 / 0.030;
    close("R", ohms, 12.062, 5e-5);
    let point = run(&bare(ke, ohms, 0.010_263), 12.0, 0.0);
    close("speed", point.rad_s / RPM, 2500.0, 1e-4);
    close("current", point.amps, 0.34034, 5e-5);
    close("back-EMF", point.back_emf_v, 7.8947, 5e-5);
    close("power in", 12.0 * point.amps, 4.0841, 5e-5);
    close("power out", point.torque_nm * point.rad_s, 2.6869, 5e-5);
    close("copper heat", point.amps * point.amps * ohms, 1.3972, 1e-4);
    let stalled = run(
        &PumpUnit {
            motor: Motor {
                seized: true,
                ..bare(ke, ohms, 0.0).motor
            },
            ..bare(ke, ohms, 0.0)
        },
        12.0,
        0.0,
    );
    close("stall torque", stalled.torque_nm, 0.030, 1e-12);
    assert!(stalled.stalled && stalled.rad_s == 0.0);
}

/// Small motor step of 1 V \[calc\].
#[test]
fn a_small_motor_settles_at_the_calculated_speed() {
    let mut unit = bare(0.0274, 4.0, 0.0);
    unit.motor.viscous_nm_s = 3.5077e-6;
    unit.motor.inertia_kg_m2 = 3.2284e-6;
    unit.motor.inductance_h = 2.75e-6;
    close("settled", run(&unit, 1.0, 0.0).rad_s, 35.827, 2e-5);
    let supply = Supply {
        volts: 1.0,
        ohms: 0.0,
    };
    let trace = prime(
        &unit,
        &fuel_circuit(),
        &supply,
        &Demand::none(),
        Rest::default(),
        1.0,
        0.1,
    )
    .expect("steps");
    close("stepped", trace.end.rad_s, 35.827, 2e-5);
}

/// Pump-sized start-up: \[spice\] and an independent RK4.
#[test]
fn a_pump_sized_motor_starts_as_in_spice() {
    let mut unit = bare(0.0143, 0.6, 0.0715);
    unit.motor.inductance_h = 0.3e-3;
    unit.motor.inertia_kg_m2 = 5e-6;
    let supply = Supply {
        volts: 12.65,
        ohms: 0.1078,
    };
    let trace = prime(
        &unit,
        &fuel_circuit(),
        &supply,
        &Demand::none(),
        Rest::default(),
        0.4,
        1e-5,
    )
    .expect("steps");
    let peak = trace
        .samples
        .iter()
        .max_by(|a, b| a.amps.total_cmp(&b.amps))
        .expect("samples");
    close("peak current", peak.amps, 16.9707, 1e-3);
    close("time of the peak", peak.t_s, 1.77e-3, 6e-3);
    close("peak among the steps", trace.peak.amps, 16.9707, 1e-3);
    close("settled current", trace.end.amps, 5.0001, 1e-3);
    close("settled speed", trace.end.rad_s / RPM, 6084.1, 1e-3);
    let target = 0.632 * trace.end.rad_s;
    let pair = trace
        .samples
        .windows(2)
        .find(|pair| pair[1].rad_s >= target)
        .expect("it gets there");
    let part = (target - pair[0].rad_s) / (pair[1].rad_s - pair[0].rad_s);
    close(
        "63.2 % of the speed",
        pair[0].t_s + part * (pair[1].t_s - pair[0].t_s),
        17.43e-3,
        1e-3,
    );
}

#[test]
fn friction_holds_a_motor_until_its_torque_exceeds_it() {
    let unit = bare(0.014, 0.7, 0.020);
    let just_held = run(&unit, 0.7 * 0.0199 / 0.014, 0.0);
    assert!(just_held.stalled && just_held.rad_s == 0.0);
    close(
        "current at rest is V/R",
        just_held.amps,
        0.0199 / 0.014,
        1e-12,
    );
    let just_free = run(&unit, 0.7 * 0.0201 / 0.014, 0.0);
    assert!(!just_free.stalled && just_free.rad_s > 0.0);
}

#[test]
fn brush_drop_is_a_film_at_small_currents_and_never_drives_one() {
    let mut unit = bare(0.014, 0.7, 0.0);
    unit.motor.brush_volts = 0.8;
    // Constant from a tenth of an ampere on, 8 ohm below.
    for volts in [-0.8, -0.3, 0.0, 0.3, 0.8] {
        let point = run(&unit, volts, 0.0);
        assert_eq!(point.rad_s, 0.0, "at {volts} V");
        close("through the film", point.amps, volts / 8.7, 1e-12);
    }
    unit.motor.seized = true;
    let (below, above) = (run(&unit, 0.86999, 0.0).amps, run(&unit, 0.87001, 0.0).amps);
    close("the law has no step, below", below, 0.1, 2e-5);
    close("the law has no step, above", above, 0.1, 2e-4);
    close("above the drop", run(&unit, 1.5, 0.3).amps, 0.7, 1e-12);
    close("reversed", run(&unit, -1.5, 0.3).amps, -0.7, 1e-12);
}

#[test]
fn a_reversed_supply_turns_the_pump_backwards_and_delivers_nothing() {
    let unit = super::van::van();
    let point = run(&unit, -12.0, 0.1);
    assert!(point.rad_s < 0.0 && point.amps < 0.0 && point.back_emf_v < 0.0);
    assert_eq!((point.delivered_m3_s, point.rail_pa), (0.0, 0.0));
    let friction = unit.motor.dry_nm - unit.motor.viscous_nm_s * point.rad_s;
    close("torque", point.torque_nm, -friction, 1e-12);
    let supply = Supply {
        volts: -12.0,
        ohms: 0.1,
    };
    let trace = prime(
        &unit,
        &fuel_circuit(),
        &supply,
        &Demand::none(),
        Rest::default(),
        1.0,
        0.1,
    )
    .expect("steps");
    close("stepped speed", trace.end.rad_s, point.rad_s, 1e-4);
    close("stepped current", trace.end.amps, point.amps, 1e-4);
}

#[test]
fn an_open_supply_gives_no_current() {
    let point = run(&super::van::van(), 12.0, f64::INFINITY);
    assert_eq!(
        (point.amps, point.rad_s, point.terminal_volts),
        (0.0, 0.0, 0.0)
    );
    assert!(point.stalled);
}

#[test]
fn a_brush_resting_on_a_dead_segment_keeps_the_motor_still_until_it_is_knocked() {
    let mut unit = super::van::van();
    unit.motor.dead_segments = 1;
    let running = run(&unit, 12.3, 0.15);
    unit.motor.stopped_on_dead = true;
    let still = run(&unit, 12.3, 0.15);
    assert!(running.amps > 3.0 && still.amps == 0.0 && still.stalled);
    close(
        "open circuit at the terminals",
        still.terminal_volts,
        12.3,
        0.0,
    );
    let supply = Supply {
        volts: 12.3,
        ohms: 0.15,
    };
    let trace = prime(
        &unit,
        &fuel_circuit(),
        &supply,
        &Demand::none(),
        Rest::default(),
        0.5,
        0.1,
    )
    .expect("steps");
    assert_eq!((trace.peak.amps, trace.end.rad_s), (0.0, 0.0));
}
