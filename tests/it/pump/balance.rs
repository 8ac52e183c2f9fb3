//! Laws that every operating point must obey, whatever the parameters.

use hidden_ohm::pump::{Element, ElementKind, Outlet, Rest, operating_point, prime};

use super::sweep::{runner, vans};
use super::wasted_w;

fn agree(what: &str, a: f64, b: f64, scale: f64, relative: f64) {
    assert!(
        (a - b).abs() <= relative * scale.abs().max(a.abs()).max(b.abs()),
        "{what}: {a} against {b}"
    );
}

fn nothing_moves(element: &Element) -> bool {
    match &element.kind {
        ElementKind::Centrifugal(wheel) => wheel.head_pa_s2 == 0.0,
        _ => element.displacement_m3_rad == 0.0,
    }
}

/// Electrical power in is copper heat, brush drop, friction, and work on the fuel with its internal leakage.
#[test]
fn energy_in_is_energy_out_and_loss() {
    let outcome = runner(4000).run(&vans(), |case| {
        let point = operating_point(&case.unit, &case.circuit, &case.supply, &case.demand)
            .expect("solvable");
        let power_in = case.supply.volts * point.amps;
        if point.rad_s == 0.0 {
            return Ok(());
        }
        let motor = &case.unit.motor;
        let copper = point.amps * point.amps * motor.loop_ohms(&case.supply);
        let brush = motor.brush_volts * point.amps.abs();
        let friction = point.friction_nm * point.rad_s.abs();
        let drawn = point.delivered_m3_s + point.relief_m3_s;
        let moved = drawn + point.slip_m3_s;
        let fuel = point.rise_pa * moved + wasted_w(&case.unit, &point);
        agree(
            "energy",
            power_in,
            copper + brush + friction + fuel,
            power_in,
            1e-9,
        );
        agree(
            "shaft",
            point.torque_nm.abs(),
            point.friction_nm + point.hydraulic_nm,
            0.0,
            1e-12,
        );
        agree(
            "work on the fuel",
            point.hydraulic_nm * point.rad_s.abs(),
            fuel,
            1e-9,
            1e-9,
        );
        let terminal = point.back_emf_v + (point.amps / motor.live_fraction()) * motor.ohms();
        if motor.dead_segments == 0 {
            agree(
                "terminals",
                point.terminal_volts,
                terminal + motor.brush_volts.copysign(point.amps),
                power_in,
                1e-9,
            );
        }
        Ok(())
    });
    outcome.expect("the law holds");
}

/// Every flow the pump delivers is found again, and every pressure follows from the flow before it.
#[test]
fn flows_and_pressures_close() {
    let outcome = runner(4000).run(&vans(), |case| {
        let point = operating_point(&case.unit, &case.circuit, &case.supply, &case.demand)
            .expect("solvable");
        let used = point.return_m3_s
            + point.injectors_m3_s
            + point.injector_leak_m3_s
            + point.hose_leak_m3_s
            + point.can_m3_s;
        agree("flow", point.delivered_m3_s, used, 1e-9, 1e-12);
        if point.rad_s <= 0.0
            || case.circuit.tank_empty
            || nothing_moves(&case.unit.element)
            || point.rise_pa == 0.0
        {
            return Ok(());
        }
        let drawn = point.delivered_m3_s + point.relief_m3_s;
        let moved = drawn + point.slip_m3_s;
        // What the element would move with full chambers at the speed; for a wheel what it would build up at the flow.
        let (what, could, does) = match &case.unit.element.kind {
            ElementKind::Centrifugal(wheel) => (
                "pressure",
                wheel.head_pa_s2 * point.rad_s * point.rad_s,
                point.rise_pa
                    + moved * (wheel.fall_pa_s2_m3 * point.rad_s + wheel.loss_pa_s2_m6 * moved),
            ),
            _ => (
                "swept volume",
                case.unit.element.displacement_m3_rad * point.rad_s,
                moved,
            ),
        };
        let suction = case.circuit.strainer_pa_s2_m6 * drawn * drawn;
        if point.starved {
            assert!(
                could >= does * (1.0 - 1e-9),
                "a starved element sweeps or presses more than it gets"
            );
            agree(
                "vapour limit",
                suction,
                case.circuit.vapour_limit_pa,
                0.0,
                1e-6,
            );
        } else {
            agree(what, could, does, 0.0, 1e-9);
            assert!(suction <= case.circuit.vapour_limit_pa * (1.0 + 1e-9));
        }
        if point.delivered_m3_s > 0.0 {
            let depression = suction.min(case.circuit.vapour_limit_pa);
            agree(
                "rise",
                point.rise_pa,
                point.outlet_pa + case.circuit.check_valve.crack_pa + depression,
                1.0,
                1e-6,
            );
        }
        Ok(())
    });
    outcome.expect("the law holds");
}

/// The mean and the worst number of evaluations over vans whose every figure is up to ten times off: those of swept volumes,
/// and those of wheels, which are asked besides whether a starved point takes the place of the other.
#[test]
fn an_operating_point_takes_few_evaluations() {
    let tallies = core::cell::RefCell::new([(0_u32, 0_u32, 0_u32); 2]);
    runner(4000)
        .run(&vans(), |case| {
            let point = operating_point(&case.unit, &case.circuit, &case.supply, &case.demand)
                .expect("solvable");
            if point.rad_s > 0.0 {
                let wheel = matches!(case.unit.element.kind, ElementKind::Centrifugal(_));
                let (total, points, worst) = &mut tallies.borrow_mut()[usize::from(wheel)];
                *total += point.evaluations;
                *points += 1;
                *worst = point.evaluations.max(*worst);
            }
            Ok(())
        })
        .expect("solvable");
    let seen = tallies
        .into_inner()
        .map(|(total, points, worst)| (f64::from(total) / f64::from(points), worst));
    let [swept, wheels] = seen;
    assert!(swept.0 < 14.0 && swept.1 < 120, "{seen:?}");
    assert!(wheels.0 < 20.0 && wheels.1 < 120, "{seen:?}");
}

/// Time-stepping from an empty rail ends where the operating point says.
#[test]
fn a_long_transient_ends_at_the_operating_point() {
    let outcome = runner(150).run(&vans(), |mut case| {
        if case.demand.outlet == Outlet::ReturnIntoCan {
            case.demand.outlet = Outlet::Rail;
        }
        case.circuit.check_valve.leak_m2 = 0.0;
        let point = operating_point(&case.unit, &case.circuit, &case.supply, &case.demand)
            .expect("solvable");
        let trace = prime(
            &case.unit,
            &case.circuit,
            &case.supply,
            &case.demand,
            Rest::default(),
            600.0,
            600.0,
        )
        .expect("steps");
        let end = &trace.end;
        for (what, stepped, settled, scale) in [
            ("current", end.amps, point.amps, 1.0),
            ("speed", end.rad_s, point.rad_s, 100.0),
            ("outlet", end.outlet_pa, point.outlet_pa, 1e5),
            ("rail", end.rail_pa, point.rail_pa, 1e5),
        ] {
            // With nothing delivered the check valve may have caught more on the way.
            if point.delivered_m3_s == 0.0
                && what != "speed"
                && what != "current"
                && stepped > settled
            {
                continue;
            }
            assert!(
                (stepped - settled).abs() <= 1e-4 * (settled.abs() + scale),
                "{what}: {stepped} against {settled}: {case:?} {point:?}"
            );
        }
        Ok(())
    });
    outcome.expect("both agree");
}

/// More supply, more speed, flow and pressure; more wear, less.
#[test]
fn effects_are_monotone() {
    let outcome = runner(1500).run(&vans(), |case| {
        let run = |case: &super::sweep::Case| {
            operating_point(&case.unit, &case.circuit, &case.supply, &case.demand)
                .expect("solvable")
        };
        let base = run(&case);
        if case.supply.volts <= 0.0 {
            return Ok(());
        }
        // An overloaded motor has a slow and a fast settled point and may jump between them: no law there.
        let mut free = case.clone();
        free.circuit.tank_empty = true;
        if base.starved || base.rad_s < 0.5 * run(&free).rad_s {
            return Ok(());
        }
        let slack = |value: f64| 1e-9 * value.abs() + 1e-18;
        let no_more =
            |what: &str, a: f64, b: f64| assert!(a <= b + slack(b), "{what}: {a} above {b}");
        let mut more = case.clone();
        more.supply.volts *= 1.1;
        let strong = run(&more);
        no_more("speed with volts", base.rad_s, strong.rad_s);
        no_more(
            "flow with volts",
            base.delivered_m3_s,
            strong.delivered_m3_s,
        );
        no_more("pressure with volts", base.rail_pa, strong.rail_pa);
        let mut feed = case.clone();
        feed.supply.ohms += 0.2;
        no_more("speed with feed resistance", run(&feed).rad_s, base.rad_s);
        // A starved element takes the same power at any speed, so slower means more current.
        if !base.starved && !run(&feed).starved {
            no_more("current with feed resistance", run(&feed).amps, base.amps);
        }
        let mut worn = case.clone();
        worn.unit.element.leak_m3_s_pa = 2.0 * worn.unit.element.leak_m3_s_pa + 1e-12;
        no_more(
            "flow with wear",
            run(&worn).delivered_m3_s,
            base.delivered_m3_s,
        );
        no_more("rail pressure with wear", run(&worn).rail_pa, base.rail_pa);
        let mut drag = case.clone();
        drag.unit.motor.dry_nm += 0.005;
        no_more("speed with drag", run(&drag).rad_s, base.rad_s);
        no_more("drag takes current", base.amps, run(&drag).amps);
        let mut filter = case.clone();
        filter.circuit.filter_pa_s_m3 = 3.0 * filter.circuit.filter_pa_s_m3 + 1e8;
        no_more(
            "rail pressure with a dirty filter",
            run(&filter).rail_pa,
            base.rail_pa,
        );
        let mut hose = case.clone();
        hose.circuit.in_tank_leak_m2 += 1e-6;
        no_more(
            "rail pressure with a split hose",
            run(&hose).rail_pa,
            base.rail_pa,
        );
        let mut strainer = case.clone();
        strainer.circuit.strainer_pa_s2_m6 = 3.0 * strainer.circuit.strainer_pa_s2_m6 + 1e12;
        // A wheel near its run-out may be relieved by vapour at any speed: a jump to the fast point, if what it drew would pass.
        let dirty = run(&strainer);
        let (k, limit) = (
            strainer.circuit.strainer_pa_s2_m6,
            case.circuit.vapour_limit_pa,
        );
        let drawn = base.delivered_m3_s + base.relief_m3_s;
        let wheel = matches!(case.unit.element.kind, ElementKind::Centrifugal(_));
        let jumped = wheel && dirty.starved && k * drawn * drawn <= limit;
        if !jumped {
            no_more(
                "flow with a dirty strainer",
                dirty.delivered_m3_s,
                base.delivered_m3_s,
            );
        }
        Ok(())
    });
    outcome.expect("monotone");
}
