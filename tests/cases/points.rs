//! A pump's steady point and a lamp's volts, each with everything another program needs to find it again.

use hidden_ohm::pump::{
    Demand, Element, ElementKind, Hydraulics, Outlet, PumpUnit, RegulatorPlace, RegulatorStuck,
    Supply,
};
use hidden_ohm::rig::{Attachments, Filament, SolvedLift, Tap};
use hidden_ohm::vehicle::Law;
use serde_json::{Value, json};

use super::cases::Case;

/// One line for a case, which is built twice; `"lamp"` is null where the circuit is not linear beside it.
pub fn point(build: &dyn Fn() -> Case) -> Value {
    let lamp = lamp(build());
    let case = build();
    let ladder = case
        .rig
        .ladder(case.key, case.pump_on, case.moment)
        .expect("a solution");
    let (solved, point) = (&ladder.solved, &ladder.point);
    json!({
        "about": case.about,
        "chattering": ladder.chattering,
        "motor": motor(&solved.unit),
        "element": element(&solved.unit.element),
        "hydraulics": hydraulics(&solved.hydraulics),
        "supply": supply(&solved.supply),
        "demand": demand(&solved.demand, &solved.hydraulics),
        "point": {
            "amps": point.amps, "rad_s": point.rad_s, "outlet_pa": point.outlet_pa, "rail_pa": point.rail_pa,
            "delivered_m3_s": point.delivered_m3_s, "starved": point.starved,
        },
        "lift": ladder.lift.as_ref().map(lift),
        "lamp": lamp,
    })
}

/// A lift pump with the network as both windings saw it: `amps[n] - siemens[n][0] E0 - siemens[n][1] E1`.
fn lift(solved: &SolvedLift) -> Value {
    let (unit, point) = (&solved.lift.pump.unit, &solved.point);
    json!({
        "motor": motor(unit),
        "element": element(&unit.element),
        "hydraulics": hydraulics(&solved.lift.hydraulics),
        "past_pa_s2_m6": solved.lift.past_pa_s2_m6,
        "brought_m3_s": solved.brought_m3_s,
        "amps": solved.pair.amps, "siemens": solved.pair.siemens, "ohms": solved.pair.ohms,
        "point": { "amps": point.amps, "rad_s": point.rad_s, "outlet_pa": point.outlet_pa },
        "terminal_volts": point.terminal_volts,
    })
}

fn element(element: &Element) -> Value {
    let wheel = match &element.kind {
        ElementKind::Centrifugal(wheel) => json!({
            "head_pa_s2": wheel.head_pa_s2, "fall_pa_s2_m3": wheel.fall_pa_s2_m3,
            "loss_pa_s2_m6": wheel.loss_pa_s2_m6, "disc_nm_s2": wheel.disc_nm_s2, "mixing_pa_s2": wheel.mixing_pa_s2,
        }),
        _ => Value::Null,
    };
    json!({
        "displacement_m3_rad": element.displacement_m3_rad, "leak_m3_s_pa": element.leak_m3_s_pa, "wheel": wheel,
    })
}

fn motor(unit: &PumpUnit) -> Value {
    let motor = &unit.motor;
    json!({
        "winding_ohms": motor.winding_ohms, "brush_ohms": motor.brush_ohms, "brush_volts": motor.brush_volts,
        "ke": motor.ke, "inductance_h": motor.inductance_h, "inertia_kg_m2": motor.inertia_kg_m2, "dry_nm": motor.dry_nm,
        "viscous_nm_s": motor.viscous_nm_s, "segments": motor.segments, "dead_segments": motor.dead_segments,
        "stopped_on_dead": motor.stopped_on_dead, "seized": motor.seized,
    })
}

/// JSON has no infinity: a blocked path is told as 1e300, which is closed for both programs.
fn finite(value: f64) -> f64 {
    value.min(1e300)
}

fn hydraulics(h: &Hydraulics) -> Value {
    let stuck = match h.regulator.stuck {
        None => Value::Null,
        Some(RegulatorStuck::Open { area_m2 }) => json!(area_m2),
        Some(RegulatorStuck::Shut) => json!("shut"),
    };
    let place = match h.regulator.place {
        RegulatorPlace::Rail => "rail",
        RegulatorPlace::Tank => "tank",
    };
    json!({
        "density": h.density, "discharge": h.discharge, "strainer_pa_s2_m6": finite(h.strainer_pa_s2_m6),
        "vapour_limit_pa": h.vapour_limit_pa, "tank_empty": h.tank_empty, "relief_pa": finite(h.relief_pa),
        "relief_slope_pa_s_m3": h.relief_slope_pa_s_m3, "brought_m3_s": finite(h.brought_m3_s),
        "check_valve": { "crack_pa": h.check_valve.crack_pa, "leak_m2": h.check_valve.leak_m2 },
        "in_tank_leak_m2": h.in_tank_leak_m2, "filter_pa_s_m3": finite(h.filter_pa_s_m3),
        "line_pa_s2_m6": finite(h.line_pa_s2_m6),
        "regulator": {
            "set_pa": h.regulator.set_pa, "slope_pa_s_m3": h.regulator.slope_pa_s_m3,
            "full_area_m2": h.regulator.full_area_m2, "place": place, "stuck": stuck,
        },
        "return_pa_s2_m6": finite(h.return_pa_s2_m6), "injector_leak_m2": h.injector_leak_m2,
        "injector_rated_pa": h.injector_rated_pa, "hose_compliance_m3_pa": h.hose_compliance_m3_pa,
        "compliance_m3_pa": h.compliance_m3_pa,
    })
}

fn supply(supply: &Supply) -> Value {
    json!({ "volts": supply.volts, "ohms": finite(supply.ohms) })
}

fn demand(demand: &Demand, hydraulics: &Hydraulics) -> Value {
    let outlet = match demand.outlet {
        // A closed loop ends where there is no pressure, as a line into a can does.
        _ if hydraulics.closed_loop => "line_into_can",
        Outlet::LineIntoCan => "line_into_can",
        Outlet::Rail | Outlet::ReturnIntoCan => "rail",
    };
    json!({ "injectors_m3_s": demand.injectors_m3_s, "manifold_pa": demand.manifold_pa, "outlet": outlet })
}

/// A lamp of 5 W behind 3 ohm across the battery. Two resistors in its place tell what it stands on, and a third, before
/// anything else, that this is linear: a motor that turns moves with its load.
fn lamp(case: Case) -> Value {
    const SERIES_OHMS: f64 = 3.0;
    let mut rig = case.rig;
    let mut elements = rig.vehicle().elements.iter();
    let battery = elements.find(|e| matches!(e.law, Law::Battery { .. }));
    let plus = Tap::Node(battery.expect("a battery").to);
    let minus = Tap::Node(rig.reference());
    rig.turn_key(case.key, &Attachments::none())
        .expect("a turn");
    rig.command_pump(case.pump_on);
    let bulb = Filament {
        volts: 12.0,
        watts: 5.0,
    };
    let mut attached = Attachments::none();
    let middle = attached.node();
    attached.resistor(plus, middle, SERIES_OHMS);
    attached.filament(middle, minus, bulb);
    let mut still = true;
    let mut volts = |attached: &Attachments, a: Tap| {
        let now = rig.now(attached).expect("a state");
        still &= now.chattering.is_none() && now.pump.rad_s == 0.0;
        now.across(a, minus).unwrap_or(0.0)
    };
    let shown = volts(&attached, middle);
    let loads = [1e6, 300.0, 30.0].map(|ohms| {
        let mut load = Attachments::none();
        load.resistor(plus, minus, ohms);
        (ohms, volts(&load, plus))
    });
    if !still {
        return Value::Null;
    }
    json!({
        "rated_volts": bulb.volts, "rated_watts": bulb.watts, "series_ohms": SERIES_OHMS, "shown_volts": shown, "loads": loads,
    })
}
