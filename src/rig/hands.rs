//! What hands can do to a vehicle besides plugging and repairing: tap, swap, pinch, charge, fill, damage.

use std::collections::{BTreeMap, BTreeSet};

use super::attach::{Attachments, Tap};
use super::battery::Cell;
use super::settle::Instant;
use super::{Rig, RigError};
use crate::circuit::NodeId;
use crate::fault::{Effect, Fault, KindId, Site};
use crate::seed::Stream;
use crate::vehicle::{Build, ElementId, Kind, Law, PartId, Section, ThermostatState, Vehicle};

/// What hands have done so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Handwork {
    /// Relays in each other's sockets, both ways round.
    swapped: BTreeMap<PartId, PartId>,
    /// Lines held shut.
    pinched: BTreeSet<PartId>,
    tapped: BTreeMap<PartId, u32>,
    /// The feed is off the rail, its end in a can.
    pub feed_off: bool,
    /// State of charge after a spell on the charger.
    charged: Option<f64>,
}

/// Heat from which the control unit's driver does not recover, W: what one of half an ohm, made to pull a relay in, makes at
/// 2 A, twice what it is made for (ours, no source). One that only gives a signal has more ohms and less to spare.
pub const DRIVER_LIMIT_W: f64 = 2.0;
/// What a hose clamp makes of a line's quadratic flow resistance: a thread of flow stays; ours, no source.
const PINCH_FACTOR: f64 = 1e6;
impl Handwork {
    /// Relays in each other's sockets take coil and contact with them; the sockets stay.
    pub fn exchange(&self, vehicle: &Vehicle, build: &mut Build) {
        for (&a, &b) in self.swapped.iter().filter(|(a, b)| a < b) {
            for leg in ["coil", "contact"] {
                if let (Some(first), Some(second)) =
                    (vehicle.element(a, leg), vehicle.element(b, leg))
                {
                    build.ohms.swap(first.0, second.0);
                    build.operate_v.swap(first.0, second.0);
                    build.release_v.swap(first.0, second.0);
                }
            }
        }
    }

    /// What is pinched.
    pub fn apply(&self, vehicle: &Vehicle, build: &mut Build) {
        for part in &self.pinched {
            if vehicle.parts[part.0].kind == Kind::ReturnLine {
                build.hydraulics.return_pa_s2_m6 *= PINCH_FACTOR;
            } else {
                build.hydraulics.line_pa_s2_m6 *= PINCH_FACTOR;
                build.hydraulics.line_shut = true;
            }
        }
    }

    /// The battery's charge if it has been on the charger.
    pub fn charge_or(&self, charge: f64) -> f64 {
        self.charged.unwrap_or(charge)
    }
}

impl Rig {
    /// Puts two relays into each other's sockets; faults of coil and contacts go with them.
    pub fn swap_relays(&mut self, a: PartId, b: PartId) {
        for present in &mut self.faults {
            let Some(element) = present.fault.site.element else {
                continue;
            };
            let leg = self.vehicle.elements[element.0].leg.clone();
            let other = match present.fault.site.part {
                part if part == a => b,
                part if part == b => a,
                _ => continue,
            };
            if let ("coil" | "contact", Some(there)) =
                (leg.as_str(), self.vehicle.element(other, &leg))
            {
                present.fault.site = Site {
                    part: other,
                    element: Some(there),
                };
            }
        }
        if self.handwork.swapped.remove(&a).is_some() {
            self.handwork.swapped.remove(&b);
        } else {
            self.handwork.swapped.insert(a, b);
            self.handwork.swapped.insert(b, a);
        }
        // Both come out of their sockets, which wipes the terminals.
        self.handle(a);
        self.handle(b);
    }

    /// Knocks on a part. What sticks may come free for a while: intermittent contacts, worn brushes, a seized pump.
    pub fn tap(&mut self, part: PartId) {
        let count = self.handwork.tapped.entry(part).or_insert(0);
        *count += 1;
        let key = [self.vehicle.parts[part.0].id.as_str(), &count.to_string()];
        let mut stream = Stream::keyed(self.seed, "contact", &["tapped", key[0], key[1]]);
        for present in self
            .faults
            .iter_mut()
            .filter(|present| present.fault.site.part == part)
        {
            let kind = &self.catalogue.kinds[present.fault.kind.0];
            let freed = stream.chance(Rig::TAP_CHANCE);
            let (low, high) = Rig::LOOSE_S;
            let loose_s = stream.log_between(low, high);
            match kind.effect {
                Effect::Seized => {
                    present.showing = !freed;
                    present.loose_s = if freed { loose_s } else { f64::INFINITY };
                }
                Effect::BrushOhms if freed => {
                    present.share = stream.log_between(0.1, 0.5);
                    present.loose_s = loose_s;
                }
                _ if kind.activation == crate::fault::Activation::Wiggle => {
                    present.showing = stream.chance(0.5);
                }
                _ => {}
            }
        }
        self.rebuild();
    }

    /// Chance that a knock frees what sticks; ours, no source.
    const TAP_CHANCE: f64 = 0.4;

    /// How long a pump that a knock has freed runs before it sticks again, s; ours, no source.
    const LOOSE_S: (f64, f64) = (40.0, 900.0);

    /// Squeezes a line shut, or lets it go.
    pub fn set_pinched(&mut self, line: PartId, shut: bool) {
        if shut {
            self.handwork.pinched.insert(line);
        } else {
            self.handwork.pinched.remove(&line);
        }
        self.rebuild();
    }

    /// Takes the feed off the rail and leads it into a can, or puts it back; what the rail held has run out.
    pub fn set_feed_off(&mut self, off: bool) {
        self.handwork.feed_off = off;
        self.rail_pa = 0.0;
    }

    /// Lines squeezed shut.
    #[must_use]
    pub fn pinched(&self) -> &BTreeSet<PartId> {
        &self.handwork.pinched
    }

    /// State of charge that a charge of `amp_hours` from the battery's present state leads to, 0 to 1, and does it.
    /// A tenth of what goes in is lost (common practice, no source).
    pub fn charge_battery(&mut self, amp_hours: f64) -> f64 {
        const KEPT: f64 = 0.9;
        let gained = KEPT * amp_hours / self.capacity_ah();
        let charge = (self.charge_now() + gained).min(1.0);
        self.handwork.charged = Some(charge);
        self.cell.drawn_c = 0.0;
        let catalogue = &self.catalogue;
        self.faults
            .retain(|present| catalogue.kinds[present.fault.kind.0].effect != Effect::LowCharge);
        self.rebuild();
        charge
    }

    /// Ampere-hours the battery lacks, for a charger that stops by itself.
    #[must_use]
    pub fn amp_hours_missing(&self) -> f64 {
        self.capacity_ah() * (1.0 - self.charge_now())
    }

    pub(super) fn capacity_ah(&self) -> f64 {
        let capacity = self.vehicle.elements.iter().find_map(|e| match e.law {
            Law::Battery { amp_hours, .. } => Some(amp_hours),
            _ => None,
        });
        // The loader refuses a vehicle without a battery.
        capacity.unwrap_or(f64::INFINITY)
    }

    pub(super) fn charge_now(&self) -> f64 {
        self.charge_with(&self.cell)
    }

    /// State of charge with the battery's cell in some state, 0 to 1.
    pub(super) fn charge_with(&self, cell: &Cell) -> f64 {
        (self.build.battery.charge - cell.drawn_c / 3600.0 / self.capacity_ah()).clamp(0.0, 1.0)
    }

    /// Destroys the control unit's driver: from now on the vehicle has that fault. False if it had it already.
    pub fn destroy_driver(&mut self) -> Option<PartId> {
        if self.build.driver_dead {
            return None;
        }
        let kind = self
            .catalogue
            .kinds
            .iter()
            .position(|kind| kind.effect == Effect::DriverDead)?;
        let (element, part) = self.driver()?;
        let fault = Fault {
            kind: KindId(kind),
            site: Site {
                part,
                element: Some(element),
            },
            severity: 1.0,
        };
        let driver = &self.catalogue.kinds[kind];
        self.faults.push(super::Present::new(fault, driver));
        self.rebuild();
        Some(part)
    }

    /// Whether damage done to the control unit's driver is still there.
    #[must_use]
    pub(crate) fn driver_destroyed(&self) -> bool {
        self.build.driver_dead
    }

    /// How many relays are held in just now.
    #[must_use]
    pub fn relays_held(&self) -> usize {
        self.closed_relays
            .iter()
            .filter(|&&part| self.clicks(part))
            .count()
    }

    fn driver(&self) -> Option<(ElementId, PartId)> {
        let mut elements = self.vehicle.elements.iter().enumerate();
        elements
            .find(|(_, e)| matches!(e.law, Law::Driver { .. }))
            .map(|(index, e)| (ElementId(index), e.part))
    }

    /// Heat in the control unit's driver if it were switched on with these attachments, W.
    pub fn driver_watts(&mut self, wanted: bool, attached: &Attachments) -> Result<f64, RigError> {
        let Some((driver, _)) = self.driver() else {
            return Ok(0.0);
        };
        let closed = self.closed_relays.clone();
        let settled = self.settle(wanted || self.pump_wanted(), attached)?;
        // Only looked at: nothing has switched.
        self.closed_relays = closed;
        let winding = self.winding();
        let state = super::PumpState {
            amps: settled.point.amps,
            ..super::PumpState::default()
        };
        let instant = Instant::new(settled.solution, &settled.assembled, winding, state, None);
        let element = &self.vehicle.elements[driver.0];
        let across = instant.across(Tap::Node(element.from), Tap::Node(element.to));
        Ok(libm::fabs(instant.amps(driver) * across.unwrap_or(0.0)))
    }

    /// Adds to every touched node that hangs free the leak of its insulation to the live wires beside it: tens of
    /// megohm from the battery's positive side, so that a 10 Mohm meter sees some volts and anything that loads
    /// sees none. Wires that a consumer ties down, switched on or not, are not free.
    pub fn with_pickup(&mut self, mut attached: Attachments) -> Result<Attachments, RigError> {
        /// Insulation between neighbours in an old, damp loom, ohm; ours, no source.
        const LEAK_OHMS: (f64, f64) = (15e6, 60e6);
        let closed = self.closed_relays.clone();
        let bare = self.now(&Attachments::none())?;
        // Only looked at: a relay that the attachments hold stays held.
        self.closed_relays = closed;
        let vehicle = &self.vehicle;
        let live = vehicle
            .elements
            .iter()
            .find(|e| matches!(e.law, Law::Battery { .. }))
            .map(|e| Tap::Node(e.to));
        let Some(live) = live else {
            return Ok(attached);
        };
        let reference = Tap::Node(vehicle.reference);
        let joined = |a: Tap, b: Tap| bare.across(a, b).is_some();
        let loads = || {
            vehicle
                .elements
                .iter()
                .filter(|e| matches!(e.law, Law::Load { .. }))
        };
        let touched: Vec<Tap> = attached
            .touched()
            .filter(|_| joined(live, reference))
            .collect();
        let mut leaks: Vec<Tap> = Vec::new();
        for tap in touched {
            let tied =
                loads().any(|e| joined(tap, Tap::Node(e.from)) || joined(tap, Tap::Node(e.to)));
            let known = leaks.iter().any(|&other| joined(tap, other));
            if !joined(tap, reference) && !tied && !known {
                leaks.push(tap);
            }
        }
        for tap in leaks {
            // One piece of wire has one insulation, wherever it is touched: it goes by the first of its nodes.
            let mut nodes = vehicle.nodes.iter().zip(0..);
            let first = nodes.find(|&(_, at)| joined(tap, Tap::Node(NodeId(at))));
            let Some((node, _)) = first else { continue };
            let name = &node.name;
            let ohms = Stream::keyed(self.seed, "contact", &["insulation", name])
                .log_between(LEAK_OHMS.0, LEAK_OHMS.1);
            attached.resistor(live, tap, ohms);
        }
        Ok(attached)
    }

    /// Temperature of the warmest joint or stretch of a part just now, degrees Celsius.
    #[must_use]
    pub fn joint_celsius(&self, part: PartId) -> f64 {
        self.warmest(part, 1.0)
    }

    /// What a hand or a bead finds on the outside of a part, degrees Celsius. A coil warms the case it sits in by half its
    /// own rise (ours, no source); pins and blades stand in the open and are as warm as they are.
    #[must_use]
    pub fn surface_celsius(&self, part: PartId) -> f64 {
        const CASE_SHARE: f64 = 0.5;
        self.warmest(part, CASE_SHARE)
    }

    /// The warmest place of a part, with this share of a coil's rise.
    fn warmest(&self, part: PartId, of_coil: f64) -> f64 {
        // Coolant is on the other side of what carries it; a fuel line takes the air's warmth.
        let wet = self.vehicle.cooling.is_some()
            && self.vehicle.parts[part.0].section == Section::Hydraulic;
        let air_c = self.air_c(part);
        let skin_c = if wet { self.medium_c() } else { air_c };
        let elements = self.vehicle.elements_of(part);
        elements
            .map(|(id, element)| match element.law {
                Law::Coil { .. } => air_c + of_coil * (self.temperature_c(id) - air_c),
                _ => self.temperature_c(id),
            })
            .fold(skin_c, f64::max)
    }

    /// What the thermostat does, taken out and heated.
    #[must_use]
    pub fn thermostat(&self) -> ThermostatState {
        self.build.thermostat
    }

    /// How many times its sound value the flow resistance of a strainer, a filter, a radiator or the line is; of others nothing.
    #[must_use]
    pub fn restriction(&self, part: PartId) -> Option<f64> {
        let (now, sound) = (&self.build.hydraulics, &self.vehicle.hydraulics);
        match self.vehicle.parts[part.0].kind {
            Kind::Strainer if self.build.lift.is_some() => {
                let (now, sound) = (self.build.lift?.hydraulics, self.vehicle.lift?.hydraulics);
                Some(now.strainer_pa_s2_m6 / sound.strainer_pa_s2_m6)
            }
            Kind::LiftLine => {
                let (now, sound) = (self.build.lift?.hydraulics, self.vehicle.lift?.hydraulics);
                Some(now.line_pa_s2_m6 / sound.line_pa_s2_m6)
            }
            Kind::Strainer => Some(now.strainer_pa_s2_m6 / sound.strainer_pa_s2_m6),
            Kind::Filter | Kind::Radiator => Some(now.filter_pa_s_m3 / sound.filter_pa_s_m3),
            Kind::Line => Some(now.line_pa_s2_m6 / sound.line_pa_s2_m6),
            _ => None,
        }
    }

    /// Pressure at the inlet of the filter or of the line behind it, Pa: the flow between pump and rail follows from the
    /// drop over both, dP = r Q + k Q^2, and the line takes k Q^2 of it. Anywhere else the rail's.
    #[must_use]
    pub fn inlet_pa(&self, part: PartId, pump: &super::PumpState) -> f64 {
        let drop_pa = pump.outlet_pa - pump.rail_pa;
        let hydraulics = &self.build.hydraulics;
        let (r, k) = (hydraulics.filter_pa_s_m3, hydraulics.line_pa_s2_m6);
        match self.vehicle.parts[part.0].kind {
            // Round a closed loop the line comes first and the radiator last.
            Kind::Line if hydraulics.closed_loop => pump.outlet_pa,
            Kind::Filter => pump.outlet_pa,
            Kind::LiftLine => pump.lift.map_or(0.0, |lift| lift.outlet_pa),
            Kind::Line if drop_pa > 0.0 && r.is_finite() && k.is_finite() && k > 0.0 => {
                // The root of k Q^2 + r Q = dP, in the form that loses no digits while k is small.
                let q = 2.0 * drop_pa / (r + (r * r + 4.0 * k * drop_pa).sqrt());
                pump.rail_pa + k * q * q
            }
            _ => pump.rail_pa,
        }
    }

    /// The terminals of a part with what their joints have gained over sound ones, ohm.
    #[must_use]
    pub fn joints(&self, part: PartId) -> Vec<(String, f64)> {
        let elements = self.vehicle.elements_of(part);
        let contacts = elements.filter(|(_, e)| matches!(e.law, Law::Contact { .. }));
        contacts
            .map(|(id, e)| (e.leg.clone(), self.build.ohms[id.0] - e.law.nominal_ohms()))
            .collect()
    }
}
