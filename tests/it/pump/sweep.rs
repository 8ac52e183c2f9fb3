//! Random vehicles for the laws that must hold on all of them.

use hidden_ohm::pump::{
    CheckValve, Demand, Element, ElementKind, Hydraulics, Impeller, Motor, Outlet, PumpUnit,
    Regulator, RegulatorPlace, RegulatorStuck, Supply,
};
use proptest::prelude::{Strategy, any};
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

use super::van::{fuel_circuit, van};

/// Parameters of one case.
#[derive(Clone, Debug)]
pub struct Case {
    pub unit: PumpUnit,
    pub circuit: Hydraulics,
    pub supply: Supply,
    pub demand: Demand,
}

/// The same cases in every run.
pub fn runner(cases: u32) -> TestRunner {
    let config = Config {
        cases,
        failure_persistence: None,
        max_shrink_iters: 0,
        ..Config::default()
    };
    TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha))
}

/// Numbers that every parameter is made from, one after the other.
struct Draws {
    values: Vec<u32>,
    next: usize,
}

impl Draws {
    fn word(&mut self) -> u32 {
        self.next += 1;
        self.values[self.next - 1]
    }

    fn unit_interval(&mut self) -> f64 {
        f64::from(self.word()) / f64::from(u32::MAX)
    }

    fn one_in(&mut self, n: u32) -> bool {
        self.word().is_multiple_of(n)
    }
}

fn drawn<T: core::fmt::Debug>(make: impl Fn(&mut Draws) -> T) -> impl Strategy<Value = T> {
    proptest::collection::vec(any::<u32>(), 160)
        .prop_map(move |values| make(&mut Draws { values, next: 0 }))
}

/// Vans with every parameter moved by a factor of up to ten and now and then a fault.
pub fn vans() -> impl Strategy<Value = Case> {
    drawn(|d| {
        let (van, circuit) = (van(), fuel_circuit());
        case(
            d,
            |d, value: f64| {
                value
                    * libm::pow(10.0, 2.0 * d.unit_interval() - 1.0)
                    * if d.one_in(40) { 0.0 } else { 1.0 }
            },
            &van,
            &circuit,
        )
    })
}

/// Anything: each parameter zero, or anywhere from 1e-30 to 1e15, and the tame ones in between.
pub fn anything() -> impl Strategy<Value = Case> {
    drawn(|d| {
        let (van, circuit) = (van(), fuel_circuit());
        let any = |d: &mut Draws, value: f64| match d.word() % 4 {
            0 => 0.0,
            1 => libm::pow(10.0, 45.0 * d.unit_interval() - 30.0),
            2 => value * libm::pow(10.0, 8.0 * d.unit_interval() - 4.0),
            _ => value,
        };
        let mut case = case(d, any, &van, &circuit);
        case.circuit.density = case.circuit.density.max(1e-30);
        for resistance in [
            &mut case.supply.ohms,
            &mut case.circuit.strainer_pa_s2_m6,
            &mut case.circuit.filter_pa_s_m3,
            &mut case.circuit.line_pa_s2_m6,
            &mut case.circuit.return_pa_s2_m6,
            &mut case.circuit.relief_pa,
        ] {
            if d.one_in(20) {
                *resistance = f64::INFINITY;
            }
        }
        case
    })
}

fn case(
    d: &mut Draws,
    mut moved: impl FnMut(&mut Draws, f64) -> f64,
    van: &PumpUnit,
    base: &Hydraulics,
) -> Case {
    let (motor, element) = (&van.motor, &van.element);
    let dead_segments = if d.one_in(8) { d.word() % 9 } else { 0 };
    let stuck = match d.word() % 10 {
        0 => Some(RegulatorStuck::Shut),
        1 => Some(RegulatorStuck::Open {
            area_m2: moved(d, 2e-6),
        }),
        _ => None,
    };
    let outlet = match d.word() % 8 {
        0 => Outlet::LineIntoCan,
        1 => Outlet::ReturnIntoCan,
        _ => Outlet::Rail,
    };
    let sign = if d.one_in(12) { -1.0 } else { 1.0 };
    let place = if d.one_in(4) {
        RegulatorPlace::Tank
    } else {
        RegulatorPlace::Rail
    };
    let mut case = Case {
        unit: PumpUnit {
            motor: Motor {
                winding_ohms: moved(d, motor.winding_ohms),
                brush_ohms: moved(d, motor.brush_ohms),
                brush_volts: moved(d, motor.brush_volts),
                ke: moved(d, motor.ke),
                inductance_h: moved(d, motor.inductance_h),
                inertia_kg_m2: moved(d, motor.inertia_kg_m2),
                dry_nm: moved(d, motor.dry_nm),
                viscous_nm_s: moved(d, motor.viscous_nm_s),
                segments: 8,
                dead_segments,
                stopped_on_dead: d.one_in(20),
                seized: d.one_in(30),
            },
            element: Element {
                displacement_m3_rad: moved(d, element.displacement_m3_rad),
                leak_m3_s_pa: moved(d, element.leak_m3_s_pa),
                kind: ElementKind::Turbine { vanes: 37 },
            },
        },
        circuit: Hydraulics {
            density: moved(d, base.density).max(1e-3),
            discharge: moved(d, base.discharge),
            strainer_pa_s2_m6: if d.one_in(4) {
                moved(d, 4e14)
            } else {
                moved(d, base.strainer_pa_s2_m6)
            },
            vapour_limit_pa: moved(d, base.vapour_limit_pa),
            brought_m3_s: f64::INFINITY,
            tank_empty: d.one_in(30),
            closed_loop: false,
            relief_pa: moved(d, base.relief_pa),
            relief_slope_pa_s_m3: moved(d, base.relief_slope_pa_s_m3),
            check_valve: CheckValve {
                crack_pa: moved(d, base.check_valve.crack_pa),
                leak_m2: moved(d, base.check_valve.leak_m2),
            },
            in_tank_leak_m2: if d.one_in(4) { moved(d, 2e-6) } else { 0.0 },
            filter_pa_s_m3: moved(d, base.filter_pa_s_m3),
            line_pa_s2_m6: moved(d, base.line_pa_s2_m6),
            line_shut: false,
            regulator: Regulator {
                set_pa: moved(d, base.regulator.set_pa),
                slope_pa_s_m3: moved(d, base.regulator.slope_pa_s_m3),
                full_area_m2: moved(d, base.regulator.full_area_m2),
                place,
                stuck,
            },
            return_pa_s2_m6: moved(d, base.return_pa_s2_m6),
            injector_leak_m2: if d.one_in(4) { moved(d, 1e-8) } else { 0.0 },
            injector_rated_pa: moved(d, base.injector_rated_pa),
            hose_compliance_m3_pa: moved(d, base.hose_compliance_m3_pa),
            compliance_m3_pa: moved(d, base.compliance_m3_pa),
        },
        supply: Supply {
            volts: sign * moved(d, 12.3),
            ohms: moved(d, 0.15),
        },
        demand: Demand {
            injectors_m3_s: if d.one_in(3) { moved(d, 5e-6) } else { 0.0 },
            manifold_pa: if d.one_in(3) { -moved(d, 5e4) } else { 0.0 },
            outlet,
        },
    };
    if d.one_in(3) {
        case.unit.element = Element {
            displacement_m3_rad: 0.0,
            leak_m3_s_pa: moved(d, element.leak_m3_s_pa),
            kind: wheel(d, moved),
        };
    }
    case
}

/// An impeller for the van's pressures: 450 kPa without flow at its 600 rad/s, a third less at its 95 L/h.
fn wheel(d: &mut Draws, mut moved: impl FnMut(&mut Draws, f64) -> f64) -> ElementKind {
    ElementKind::Centrifugal(Impeller {
        blades: 6,
        head_pa_s2: moved(d, 1.25),
        fall_pa_s2_m3: moved(d, 4.5e6),
        loss_pa_s2_m6: moved(d, 1.0e14),
        disc_nm_s2: moved(d, 1.4e-8),
        mixing_pa_s2: moved(d, 0.1),
    })
}
