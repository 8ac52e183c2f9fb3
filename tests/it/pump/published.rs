//! Published behaviour of pumps.

use hidden_ohm::pump::{
    CheckValve, Demand, Element, ElementKind, Hydraulics, Motor, OperatingPoint, PumpUnit, Rated,
    Supply, operating_point,
};

use super::van::{KPA, LPH, fuel_circuit, rated, van};

/// One turn a minute in rad/s.
const RPM: f64 = core::f64::consts::TAU / 60.0;

/// A test bench: a constant pressure behind the pump, and nothing else in the way.
fn bench(pa: f64) -> Hydraulics {
    let mut circuit = fuel_circuit();
    circuit.strainer_pa_s2_m6 = 0.0;
    circuit.check_valve = CheckValve {
        crack_pa: 0.0,
        leak_m2: 0.0,
    };
    circuit.relief_pa = f64::INFINITY;
    circuit.filter_pa_s_m3 = 0.0;
    circuit.line_pa_s2_m6 = 0.0;
    circuit.return_pa_s2_m6 = 0.0;
    circuit.regulator.set_pa = pa;
    circuit.regulator.slope_pa_s_m3 = 0.0;
    circuit.regulator.full_area_m2 = 1e-3;
    circuit
}

fn at(unit: &PumpUnit, pa: f64, volts: f64) -> OperatingPoint {
    operating_point(
        unit,
        &bench(pa),
        &Supply { volts, ohms: 0.0 },
        &Demand::none(),
    )
    .expect("solvable")
}

fn efficiency(point: &OperatingPoint, pa: f64, volts: f64) -> f64 {
    pa * point.delivered_m3_s / (volts * point.amps)
}

/// Roller type at a fixed line pressure, 1987 maker's service data, volume against voltage:
/// 120, 102, 84, 66 L/h at 12, 11, 10, 9 V, which is 18.0 (V - 5.333).
#[test]
fn a_roller_pump_delivers_exactly_linearly_in_volts() {
    let unit = Rated {
        flow_m3_s: 120.0 * LPH,
        amps: 6.0,
        ..rated()
    }
    .unit()
    .expect("consistent");
    for (volts, litres_an_hour) in [
        (12.0, 120.0),
        (11.0, 102.0),
        (10.0, 84.0),
        (9.0, 66.0),
        (7.0, 18.0 * (7.0 - 5.333)),
    ] {
        let got = at(&unit, 300.0 * KPA, volts).delivered_m3_s / LPH;
        assert!(
            (got - litres_an_hour).abs() < 0.001 * 120.0,
            "{volts} V: {got} L/h, published {litres_an_hour}"
        );
    }
    let below = at(&unit, 300.0 * KPA, 5.0);
    assert!(
        below.delivered_m3_s == 0.0 && below.rail_pa < 300.0 * KPA,
        "too weak to open the regulator: {below:?}"
    );
}

/// Service pressures, makers' data, in kPa: a regulator set to the middle of the band holds it there while a pump at its rated
/// volts delivers what its pressure leaves it.
#[test]
fn service_pressures_are_held_by_a_regulator_set_to_them() {
    for (what, low, high) in [
        ("single-point injection", 90.0, 210.0),
        ("return-type port injection at idle", 240.0, 260.0),
        ("the same with the vacuum off", 290.0, 310.0),
        ("returnless port injection", 380.0, 400.0),
        ("low side of direct injection", 430.0, 470.0),
    ] {
        let mut circuit = bench(0.5 * (low + high) * KPA);
        circuit.regulator.slope_pa_s_m3 = fuel_circuit().regulator.slope_pa_s_m3;
        let supply = Supply {
            volts: 13.5,
            ohms: 0.1,
        };
        let point = operating_point(&van(), &circuit, &supply, &Demand::none()).expect("solvable");
        let held = point.rail_pa / KPA;
        assert!(
            (low..=high).contains(&held) && point.return_m3_s > 0.0,
            "{what}: {held} kPa"
        );
    }
}

/// The van's pump has the same slope, shifted: 18.0 (V - 6.722).
#[test]
fn the_vans_pump_follows_the_same_line_shifted() {
    for volts in [8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0] {
        let got = at(&van(), 300.0 * KPA, volts).delivered_m3_s / LPH;
        let line = 18.0 * (volts - 6.722);
        assert!(
            (got - line).abs() < 0.02 * line,
            "{volts} V: {got} L/h against {line}"
        );
    }
}

/// A maker's data sheet of a 48 V turbine pump at 4000 rpm, L/h at 4 to 8 bar; slope -12 to -15 L/h per bar.
#[test]
fn a_turbine_pump_loses_flow_with_pressure_as_published() {
    let published = [149.4, 133.9, 119.3, 105.2, 93.2];
    // Straight line of least squares through the five published points.
    let slope = published
        .iter()
        .zip(-2_i32..)
        .map(|(flow, bar)| f64::from(bar) * flow)
        .sum::<f64>()
        / 10.0;
    let mean = published.iter().sum::<f64>() / 5.0;
    assert!((-15.0..=-12.0).contains(&slope));
    let leak = -slope * LPH / 1e5;
    let speed = 4000.0 * RPM;
    let unit = PumpUnit {
        // Without resistance the speed is the back-EMF's, whatever the pressure: a fixed speed.
        motor: Motor {
            winding_ohms: 0.0,
            brush_ohms: 0.0,
            brush_volts: 0.0,
            ke: 48.0 / speed,
            ..van().motor
        },
        element: Element {
            displacement_m3_rad: (mean * LPH + leak * 6e5) / speed,
            leak_m3_s_pa: leak,
            kind: ElementKind::Turbine { vanes: 37 },
        },
    };
    let flows: Vec<f64> = (4..=8)
        .map(|bar| at(&unit, f64::from(bar) * 1e5, 48.0).delivered_m3_s / LPH)
        .collect();
    for (flow, sheet) in flows.iter().zip(published) {
        assert!(
            (flow - sheet).abs() < 0.015 * sheet,
            "{flow} L/h, data sheet {sheet}"
        );
    }
    for pair in flows.windows(2) {
        assert!(
            (-15.0..=-12.0).contains(&(pair[1] - pair[0])),
            "slope {}",
            pair[1] - pair[0]
        );
    }
}

/// Electrical-to-hydraulic efficiency of 12 V in-tank pumps is 9 to 11 % (several service data: 90 L/h at
/// 400 kPa and 8 A; 124 L/h at 350 kPa and at most 9.5 A).
#[test]
fn published_pumps_come_out_at_nine_to_eleven_per_cent() {
    for (litres_an_hour, kilopascal, amps) in
        [(90.0, 400.0, 8.0), (124.0, 350.0, 9.5), (80.0, 300.0, 5.05)]
    {
        let figures = Rated {
            flow_m3_s: litres_an_hour * LPH,
            rise_pa: kilopascal * KPA,
            amps,
            winding_ohms: 0.30,
            brush_ohms: 0.05,
            ..rated()
        };
        let point = at(&figures.unit().expect("consistent"), kilopascal * KPA, 12.0);
        assert!(
            (point.amps - amps).abs() < 1e-3 * amps,
            "{} A of {amps}",
            point.amps
        );
        let got = efficiency(&point, kilopascal * KPA, 12.0);
        assert!(
            (0.09..=0.1105).contains(&got),
            "{litres_an_hour} L/h: {got}"
        );
    }
}

#[test]
fn rated_figures_come_back_at_the_rated_point() {
    let point = at(&van(), rated().rise_pa, rated().volts);
    for (what, got, expected) in [
        ("flow", point.delivered_m3_s, rated().flow_m3_s),
        ("current", point.amps, rated().amps),
        ("speed", point.rad_s, rated().rpm * RPM),
    ] {
        assert!(
            (got - expected).abs() < 2e-4 * expected,
            "{what}: {got} against {expected}"
        );
    }
}

#[test]
fn impossible_rated_figures_are_refused_by_name() {
    let error = Rated {
        flow_m3_s: 500.0 * LPH,
        ..rated()
    }
    .unit()
    .expect_err("no displacement for it");
    assert!(error.to_string().contains("leakage"), "{error}");
    let error = Rated {
        amps: 30.0,
        ..rated()
    }
    .unit()
    .expect_err("more than stall current");
    assert!(error.to_string().contains("motor constant"), "{error}");
}
