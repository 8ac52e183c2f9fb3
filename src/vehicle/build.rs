//! One particular vehicle: every part with its own value within tolerance.

use std::collections::BTreeSet;

use crate::circuit::NodeId;
use crate::pump::{Hydraulics, PumpUnit};
use crate::seed::Stream;

use super::law::Law;
use super::model::{ElementId, LiftPump, PartId, PumpPart, Vehicle};

/// The vehicle as it stands. Faults alter it, repairs build it anew.
#[derive(Clone, Debug, PartialEq)]
pub struct Build {
    /// Ohms of each element at 20 degrees Celsius when closed, indexed by [`ElementId`]. Infinity
    /// is an open element. For the pump's winding it is what is in series with the pump unit's own
    /// resistance: zero unless a lead is broken.
    pub ohms: Vec<f64>,
    /// Unwanted connections to body metal.
    pub shorts: Vec<Short>,
    /// The battery.
    pub battery: BatteryState,
    /// Regulated voltage of the alternator in volts; 0 without one.
    pub alternator_v: f64,
    /// Fuse elements that have melted.
    pub fuse_blown: BTreeSet<ElementId>,
    /// Motor and pumping element.
    pub unit: PumpUnit,
    /// The way of what the pump moves.
    pub hydraulics: Hydraulics,
    /// The lift pump and its way, on a vehicle with two pumps.
    pub lift: Option<LiftPump>,
    /// How a cooling circuit's thermostat does.
    pub thermostat: ThermostatState,
    /// The control unit never pulls the pump relay in.
    pub driver_dead: bool,
    /// The control unit takes the engine for standing still and runs the pump for its prime only.
    pub prime_only: bool,
    /// What a pressure sensor shows of the pressure, as a factor; 1 for a true one.
    pub sensor_factor: f64,
    /// Switched contacts that no longer open.
    pub stuck_closed: BTreeSet<ElementId>,
    /// Volts at which the relay of each coil closes, indexed by [`ElementId`]; zero for what is no coil.
    pub operate_v: Vec<f64>,
    /// Volts below which it opens, likewise.
    pub release_v: Vec<f64>,
}

/// An unwanted connection between a conductor and body metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Short {
    /// The conductor that touches.
    pub node: NodeId,
    /// The metal it touches.
    pub to_body_node: NodeId,
    /// The part the conductor belongs to.
    pub part: PartId,
    /// Resistance of the touch in ohms.
    pub ohms: f64,
}

/// What a thermostat does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ThermostatState {
    /// It opens the way to the radiator at its temperature.
    Works,
    /// It never opens.
    Shut,
    /// It never shuts.
    Open,
}

/// The battery's state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BatteryState {
    /// State of charge, 0 to 1.
    pub charge: f64,
    /// Open-circuit volts at this charge.
    pub emf_v: f64,
    /// Internal resistance in ohms.
    pub ohms: f64,
}

impl BatteryState {
    /// Sets the state of charge and the open-circuit voltage that goes with it.
    pub fn set_charge(&mut self, charge: f64) {
        self.charge = charge.clamp(0.0, 1.0);
        self.emf_v = open_circuit_v(self.charge);
    }
}

/// Open-circuit volts of a rested starter battery by state of charge (0 to 1), straight lines
/// between the points of a battery maker's table for 26.7 degrees Celsius. Makers differ by
/// 0.15 V and more.
#[must_use]
pub fn open_circuit_v(charge: f64) -> f64 {
    const TABLE: [f64; 5] = [11.89, 12.06, 12.24, 12.45, 12.65];
    let position = charge.clamp(0.0, 1.0) * 4.0;
    let step = TABLE
        .windows(2)
        .enumerate()
        .find(|(index, _)| position <= (index + 1) as f64);
    match step {
        Some((index, pair)) => pair[0] + (pair[1] - pair[0]) * (position - index as f64),
        None => TABLE[4],
    }
}

/// How far healthy parts differ from their nominal values. Common practice, no source, except
/// where a source is named.
#[derive(Clone, Copy, Debug)]
pub struct Tolerances {
    /// Wire against the table: the ISO 6722 values are upper limits, drawn copper comes out a few
    /// per cent below. Lowest and highest factor.
    pub copper: (f64, f64),
    /// Contacts: factor either way, even in the logarithm. Widest of all, since pressure and film vary.
    pub contact: (f64, f64),
    /// Relay contacts likewise (makers give 15 to 20 mV typical at 10 A).
    pub relay_contact: (f64, f64),
    /// Relay coils: makers give plus and minus 10 %.
    pub coil: (f64, f64),
    /// Fuse elements.
    pub fuse: (f64, f64),
    /// Body metal and straps.
    pub metal: (f64, f64),
    /// Consumers.
    pub load: (f64, f64),
    /// Internal resistance of a battery of some age.
    pub battery: (f64, f64),
    /// Regulated volts of the alternator, as a factor (14.2 V: 14.06 to 14.34).
    pub alternator: (f64, f64),
    /// Motor constant and displacement of a pump.
    pub pump: (f64, f64),
    /// Winding resistance of a pump.
    pub winding: (f64, f64),
    /// Brush resistance of a pump: run in or nearly new.
    pub brushes: (f64, f64),
    /// Internal leakage of a pump that is still good.
    pub leak: (f64, f64),
    /// Friction of a pump.
    pub friction: (f64, f64),
    /// Flow restrictions of strainer, filter, line and return.
    pub restriction: (f64, f64),
    /// Set pressure of a regulator.
    pub regulator: (f64, f64),
    /// What a sound check valve lets back at rest.
    pub seep: (f64, f64),
}

/// The tolerances in force. A change alters every generated scenario and needs a new generator version.
pub const TOLERANCES: Tolerances = Tolerances {
    copper: (0.93, 1.0),
    contact: (0.6, 1.7),
    relay_contact: (0.6, 1.7),
    coil: (0.92, 1.08),
    fuse: (0.93, 1.07),
    metal: (0.7, 1.4),
    load: (0.95, 1.05),
    battery: (0.85, 1.3),
    alternator: (0.99, 1.01),
    pump: (0.98, 1.02),
    winding: (0.95, 1.05),
    brushes: (0.8, 1.25),
    leak: (0.9, 1.12),
    friction: (0.88, 1.12),
    restriction: (0.8, 1.3),
    regulator: (0.985, 1.015),
    seep: (0.2, 1.8),
};

/// Draws the values of one vehicle. Each value has its own stream, named by part, leg and
/// generation, so that replacing one part changes nothing else.
struct Draw<'a> {
    vehicle: &'a Vehicle,
    seed: u64,
    generation: &'a dyn Fn(PartId) -> u32,
}

impl Draw<'_> {
    fn stream(&self, part: PartId, what: &str) -> Stream {
        let generation = (self.generation)(part).to_string();
        Stream::keyed(
            self.seed,
            "tolerances",
            &[&self.vehicle.parts[part.0].id, what, &generation],
        )
    }

    /// A factor between the two ends, even in the logarithm.
    fn factor(&self, part: PartId, what: &str, (low, high): (f64, f64)) -> f64 {
        self.stream(part, what).log_between(low, high)
    }

    /// The factor of the one part of this kind; 1 if there is none.
    fn factor_of(&self, kind: super::Kind, what: &str, ends: (f64, f64)) -> f64 {
        let part = self.vehicle.parts.iter().position(|part| part.kind == kind);
        part.map_or(1.0, |part| self.factor(PartId(part), what, ends))
    }

    fn element(&self, part: PartId, leg: &str, law: &Law) -> f64 {
        let t = &TOLERANCES;
        let (nominal, ends) = match *law {
            Law::Copper { ohms_20, .. } => (ohms_20, t.copper),
            Law::Fuse { ohms, .. } => (ohms, t.fuse),
            Law::Coil { ohms_20, .. } => (ohms_20, t.coil),
            Law::RelayContact { ohms } => (ohms, t.relay_contact),
            Law::Contact { ohms }
            | Law::Switch { ohms, .. }
            | Law::Driver { ohms }
            | Law::OilSwitch { ohms }
            | Law::Chopper { ohms, .. } => (ohms, t.contact),
            Law::Load { ohms, .. }
            | Law::Starter { ohms }
            | Law::Alternator { ohms, .. }
            | Law::Signal { ohms, .. }
            | Law::Reference { ohms, .. } => (ohms, t.load),
            Law::Metal { ohms } => (ohms, t.metal),
            Law::Battery { ohms, .. } => (ohms, t.battery),
            Law::Winding => return 0.0,
        };
        nominal * self.factor(part, leg, ends)
    }

    fn unit(&self, pump: &PumpPart) -> PumpUnit {
        let (t, part) = (&TOLERANCES, pump.part);
        let mut unit = pump.unit;
        unit.motor.ke *= self.factor(part, "ke", t.pump);
        unit.motor.winding_ohms *= self.factor(part, "winding", t.winding);
        unit.motor.brush_ohms *= self.factor(part, "brushes", t.brushes);
        unit.element
            .scale(self.factor(part, "displacement", t.pump));
        unit.element.leak_m3_s_pa *= self.factor(part, "leak", t.leak);
        let friction = self.factor(part, "friction", t.friction);
        unit.motor.dry_nm *= friction;
        unit.motor.viscous_nm_s *= friction;
        unit
    }

    fn hydraulics(&self) -> Hydraulics {
        use super::Kind;
        let t = &TOLERANCES;
        let mut h = self.vehicle.hydraulics;
        // Of two pumps the one in the tank has the strainer.
        if self.vehicle.lift.is_none() {
            h.strainer_pa_s2_m6 *= self.factor_of(Kind::Strainer, "restriction", t.restriction);
        }
        h.filter_pa_s_m3 *= self.factor_of(Kind::Filter, "restriction", t.restriction)
            * self.factor_of(Kind::Radiator, "restriction", t.restriction);
        h.line_pa_s2_m6 *= self.factor_of(Kind::Line, "restriction", t.restriction);
        h.return_pa_s2_m6 *= self.factor_of(Kind::ReturnLine, "restriction", t.restriction);
        h.check_valve.leak_m2 *= self.factor_of(Kind::CheckValve, "seep", t.seep);
        h.regulator.set_pa *= self.factor_of(Kind::Regulator, "set", t.regulator);
        h
    }

    fn lift(&self) -> Option<LiftPump> {
        use super::Kind;
        let ends = TOLERANCES.restriction;
        let mut lift = self.vehicle.lift?;
        lift.pump.unit = self.unit(&lift.pump);
        let h = &mut lift.hydraulics;
        h.strainer_pa_s2_m6 *= self.factor_of(Kind::Strainer, "restriction", ends);
        h.line_pa_s2_m6 *= self.factor_of(Kind::LiftLine, "restriction", ends);
        Some(lift)
    }
}

impl Vehicle {
    /// The vehicle that `seed` stands for, its battery at the given state of charge (0 to 1).
    /// `generation` counts how often each part has been
    /// replaced: a new part has new values, all others keep theirs.
    #[must_use]
    pub fn build(&self, seed: u64, charge: f64, generation: &dyn Fn(PartId) -> u32) -> Build {
        let draw = Draw {
            vehicle: self,
            seed,
            generation,
        };
        let mut build = self.nominal();
        build.ohms = self
            .elements
            .iter()
            .map(|e| draw.element(e.part, &e.leg, &e.law))
            .collect();
        build.unit = draw.unit(&self.pump);
        build.hydraulics = draw.hydraulics();
        build.lift = draw.lift();
        for (index, element) in self.elements.iter().enumerate() {
            match element.law {
                Law::Battery { .. } => {
                    build.battery.set_charge(charge);
                    build.battery.ohms = build.ohms[index];
                }
                Law::Alternator { volts, .. } => {
                    build.alternator_v =
                        volts * draw.factor(element.part, "volts", TOLERANCES.alternator);
                }
                Law::Coil {
                    operate_v,
                    release_v,
                    ..
                } => {
                    build.operate_v[index] =
                        operate_v * draw.factor(element.part, "operate", TOLERANCES.coil);
                    build.release_v[index] =
                        release_v * draw.factor(element.part, "release", TOLERANCES.coil);
                }
                _ => {}
            }
        }
        build
    }

    /// The vehicle with every part at its nominal value and a full battery.
    #[must_use]
    pub fn nominal(&self) -> Build {
        let mut build = Build {
            ohms: self
                .elements
                .iter()
                .map(|element| element.law.nominal_ohms())
                .collect(),
            shorts: Vec::new(),
            battery: BatteryState {
                charge: 1.0,
                emf_v: open_circuit_v(1.0),
                ohms: 0.0,
            },
            alternator_v: 0.0,
            fuse_blown: BTreeSet::new(),
            unit: self.pump.unit,
            hydraulics: self.hydraulics,
            lift: self.lift,
            thermostat: ThermostatState::Works,
            driver_dead: false,
            stuck_closed: BTreeSet::new(),
            sensor_factor: 1.0,
            prime_only: false,
            operate_v: vec![0.0; self.elements.len()],
            release_v: vec![0.0; self.elements.len()],
        };
        for (index, element) in self.elements.iter().enumerate() {
            match element.law {
                Law::Battery { ohms, .. } => build.battery.ohms = ohms,
                Law::Alternator { volts, .. } => build.alternator_v = volts,
                Law::Coil {
                    operate_v,
                    release_v,
                    ..
                } => {
                    (build.operate_v[index], build.release_v[index]) = (operate_v, release_v);
                }
                _ => {}
            }
        }
        build
    }
}

impl Law {
    /// Ohms at 20 degrees Celsius when closed; zero for the winding, whose resistance is the pump unit's.
    #[must_use]
    pub fn nominal_ohms(&self) -> f64 {
        match *self {
            Law::Contact { ohms }
            | Law::Fuse { ohms, .. }
            | Law::RelayContact { ohms }
            | Law::Switch { ohms, .. }
            | Law::Driver { ohms }
            | Law::OilSwitch { ohms }
            | Law::Chopper { ohms, .. }
            | Law::Signal { ohms, .. }
            | Law::Reference { ohms, .. }
            | Law::Load { ohms, .. }
            | Law::Metal { ohms }
            | Law::Battery { ohms, .. }
            | Law::Starter { ohms }
            | Law::Alternator { ohms, .. } => ohms,
            Law::Copper { ohms_20, .. } | Law::Coil { ohms_20, .. } => ohms_20,
            Law::Winding => 0.0,
        }
    }
}

/// Ohms of one element.
impl std::ops::Index<ElementId> for Build {
    type Output = f64;

    fn index(&self, element: ElementId) -> &f64 {
        &self.ohms[element.0]
    }
}
