//! The true value of every test on one vehicle, solved and not looked up.

use super::probe::Probe;
use crate::circuit::NodeId;
use crate::fault::{Activation, Catalogue, Effect, Fault};
use crate::rig::{Attachments, PumpState, Rig, RigError, Symptom, Tap};
use crate::units::Flow;
use crate::vehicle::{Key, PartId, Section, ThermostatState, Vehicle};

/// How long the engine runs before charging volts are read, s.
pub(super) const CHARGED_S: f64 = 60.0;
/// Rest after which pressure is read again, s.
pub(super) const REST_S: f64 = 600.0;
/// A joint that has gained this much shows it when it is opened, ohm; as the bay has it.
const DULL_OHMS: f64 = 0.1;

/// Tests that one setting of the vehicle answers, solved together when the first of them is asked for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Group {
    /// With a lamp feeding what is cut off.
    Shorts,
    /// Pressures at rest and with lines pinched.
    Fuel,
    /// With the feed off the rail.
    Feed,
    /// With the starter turning.
    Cranking,
    /// With the engine running.
    Charging,
    /// With the engine running and a relay out.
    BackUp,
    /// With a relay out, or two of them swapped.
    Relays,
    /// What a driver notices.
    Drive,
}

impl Group {
    pub const ALL: [Group; 8] = [
        Group::Shorts,
        Group::Fuel,
        Group::Feed,
        Group::Cranking,
        Group::Charging,
        Group::BackUp,
        Group::Relays,
        Group::Drive,
    ];

    /// What a fault can change; the rest is as a sound vehicle shows it.
    pub fn of(vehicle: &Vehicle, catalogue: &Catalogue, fault: &Fault) -> Vec<Group> {
        let section = crate::fault::section(vehicle, fault);
        let matters = |group: &Group| match group {
            Group::Shorts => catalogue.kinds[fault.kind.0].effect == Effect::ChafedShort,
            // What starves the main one of two pumps lies anywhere.
            Group::Fuel => {
                matches!(section, Section::Hydraulic | Section::Pump) || vehicle.lift.is_some()
            }
            Group::Cranking | Group::BackUp => matches!(
                section,
                Section::Supply | Section::BodyGround | Section::Control | Section::Feed
            ),
            Group::Charging => matches!(section, Section::Supply | Section::BodyGround),
            Group::Relays => vehicle.parts[fault.site.part.0].kind == crate::vehicle::Kind::Relay,
            Group::Feed | Group::Drive => true,
        };
        Group::ALL.into_iter().filter(matters).collect()
    }

    /// The group of a test; nothing for what the running pump shows at once.
    fn holding(probe: Probe) -> Option<Group> {
        Some(match probe {
            Probe::LampFed { .. } => Group::Shorts,
            Probe::Held | Probe::HeldPinched(_) | Probe::DeadHead(_) => Group::Fuel,
            Probe::FeedFlow => Group::Feed,
            Probe::Cranking | Probe::WhileCranking(_) => Group::Cranking,
            Probe::Charging => Group::Charging,
            Probe::BackUp { .. } => Group::BackUp,
            Probe::StillFed { .. } | Probe::Swapped { .. } => Group::Relays,
            Probe::Drive => Group::Drive,
            _ => return None,
        })
    }
}

/// Whether a fault shows only once warmth, current or water brings it out.
pub(super) fn provoked(catalogue: &Catalogue, faults: &[Fault]) -> bool {
    let comes = |fault: &Fault| {
        let activation = catalogue.kinds[fault.kind.0].activation;
        !matches!(activation, Activation::Always | Activation::Wiggle)
    };
    faults.iter().any(comes)
}

/// The true value of each test on one vehicle, solved when it is first asked for.
pub(super) struct Readings<'a> {
    probes: &'a [Probe],
    /// The vehicle with its key on and the pump commanded.
    rig: Rig,
    symptoms: Option<Vec<Symptom>>,
    values: Vec<Option<f64>>,
}

impl<'a> Readings<'a> {
    /// Of a vehicle as it comes in, with these faults.
    pub fn new(
        probes: &'a [Probe],
        mut rig: Rig,
        faults: &[Fault],
        catalogue: &Catalogue,
    ) -> Result<Readings<'a>, RigError> {
        let vehicle = rig.vehicle().clone();
        let none = Attachments::none();
        // What only a drive brings out is read straight after one.
        let provoked = provoked(catalogue, faults);
        let fade = vehicle.engine.fade_fraction;
        let symptoms = if provoked {
            Some(rig.drive()?.symptoms(fade))
        } else {
            None
        };
        // Turned off a moment ago, so that turning it on runs no new prime.
        rig.turn_key(Key::Off, &none)?;
        rig.turn_key(Key::On, &none)?;
        // A gauge is fitted to a relieved line: what a pump left there that no longer runs tells nothing.
        rig.bleed();
        let reference = Tap::Node(vehicle.reference);
        let idle = rig.now(&none)?;
        rig.command_pump(true);
        if provoked {
            // What gives way under load does so within a moment.
            rig.wait(1.0, &none)?;
        }
        let pumping = rig.now(&none)?;
        let value = |&probe: &Probe| match probe {
            Probe::Volts { point, pump } => {
                let instant = if pump { &pumping } else { &idle };
                // A tip on a floating point shows next to nothing.
                Some(instant.across(Tap::Node(point), reference).unwrap_or(0.0))
            }
            Probe::Amps(wire) => {
                let mut elements = vehicle.elements_of(wire);
                let element = elements.next();
                Some(element.map_or(0.0, |(id, _)| libm::fabs(pumping.amps(id))))
            }
            _ => at_once(&rig, probe, &pumping.pump),
        };
        let values = probes.iter().map(value).collect();
        Ok(Readings {
            probes,
            rig,
            symptoms,
            values,
        })
    }

    /// What a driver would notice.
    pub fn symptoms(&mut self) -> Result<&[Symptom], RigError> {
        if self.symptoms.is_none() {
            let fade = self.rig.vehicle().engine.fade_fraction;
            self.symptoms = Some(self.rig.clone().glance()?.symptoms(fade));
        }
        Ok(self.symptoms.as_deref().unwrap_or(&[]))
    }

    /// The value of a test.
    pub fn at(&mut self, test: usize) -> Result<f64, RigError> {
        if let Some(known) = self.values[test] {
            return Ok(known);
        }
        if let Some(group) = Group::holding(self.probes[test]) {
            self.solve(group)?;
        }
        // A vehicle that shows nothing for a test shows next to nothing.
        Ok(*self.values[test].get_or_insert(0.0))
    }

    /// All values where the vehicle differs from a sound one in these groups of tests alone.
    pub fn all(mut self, groups: &[Group], sound: &[f64]) -> Result<Vec<f64>, RigError> {
        let mut values = Vec::with_capacity(self.probes.len());
        for (test, &probe) in self.probes.iter().enumerate() {
            let differs = Group::holding(probe).is_none_or(|group| groups.contains(&group));
            values.push(if differs { self.at(test)? } else { sound[test] });
        }
        Ok(values)
    }

    /// Solves a group of tests on a copy of the vehicle.
    fn solve(&mut self, group: Group) -> Result<(), RigError> {
        let rig = self.rig.clone();
        match group {
            Group::Shorts => self.shorts(rig),
            Group::Fuel => self.fuel(rig),
            Group::Feed => self.feed(rig),
            Group::Cranking => self.cranking(rig),
            Group::Charging => self.charging(rig),
            Group::BackUp => self.back_up(rig),
            Group::Relays => self.relays(rig),
            Group::Drive => {
                let noticed = !self.symptoms()?.is_empty();
                self.put(|probe| Ok((probe == Probe::Drive).then(|| f64::from(u8::from(noticed)))))
            }
        }
    }

    /// Writes down what each test shows that is answered.
    fn put(
        &mut self,
        mut answer: impl FnMut(Probe) -> Result<Option<f64>, RigError>,
    ) -> Result<(), RigError> {
        for (value, &probe) in self.values.iter_mut().zip(self.probes) {
            if let Some(found) = answer(probe)? {
                *value = Some(found);
            }
        }
        Ok(())
    }

    fn shorts(&mut self, mut rig: Rig) -> Result<(), RigError> {
        rig.turn_key(Key::Off, &Attachments::none())?;
        self.put(|probe| match probe {
            Probe::LampFed { point, unplugged } => lamp_fed(&mut rig, point, unplugged).map(Some),
            _ => Ok(None),
        })
    }

    fn fuel(&mut self, mut rig: Rig) -> Result<(), RigError> {
        self.put(|probe| match probe {
            Probe::Held => held(&mut rig, None).map(Some),
            Probe::HeldPinched(line) => held(&mut rig, Some(line)).map(Some),
            Probe::DeadHead(line) => dead_head(&mut rig, line).map(Some),
            _ => Ok(None),
        })
    }

    /// Flow against no pressure but that of filter and line.
    fn feed(&mut self, mut rig: Rig) -> Result<(), RigError> {
        rig.set_feed_off(true);
        rig.command_pump(true);
        let flow = rig.now(&Attachments::none())?.pump.return_m3_s;
        self.put(|probe| Ok((probe == Probe::FeedFlow).then(|| Flow(flow).litres_an_hour())))
    }

    /// Volts while the starter turns.
    fn cranking(&mut self, mut rig: Rig) -> Result<(), RigError> {
        let (battery, reference) = (battery(rig.vehicle()), Tap::Node(rig.reference()));
        rig.command_pump(false);
        let turn = rig.turn_key(Key::Run, &Attachments::none())?;
        let volts = |tap: Tap| {
            let phase = turn.crank.as_ref()?;
            phase.instant(phase.samples.last()?).across(tap, reference)
        };
        self.put(|probe| {
            Ok(match probe {
                Probe::Cranking => volts(battery),
                Probe::WhileCranking(at) => volts(Tap::Node(at)),
                _ => None,
            })
        })
    }

    /// Volts of the battery while the engine runs.
    fn charging(&mut self, mut rig: Rig) -> Result<(), RigError> {
        let none = Attachments::none();
        let (battery, reference) = (battery(rig.vehicle()), Tap::Node(rig.reference()));
        rig.command_pump(false);
        rig.turn_key(Key::Run, &none)?;
        // What the start took is put back before the volts say what is regulated.
        rig.wait(CHARGED_S, &none)?;
        let volts = rig.now(&none)?.across(battery, reference);
        self.put(|probe| Ok(volts.filter(|_| probe == Probe::Charging)))
    }

    fn back_up(&mut self, mut rig: Rig) -> Result<(), RigError> {
        rig.command_pump(false);
        rig.turn_key(Key::Run, &Attachments::none())?;
        self.put(|probe| match probe {
            Probe::BackUp { at, out } => unplugged(&mut rig, out, at).map(Some),
            _ => Ok(None),
        })
    }

    fn relays(&mut self, mut rig: Rig) -> Result<(), RigError> {
        let none = Attachments::none();
        rig.turn_key(Key::Off, &none)?;
        self.put(|probe| match probe {
            Probe::StillFed { at, out } => unplugged(&mut rig, out, at).map(Some),
            _ => Ok(None),
        })?;
        rig.turn_key(Key::On, &none)?;
        // Last, since it moves what may be loose.
        self.put(|probe| match probe {
            Probe::Swapped { at, relays } => swapped(&mut rig, at, relays).map(Some),
            _ => Ok(None),
        })
    }
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
        Probe::Flow => Flow(pump.return_m3_s).litres_an_hour(),
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

fn lamp_fed(rig: &mut Rig, point: NodeId, out: PartId) -> Result<f64, RigError> {
    let mut lit = Attachments::none();
    lit.resistor(battery(rig.vehicle()), Tap::Node(point), LAMP_OHMS);
    without(rig, out, point, &lit)
}

/// Volts of a point with a part taken out.
fn unplugged(rig: &mut Rig, out: PartId, point: NodeId) -> Result<f64, RigError> {
    without(rig, out, point, &Attachments::none())
}

fn without(
    rig: &mut Rig,
    out: PartId,
    point: NodeId,
    attached: &Attachments,
) -> Result<f64, RigError> {
    let reference = Tap::Node(rig.reference());
    // Taken out and put back without being moved otherwise: what handling does to it is no part of this.
    rig.take_out(out, true);
    let volts = rig.now(attached)?.across(Tap::Node(point), reference);
    rig.take_out(out, false);
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
    if let Some(line) = line {
        rig.set_pinched(line, true);
    }
    rig.command_pump(false);
    rig.wait(REST_S, &none)?;
    let pressure = kpa(rig.rail_pa());
    if let Some(line) = line {
        rig.set_pinched(line, false);
    }
    rig.turn_key(Key::Off, &none)?;
    rig.turn_key(Key::On, &none)?;
    Ok(pressure)
}
