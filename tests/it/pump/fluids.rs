//! Worked examples of flow through openings.

use core::f64::consts::PI;

use hidden_ohm::pump::{
    CheckValve, Demand, Element, ElementKind, Hydraulics, Motor, PumpUnit, RegulatorStuck, Rest,
    Supply, operating_point, prime,
};

use super::van::{LPH, fuel_circuit, key_on, van};

const PSI: f64 = 6_894.757;
const GPM: f64 = 3.785_411_784e-3 / 60.0;

fn close(what: &str, got: f64, expected: f64, relative: f64) {
    assert!(
        (got - expected).abs() <= relative * expected.abs(),
        "{what}: got {got}, expected {expected}"
    );
}

fn disc(diameter_m: f64) -> f64 {
    PI / 4.0 * diameter_m * diameter_m
}

/// Density kg/m3, coefficient, area m2, drop Pa, expected flow m3/s, relative tolerance of its rounding.
#[test]
fn orifices_pass_what_the_published_examples_say() {
    // The meter's formula divides by sqrt(1 - beta^4) for the velocity of approach, which a leak has not.
    let approach = (1.0 - (3.0_f64 / 4.0).powi(4)).sqrt();
    let mercury_over_methanol = (13_600.0 - 788.4) * 9.81 * 0.11;
    let cases = [
        // Published calculator example: water, 40 mm, 5000 Pa, 0.62: 2.46 L/s.
        (
            "water, 40 mm",
            998.0,
            0.62,
            disc(0.040),
            5_000.0,
            2.46e-3,
            3e-3,
        ),
        // Cengel, Fluid Mechanics, Ex 8-10: 3.09e-3 m3/s, in a pipe of 4 cm.
        (
            "methanol, 3 cm",
            788.4,
            0.61,
            disc(0.030),
            mercury_over_methanol,
            3.09e-3 * approach,
            2e-3,
        ),
    ];
    for (what, density, discharge, area, drop, expected, relative) in cases {
        let circuit = Hydraulics {
            density,
            discharge,
            ..fuel_circuit()
        };
        close(what, circuit.orifice_m3_s(area, drop), expected, relative);
    }
    // The same example's velocity in the pipe of 4 cm.
    close("velocity", 3.09e-3 / disc(0.04), 2.46, 2e-3);
}

/// Valve coefficient, Fluid Power companion 788 Ex 8-5: 25 gpm at 100 psi and specific gravity 0.9 is
/// 2.37 gpm of water at 1 psi.
#[test]
fn an_orifice_keeps_its_valve_coefficient() {
    let with = |density| Hydraulics {
        density,
        ..fuel_circuit()
    };
    let area = 25.0 * GPM / with(900.0).orifice_m3_s(1.0, 100.0 * PSI);
    close(
        "Cv",
        with(1_000.0).orifice_m3_s(area, PSI) / GPM,
        2.37,
        1e-3,
    );
}

/// Injector flow with pressure, published rule and example: 450 at 42 psi is 500.6 at 52 psi.
#[test]
fn injectors_follow_the_root_of_pressure() {
    let mut circuit = fuel_circuit();
    circuit.injector_rated_pa = 42.0 * PSI;
    circuit.regulator.set_pa = 52.0 * PSI;
    circuit.regulator.slope_pa_s_m3 = 0.0;
    let asked = 4.5 * LPH;
    let demand = Demand {
        injectors_m3_s: asked,
        ..Demand::none()
    };
    let supply = Supply {
        volts: 16.0,
        ohms: 0.05,
    };
    let point = operating_point(&van(), &circuit, &supply, &demand).expect("solvable");
    assert!(
        point.return_m3_s > 0.0,
        "the regulator must hold the pressure"
    );
    close("flow", 450.0 * point.injectors_m3_s / asked, 500.6, 5e-4);
}

/// Bulk modulus, `OpenStax` College Physics Ex 13.5: 1.10 L forced into 60 L of 1.0e9 Pa raise 1.83e7 Pa.
#[test]
fn pressure_is_the_volume_forced_in_over_the_compliance() {
    let mut circuit = fuel_circuit();
    circuit.relief_pa = f64::INFINITY;
    circuit.regulator.stuck = Some(RegulatorStuck::Shut);
    circuit.check_valve = CheckValve {
        crack_pa: 0.0,
        leak_m2: 0.0,
    };
    circuit.strainer_pa_s2_m6 = 0.0;
    circuit.filter_pa_s_m3 = 1e7;
    circuit.line_pa_s2_m6 = 0.0;
    circuit.hose_compliance_m3_pa = 0.02 / 1.0e9;
    circuit.compliance_m3_pa = 0.04 / 1.0e9;
    let strong = Motor {
        winding_ohms: 0.1,
        brush_ohms: 0.0,
        brush_volts: 0.0,
        ke: 1.0,
        inductance_h: 1e-3,
        inertia_kg_m2: 1e-3,
        dry_nm: 0.0,
        viscous_nm_s: 0.0,
        ..van().motor
    };
    let element = Element {
        displacement_m3_rad: 1e-6,
        leak_m3_s_pa: 0.0,
        kind: ElementKind::Roller { rollers: 5 },
    };
    let unit = PumpUnit {
        motor: strong,
        element,
    };
    let supply = Supply {
        volts: 100.0,
        ohms: 0.0,
    };
    let trace = prime(
        &unit,
        &circuit,
        &supply,
        &Demand::none(),
        Rest::default(),
        12.0,
        0.01,
    )
    .expect("steps");
    let mut volume = 0.0;
    for pair in trace.samples.windows(2) {
        volume +=
            0.5 * (pair[0].delivered_m3_s + pair[1].delivered_m3_s) * (pair[1].t_s - pair[0].t_s);
        if volume >= 1.10e-3 {
            close("pressure", pair[1].rail_pa, 1.83e7, 3e-3);
            return;
        }
    }
    panic!("only {volume} m3 pumped");
}

#[test]
fn what_the_pump_delivers_stands_in_hose_and_rail_or_has_left_them() {
    let circuit = fuel_circuit();
    let trace = prime(
        &van(),
        &circuit,
        &key_on(),
        &Demand::none(),
        Rest::default(),
        0.4,
        1e-4,
    )
    .expect("steps");
    let delivered: f64 = trace
        .samples
        .windows(2)
        .map(|pair| {
            0.5 * (pair[0].delivered_m3_s + pair[1].delivered_m3_s) * (pair[1].t_s - pair[0].t_s)
        })
        .sum();
    let stored = circuit.hose_compliance_m3_pa * trace.end.outlet_pa
        + circuit.compliance_m3_pa * trace.end.rail_pa;
    close("volume before the regulator opens", delivered, stored, 1e-4);
}

// Gasoline's bulk modulus is 1.0 to 1.3 GPa (OpenStax College Physics; Munson, Fundamentals of Fluid Mechanics), and
// C = V/B: what the model leaves out. The worked example first: 1.10 L pressed into 60 L at 1.0 GPa makes 18.3 MPa.
#[test]
fn the_fuels_own_compressibility_is_little_beside_what_hose_and_line_give() {
    let modulus: f64 = 1.0e9;
    let pressed = modulus * 1.10 / 60.0;
    assert!((pressed / 1.83e7 - 1.0).abs() < 2e-3, "{pressed}");
    let library = hidden_ohm::scenario::Library::built_in().expect("the built-in files are right");
    for vehicle in library.vehicles.iter().filter(|v| v.cooling.is_none()) {
        let fuel = &vehicle.hydraulics;
        // Some 0.3 L between pump and rail.
        let own = 0.3e-3 / modulus;
        let share = own / (fuel.hose_compliance_m3_pa + fuel.compliance_m3_pa);
        assert!(share < 0.03, "{}: {share}", vehicle.id);
    }
}
