//! Doing an action and letting its time pass: fuses that give out, an engine that dies, what is read once all has settled.

use super::action::Action;
use super::meter::{BUZZES, UNSTEADY};
use super::outcome::{Glance, Refusal, Step};
use super::tools::FLICKERS;
use super::{Bay, ENGINE_DIES, unsolved};

/// What is heard of a vehicle fuse that opens.
const FUSE_TICKS: &str = "A fuse gives out with a small tick.";

impl Bay {
    /// Does an action and lets its time pass.
    pub(super) fn perform(&mut self, action: &Action) -> Result<Step, Refusal> {
        let rested = self.rests_while_recording()?;
        let waits = matches!(action, Action::Wait { .. });
        let mut step = self.begin(action)?;
        if step.aside {
            return Ok(step);
        }
        let (before, whole) = (self.tell_pump()?, !self.meter.fuse_blown);
        self.wear_meter_fuse(&mut step)?;
        let blown = self.pass(step.outcome.seconds - step.lived, &mut step)?;
        // Whoever waits hears what has become of the pump, and so does whoever has just heard a fuse, of the vehicle or
        // of the meter.
        let meter_fuse_went = whole && self.meter.fuse_blown;
        if waits || blown || meter_fuse_went {
            self.tell_pump_if_new(&before, &mut step)?;
        }
        if waits {
            self.read_into(&mut step, Glance::All)?;
        } else if (blown || meter_fuse_went)
            && let Some(glance) = step.unread(&[UNSTEADY, BUZZES, FLICKERS])
        {
            // A display read at leisure shows what stands once the fuse has gone, not the moment before.
            self.read_into(&mut step, glance)?;
        }
        self.keep_recording(rested, &mut step)?;
        if tells_recording(action) {
            self.tell_extremes(&mut step);
        }
        Ok(step)
    }

    /// Lets seconds pass on the vehicle: a fuse may open in them, and an engine that it fed dies. Whether a fuse did.
    pub(super) fn pass(&mut self, seconds: f64, step: &mut Step) -> Result<bool, Refusal> {
        let attached = self.attachments(0)?.0;
        let blown = self.rig.wait(seconds, &attached).map_err(unsolved)? > 0;
        if blown {
            step.say(FUSE_TICKS);
        }
        if self.rig.engine_dies(&attached).map_err(unsolved)? {
            step.say(ENGINE_DIES);
        }
        Ok(blown)
    }
}

/// Actions whose answer ends with what a running recording has kept; a turn of the key that drove the pump and the
/// end of the recording tell it themselves.
fn tells_recording(action: &Action) -> bool {
    matches!(
        action,
        Action::PumpTool(_)
            | Action::Wait { .. }
            | Action::ReadMeter
            | Action::Jumper(_)
            | Action::JumperOff
            | Action::Plug(_)
            | Action::Unplug(_)
            | Action::Tap(_)
    )
}
