//! Primes against `SciPy`'s integration of independently written equations.
//!
//! A hundred of roller cells, twenty of wheels in a loop. The reference stands in `tests/data/pump/prime.json`; `tests/outside/20-scipy-pump` recomputes it, and
//! with `--mint` draws it again after an intended change of the model.

use hidden_ohm::pump::{
    CheckValve, Demand, Element, ElementKind, Hydraulics, Impeller, Motor, Outlet, PumpUnit,
    Regulator, RegulatorPlace, RegulatorStuck, Rest, Supply, prime,
};
use serde_json::Value;

fn number(from: &Value, name: &str) -> f64 {
    from[name]
        .as_f64()
        .unwrap_or_else(|| panic!("no number {name} in {from}"))
}

fn count(from: &Value, name: &str) -> u32 {
    u32::try_from(from[name].as_u64().expect("a count")).expect("a small count")
}

fn unit(case: &Value) -> PumpUnit {
    let (motor, element) = (&case["motor"], &case["element"]);
    PumpUnit {
        motor: Motor {
            winding_ohms: number(motor, "winding_ohms"),
            brush_ohms: number(motor, "brush_ohms"),
            brush_volts: number(motor, "brush_volts"),
            ke: number(motor, "ke"),
            inductance_h: number(motor, "inductance_h"),
            inertia_kg_m2: number(motor, "inertia_kg_m2"),
            dry_nm: number(motor, "dry_nm"),
            viscous_nm_s: number(motor, "viscous_nm_s"),
            segments: count(motor, "segments"),
            dead_segments: count(motor, "dead_segments"),
            stopped_on_dead: false,
            seized: false,
        },
        element: Element {
            displacement_m3_rad: number(element, "displacement_m3_rad"),
            leak_m3_s_pa: number(element, "leak_m3_s_pa"),
            kind: kind(&element["wheel"]),
        },
    }
}

fn kind(wheel: &Value) -> ElementKind {
    if wheel.is_null() {
        return ElementKind::Roller { rollers: 5 };
    }
    ElementKind::Centrifugal(Impeller {
        blades: 6,
        head_pa_s2: number(wheel, "head_pa_s2"),
        fall_pa_s2_m3: number(wheel, "fall_pa_s2_m3"),
        loss_pa_s2_m6: number(wheel, "loss_pa_s2_m6"),
        disc_nm_s2: number(wheel, "disc_nm_s2"),
        mixing_pa_s2: number(wheel, "mixing_pa_s2"),
    })
}

fn circuit(from: &Value) -> Hydraulics {
    let regulator = &from["regulator"];
    Hydraulics {
        density: number(from, "density"),
        discharge: number(from, "discharge"),
        strainer_pa_s2_m6: number(from, "strainer_pa_s2_m6"),
        vapour_limit_pa: number(from, "vapour_limit_pa"),
        brought_m3_s: f64::INFINITY,
        tank_empty: false,
        closed_loop: false,
        relief_pa: number(from, "relief_pa"),
        relief_slope_pa_s_m3: number(from, "relief_slope_pa_s_m3"),
        check_valve: CheckValve {
            crack_pa: number(&from["check_valve"], "crack_pa"),
            leak_m2: number(&from["check_valve"], "leak_m2"),
        },
        in_tank_leak_m2: number(from, "in_tank_leak_m2"),
        filter_pa_s_m3: number(from, "filter_pa_s_m3"),
        line_pa_s2_m6: number(from, "line_pa_s2_m6"),
        line_shut: false,
        regulator: Regulator {
            set_pa: number(regulator, "set_pa"),
            slope_pa_s_m3: number(regulator, "slope_pa_s_m3"),
            full_area_m2: number(regulator, "full_area_m2"),
            place: if regulator["place"] == "tank" {
                RegulatorPlace::Tank
            } else {
                RegulatorPlace::Rail
            },
            stuck: match &regulator["stuck"] {
                Value::Null => None,
                Value::Number(_) => Some(RegulatorStuck::Open {
                    area_m2: number(regulator, "stuck"),
                }),
                _ => Some(RegulatorStuck::Shut),
            },
        },
        return_pa_s2_m6: number(from, "return_pa_s2_m6"),
        injector_leak_m2: number(from, "injector_leak_m2"),
        injector_rated_pa: number(from, "injector_rated_pa"),
        hose_compliance_m3_pa: number(from, "hose_compliance_m3_pa"),
        compliance_m3_pa: number(from, "compliance_m3_pa"),
    }
}

#[test]
fn primes_follow_scipy_within_a_ten_thousandth() {
    let record: Value = serde_json::from_str(include_str!("../../data/pump/prime.json"))
        .expect("the record is JSON");
    let cases = record["cases"].as_array().expect("cases");
    assert_eq!(cases.len(), 120);
    for (at, case) in cases.iter().enumerate() {
        let supply = Supply {
            volts: number(&case["supply"], "volts"),
            ohms: number(&case["supply"], "ohms"),
        };
        let demand = Demand {
            injectors_m3_s: number(&case["demand"], "injectors_m3_s"),
            manifold_pa: number(&case["demand"], "manifold_pa"),
            outlet: if case["demand"]["outlet"] == "line_into_can" {
                Outlet::LineIntoCan
            } else {
                Outlet::Rail
            },
        };
        let rest = Rest {
            rail_pa: number(case, "rest_pa"),
        };
        let trace = prime(
            &unit(case),
            &circuit(&case["hydraulics"]),
            &supply,
            &demand,
            rest,
            2.0,
            0.001,
        )
        .expect("steps");
        let times = record["times"].as_array().expect("times");
        for (time, reference) in times
            .iter()
            .zip(case["reference"].as_array().expect("states"))
        {
            let seconds = time.as_f64().expect("a time");
            let sample = trace
                .samples
                .iter()
                .find(|sample| (sample.t_s - seconds).abs() < 1e-9)
                .expect("every millisecond");
            let got = [sample.amps, sample.rad_s, sample.outlet_pa, sample.rail_pa];
            // Beside the relative part: 1 mA, 0.01 rad/s, 10 Pa, well below what any instrument shows.
            for ((got, expected), absolute) in got
                .iter()
                .zip(reference.as_array().expect("a state"))
                .zip([1e-3, 1e-2, 10.0, 10.0])
            {
                let expected = expected.as_f64().expect("a number");
                let allowed = absolute + 1e-4 * expected.abs();
                assert!(
                    (got - expected).abs() <= allowed,
                    "case {at} at {seconds} s: {got:?} against SciPy's {reference}"
                );
            }
        }
    }
}
