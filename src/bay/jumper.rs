//! The fused jumper: a wire of the learner's choice between two points, for as long as it lies or for a timed flow.

use super::action::Bridge;
use super::ledger::Grade;
use super::outcome::{Glance, Refusal, Step};
use super::wires::{Stock, no_such_wire};
use super::{Bay, TIMES, unsolved};
use crate::circuit::conductor::{self, ConductorError};
use crate::rig::{Jumper, Tap};
use crate::units::Metre;
use crate::vehicle::PlaceId;

/// Rating of the fuse in the jumper, A.
const FUSE_A: f64 = 20.0;
/// Times its rating from which that fuse goes: ISO 8820-3 gives it 0.75 to 600 s there.
const BLOWS_AT: f64 = 1.35;
/// Resistance of a jumper's clips and fuse, ohm: two clips and a 20 A blade fuse (3.4 mohm cold, a maker's data sheet,
/// from memory).
const ENDS_OHMS: f64 = 0.012;

impl Bridge {
    /// Resistance with clips and fuse at an air temperature, ohm.
    ///
    /// # Errors
    /// The wire cannot be.
    pub fn ohms(&self, celsius: f64) -> Result<f64, ConductorError> {
        let copper = conductor::resistance(self.wire.size, self.wire.length_m, celsius)?;
        Ok(ENDS_OHMS + copper)
    }
}

impl Bay {
    /// The jumper that would lie between two points, and where its ends are; refused if it cannot lie there.
    pub(super) fn jumper_for(&self, bridge: &Bridge) -> Result<(Jumper, [PlaceId; 2]), Refusal> {
        let &Bridge { a, b, wire } = bridge;
        if a == b {
            return Err(Refusal::new(
                "Both ends would be on one point.",
                self.example("`jumper {relay-in} {relay-out}` needs two points."),
            ));
        }
        self.check_wire(&wire)?;
        let (first, second) = (self.reach_point(a)?, self.reach_point(b)?);
        let distance = self.vehicle.distance_m(first.place, second.place);
        if distance > wire.length_m {
            let (a, b) = (self.name(a), self.name(b));
            let shown = |length_m| Metre(length_m).show(self.system);
            return Err(Refusal::new(
                format!(
                    "{a} and {b} are {} apart; the wire is {}.",
                    shown(distance),
                    shown(wire.length_m)
                ),
                format!(
                    "`jumper {a} {b} {}` would reach.",
                    self.wire_to_type(distance, Stock::Jumper)
                ),
            ));
        }
        let ambient = self.rig.conditions().ambient_c;
        let ohms = bridge.ohms(ambient).map_err(no_such_wire)?;
        Ok((Jumper { a, b, ohms }, [first.place, second.place]))
    }

    pub(super) fn lay_jumper(&mut self, bridge: &Bridge) -> Result<Step, Refusal> {
        let (jumper, places) = self.jumper_for(bridge)?;
        let (a, b) = (self.name(jumper.a), self.name(jumper.b));
        let laid = self.rig.controls().jumper;
        let same = laid.is_some_and(|laid| {
            laid.ohms == jumper.ohms
                && ([laid.a, laid.b] == [jumper.a, jumper.b]
                    || [laid.b, laid.a] == [jumper.a, jumper.b])
        });
        if same {
            return Err(Refusal::new(
                format!("That jumper lies between {a} and {b} already."),
                "`jumper off` takes it up.",
            ));
        }
        let mut step = Step::taking(TIMES.jumper);
        for place in places {
            self.go_to(place, &mut step);
        }
        if laid.is_some() {
            step.say("The jumper is taken up from where it lay.");
        }
        if !self.bridge(jumper, &mut step)? {
            return Ok(step);
        }
        step.say(format!(
            "{a} and {b} are bridged through a {FUSE_A:.0} A fuse."
        ));
        step.say(self.tell_pump()?);
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    /// Touches both points with the jumper; whether its fuse has stood it, so that it lies there now.
    pub(super) fn bridge(&mut self, jumper: Jumper, step: &mut Step) -> Result<bool, Refusal> {
        self.rig.set_jumper(Some(jumper));
        self.spare_driver(false, step)?;
        let attachments = self.attachments(0)?.0;
        let instant = self.rig.now(&attachments).map_err(unsolved)?;
        let (a, b) = (Tap::Node(jumper.a), Tap::Node(jumper.b));
        let amps = instant.across(a, b).unwrap_or(0.0) / jumper.ohms;
        if libm::fabs(amps) <= FUSE_A * BLOWS_AT {
            return Ok(true);
        }
        self.rig.set_jumper(None);
        step.say(format!(
            "A spark, and the jumper's own {FUSE_A:.0} A fuse is gone. You take it off again."
        ));
        step.hazard(
            Grade::Serious,
            "a jumper across a source or a short: only its fuse prevented a burn",
        );
        Ok(false)
    }

    pub(super) fn jumper_off(&mut self) -> Result<Step, Refusal> {
        if self.rig.controls().jumper.is_none() {
            return Err(Refusal::new(
                "No jumper is laid.",
                format!(
                    "`jumper POINT POINT {}` lays one.",
                    self.wire_to_type(5.0, Stock::Jumper)
                ),
            ));
        }
        self.rig.set_jumper(None);
        let mut step = Step::taking(TIMES.jumper / 2.0);
        step.say("The jumper is off.");
        step.say(self.tell_pump()?);
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }
}
