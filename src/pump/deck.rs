//! The moving pump as lines of a SPICE deck: the same equations as the transient, in the mobility analogy.
//!
//! | physics | in the deck |
//! |---|---|
//! | speed, 1 rad/s | 1 V at the node `mot_w` |
//! | torque, 1 N m | 1 A |
//! | inertia, 1 kg m2 | 1 F |
//! | viscous drag, 1 N m s/rad | 1 S |
//! | pressure, 1e5 Pa | 1 V at the nodes `mot_hose` and `mot_rail` |
//! | flow, 1e-5 m3/s | 1 A |
//! | compliance, 1e-10 m3/Pa | 1 F |
//!
//! Left out, so that a deck with them is refused: a starved inlet, a chattering or dead commutator, a running engine's
//! injectors. Dry friction rises to its value within half a thousandth of a radian a second, since SPICE has no stiction.

use core::fmt::Write;

use super::hydraulic::{Demand, Hydraulics, Outlet, RegulatorPlace};
use super::{ElementKind, LIMITS, PumpUnit, Rest};

/// Pressure and flow that stand for 1 V and 1 A.
const BAR_PA: f64 = 1e5;
const FLOW_M3_S: f64 = 1e-5;
/// Speed below which dry friction is not yet whole, rad/s.
const CREEP_RAD_S: f64 = 5e-4;

/// The pump between two deck nodes, starting from rest. `None` where the deck could not say what the transient does.
#[must_use]
pub fn spice_motor(
    unit: &PumpUnit,
    hydraulics: &Hydraulics,
    demand: &Demand,
    start: Rest,
    (plus, minus): (&str, &str),
) -> Option<String> {
    let motor = &unit.motor;
    let plain = motor.dead_segments == 0
        && !motor.seized
        && motor.inductance_h > 0.0
        && demand.injectors_m3_s == 0.0
        && demand.outlet == Outlet::Rail
        && !hydraulics.closed_loop
        && !matches!(unit.element.kind, ElementKind::Centrifugal(_))
        && hydraulics.regulator.stuck.is_none()
        && !hydraulics.line_is_closed()
        && hydraulics.strainer_limit() > 0.0;
    if !plain {
        return None;
    }
    let mut text = String::new();
    let mut line = |text_line: String| {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{text_line}");
    };
    let ohms = motor.ohms().max(LIMITS.ohms);
    line(format!("rmot {plus} mot_a {ohms:e}"));
    line(format!("lmot mot_a mot_b {:e} ic=0", motor.inductance_h));
    line("vmot mot_b mot_c 0".to_owned());
    line(format!(
        "bmot mot_c {minus} v = {:e} * v(mot_w) + {:e}",
        motor.ke, motor.brush_volts
    ));
    line(format!("cmot mot_w 0 {:e} ic=0", motor.inertia_kg_m2));
    line(format!("btorque 0 mot_w i = {:e} * i(vmot)", motor.ke));
    let dry = format!(
        "{:e} * max(-1, min(1, v(mot_w) / {CREEP_RAD_S}))",
        motor.dry_nm
    );
    line(format!(
        "bdry mot_w 0 i = {dry} + {:e} * v(mot_w)",
        motor.viscous_nm_s
    ));
    fuel(unit, hydraulics, demand, start, &mut line);
    Some(text)
}

/// Chamber, hose, line, rail and regulator, in the deck's own units.
fn fuel(
    unit: &PumpUnit,
    hydraulics: &Hydraulics,
    demand: &Demand,
    start: Rest,
    line: &mut impl FnMut(String),
) {
    let swept = unit.element.displacement_m3_rad / FLOW_M3_S;
    let slip = unit.element.leak() * BAR_PA / FLOW_M3_S;
    let strainer = hydraulics.strainer_pa_s2_m6 * FLOW_M3_S * FLOW_M3_S / BAR_PA;
    let crack = hydraulics.check_valve.crack_pa / BAR_PA;
    let sweeps = format!("{swept:e} * max(0, v(mot_w))");
    let mut pressures = format!("min(v(mot_hose) + {crack:e}, {sweeps} / {slip:e})");
    let mut relief = "0".to_owned();
    if hydraulics.relief_pa.is_finite() {
        let slope = hydraulics.relief_slope() * FLOW_M3_S / BAR_PA;
        let opens = hydraulics.relief_pa / BAR_PA;
        let linear = 1.0 + slip * slope;
        relief = format!("max(0, (v(mot_ch) - {opens:e}) / {slope:e})");
        line(format!(
            "bover mot_over 0 v = max(0, {sweeps} - {:e})",
            slip * opens
        ));
        pressures = format!(
            "min({pressures}, {opens:e} + {:e} * v(mot_over) / ({linear:e} + sqrt({:e} + {:e} * v(mot_over))))",
            2.0 * slope,
            linear * linear,
            4.0 * slip * strainer
        );
    }
    // Chamber pressure: that of the open valve, or what slip and relief hold against a shut one.
    line(format!("bchamber mot_ch 0 v = {pressures}"));
    // Flow through the strainer, then the pressure rise across the element.
    line(format!(
        "bx mot_x 0 v = max(0, {sweeps} - {slip:e} * v(mot_ch))"
    ));
    line(format!(
        "bs mot_s 0 v = 2 * v(mot_x) / (1 + sqrt(1 + {:e} * v(mot_x)))",
        4.0 * slip * strainer
    ));
    line(format!(
        "brise mot_rise 0 v = v(mot_ch) + {strainer:e} * v(mot_s) * v(mot_s)"
    ));
    let torque = unit.element.displacement_m3_rad * BAR_PA;
    line(format!("bfuel mot_w 0 i = {torque:e} * v(mot_rise)"));
    let start_bar = start.rail_pa / BAR_PA;
    let farad = |compliance: f64| compliance.max(LIMITS.compliance_m3_pa) * BAR_PA / FLOW_M3_S;
    line(format!(
        "chose mot_hose 0 {:e} ic={start_bar:e}",
        farad(hydraulics.hose_compliance_m3_pa)
    ));
    line(format!(
        "crail mot_rail 0 {:e} ic={start_bar:e}",
        farad(hydraulics.compliance_m3_pa)
    ));
    // The root of a drop is laminar below some pascals, here as in the transient. With its infinite slope at no drop
    // Newton's steps would shrink to nothing beside it, and SPICE takes a short step for an answer.
    let laminar = LIMITS.laminar_pa / BAR_PA;
    let root = |drop: &str| format!("max(0, {drop}) / sqrt(max({laminar:e}, {drop}))");
    let orifice = |area_m2: f64, drop: &str| {
        let passes = hydraulics.orifice_m3_s(area_m2, BAR_PA) / FLOW_M3_S;
        format!("{passes:e} * {}", root(drop))
    };
    line(format!(
        "bpump 0 mot_hose i = max(0, v(mot_s) - {relief}) - {}",
        orifice(hydraulics.check_valve.leak_m2, "v(mot_hose) - v(mot_ch)")
    ));
    line(format!(
        "bsplit mot_hose 0 i = {}",
        orifice(hydraulics.in_tank_leak_m2, "v(mot_hose)")
    ));
    let linear = hydraulics.filter_pa_s_m3.max(LIMITS.slope_pa_s_m3) * FLOW_M3_S / BAR_PA;
    let quadratic = 4.0 * hydraulics.line_pa_s2_m6 * FLOW_M3_S * FLOW_M3_S / BAR_PA;
    line("bd mot_d 0 v = v(mot_hose) - v(mot_rail)".to_owned());
    line(format!(
        "bline mot_hose mot_rail i = 2 * v(mot_d) / ({linear:e} + sqrt({:e} + {quadratic:e} * abs(v(mot_d))))",
        linear * linear
    ));
    let set = hydraulics.regulator.set_pa / BAR_PA;
    let slope = hydraulics.regulator_slope() * FLOW_M3_S / BAR_PA;
    let node = match hydraulics.regulator.place {
        RegulatorPlace::Rail => "mot_rail",
        RegulatorPlace::Tank => "mot_hose",
    };
    let open = hydraulics.regulator_passes_per_root() * BAR_PA.sqrt() / FLOW_M3_S;
    line(format!(
        "breg {node} 0 i = min({open:e} * {}, max(0, (v({node}) - {set:e}) / {slope:e}))",
        root(&format!("v({node})"))
    ));
    if hydraulics.injector_leak_m2 > 0.0 {
        let full = LIMITS.rail_full_pa / BAR_PA;
        let across = format!("(v(mot_rail) - {:e})", demand.manifold_pa / BAR_PA);
        line(format!(
            "bleak mot_rail 0 i = {} * max(0, min(1, v(mot_rail) / {full:e}))",
            orifice(hydraulics.injector_leak_m2, &across)
        ));
    }
}
