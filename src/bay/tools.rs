//! Clamp, lamp, and a colleague's eyes.

use super::action::Tool;
use super::loads::LOAD_WAY;
use super::meter::UNSTEADY;
use super::outcome::{Glance, Refusal, Step, Switch};
use super::recording::{During, turned};
use super::{Bay, TIMES, unsolved};
use crate::circuit::NodeId;
use crate::rig::Beat;
use crate::vehicle::{ElementId, PartId};

/// How a clamp comes to be on a wire.
pub(super) const CLAMP_WAY: &str = "`clamp {wire}` closes it around one.";
/// How a lamp comes to be connected.
const LAMP_WAY: &str = "`lamp {point} {body}` puts it on two points.";

impl Bay {
    pub(super) fn clamp_on(&mut self, part: PartId) -> Result<Step, Refusal> {
        if self.wire_of(part).is_none() {
            return Err(Refusal::new(
                format!(
                    "The clamp closes around a wire or a strap; {} is neither.",
                    self.vehicle.parts[part.0].id
                ),
                self.example("`diagram` shows the wires, such as `clamp {wire}`."),
            ));
        }
        self.reach_part(part)?;
        let mut step = Step::taking(TIMES.clamp + TIMES.read);
        self.go_to(self.vehicle.parts[part.0].place, &mut step);
        self.clamped = Some(part);
        self.read_into(&mut step, Glance::Tool(Tool::Clamp))?;
        Ok(step)
    }

    pub(super) fn wire_of(&self, part: PartId) -> Option<(ElementId, NodeId)> {
        let (id, element) = self.vehicle.clampable(part)?;
        Some((id, element.to))
    }

    fn read_clamp(&mut self, step: &mut Step) -> Result<(), Refusal> {
        let Some(part) = self.clamped else {
            return Ok(());
        };
        let Some((element, _)) = self.wire_of(part) else {
            return Ok(());
        };
        let attachments = self.attachments(0)?.0;
        let instant = self.rig.now(&attachments).map_err(unsolved)?;
        let reading = self.clamp_reading(part, instant.amps(element), "");
        step.outcome.readings.push(reading);
        if instant.chattering.is_some() {
            step.say_once(UNSTEADY);
        }
        Ok(())
    }

    /// `when` is what was going on, where the reading is of a moment gone by.
    fn clamp_reading(&mut self, part: PartId, amps: f64, when: &str) -> crate::instrument::Reading {
        let id = self.vehicle.parts[part.0].id.clone();
        let towards = self
            .wire_of(part)
            .map(|(_, to)| self.name(to))
            .unwrap_or_default();
        let how = format!("clamp on {id}, arrow towards {towards}{when}");
        let repeat = self.repeat(&format!("clamp {id}"));
        self.clamp.read(&id, amps, repeat, how)
    }

    pub(super) fn clamp_zero(&mut self) -> Step {
        self.clamp.zero();
        let mut step = Step::taking(TIMES.zero);
        if let Some(part) = self.clamped.take() {
            let wire = &self.vehicle.parts[part.0].id;
            step.say(format!("The clamp comes off {wire} for it."));
        }
        step.say("Jaws closed around nothing: the clamp shows 0.00 A.");
        step
    }

    pub(super) fn clamp_off(&mut self) -> Result<Step, Refusal> {
        if self.clamped.take().is_none() {
            return Err(Refusal::new(
                "The clamp is on no wire.",
                self.example(CLAMP_WAY),
            ));
        }
        let mut step = Step::taking(TIMES.clamp);
        step.say("The clamp is off.");
        Ok(step)
    }

    pub(super) fn lamp_on(&mut self, a: NodeId, b: NodeId) -> Result<Step, Refusal> {
        if a == b {
            return Err(Refusal::new(
                "Both ends would be on one point.",
                self.example("`lamp {point} {body}` needs two points."),
            ));
        }
        let (first, second) = (self.reach_point(a)?, self.reach_point(b)?);
        self.cord(a, first.place, b, second.place)?;
        let mut step = Step::taking(TIMES.clamp + TIMES.read);
        self.go_to(first.place, &mut step);
        self.go_to(second.place, &mut step);
        let ends = (self.put_clip(a, first.tip), self.put_clip(b, second.tip));
        let before = self.tell_pump()?;
        self.lit = Some(ends);
        self.spare_driver(false, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        self.tell_pump_if_new(&before, &mut step)?;
        Ok(step)
    }

    pub(super) fn lamp_off(&mut self) -> Result<Step, Refusal> {
        if self.lit.is_none() {
            return Err(Refusal::new(
                "The lamp is not connected.",
                self.example(LAMP_WAY),
            ));
        }
        let mut step = Step::taking(TIMES.clamp);
        let before = self.tell_pump()?;
        self.lit = None;
        step.say("The lamp is off the vehicle.");
        self.tell_pump_if_new(&before, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    fn read_lamp(&mut self, step: &mut Step) -> Result<(), Refusal> {
        let (attachments, hooked) = self.attachments(0)?;
        let Some(terminals) = hooked.lamp else {
            return Ok(());
        };
        let instant = self.rig.now(&attachments).map_err(unsolved)?;
        let how = self
            .lit
            .map(|(a, b)| format!("lamp {} {}", self.name(a.node), self.name(b.node)));
        step.see(
            self.lamp.glow(terminals, &instant).words("lamp"),
            how.unwrap_or_default(),
        );
        if instant.chattering.is_some() {
            step.say(FLICKERS);
        }
        Ok(())
    }

    /// Looks again at an instrument that stayed where it was put.
    pub(super) fn reread(&mut self, tool: Tool) -> Result<Step, Refusal> {
        let refused = |missing: &str, way| Err(Refusal::new(missing, self.example(way)));
        match tool {
            Tool::Clamp if self.clamped.is_none() => {
                return refused("The clamp is on no wire.", CLAMP_WAY);
            }
            Tool::Lamp if self.lit.is_none() => {
                return refused("The lamp is not connected.", LAMP_WAY);
            }
            Tool::Load if self.load.is_none() => return refused("No bulb is connected.", LOAD_WAY),
            Tool::Gauge if self.gauge_at.is_none() => return Err(self.no_gauge()),
            _ => {}
        }
        let mut step = Step::taking(TIMES.read);
        self.read_into(&mut step, Glance::Tool(tool))?;
        Ok(step)
    }

    /// What an instrument besides the meter shows, if it is connected.
    pub(super) fn read_tool(&mut self, tool: Tool, step: &mut Step) -> Result<(), Refusal> {
        match tool {
            Tool::Clamp => self.read_clamp(step),
            Tool::Lamp => self.read_lamp(step),
            Tool::Load => self.read_load(step),
            Tool::Gauge => self.read_gauge(step),
        }
    }

    /// What clamp and lamp showed late in a phase.
    pub(super) fn watch_phase(
        &mut self,
        phase: &crate::rig::Phase,
        during: During,
        hooked: &super::meter::Hooked,
        step: &mut Step,
    ) {
        let Some(sample) = phase.samples.iter().rev().nth(20).or(phase.samples.last()) else {
            return;
        };
        let instant = phase.instant(sample);
        let sight = |bay: &Bay, place| bay.helper || bay.seen_from_seat(&[(place, 0.0)]);
        if let Some(part) = self.clamped
            && let Some((element, _)) = self.wire_of(part)
        {
            if sight(self, self.vehicle.parts[part.0].place) {
                let when = format!(", {}", during.words(turned(phase)));
                let reading = self.clamp_reading(part, instant.amps(element), &when);
                step.outcome.readings.push(reading);
                if instant.chattering.is_some() {
                    step.say_once(UNSTEADY);
                }
            } else {
                step.say("The clamp's display cannot be read from the seat: `helper on`, or a wire nearer to it.");
            }
        }
        for (what, terminals, lamp, ends) in [
            ("lamp", hooked.lamp, self.lamp, self.lit),
            (
                "bulb",
                hooked.load,
                self.load.map_or(self.lamp, |l| l.2.lamp()),
                self.load.map(|l| (l.0, l.1)),
            ),
        ] {
            let (Some(terminals), Some((a, b))) = (terminals, ends) else {
                continue;
            };
            if self
                .place_of(a.node)
                .is_some_and(|place| sight(self, place))
            {
                let how = format!("{what} {} {}", self.name(a.node), self.name(b.node));
                step.see(lamp.glow(terminals, &instant).words(what), how);
                if instant.chattering.is_some() {
                    step.say(FLICKERS);
                }
            } else {
                step.say(format!(
                    "The {what} cannot be seen from the seat: `helper on` watches it."
                ));
            }
        }
    }

    pub(super) fn call_helper(&mut self, on: bool) -> Result<Step, Refusal> {
        let colleague = Switch {
            what: "A colleague",
            on: ("is with you already", "helper on"),
            off: ("is not with you", "helper off"),
        };
        colleague.turn(self.helper, on)?;
        self.helper = on;
        let mut step = Step::taking(if on { TIMES.helper } else { 0.0 });
        step.say(if on {
            "A colleague watches the instruments while you work the key; their time is on the bill."
        } else {
            "Your colleague goes back to their own job."
        });
        Ok(step)
    }

    /// What is heard just now: of the pump, and of what throws its circuit to and fro.
    pub(super) fn tell_pump(&mut self) -> Result<String, Refusal> {
        // What is connected may itself hold a relay in.
        let instant = self.now_attached()?;
        let both = self.hear_both(&instant.pump, self.rig.controls().key);
        let pump = both.as_deref().unwrap_or_else(|| self.hear(&instant.pump));
        let beat = match instant.chattering {
            None => return Ok(pump.to_owned()),
            Some(Beat::Relay) => CHATTER,
            Some(Beat::Unit) => STUTTER,
        };
        Ok(match pump {
            Self::SILENT => beat.to_owned(),
            pump => format!("{beat} {pump}"),
        })
    }

    /// The same, if it is not what was heard before.
    pub(super) fn tell_pump_if_new(
        &mut self,
        before: &str,
        step: &mut Step,
    ) -> Result<(), Refusal> {
        let after = self.tell_pump()?;
        if after != before {
            step.say(after);
        }
        Ok(())
    }
}

/// A relay that can neither hold nor stay out.
const CHATTER: &str = "A relay chatters like a sewing machine.";
/// A module or a control unit that cuts out and tries again.
const STUTTER: &str = "The pump is fed in bursts, many in a second, and no relay clicks with them.";
/// What a lamp does behind either.
pub(super) const FLICKERS: &str = "It flickers.";
