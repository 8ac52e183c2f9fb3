//! How a fault alters a built vehicle.

use crate::circuit::conductor::COPPER_OHM_METRES;
use crate::pump::RegulatorStuck;
use crate::vehicle::{Build, ElementId, Kind, Law, Short, ThermostatState, Vehicle};

use super::model::{Catalogue, Effect, Fault};

/// Strands a chafed wire has left over the damaged length. With two, a whole harness run on a few
/// strands costs a volt or two at pump current, which no driver would notice.
const STRANDS_LEFT: f64 = 1.0;

/// Pressure at which leaks are stated, in pascals.
const LEAK_AT_PA: f64 = 300e3;

/// Puts faults into a build. The faults given are those that show at the moment.
pub fn apply(vehicle: &Vehicle, catalogue: &Catalogue, faults: &[Fault], build: &mut Build) {
    for fault in faults {
        let effect = catalogue.kinds[fault.kind.0].effect;
        match fault.site.element {
            Some(element) => apply_electrical(vehicle, effect, fault, element, build),
            None => apply_to_pump(vehicle, effect, fault, build),
        }
    }
}

fn apply_electrical(
    vehicle: &Vehicle,
    effect: Effect,
    fault: &Fault,
    element: ElementId,
    build: &mut Build,
) {
    let severity = fault.severity;
    match effect {
        Effect::AddOhms => build.ohms[element.0] += severity,
        Effect::Open | Effect::CoilOpen => build.ohms[element.0] = f64::INFINITY,
        Effect::StrandsLost => {
            build.ohms[element.0] += strands_lost_ohms(&vehicle.elements[element.0].law, severity);
        }
        Effect::ChafedShort => {
            let part = &vehicle.parts[fault.site.part.0];
            build.shorts.push(Short {
                // The end away from the battery: the fuse lies ahead of the touch.
                node: vehicle.elements[element.0].to,
                to_body_node: vehicle.body_near(part.place),
                ohms: severity,
                part: fault.site.part,
            });
        }
        Effect::FuseBlown => {
            build.fuse_blown.insert(element);
        }
        Effect::LowCharge => {
            build.battery.set_charge(severity);
            // Acid spent in the plates raises the resistance, steeply near the end. The law is
            // ours, no source; it makes a flat battery click instead of cranking.
            build.battery.ohms /= severity;
            build.ohms[element.0] /= severity;
        }
        Effect::InternalOhms => {
            build.battery.ohms += severity;
            build.ohms[element.0] += severity;
        }
        Effect::LowCharging => build.alternator_v -= severity,
        Effect::DriverDead => build.driver_dead = true,
        Effect::StuckClosed => {
            build.stuck_closed.insert(element);
        }
        _ => apply_to_pump(vehicle, effect, fault, build),
    }
}

/// Ohms that a chafed length adds to a wire: what the last strand of that length measures, less what
/// the whole wire measured there. The damage is never longer than the wire.
fn strands_lost_ohms(law: &Law, damaged_m: f64) -> f64 {
    let Law::Copper {
        ohms_20,
        length_m,
        strand_m2,
        ..
    } = *law
    else {
        return 0.0;
    };
    let damaged_m = damaged_m.min(length_m);
    let left = COPPER_OHM_METRES * damaged_m / (STRANDS_LEFT * strand_m2);
    (left - ohms_20 * damaged_m / length_m).max(0.0)
}

/// Alters the pump the fault sits on, or the way of what is pumped. Of two pumps the one in the tank has strainer and
/// hose.
fn apply_to_pump(vehicle: &Vehicle, effect: Effect, fault: &Fault, build: &mut Build) {
    let (part, severity) = (fault.site.part, fault.severity);
    let kind = vehicle.parts[part.0].kind;
    let lifts =
        vehicle.is_lift(part) || matches!(kind, Kind::Strainer | Kind::Hose | Kind::LiftLine);
    let (unit, hydraulics) = match &mut build.lift {
        Some(lift) if lifts => (&mut lift.pump.unit, &mut lift.hydraulics),
        _ => (&mut build.unit, &mut build.hydraulics),
    };
    let leak_m2 = severity / hydraulics.orifice_m3_s(1.0, LEAK_AT_PA);
    match effect {
        Effect::BrushOhms => unit.motor.brush_ohms += severity,
        Effect::DeadSegments => unit.motor.dead_segments = segments(severity),
        Effect::LeakFactor => unit.element.wear(severity),
        Effect::DragTorque => unit.motor.dry_nm += severity,
        Effect::Seized => unit.motor.seized = true,
        Effect::StrainerFactor => hydraulics.strainer_pa_s2_m6 *= severity,
        Effect::FilterFactor => hydraulics.filter_pa_s_m3 *= severity,
        Effect::LineFactor => hydraulics.line_pa_s2_m6 *= severity,
        Effect::InTankLeak => hydraulics.in_tank_leak_m2 += leak_m2,
        Effect::RegulatorSet => hydraulics.regulator.set_pa *= severity,
        Effect::CheckLeak => hydraulics.check_valve.leak_m2 += leak_m2,
        Effect::RegulatorOpen => {
            hydraulics.regulator.stuck = Some(RegulatorStuck::Open { area_m2: leak_m2 });
        }
        Effect::RegulatorShut => hydraulics.regulator.stuck = Some(RegulatorStuck::Shut),
        Effect::PrimeOnly => build.prime_only = true,
        Effect::SensorFactor => build.sensor_factor *= severity,
        Effect::ReturnFactor => hydraulics.return_pa_s2_m6 *= severity,
        Effect::InjectorLeak => hydraulics.injector_leak_m2 += leak_m2,
        Effect::RunsDry => hydraulics.tank_empty = true,
        Effect::ThermostatShut => build.thermostat = ThermostatState::Shut,
        Effect::ThermostatOpen => build.thermostat = ThermostatState::Open,
        // Electrical effects always come with an element.
        _ => {}
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the clamp keeps the number within the integer's range"
)]
fn segments(count: f64) -> u32 {
    libm::round(count.clamp(0.0, 64.0)) as u32
}
