//! How a vehicle stands while it is measured.

use std::collections::{BTreeMap, BTreeSet};

use super::repairs::Cure;
use crate::bay::{Action, FILL};
use crate::circuit::NodeId;
use crate::fault::Remedy;
use crate::instrument::{Bulb, Grip, TestLamp};
use crate::rig::{Attachments, Jumper, Rig, RigError, Tap};
use crate::vehicle::{ElementId, Key, PartId, Vehicle};

/// What stands on a vehicle from outside, as far as readings depend on it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Setup {
    /// Key position.
    pub key: Key,
    /// The service tool commands the pump.
    pub pump: bool,
    /// What is unplugged.
    pub unplugged: BTreeSet<PartId>,
    /// How often each part was handled since the last road test: a bad joint may have been wiped.
    pub handled: BTreeMap<PartId, u32>,
    /// How often each part was knocked on.
    pub tapped: BTreeMap<PartId, u32>,
    /// Relays swapped, in order.
    pub swapped: Vec<(PartId, PartId)>,
    /// Lines squeezed shut.
    pub pinched: BTreeSet<PartId>,
    /// The feed is off the rail and runs into a can.
    pub feed_off: bool,
    /// Ampere-hours put into the battery, as bits; infinite for a charge until full.
    pub charged: Option<u64>,
    /// A wire laid by hand.
    pub jumper: Option<Laid>,
    /// The test lamp.
    pub lamp: Option<(NodeId, NodeId)>,
    /// A bulb as a load.
    pub load: Option<(NodeId, NodeId, Bulb)>,
    /// Repairs done so far.
    pub remedies: Vec<(PartId, Option<ElementId>, Remedy)>,
    /// Fuel filled in so far, each time with whether the tank was drained first.
    pub fills: Vec<bool>,
    /// How long it has stood so, roughly, s: joints under load grow warm and batteries sag.
    pub stood_s: u16,
}

impl Default for Setup {
    /// As it comes in: key off, nothing done.
    fn default() -> Setup {
        Setup {
            key: Key::Off,
            pump: false,
            unplugged: BTreeSet::new(),
            handled: BTreeMap::new(),
            tapped: BTreeMap::new(),
            swapped: Vec::new(),
            pinched: BTreeSet::new(),
            feed_off: false,
            charged: None,
            jumper: None,
            lamp: None,
            load: None,
            remedies: Vec::new(),
            fills: Vec::new(),
            stood_s: 0,
        }
    }
}

/// A wire laid between two nodes, with the bits of its resistance.
pub type Laid = (NodeId, NodeId, u64);

/// Times a setup is forecast at, s, each standing for those up to the second number.
const STOOD_S: [(u16, f64); 4] = [(0, 12.0), (40, 75.0), (120, 300.0), (600, f64::INFINITY)];
/// A lamp that is looked at, with the ends of its filament.
type Seen = (TestLamp, (Tap, Tap));

/// Contact of a tip that touches, ohm.
pub(super) const GRIP: Grip = Grip { ohms: 0.02 };

impl Setup {
    /// Key on, with the pump commanded by service tool or not.
    #[must_use]
    pub fn key_on(pump: bool) -> Setup {
        Setup {
            key: Key::On,
            pump,
            ..Setup::default()
        }
    }

    /// The same setup while the pump runs into a can: with the feed off its rail, by this jumper or else by service tool.
    #[must_use]
    pub fn catching(self, jumper: Option<Laid>) -> Setup {
        Setup {
            pump: jumper.is_none(),
            jumper: jumper.or(self.jumper),
            feed_off: true,
            ..self
        }
    }

    /// The same setup after it has stood for a while.
    #[must_use]
    pub fn after(mut self, seconds: f64) -> Setup {
        let time = STOOD_S.iter().find(|&&(_, up_to)| seconds <= up_to);
        self.stood_s = time.map_or(0, |&(stood_s, _)| stood_s);
        self
    }

    /// Whether every job passes through it: nothing is set but key and service tool, for however long, with
    /// the feed on its rail or in a can.
    pub(super) fn is_usual(&self) -> bool {
        let plain = Setup {
            key: self.key,
            pump: self.pump,
            feed_off: self.feed_off,
            stood_s: self.stood_s,
            ..Setup::default()
        };
        *self == plain
    }

    /// What it comes in as after a road test: hands off, repairs and charge kept.
    #[must_use]
    pub fn driven(self) -> Setup {
        Setup {
            remedies: self.remedies,
            fills: self.fills,
            swapped: self.swapped,
            charged: self.charged,
            ..Setup::default()
        }
    }

    /// What has been put right so far, or was meant to be.
    pub fn done(&self) -> impl Iterator<Item = Cure> {
        let parts = self.remedies.iter();
        let fuel = |&drained: &bool| if drained { Cure::Drain } else { Cure::Fill };
        parts
            .map(|&(part, _, remedy)| Cure::Part(part, remedy))
            .chain(self.fills.iter().map(fuel))
    }

    /// Nothing has been put right yet.
    #[must_use]
    pub fn is_untouched(&self) -> bool {
        self.remedies.is_empty() && self.fills.is_empty()
    }

    /// As it comes in after one piece of work alone; nothing if the action is no such work.
    #[must_use]
    pub fn after_work(vehicle: &Vehicle, action: &Action) -> Option<Setup> {
        let mut setup = Setup::default();
        match action {
            Action::Repair(target) => {
                let leg = target.leg.as_ref();
                let element = leg.and_then(|leg| vehicle.element(target.part, leg));
                setup.remedies.push((target.part, element, Remedy::Repair));
            }
            Action::Replace(part) => setup.remedies.push((*part, None, Remedy::Replace)),
            Action::Fill { drained } => setup.fills.push(*drained),
            _ => return None,
        }
        Some(setup)
    }

    /// Puts a vehicle that has just come in into this setup.
    pub(super) fn place(&self, rig: &mut Rig) -> Result<(), RigError> {
        for &(a, b) in &self.swapped {
            rig.swap_relays(a, b);
        }
        for (&part, &times) in &self.handled {
            for _ in 0..times {
                rig.handle(part);
            }
        }
        for (&part, &times) in &self.tapped {
            for _ in 0..times {
                rig.tap(part);
            }
        }
        for &part in &self.unplugged {
            rig.set_unplugged(part, true);
        }
        if let Some(bits) = self.charged {
            rig.charge_battery(f64::from_bits(bits));
        }
        for &(part, element, remedy) in &self.remedies {
            rig.cure(part, element, remedy);
        }
        for &drained in &self.fills {
            if drained {
                rig.drain();
            }
            rig.fill(FILL.0 / rig.tank_capacity().0);
        }
        for &line in &self.pinched {
            rig.set_pinched(line, true);
        }
        rig.set_jumper(self.jumper.map(|(a, b, bits)| Jumper {
            a,
            b,
            ohms: f64::from_bits(bits),
        }));
        rig.set_feed_off(self.feed_off);
        rig.stand(self.key, self.pump);
        if self.stood_s > 0 {
            rig.wait(f64::from(self.stood_s), &self.attached().0)?;
        }
        Ok(())
    }

    /// Lamp and bulb, with the ends of the filament to be looked at.
    pub(super) fn attached(&self) -> (Attachments, Option<Seen>) {
        let mut attached = Attachments::none();
        let lamp = self.lamp.map(|(a, b)| (a, b, TestLamp::default()));
        let load = self.load.map(|(a, b, bulb)| (a, b, bulb.lamp()));
        let mut seen = None;
        for (a, b, lamp) in [load, lamp].into_iter().flatten() {
            let end = |node| (Tap::Node(node), GRIP);
            seen = Some((lamp, lamp.attach(end(a), end(b), &mut attached)));
        }
        (attached, seen)
    }
}
