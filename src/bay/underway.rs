//! Getting at things, taking them apart, waiting, judging, protecting.

use super::ledger::{Call, Fact, Grade};
use super::outcome::{Refusal, Step};
use super::{Bay, TIMES, Verdict, unsolved};
use crate::instrument::Quantity;
use crate::rig::{Attachments, Tap};
use crate::vehicle::{AccessHazard, AccessId, Key, Kind, PartId, PlaceId, Section};

/// Fuel pressure above which opening a line sprays, Pa; ours, no source.
pub(super) const SPRAY_PA: f64 = 20e3;
/// Longest wait in one go, s.
const LONGEST_WAIT_S: f64 = 6.0 * 3600.0;

impl Bay {
    /// Goes to a place with both hands; under a vehicle that no stands hold this may be the last walk.
    pub(super) fn go_to(&mut self, place: PlaceId, step: &mut Step) {
        if self.is_underneath(place) && !self.on_stands {
            step.hazard(
                Grade::Grave,
                "work under a vehicle that stood on a jack alone",
            );
        }
    }

    pub(super) fn gain_access(&mut self, id: AccessId) -> Result<Step, Refusal> {
        let access = self.vehicle.accesses[id.0].clone();
        if self.accesses.contains(&id) {
            return Err(Refusal::new(
                format!("That is done already: {}", access.name),
                "`points` lists what can be reached.",
            ));
        }
        self.done(
            &format!("{} needs other work first", access.name),
            &access.needs,
        )?;
        if access.hazard != AccessHazard::None && self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        let mut step = Step::taking(access.seconds);
        let underneath = self.vehicle.access_order(&access.needs);
        let raised = underneath
            .iter()
            .any(|need| self.vehicle.accesses[need.0].hazard == AccessHazard::RaisesVehicle);
        if raised && !self.on_stands {
            step.hazard(
                Grade::Grave,
                "work under a vehicle that stood on a jack alone",
            );
        }
        step.say(access.done.clone());
        match access.hazard {
            AccessHazard::None => {}
            AccessHazard::RaisesVehicle => {
                step.say("It hangs on the jack. `stands` makes it safe to go under.");
            }
            AccessHazard::OpensTank => self.open_tank(&mut step)?,
        }
        self.accesses.insert(id);
        Ok(step)
    }

    fn open_tank(&mut self, step: &mut Step) -> Result<(), Refusal> {
        if self.is_energised()? {
            step.hazard(
                Grade::Serious,
                "the tank was lowered with the battery's negative clamp on",
            );
        }
        if self.rig.rail_pa() > SPRAY_PA {
            step.hazard(
                Grade::Serious,
                "the tank was lowered with pressure in the lines",
            );
            step.say("Fuel sprays from the line as the joint opens.");
            self.rig.bleed();
        }
        if !self.protected {
            step.hazard(
                Grade::Serious,
                "the tank was opened without eye protection, ventilation and an extinguisher",
            );
        }
        Ok(())
    }

    /// Volts stand between the body and the positive clamp side.
    pub(super) fn is_energised(&mut self) -> Result<bool, Refusal> {
        let clamps = self
            .vehicle
            .parts
            .iter()
            .enumerate()
            .filter(|(_, part)| part.kind == Kind::Clamp);
        let off = clamps
            .into_iter()
            .any(|(index, _)| self.rig.controls().unplugged.contains(&PartId(index)));
        if off {
            return Ok(false);
        }
        let instant = self.rig.now(&Attachments::none()).map_err(unsolved)?;
        let (plus, minus) = self.battery_posts();
        Ok(instant.across(plus, minus).is_some_and(|volts| volts > 1.0))
    }

    fn battery_posts(&self) -> (Tap, Tap) {
        let battery = self
            .vehicle
            .elements
            .iter()
            .find(|e| matches!(e.law, crate::vehicle::Law::Battery { .. }));
        // The loader refuses a vehicle without a battery; the reference stands in for the impossible case.
        let (from, to) = battery.map_or((self.vehicle.reference, self.vehicle.reference), |e| {
            (e.from, e.to)
        });
        (Tap::Node(to), Tap::Node(from))
    }

    pub(super) fn unplug(&mut self, id: PartId) -> Result<Step, Refusal> {
        let part = &self.vehicle.parts[id.0];
        let name = part.id.clone();
        if !matches!(part.kind, Kind::Connector | Kind::Fuse | Kind::Relay) {
            let hint = if part.kind == Kind::Clamp {
                "`isolate` takes the battery's negative clamp off."
            } else {
                "Connectors, fuses and relays come out, such as `unplug X7`."
            };
            return Err(Refusal::new(format!("{name} cannot be unplugged."), hint));
        }
        if self.rig.controls().unplugged.contains(&id) {
            return Err(Refusal::new(
                format!("{name} is out already."),
                format!("`plug {name}` puts it back."),
            ));
        }
        self.reach_part(id)?;
        let place = part.place;
        let mut step = Step::taking(TIMES.plug);
        self.go_to(place, &mut step);
        let instant = self.rig.now(&Attachments::none()).map_err(unsolved)?;
        let loaded = self
            .vehicle
            .elements_of(id)
            .any(|(element, _)| libm::fabs(instant.amps(element)) > 1.0);
        if loaded && self.is_underneath(place) {
            step.hazard(
                Grade::Serious,
                "a connector beside the tank was pulled with the pump's current through it",
            );
        }
        self.rig.set_unplugged(id, true);
        step.say(format!("{name} is unplugged."));
        self.read_into(&mut step, false)?;
        Ok(step)
    }

    pub(super) fn plug(&mut self, id: PartId) -> Result<Step, Refusal> {
        let part = &self.vehicle.parts[id.0];
        let (name, place) = (part.id.clone(), part.place);
        if !self.rig.controls().unplugged.contains(&id) || part.kind == Kind::Clamp {
            return Err(Refusal::new(
                format!("{name} is not unplugged."),
                "`unplug X7` takes a connector apart.",
            ));
        }
        self.reach_part(id)?;
        let mut step = Step::taking(TIMES.plug);
        self.go_to(place, &mut step);
        let gone = |node| {
            self.vehicle.nodes[node as usize]
                .touch
                .is_some_and(|t| t.only_unplugged == Some(id))
        };
        if self
            .connected
            .is_some_and(|c| gone(c.red.node.0) || gone(c.black.node.0))
        {
            self.connected = None;
            step.say("The meter's tip had to come out.");
        }
        self.rig.set_unplugged(id, false);
        step.say(format!("{name} is plugged in."));
        self.read_into(&mut step, false)?;
        Ok(step)
    }

    pub(super) fn pass_time(seconds: f64) -> Result<Step, Refusal> {
        if !(seconds > 0.0 && seconds <= LONGEST_WAIT_S) {
            return Err(Refusal::new(
                "That wait is none, or too long.",
                "`wait 30 s`, `wait 5 min`, at most 6 h.",
            ));
        }
        let mut step = Step::taking(seconds);
        step.say("Time passes.");
        Ok(step)
    }

    pub(super) fn judge(&mut self, section: Section, verdict: Verdict, cites: Option<f64>) -> Step {
        let (relies_on, imagined_drop_v) =
            cites.map_or((None, None), |value| self.find_cited(value));
        let was_bad = self.rig.is_faulty(section);
        let call = Call {
            section,
            verdict,
            cites,
            relies_on,
            imagined_drop_v,
            was_bad,
        };
        let mut step = Step::taking(TIMES.call);
        step.say(format!("Noted: {}.", spoken_call(&call)));
        step.facts.push(Fact::Called(call));
        step
    }

    /// The action whose reading a cited value is; failing that, the volts reading it falls short of by what the lead
    /// would drop if it carried the pump's current.
    fn find_cited(&self, value: f64) -> (Option<u32>, Option<f64>) {
        let shown = |volts: f64| libm::fabs(libm::fabs(volts) - libm::fabs(value));
        for entry in self.ledger.iter().rev() {
            let near = entry.readings.iter().filter_map(|reading| reading.value);
            if near
                .into_iter()
                .any(|volts| shown(volts) <= rounding(value))
            {
                return (Some(entry.number), None);
            }
        }
        for entry in self.ledger.iter().rev() {
            for fact in &entry.facts {
                let Fact::Measured(measured) = fact else {
                    continue;
                };
                let Some(volts) = measured
                    .value
                    .filter(|_| measured.function.quantity() == Quantity::Voltage)
                else {
                    continue;
                };
                // The pump may have rested at this reading: the learner imagines the current it would draw.
                let amps = if measured.pump_amps > 1.0 {
                    measured.pump_amps
                } else {
                    self.rig.usual_amps()
                };
                let drop = measured.lead_ohms * amps;
                let short = libm::fabs(volts) - libm::fabs(value);
                if short > rounding(value) && libm::fabs(short - drop) <= 0.25 * drop {
                    return (Some(entry.number), Some(short));
                }
            }
        }
        (None, None)
    }

    pub(super) fn protect(&mut self) -> Result<Step, Refusal> {
        if self.protected {
            return Err(Refusal::new(
                "All of that is in place already.",
                "`relieve`, `isolate` and `stands` are the others.",
            ));
        }
        self.protected = true;
        let mut step = Step::taking(TIMES.protect);
        step.say("Eye protection and gloves on, extinguisher at hand, doors open, exhaust led away, no flame about.");
        Ok(step)
    }

    pub(super) fn isolate(&mut self, on: bool) -> Result<Step, Refusal> {
        let clamp = self.negative_clamp();
        let Some(clamp) = clamp else {
            return Err(Refusal::new(
                "This battery has no negative clamp of its own.",
                "`diagram` shows the supply.",
            ));
        };
        if self.rig.controls().unplugged.contains(&clamp) == on {
            let (now, other) = if on {
                ("is off already", "isolate off")
            } else {
                ("is on", "isolate")
            };
            return Err(Refusal::new(
                format!("The negative clamp {now}."),
                format!("`{other}` changes that."),
            ));
        }
        if on && self.key() != Key::Off {
            return Err(Refusal::new(
                "Not with the key on: control units dislike it, and it sparks.",
                "`key off` first.",
            ));
        }
        self.reach_part(clamp)?;
        let mut step = Step::taking(TIMES.isolate);
        self.rig.set_unplugged(clamp, on);
        step.say(if on {
            "The negative clamp is off and tied back."
        } else {
            "The negative clamp is on and tight."
        });
        self.read_into(&mut step, false)?;
        Ok(step)
    }

    fn negative_clamp(&self) -> Option<PartId> {
        let touches = |index: usize| {
            let reference = self.vehicle.reference;
            self.vehicle
                .elements_of(PartId(index))
                .any(|(_, e)| e.from == reference || e.to == reference)
        };
        let parts = self.vehicle.parts.iter().enumerate();
        parts
            .filter(|(_, part)| part.kind == Kind::Clamp)
            .find(|&(index, _)| touches(index))
            .map(|(index, _)| PartId(index))
    }

    pub(super) fn set_stands(&mut self) -> Result<Step, Refusal> {
        let raised = self
            .accesses
            .iter()
            .any(|id| self.vehicle.accesses[id.0].hazard == AccessHazard::RaisesVehicle);
        if !raised {
            return Err(Refusal::new(
                "The vehicle stands on its wheels.",
                "`access` names the work that raises it.",
            ));
        }
        if self.on_stands {
            return Err(Refusal::new(
                "It stands on stands already.",
                "`points` lists what can be reached.",
            ));
        }
        self.on_stands = true;
        let mut step = Step::taking(TIMES.stands);
        step.say("Stands under the sills, the weight let down on them, a push at the body: it does not move.");
        Ok(step)
    }
}

/// Half a step of the last digit a cited value was given with, and a little more for what floats do to it: a learner
/// may round what was shown.
fn rounding(value: f64) -> f64 {
    let written = value.to_string();
    let decimals = written
        .split_once('.')
        .map_or(0, |(_, digits)| digits.len());
    let step = (0..decimals).fold(1.0, |step, _| step / 10.0);
    // Nobody means a whole volt when writing a round one: one decimal at least.
    0.51 * if step > 0.1 { 0.1 } else { step }
}

/// A judgement in words.
pub(super) fn spoken_call(call: &Call) -> String {
    let verdict = match call.verdict {
        Verdict::Good => "good",
        Verdict::Bad => "bad",
        Verdict::Unsure => "unsure",
    };
    match call.cites {
        Some(value) => format!("{} {verdict}, relying on {value}", call.section),
        None => format!("{} {verdict}", call.section),
    }
}
