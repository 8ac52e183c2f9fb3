//! Putting back what was raised, removed or lowered.

use super::outcome::{Refusal, Step};
use super::{Bay, PUTTING_BACK_SHARE, Placed, TIMES};
use crate::vehicle::{AccessHazard, AccessId, Kind, PlaceId};

impl Bay {
    /// Undoes a piece of access work and whatever was opened beyond it.
    pub(super) fn refit(&mut self, id: AccessId) -> Result<Step, Refusal> {
        let name = self.vehicle.accesses[id.0].name.clone();
        if !self.accesses.contains(&id) {
            return Err(Refusal::new(
                format!("Nothing to put back: \"{name}\" has not been done."),
                "`points` shows what work would open which way.",
            ));
        }
        let beyond: Vec<AccessId> = self
            .accesses
            .iter()
            .copied()
            .filter(|&open| self.vehicle.access_order(&[open]).contains(&id))
            .collect();
        let closes = |place: PlaceId| {
            let order = self.vehicle.access_to(place);
            order.iter().any(|need| beyond.contains(need))
        };
        let apart = self.rig.controls().unplugged.iter().find(|part| {
            let part = &self.vehicle.parts[part.0];
            part.kind != Kind::Clamp && closes(part.place)
        });
        if let Some(part) = apart {
            let part = &self.vehicle.parts[part.0].id;
            return Err(Refusal::new(
                format!("{part} is unplugged and would be out of reach."),
                format!("`plug {part}` first."),
            ));
        }
        let seconds: f64 = beyond
            .iter()
            .map(|id| self.vehicle.accesses[id.0].seconds * PUTTING_BACK_SHARE)
            .sum();
        let off = |placed: &Placed| self.place_of(placed.node).is_some_and(closes);
        let meter = self.connected.is_some_and(|c| off(&c.red) || off(&c.black));
        let lamp = self.lit.is_some_and(|(a, b)| off(&a) || off(&b));
        let load = self.load.is_some_and(|(a, b, _)| off(&a) || off(&b));
        let clamp = self
            .clamped
            .is_some_and(|part| closes(self.vehicle.parts[part.0].place));
        let jumper = self.rig.controls().jumper.is_some_and(|jumper| {
            [jumper.a, jumper.b]
                .iter()
                .any(|&node| self.place_of(node).is_some_and(closes))
        });
        let mut step = Step::taking(seconds);
        let before = self.tell_pump()?;
        if meter || lamp || load || clamp || jumper {
            step.outcome.seconds += TIMES.clamp;
            step.say("What was connected there is taken off.");
        }
        if meter {
            self.connected = None;
        }
        if lamp {
            self.lit = None;
        }
        if load {
            self.load = None;
        }
        if clamp {
            self.clamped = None;
        }
        if jumper {
            self.rig.set_jumper(None);
        }
        for id in beyond.iter().rev() {
            step.say(format!("Undone: {}.", self.vehicle.accesses[id.0].name));
        }
        self.accesses.retain(|open| !beyond.contains(open));
        self.on_stands &= self.is_raised();
        self.rig.set_module_out(self.pump_is_out());
        self.tell_pump_if_new(&before, &mut step)?;
        Ok(step)
    }

    /// The vehicle hangs on a jack or stands on stands.
    pub(super) fn is_raised(&self) -> bool {
        self.accesses
            .iter()
            .any(|id| self.vehicle.accesses[id.0].hazard == AccessHazard::RaisesVehicle)
    }
}
