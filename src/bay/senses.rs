//! Eyes, ears and hands.

use super::action::Target;
use super::outcome::{Glance, Refusal, Step};
use super::{Bay, TIMES, unsolved};
use crate::fault::Sense;
use crate::rig::{LiftState, PumpSound, PumpState, Warmth};
use crate::vehicle::{Key, Kind, PartId};

impl Bay {
    /// The line for a pump that is not heard.
    pub(super) const SILENT: &'static str = "Nothing is heard of the pump.";

    pub(super) fn look(&mut self, target: &Target) -> Result<Step, Refusal> {
        self.reach_part(target.part)?;
        let mut step = Step::taking(TIMES.look);
        self.go_to(self.vehicle.parts[target.part.0].place, &mut step);
        let part = &self.vehicle.parts[target.part.0];
        let apart = self.rig.controls().unplugged.contains(&target.part);
        // What a part looks like is told of one in its place.
        if !apart {
            step.say(part.looks.clone());
        }
        for sense in [Sense::Look, Sense::Smell] {
            for line in self.rig.sense(sense, target.part) {
                step.say(line);
            }
        }
        if let Some(needle) = self.rig.gauge_needle(target.part).map_err(unsolved)? {
            let eighths = libm::round(needle * 8.0);
            step.see(
                format!("The needle stands at {eighths:.0} eighths of full."),
                "fuel gauge",
            );
        }
        if let Some(celsius) = self.rig.temperature_gauge(target.part).map_err(unsolved)? {
            /// The ends of a temperature gauge's dial, degrees Celsius; ours, no source.
            const DIAL_C: (f64, f64) = (50.0, 130.0);
            let share = (celsius - DIAL_C.0) / (DIAL_C.1 - DIAL_C.0);
            let eighths = libm::round(share.clamp(0.0, 1.0) * 8.0);
            step.see(
                format!("The needle stands at {eighths:.0} eighths between cold and hot."),
                "temperature gauge",
            );
        }
        let part = &self.vehicle.parts[target.part.0];
        if apart {
            let id = &part.id;
            step.say(if part.kind == Kind::Clamp {
                format!("{id} is off its post; `isolate off` puts it back.")
            } else {
                format!("{id} is unplugged; `open {id}` looks at its terminals.")
            });
        }
        if part.kind == Kind::Fuse && self.rig.fuse_open(target.part) {
            step.say("The bridge in its window is gone.");
        }
        Ok(step)
    }

    pub(super) fn listen(&mut self) -> Result<Step, Refusal> {
        let mut step = Step::taking(TIMES.listen);
        step.say(self.tell_pump()?);
        let pump = self.vehicle.pump.part;
        if step.outcome.said.iter().any(|line| line != Self::SILENT) {
            for line in self.rig.sense(Sense::Listen, pump) {
                step.say(line);
            }
            if let Some(lift) = &self.vehicle.lift {
                let id = &self.vehicle.parts[lift.pump.part.0].id;
                for line in self.rig.sense(Sense::Listen, lift.pump.part) {
                    step.say(format!("At {id}: {line}"));
                }
            }
        }
        Ok(step)
    }

    pub(super) fn hear(&self, pump: &PumpState) -> &'static str {
        self.hear_at(pump, self.rig.controls().key)
    }

    /// The same with the key where it is not any more.
    pub(super) fn hear_at(&self, pump: &PumpState, key: Key) -> &'static str {
        pump_in_words(pump, self.rig.usual_rpm_at(key))
    }

    /// Two pumps, each heard where it is; nothing on a vehicle with one, or where neither is heard.
    pub(super) fn hear_both(&self, pump: &PumpState, key: Key) -> Option<String> {
        let (lift, usual) = (self.vehicle.lift.as_ref()?, self.rig.usual_lift_rpm()?);
        let (main, other) = (self.hear_at(pump, key), lift_in_words(&pump.lift?, usual));
        if main == Self::SILENT && other == LIFT_SILENT {
            return None;
        }
        let id = |part: PartId| &self.vehicle.parts[part.0].id;
        let (main_id, lift_id) = (id(self.vehicle.pump.part), id(lift.pump.part));
        Some(format!("At {main_id}: {main} At {lift_id}: {other}"))
    }

    pub(super) fn feel(&mut self, part: PartId) -> Result<Step, Refusal> {
        self.reach_part(part)?;
        let mut step = Step::taking(TIMES.feel);
        let place = self.vehicle.parts[part.0].place;
        self.go_to(place, &mut step);
        let id = self.vehicle.parts[part.0].id.clone();
        step.say(match self.rig.warmth(part) {
            Warmth::Cold => format!("{id} is no warmer than what is around it."),
            Warmth::Warm => format!("{id} is warm to the hand."),
            Warmth::Hot => format!("{id} is too hot to hold."),
        });
        for line in self.rig.sense(Sense::Feel, part) {
            step.say(line);
        }
        Ok(step)
    }

    /// Moves a part while whatever is connected is watched: before, and after.
    pub(super) fn wiggle(&mut self, part: PartId) -> Result<Step, Refusal> {
        self.reach_part(part)?;
        let mut step = Step::taking(TIMES.feel);
        let place = self.vehicle.parts[part.0].place;
        self.go_to(place, &mut step);
        let before = self.tell_pump()?;
        let id = self.vehicle.parts[part.0].id.clone();
        step.say(format!("You bend and pull at {id}."));
        self.move_and_watch(part, &mut step)?;
        self.tell_pump_if_new(&before, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }
}

/// What is heard where a lift pump does not run.
const LIFT_SILENT: &str = "nothing.";

/// What a lift pump sounds like at the tank, in words that are not those of the main pump.
#[must_use]
pub fn lift_in_words(lift: &LiftState, usual: f64) -> &'static str {
    match PumpSound::of(lift.rad_s, lift.amps, lift.starved) {
        PumpSound::Silent => LIFT_SILENT,
        PumpSound::HumsWithoutTurning => "a low hum without any whir.",
        PumpSound::Runs { starved: true, .. } => "a rattling whine.",
        PumpSound::Runs { rpm, .. } if rpm < 0.55 * usual => "a slow whir.",
        PumpSound::Runs { rpm, .. } if rpm < 0.85 * usual => "a whir lower than most.",
        PumpSound::Runs { rpm, .. } if rpm > 1.2 * usual => "a high whir.",
        PumpSound::Runs { .. } => "its usual whir.",
    }
}

/// What a pump in this state sounds like, against one that is well and turns at `usual` revolutions a minute.
#[must_use]
pub fn pump_in_words(pump: &PumpState, usual: f64) -> &'static str {
    match PumpSound::of(pump.rad_s, pump.amps, pump.starved) {
        PumpSound::Silent => Bay::SILENT,
        PumpSound::HumsWithoutTurning => "A low hum from the pump, and no whir with it.",
        PumpSound::Runs { starved: true, .. } => "The pump runs with a harsh, rattling whine.",
        PumpSound::Runs { rpm, .. } if rpm < 0.55 * usual => "The pump runs low and slow.",
        PumpSound::Runs { rpm, .. } if rpm < 0.85 * usual => {
            "The pump runs, lower in pitch than most."
        }
        PumpSound::Runs { rpm, .. } if rpm > 1.2 * usual => "The pump runs, high and light.",
        PumpSound::Runs { .. } => "The pump runs at its usual pitch.",
    }
}
