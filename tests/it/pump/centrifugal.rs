//! A centrifugal element: the rated figures come out, resistance takes current away, and the affinity laws hold.

use hidden_ohm::pump::{
    CheckValve, Demand, ElementKind, Hydraulics, Impeller, OperatingPoint, Outlet, PumpUnit, Rated,
    RatedElement, Rest, Supply, operating_point, prime,
};

use super::van::{KPA, LPH, fuel_circuit};

fn near(value: f64, expected: f64, within: f64) {
    assert!(
        (value - expected).abs() <= within,
        "{value}, expected {expected} within {within}"
    );
}

fn rated() -> Rated {
    Rated {
        volts: 13.0,
        rise_pa: 38.0 * KPA,
        flow_m3_s: 2700.0 * LPH,
        amps: 7.4,
        rpm: 4300.0,
        winding_ohms: 0.24,
        brush_ohms: 0.05,
        brush_volts: 0.5,
        dry_part: 0.35,
        inductance_h: 0.2e-3,
        inertia_kg_m2: 1.8e-5,
        segments: 12,
        element: RatedElement::Centrifugal {
            blades: 6,
            shut_off_pa: 57.0 * KPA,
            shut_off_amps: 4.3,
            dry_amps: 2.0,
            leak_share: 0.2,
        },
    }
}

fn pump() -> PumpUnit {
    rated().unit().expect("the figures are consistent")
}

fn wheel(unit: &PumpUnit) -> Impeller {
    let ElementKind::Centrifugal(wheel) = unit.element.kind else {
        panic!("a wheel")
    };
    wheel
}

/// A loop whose resistance takes the rated pressure at the rated flow, all of it in its hoses, `times` as much.
fn circuit(times: f64) -> Hydraulics {
    let flow = 2700.0 * LPH;
    Hydraulics {
        density: 1030.0,
        closed_loop: true,
        strainer_pa_s2_m6: 0.0,
        vapour_limit_pa: 30.0 * KPA,
        relief_pa: f64::INFINITY,
        check_valve: CheckValve {
            crack_pa: 0.0,
            leak_m2: 0.0,
        },
        filter_pa_s_m3: 0.0,
        line_pa_s2_m6: times * 38.0 * KPA / (flow * flow),
        hose_compliance_m3_pa: 3e-10,
        ..fuel_circuit()
    }
}

fn at(unit: &PumpUnit, hydraulics: &Hydraulics) -> OperatingPoint {
    let supply = Supply {
        volts: 13.0,
        ohms: 0.0,
    };
    operating_point(unit, hydraulics, &supply, &Demand::none()).expect("solvable")
}

/// The parameters that section 8 of `docs/physics.md` tells.
#[test]
fn parameters_follow_from_the_rated_figures() {
    let unit = pump();
    let wheel = wheel(&unit);
    for (value, expected) in [
        (wheel.head_pa_s2, 0.246),
        (wheel.fall_pa_s2_m3, 14.7e3),
        (wheel.loss_pa_s2_m6, 7.4e9),
        (wheel.disc_nm_s2, 1.07e-7),
        (wheel.mixing_pa_s2, 0.0166),
        (unit.element.leak_m3_s_pa / LPH * KPA, 14.2),
    ] {
        near(value, expected, 0.01 * expected);
    }
}

#[test]
fn the_rated_figures_come_out_again() {
    let unit = pump();
    let point = at(&unit, &circuit(1.0));
    near(point.delivered_m3_s, 2700.0 * LPH, 0.01 * LPH * 2700.0);
    near(point.amps, 7.4, 0.05);
    near(point.rad_s * 60.0 / core::f64::consts::TAU, 4300.0, 20.0);
    let shut = at(&unit, &circuit(f64::INFINITY));
    near(shut.outlet_pa, 57.0 * KPA, 1.0);
    near(shut.amps, 4.3, 1e-6);
    let mut air = circuit(1.0);
    air.tank_empty = true;
    near(at(&unit, &air).amps, 2.0, 1e-9);
}

/// What a displacement pump does the other way round (Gulich, *Centrifugal Pumps*, from memory: shaft power of a radial wheel
/// rises with its flow, and shut-off pressure is 1.2 to 1.6 of the rated one).
#[test]
fn against_more_resistance_flow_and_current_fall_and_speed_rises() {
    let unit = pump();
    let points: Vec<OperatingPoint> = [0.3, 1.0, 3.0, 10.0, 30.0, 100.0, f64::INFINITY]
        .iter()
        .map(|&times| at(&unit, &circuit(times)))
        .collect();
    for pair in points.windows(2) {
        let (free, stiff) = (&pair[0], &pair[1]);
        assert!(stiff.delivered_m3_s < free.delivered_m3_s, "{pair:?}");
        assert!(stiff.amps < free.amps, "{pair:?}");
        assert!(stiff.rad_s > free.rad_s, "{pair:?}");
        assert!(stiff.outlet_pa > free.outlet_pa, "{pair:?}");
    }
    let head = wheel(&unit).head_pa_s2 * points[1].rad_s * points[1].rad_s;
    assert!((1.2..1.6).contains(&(head / points[1].outlet_pa)), "{head}");
}

/// Flow goes with speed, pressure with its square and the wheel's torque too, against a resistance that is quadratic but for
/// the 0.75 of 38 kPa that a line without a filter still takes in proportion to the flow.
#[test]
fn affinity_laws() {
    let mut unit = pump();
    // A leak in proportion to pressure is the one thing that does not scale.
    unit.element.leak_m3_s_pa = 0.0;
    let with = |volts: f64| {
        let supply = Supply { volts, ohms: 0.0 };
        operating_point(&unit, &circuit(1.0), &supply, &Demand::none()).expect("solvable")
    };
    let (slow, fast) = (with(7.0), with(14.0));
    let times = fast.rad_s / slow.rad_s;
    near(
        fast.delivered_m3_s / slow.delivered_m3_s,
        times,
        0.01 * times,
    );
    near(
        fast.rise_pa / slow.rise_pa,
        times * times,
        0.02 * times * times,
    );
    near(
        fast.hydraulic_nm / slow.hydraulic_nm,
        times * times,
        0.02 * times * times,
    );
}

#[test]
fn wear_drag_and_air_show_as_on_metal() {
    let (sound, circuit) = (pump(), circuit(1.0));
    let healthy = at(&sound, &circuit);
    let mut worn = sound;
    worn.element.leak_m3_s_pa *= 5.0;
    let worn = at(&worn, &circuit);
    assert!(worn.delivered_m3_s < 0.9 * healthy.delivered_m3_s);
    assert!(worn.outlet_pa < 0.85 * healthy.outlet_pa);
    let mut drags = sound;
    drags.motor.dry_nm += 0.045;
    let drags = at(&drags, &circuit);
    assert!(drags.amps > 1.15 * healthy.amps && drags.rad_s < 0.97 * healthy.rad_s);
    // Half-way to air: less current than against any resistance, more speed, less pressure.
    let shut = at(&sound, &self::circuit(f64::INFINITY));
    let mut starved = circuit;
    starved.strainer_pa_s2_m6 = 300.0 * 2.0 * KPA / (2700.0 * LPH * 2700.0 * LPH);
    let starved = at(&sound, &starved);
    assert!(starved.starved && starved.amps < shut.amps && starved.rad_s > shut.rad_s);
    assert!(starved.outlet_pa < 0.3 * healthy.outlet_pa);
}

/// Standing, turned backwards, and from rest into a blocked way, nothing runs away.
#[test]
fn at_rest_and_backwards_it_delivers_nothing() {
    let unit = pump();
    for (volts, way) in [(-13.0, 1.0), (0.0, 1.0), (13.0, f64::INFINITY)] {
        let supply = Supply { volts, ohms: 0.05 };
        let point =
            operating_point(&unit, &circuit(way), &supply, &Demand::none()).expect("solvable");
        assert_eq!(point.delivered_m3_s.to_bits(), 0.0_f64.to_bits());
        let demand = Demand {
            outlet: Outlet::LineIntoCan,
            ..Demand::none()
        };
        let trace = prime(
            &unit,
            &circuit(way),
            &supply,
            &demand,
            Rest::default(),
            3.0,
            0.1,
        )
        .expect("steps");
        near(trace.end.amps, point.amps, 1e-4);
        near(trace.end.rad_s, point.rad_s, 1e-2);
        near(trace.end.outlet_pa, point.outlet_pa, 10.0);
        assert!(trace.steps < 500, "{}", trace.steps);
    }
}

#[test]
fn figures_that_contradict_each_other_are_refused_by_name() {
    let refused = |element: RatedElement| {
        let rated = Rated { element, ..rated() };
        rated.unit().expect_err("impossible").to_string()
    };
    let element = |shut_off_pa: f64, shut_off_amps: f64| RatedElement::Centrifugal {
        blades: 6,
        shut_off_pa,
        shut_off_amps,
        dry_amps: 2.0,
        leak_share: 0.2,
    };
    assert!(refused(element(30.0 * KPA, 4.3)).contains("fall of pressure"));
    // More current without flow than with it leaves nothing for the water.
    assert!(refused(element(57.0 * KPA, 7.5)).contains("mixing"));
    assert!(refused(element(57.0 * KPA, 2.0)).contains("disc friction"));
}
