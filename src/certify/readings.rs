//! The true value of every test on one vehicle, solved and not looked up.

use super::probe::Probe;
use crate::circuit::NodeId;
use crate::fault::{Activation, Catalogue, Effect, Fault};
use crate::rig::{Attachments, PumpState, Rig, RigError, Symptom, Tap};
use crate::vehicle::{Key, PartId, Section, ThermostatState, Vehicle};

/// How long a short is fed before anything is measured, s: the vehicle was driven here with it.
const FED_S: f64 = 10.0;
/// How long the engine runs before charging volts are read, s.
pub(super) const CHARGED_S: f64 = 60.0;
/// Rest after which pressure is read again, s.
pub(super) const REST_S: f64 = 600.0;
/// A joint that has gained this much shows it when it is opened, ohm; as the bay has it.
const DULL_OHMS: f64 = 0.1;

/// Which of the slower tests are solved for a vehicle; others are taken as a sound vehicle shows them.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each stands for tests of its own, not for one state"
)]
pub(super) struct Slow {
    /// With the engine cranking and running: what supply and control do to them.
    pub engine: bool,
    /// Pressures at rest and with lines pinched.
    pub fuel: bool,
    /// With relays swapped.
    pub relays: bool,
    /// With a lamp feeding what is cut off.
    pub shorts: bool,
}

impl Slow {
    /// Everything is solved.
    pub const ALL: Slow = Slow {
        engine: true,
        fuel: true,
        relays: true,
        shorts: true,
    };

    /// What a fault can change.
    pub fn of(vehicle: &Vehicle, catalogue: &Catalogue, fault: &Fault) -> Slow {
        let section = crate::fault::section(vehicle, fault);
        Slow {
            engine: matches!(
                section,
                Section::Supply | Section::BodyGround | Section::Control | Section::Feed
            ),
            // What starves the main one of two pumps lies anywhere.
            fuel: matches!(section, Section::Hydraulic | Section::Pump) || vehicle.lift.is_some(),
            shorts: shorted(catalogue, &[*fault]),
            relays: vehicle.parts[fault.site.part.0].kind == crate::vehicle::Kind::Relay,
        }
    }
}

/// Whether a short has blown what it will blow before the vehicle comes in.
fn shorted(catalogue: &Catalogue, faults: &[Fault]) -> bool {
    let short = |fault: &Fault| catalogue.kinds[fault.kind.0].effect == Effect::ChafedShort;
    faults.iter().any(short)
}

/// Whether a fault shows only once warmth, current or water brings it out.
pub(super) fn provoked(catalogue: &Catalogue, faults: &[Fault]) -> bool {
    let comes = |fault: &Fault| {
        let activation = catalogue.kinds[fault.kind.0].activation;
        !matches!(activation, Activation::Always | Activation::Wiggle)
    };
    faults.iter().any(comes)
}

/// What a driver would notice of a vehicle, and the value of each test; `sound` gives those of the slow tests that are
/// not solved.
pub(super) fn read(
    probes: &[Probe],
    mut rig: Rig,
    faults: &[Fault],
    catalogue: &Catalogue,
    slow: Slow,
    sound: &[f64],
) -> Result<(Vec<Symptom>, Vec<f64>), RigError> {
    let vehicle = rig.vehicle().clone();
    let none = Attachments::none();
    // What only a drive brings out is read straight after one.
    let report = if provoked(catalogue, faults) {
        rig.drive()?
    } else {
        rig.glance()?
    };
    let symptoms = report.symptoms(vehicle.engine.fade_fraction);
    if shorted(catalogue, faults) {
        rig.turn_key(Key::Off, &none)?;
        rig.turn_key(Key::On, &none)?;
        rig.command_pump(true);
        rig.wait(FED_S, &none)?;
    }
    // Turned off a moment ago, so that turning it on runs no new prime.
    rig.turn_key(Key::Off, &none)?;
    rig.turn_key(Key::On, &none)?;
    let reference = Tap::Node(vehicle.reference);
    let idle = rig.now(&none)?;
    rig.command_pump(true);
    if provoked(catalogue, faults) {
        // What gives way under load does so within a moment.
        rig.wait(1.0, &none)?;
    }
    let pumping = rig.now(&none)?;
    let mut values: Vec<f64> = probes
        .iter()
        .enumerate()
        .map(|(index, &probe)| {
            let usual = sound.get(index).copied().unwrap_or(0.0);
            match probe {
                Probe::Volts { point, pump } => {
                    let instant = if pump { &pumping } else { &idle };
                    // A tip on a floating point shows next to nothing.
                    instant.across(Tap::Node(point), reference).unwrap_or(0.0)
                }
                Probe::Amps(wire) => {
                    let mut elements = vehicle.elements_of(wire);
                    let element = elements.next();
                    element.map_or(0.0, |(id, _)| libm::fabs(pumping.amps(id)))
                }
                Probe::Swapped { at, .. } => {
                    pumping.across(Tap::Node(at), reference).unwrap_or(0.0)
                }
                Probe::Drive => f64::from(u8::from(!symptoms.is_empty())),
                _ => at_once(&rig, probe, &pumping.pump).unwrap_or(usual),
            }
        })
        .collect();
    if slow.shorts {
        rig.turn_key(Key::Off, &none)?;
        for (value, &probe) in values.iter_mut().zip(probes) {
            if let Probe::LampFed { point, unplugged } = probe {
                *value = lamp_fed(&mut rig, point, unplugged)?;
            }
        }
        rig.turn_key(Key::On, &none)?;
    }
    if slow.fuel {
        for (value, &probe) in values.iter_mut().zip(probes) {
            *value = match probe {
                Probe::Held => held(&mut rig, None)?,
                Probe::HeldPinched(line) => held(&mut rig, Some(line))?,
                Probe::DeadHead(line) => dead_head(&mut rig, line)?,
                _ => continue,
            };
        }
    }
    if slow.engine {
        engine(&mut rig, probes, &mut values)?;
    }
    if slow.relays || symptoms.contains(&Symptom::RunsOn) {
        rig.turn_key(Key::Off, &none)?;
        for (value, &probe) in values.iter_mut().zip(probes) {
            if let Probe::StillFed { at, out } = probe {
                rig.take_out(out, true);
                let volts = rig.now(&none)?.across(Tap::Node(at), reference);
                rig.take_out(out, false);
                *value = volts.unwrap_or(0.0);
            }
        }
        rig.turn_key(Key::On, &none)?;
    }
    if slow.relays {
        // Last, since it moves what may be loose.
        for (value, &probe) in values.iter_mut().zip(probes) {
            if let Probe::Swapped { at, relays } = probe {
                *value = swapped(&mut rig, at, relays)?;
            }
        }
    }
    Ok((symptoms, values))
}

/// What the running pump and opened parts show; nothing for a test that needs the vehicle to be set otherwise.
fn at_once(rig: &Rig, probe: Probe, pump: &PumpState) -> Option<f64> {
    Some(match probe {
        Probe::Listen => pump.rad_s * 60.0 / core::f64::consts::TAU / rig.usual_rpm().max(1.0),
        Probe::ListenLift => {
            let usual = rig.usual_lift_rpm().unwrap_or(1.0);
            pump.lift?.rad_s * 60.0 / core::f64::consts::TAU / usual.max(1.0)
        }
        Probe::LiftPressure(_) => kpa(pump.lift?.outlet_pa),
        Probe::Pressure => kpa(pump.rail_pa),
        Probe::Flow => pump.return_m3_s * 3.6e6,
        Probe::Joints(part) => {
            let dull = |(_, gained): &(String, f64)| *gained > DULL_OHMS;
            f64::from(u8::from(rig.joints(part).iter().any(dull)))
        }
        Probe::Restriction(part) => rig.restriction(part).map_or(0.0, libm::log),
        Probe::Heated(_) => match rig.thermostat() {
            ThermostatState::Works => 0.0,
            ThermostatState::Shut => 1.0,
            ThermostatState::Open => -1.0,
        },
        Probe::Glass => match rig.sample_fuel(crate::units::Volume(1.0)) {
            None => -1.0,
            Some(water) => f64::from(u8::from(water.0 > 0.0)),
        },
        _ => return None,
    })
}

/// Volts of the battery while the starter turns and while the engine runs.
fn engine(rig: &mut Rig, probes: &[Probe], values: &mut [f64]) -> Result<(), RigError> {
    let none = Attachments::none();
    let (battery, reference) = (battery(rig.vehicle()), Tap::Node(rig.reference()));
    rig.command_pump(false);
    let turn = rig.turn_key(Key::Run, &none)?;
    let cranking = |tap: Tap| {
        let phase = turn.crank.as_ref()?;
        phase.instant(phase.samples.last()?).across(tap, reference)
    };
    // What the start took is put back before the volts say what is regulated.
    rig.wait(CHARGED_S, &none)?;
    let running = rig.now(&none)?.across(battery, reference);
    for (value, &probe) in values.iter_mut().zip(probes) {
        match probe {
            Probe::Cranking => *value = cranking(battery).unwrap_or(0.0),
            Probe::WhileCranking(at) => *value = cranking(Tap::Node(at)).unwrap_or(0.0),
            Probe::Charging => *value = running.unwrap_or(0.0),
            Probe::BackUp { at, out } => {
                rig.take_out(out, true);
                let volts = rig.now(&none)?.across(Tap::Node(at), reference);
                rig.take_out(out, false);
                *value = volts.unwrap_or(0.0);
            }
            _ => {}
        }
    }
    rig.turn_key(Key::Off, &none)?;
    rig.turn_key(Key::On, &none)?;
    Ok(())
}

fn kpa(pa: f64) -> f64 {
    pa / 1e3
}

/// The battery's positive post.
fn battery(vehicle: &Vehicle) -> Tap {
    let mut elements = vehicle.elements.iter();
    let found = elements.find(|e| matches!(e.law, crate::vehicle::Law::Battery { .. }));
    // The loader refuses a vehicle without a battery.
    Tap::Node(found.map_or(vehicle.reference, |element| element.to))
}

/// A 21 W lamp's filament while it glows, ohm.
const LAMP_OHMS: f64 = 7.0;

fn lamp_fed(rig: &mut Rig, point: NodeId, unplugged: PartId) -> Result<f64, RigError> {
    let (from, reference) = (battery(rig.vehicle()), Tap::Node(rig.reference()));
    let mut attached = Attachments::none();
    attached.resistor(from, Tap::Node(point), LAMP_OHMS);
    // Taken out and put back without being moved otherwise: what handling does to it is no part of this.
    rig.take_out(unplugged, true);
    let volts = rig.now(&attached)?.across(Tap::Node(point), reference);
    rig.take_out(unplugged, false);
    Ok(volts.unwrap_or(0.0))
}

fn swapped(rig: &mut Rig, at: NodeId, relays: (PartId, PartId)) -> Result<f64, RigError> {
    let reference = Tap::Node(rig.reference());
    rig.command_pump(true);
    rig.swap_relays(relays.0, relays.1);
    let volts = rig
        .now(&Attachments::none())?
        .across(Tap::Node(at), reference);
    rig.swap_relays(relays.0, relays.1);
    Ok(volts.unwrap_or(0.0))
}

/// Pressure with the return line pinched.
fn dead_head(rig: &mut Rig, line: PartId) -> Result<f64, RigError> {
    rig.command_pump(true);
    rig.set_pinched(line, true);
    let pressure = rig.now(&Attachments::none())?.pump.rail_pa;
    rig.set_pinched(line, false);
    Ok(kpa(pressure))
}

/// Pressure left after a rest, with a line pinched or not.
fn held(rig: &mut Rig, line: Option<PartId>) -> Result<f64, RigError> {
    let none = Attachments::none();
    rig.turn_key(Key::On, &none)?;
    rig.command_pump(true);
    rig.wait(1.0, &none)?;
    rig.command_pump(false);
    if let Some(line) = line {
        rig.set_pinched(line, true);
    }
    rig.wait(REST_S, &none)?;
    let pressure = kpa(rig.rail_pa());
    if let Some(line) = line {
        rig.set_pinched(line, false);
    }
    rig.turn_key(Key::Off, &none)?;
    rig.turn_key(Key::On, &none)?;
    Ok(pressure)
}
