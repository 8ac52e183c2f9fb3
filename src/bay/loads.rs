//! Loading the circuit on purpose: the bulb, and what a load does to a computer's output.

use super::ledger::{Fact, Grade};
use super::outcome::{Glance, Refusal, Step};
use super::tools::FLICKERS;
use super::{Bay, TIMES, unsolved};
use crate::circuit::NodeId;
use crate::fault::Remedy;
use crate::instrument::Bulb;
use crate::rig::{Attachments, DRIVER_LIMIT_W, Tap};
use crate::units::Metre;
use crate::vehicle::{PartId, PlaceId};

/// How far apart the two ends of a lamp or a bulb on leads may be, m; ours, no source.
const CORD_M: f64 = 6.0;
/// How a bulb comes to be connected.
pub(super) const LOAD_WAY: &str = "`load {point} {body}` puts one between two points.";

impl Bay {
    /// Refuses a lamp whose two ends are too far apart.
    pub(super) fn cord(
        &self,
        a: NodeId,
        a_at: PlaceId,
        b: NodeId,
        b_at: PlaceId,
    ) -> Result<(), Refusal> {
        let distance = self.vehicle.distance_m(a_at, b_at);
        if distance <= CORD_M {
            return Ok(());
        }
        let (a, b) = (self.name(a), self.name(b));
        Err(Refusal::new(
            format!(
                "{a} and {b} are {} apart; the cord is {}.",
                Metre(distance).show(self.system),
                Metre(CORD_M).show(self.system)
            ),
            "A ground point or body metal nearer by would do for one end.",
        ))
    }

    pub(super) fn load_on(&mut self, a: NodeId, b: NodeId, bulb: Bulb) -> Result<Step, Refusal> {
        if a == b {
            return Err(Refusal::new(
                "Both leads would be on one point.",
                self.example("`load {point} {body}` needs two points."),
            ));
        }
        let (first, second) = (self.reach_point(a)?, self.reach_point(b)?);
        self.cord(a, first.place, b, second.place)?;
        let mut step = Step::taking(TIMES.clamp + TIMES.read);
        self.go_to(first.place, &mut step);
        self.go_to(second.place, &mut step);
        if self.tank_is_open() {
            step.hazard(Grade::Grave, "a hot bulb was lit beside an open tank");
        }
        let ends = (self.put_clip(a, first.tip), self.put_clip(b, second.tip));
        let before = self.tell_pump()?;
        self.load = Some((ends.0, ends.1, bulb));
        self.spare_driver(false, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        self.tell_pump_if_new(&before, &mut step)?;
        Ok(step)
    }

    pub(super) fn load_off(&mut self) -> Result<Step, Refusal> {
        if self.load.is_none() {
            return Err(Refusal::new(
                "No bulb is connected.",
                self.example(LOAD_WAY),
            ));
        }
        let mut step = Step::taking(TIMES.clamp);
        let before = self.tell_pump()?;
        self.load = None;
        step.say("The bulb is off the vehicle.");
        self.tell_pump_if_new(&before, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    pub(super) fn read_load(&mut self, step: &mut Step) -> Result<(), Refusal> {
        let (attachments, hooked) = self.attachments(0)?;
        let (Some(terminals), Some((a, b, bulb))) = (hooked.load, self.load) else {
            return Ok(());
        };
        let instant = self.rig.now(&attachments).map_err(unsolved)?;
        let how = format!(
            "{:.0} W bulb on {} and {}",
            bulb.watts(),
            self.name(a.node),
            self.name(b.node)
        );
        step.see(bulb.lamp().glow(terminals, &instant).words("bulb"), how);
        if instant.chattering.is_some() {
            step.say(FLICKERS);
        }
        Ok(())
    }

    /// A filament is a short for its first thousandths of a second, and so is a jumper for good: a driver that has
    /// to carry it dies. `wanted`: the control unit is about to switch the driver on.
    pub(super) fn spare_driver(&mut self, wanted: bool, step: &mut Step) -> Result<(), Refusal> {
        let mut cold = Attachments::none();
        let mut tool = self.rig.controls().jumper.map(|_| "a jumper");
        if let Some((a, b, bulb)) = self.load {
            bulb.lamp().attach_cold(
                (Tap::Node(a.node), a.grip),
                (Tap::Node(b.node), b.grip),
                &mut cold,
            );
            tool = Some("a bulb");
        }
        if let Some((a, b)) = self.lit {
            self.lamp.attach_cold(
                (Tap::Node(a.node), a.grip),
                (Tap::Node(b.node), b.grip),
                &mut cold,
            );
            tool = Some("the test lamp");
        }
        let Some(tool) = tool else {
            return Ok(());
        };
        if self.rig.driver_watts(wanted, &cold).map_err(unsolved)? < DRIVER_LIMIT_W {
            return Ok(());
        }
        let held = self.rig.relays_held();
        let Some(part) = self.rig.destroy_driver() else {
            return Ok(());
        };
        // What there is to see: a flash in the filament, then a dead output.
        step.say(match tool {
            "a jumper" => "A small crack behind the dash, and a smell of hot varnish.",
            _ => "A flash in the lamp, gone in a blink, and a smell of hot varnish.",
        });
        self.now_attached()?;
        if held > self.rig.relays_held() {
            step.say("A relay lets go with a click.");
        }
        self.damaged.insert(part);
        let id = &self.vehicle.parts[part.0].id;
        let what = format!(
            "{tool} put more through an output of {id} than it carries, which burnt the output out"
        );
        step.hazard(Grade::Serious, &what);
        step.facts.push(Fact::Damaged { part, what });
        Ok(())
    }

    /// What was broken by the work is made good at the workshop's cost before the vehicle goes back.
    pub(super) fn charge_for_damage(&mut self, step: &mut Step) {
        if !self.rig.driver_destroyed() {
            return;
        }
        let damaged: Vec<PartId> = self.damaged.iter().copied().collect();
        for id in damaged {
            let part = &self.vehicle.parts[id.0];
            let Some(work) = part.replace.as_ref() else {
                continue;
            };
            step.goods += work.price.0;
            step.outcome.seconds += work.seconds;
            let price = work.price.show(&self.vehicle.currency);
            step.say(format!(
                "{}: its output was burnt out by the work. A new one, {price}, is on the workshop.",
                part.title
            ));
            self.rig.cure(id, None, Remedy::Replace);
        }
    }
}
