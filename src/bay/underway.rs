//! Getting at things, taking them apart, waiting, protecting.

use super::ledger::Grade;
use super::outcome::{Glance, Refusal, Step, Switch};
use super::{Bay, TIMES, unsolved};
use crate::rig::{Attachments, Tap};
use crate::vehicle::{AccessHazard, AccessId, Handling, Key, Kind, Medium, PartId, PlaceId};

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
            &format!("To {} needs other work first", access.name),
            &access.needs,
        )?;
        if access.hazard != AccessHazard::None && self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        let mut step = Step::taking(access.seconds);
        let before = self.tell_pump()?;
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
        self.rig.set_module_out(self.pump_is_out());
        self.tell_pump_if_new(&before, &mut step)?;
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
        }
        self.rig.bleed();
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
        if !self.vehicle.takes(id, Handling::Unplug) {
            let hint = if part.kind == Kind::Clamp {
                "`isolate` takes the battery's negative clamp off.".to_owned()
            } else {
                self.example("Connectors, fuses and relays come out, such as `unplug {plug}`.")
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
        if self.is_loaded_near_tank(id)? {
            step.hazard(
                Grade::Serious,
                "a connector beside the tank was pulled with the pump's current through it",
            );
        }
        let before = self.tell_pump()?;
        self.rig.set_unplugged(id, true);
        step.say(format!("{name} is unplugged."));
        self.tell_pump_if_new(&before, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    /// The pump's current, or as much, flows through a part that sits under the vehicle, where fuel vapour is.
    pub(super) fn is_loaded_near_tank(&mut self, id: PartId) -> Result<bool, Refusal> {
        let near = self.vehicle.medium() == Medium::Fuel
            && self.is_underneath(self.vehicle.parts[id.0].place);
        Ok(near && self.is_loaded(id)?)
    }

    /// The pump's current, or as much, flows through a part.
    fn is_loaded(&mut self, id: PartId) -> Result<bool, Refusal> {
        /// Current from which parting a joint draws a spark worth naming, A; ours, no source.
        const SPARKS_A: f64 = 1.0;
        let instant = self.now_attached()?;
        Ok(self
            .vehicle
            .elements_of(id)
            .any(|(element, _)| libm::fabs(instant.amps(element)) > SPARKS_A))
    }

    pub(super) fn plug(&mut self, id: PartId) -> Result<Step, Refusal> {
        let part = &self.vehicle.parts[id.0];
        let (name, place) = (part.id.clone(), part.place);
        if !self.rig.controls().unplugged.contains(&id) || part.kind == Kind::Clamp {
            return Err(Refusal::new(
                format!("{name} is not unplugged."),
                self.example("`unplug {plug}` takes a connector apart."),
            ));
        }
        self.reach_part(id)?;
        let mut step = Step::taking(TIMES.plug);
        self.go_to(place, &mut step);
        let before = self.tell_pump()?;
        self.push_in(id, &mut step);
        step.say(format!("{name} is plugged in."));
        self.tell_pump_if_new(&before, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    /// Puts what is unplugged back into its place; a tip that stood where it goes comes out.
    pub(super) fn push_in(&mut self, id: PartId, step: &mut Step) {
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
    }

    pub(super) fn pass_time(seconds: f64) -> Result<Step, Refusal> {
        if !(seconds > 0.0 && seconds <= LONGEST_WAIT_S) {
            return Err(Refusal::new(
                "One waits for more than nothing and for 6 h at most.",
                "`wait 30 s`, `wait 5 min`.",
            ));
        }
        let mut step = Step::taking(seconds);
        step.say("Time passes.");
        Ok(step)
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
        let isolated = Switch {
            what: "The negative clamp",
            on: ("is off already", "isolate"),
            off: ("is on", "isolate off"),
        };
        isolated.turn(self.rig.controls().unplugged.contains(&clamp), on)?;
        if self.key() != Key::Off {
            return Err(Refusal::new(
                "Not with the key on: control units dislike it, and it sparks.",
                "`key off` first.",
            ));
        }
        let place = self.vehicle.parts[clamp.0].place;
        self.reach_place("The battery's negative clamp", place)?;
        let mut step = Step::taking(TIMES.isolate);
        if on {
            self.take_clamp_off(clamp, &mut step)?;
        } else if self.tank_is_open() {
            step.hazard(
                Grade::Serious,
                "the battery was connected with the tank open: it sparks at the clamp, in fuel vapour",
            );
        }
        let before = self.tell_pump()?;
        self.rig.set_unplugged(clamp, on);
        step.say(if on {
            "The negative clamp is off and tied back."
        } else {
            "The negative clamp is on and tight."
        });
        self.tell_pump_if_new(&before, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    /// The negative clamp comes off its post, and sparks there if a pump or a lamp is still fed through it.
    pub(super) fn take_clamp_off(&mut self, clamp: PartId, step: &mut Step) -> Result<(), Refusal> {
        if !self.is_loaded(clamp)? {
            return Ok(());
        }
        if self.tank_is_open() {
            step.hazard(
                Grade::Serious,
                "the battery was disconnected under load with the tank open: it sparks at the clamp, in fuel vapour",
            );
        } else {
            step.hazard(
                Grade::Minor,
                "the battery was disconnected under load: it sparks at the clamp, beside a battery that may gas",
            );
        }
        Ok(())
    }

    pub(super) fn negative_clamp(&self) -> Option<PartId> {
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
        if !self.is_raised() {
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
