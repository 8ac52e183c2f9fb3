//! The rest of the trade's moves: tapping, swapping, pinching, charging, warming through.

use super::ledger::Grade;
use super::outcome::{Glance, Refusal, Step, Switch};
use super::{Bay, TIMES, unsolved};
use crate::rig::{Attachments, HeatReport, Symptom};
use crate::vehicle::{Examples, Handling, Key, Kind, PartId};

/// Current of the bench charger, A; usual for a starter battery.
const CHARGER_A: f64 = 10.0;
/// Share of its hours in which the charger holds that current; above, it eases off (common practice, no source).
const CHARGER_SHARE: f64 = 0.75;
/// Longest charge in one go, s.
const LONGEST_CHARGE_S: f64 = 24.0 * 3600.0;

impl Bay {
    pub(super) fn tap(&mut self, part: PartId) -> Result<Step, Refusal> {
        // What is in the tank is knocked on through its wall.
        let inside = self.vehicle.is_in_tank(self.vehicle.parts[part.0].place);
        let pump = self.vehicle.parts[self.vehicle.tank_pump().part.0].place;
        let struck = if inside && self.vehicle.parts[part.0].place == pump {
            self.part_of(Kind::Tank)?
        } else {
            part
        };
        let typed = &self.vehicle.parts[part.0].id;
        let place = self.vehicle.parts[struck.0].place;
        if struck == part {
            self.reach_place(typed, place)?;
        } else {
            self.reach_place(&format!("The wall of the tank around {typed}"), place)?;
        }
        let mut step = Step::taking(TIMES.tap);
        self.go_to(self.vehicle.parts[struck.0].place, &mut step);
        let hit = if self.vehicle.parts[part.0].kind == Kind::Tank {
            self.vehicle.tank_pump().part
        } else {
            part
        };
        let before = self.tell_pump()?;
        self.rig.tap(hit);
        let id = &self.vehicle.parts[struck.0].id;
        step.say(format!("A few knocks on {id} with the handle of a mallet."));
        self.tell_pump_if_new(&before, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    pub(super) fn swap(&mut self, relay: PartId, with: Option<PartId>) -> Result<Step, Refusal> {
        let vehicle = &self.vehicle;
        let part = &vehicle.parts[relay.0];
        let Some(kind) = &part.relay_type else {
            return Err(Refusal::new(
                format!("{} is no relay.", part.id),
                Examples::of(vehicle)
                    .whole("Relays of one type change places, such as `swap {twin}`.")
                    .unwrap_or_else(|| "This vehicle has no two relays of one type.".to_owned()),
            ));
        };
        let same = |id: PartId| vehicle.parts[id.0].relay_type.as_ref() == Some(kind);
        let others: Vec<PartId> = (0..vehicle.parts.len())
            .map(PartId)
            .filter(|&id| id != relay && same(id))
            .collect();
        let Some(&first) = others.first() else {
            return Err(Refusal::new(
                format!(
                    "{} is of type `{kind}`, and no other relay of this vehicle is.",
                    part.id
                ),
                format!(
                    "It would take a second one: `prices {}` says what a new one costs.",
                    part.id
                ),
            ));
        };
        let other = match with {
            None => first,
            Some(other) if others.contains(&other) => other,
            Some(other) => {
                let twins = others.iter().map(|id| vehicle.parts[id.0].id.as_str());
                let twins: Vec<&str> = twins.collect();
                let other = &vehicle.parts[other.0];
                let error = match &other.relay_type {
                    _ if other.id == part.id => format!("{} is in its own socket.", part.id),
                    Some(its) => format!(
                        "{} is of type `{kind}`, {} of type `{its}`: neither fits the other's socket.",
                        part.id, other.id
                    ),
                    None => format!("{} is no relay.", other.id),
                };
                let hint = format!("Of the type of {} there is {}.", part.id, twins.join(", "));
                return Err(Refusal::new(error, hint));
            }
        };
        for id in [relay, other] {
            self.reach_part(id)?;
            if self.rig.controls().unplugged.contains(&id) {
                let name = &vehicle.parts[id.0].id;
                return Err(Refusal::new(
                    format!("{name} is out."),
                    format!("`plug {name}` first."),
                ));
            }
        }
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running: it dies as soon as its relay is out.",
                "`key off` first.",
            ));
        }
        let (first, second) = (part.id.clone(), vehicle.parts[other.0].id.clone());
        let mut step = Step::taking(TIMES.swap);
        self.go_to(self.vehicle.parts[relay.0].place, &mut step);
        self.rig.swap_relays(relay, other);
        step.say(format!(
            "The relays of {first} and {second} have changed places."
        ));
        step.say(self.tell_pump()?);
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    pub(super) fn pinch(&mut self, line: PartId, shut: bool) -> Result<Step, Refusal> {
        let part = &self.vehicle.parts[line.0];
        let (id, place) = (part.id.clone(), part.place);
        if !self.vehicle.takes(line, Handling::Pinch) {
            return Err(Refusal::new(
                format!("{id} cannot be squeezed shut."),
                self.pinchable(),
            ));
        }
        let squeezed = Switch {
            what: &id,
            on: ("is squeezed shut already", &format!("pinch {id}")),
            off: ("is not squeezed", &format!("pinch {id} off")),
        };
        squeezed.turn(self.rig.pinched().contains(&line), shut)?;
        self.reach_part(line)?;
        let mut step = Step::taking(TIMES.pinch);
        self.go_to(place, &mut step);
        self.rig.set_pinched(line, shut);
        step.say(if shut {
            format!("A hose clamp squeezes the rubber length of {id} shut.")
        } else {
            format!("The hose clamp is off {id}.")
        });
        step.say(self.tell_pump()?);
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    fn pinchable(&self) -> String {
        let parts = self.vehicle.parts.iter().enumerate();
        let lines: Vec<String> = parts
            .filter(|&(index, _)| self.vehicle.takes(PartId(index), Handling::Pinch))
            .map(|(_, part)| format!("`pinch {}`", part.id))
            .collect();
        format!("What has a rubber length can be: {}.", lines.join(", "))
    }

    pub(super) fn charge_battery(&mut self, seconds: Option<f64>) -> Result<Step, Refusal> {
        if self.key() != Key::Off {
            return Err(Refusal::new(
                "Not with the key on: what is switched on takes the charge.",
                "`key off` first.",
            ));
        }
        let battery = self.part_of(Kind::Battery)?;
        self.reach_part(battery)?;
        let full_s = self.rig.amp_hours_missing() / (0.9 * CHARGER_A * CHARGER_SHARE) * 3600.0;
        let seconds = seconds.unwrap_or(full_s.max(600.0));
        if !(seconds > 0.0 && seconds <= LONGEST_CHARGE_S) {
            return Err(Refusal::new(
                "A charge takes up to 24 h.",
                "`charge` alone charges until full; `charge 4 h`.",
            ));
        }
        let mut step = Step::taking(TIMES.charge + seconds);
        step.unattended = seconds;
        if !self.protected {
            step.hazard(
                Grade::Minor,
                "a battery was charged without eye protection and ventilation",
            );
        }
        let taken = seconds / 3600.0 * CHARGER_A * CHARGER_SHARE;
        let charge = self.rig.charge_battery(taken);
        step.say(if charge > 0.98 {
            "The charger has eased off and shows full.".to_owned()
        } else {
            format!("The charger has put in {taken:.0} Ah and still takes current.")
        });
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    pub(super) fn warm_through(&mut self) -> Result<Step, Refusal> {
        let mut step = if self.key() == Key::Run {
            Step::default()
        } else {
            self.turn_key(Key::Run)?
        };
        if self.key() != Key::Run {
            step.say("Without a running engine nothing gets warm.");
            return Ok(step);
        }
        // Its time passes here, so that what is told and read is of a warm vehicle.
        step.outcome.seconds += TIMES.warm;
        step.lived += TIMES.warm;
        self.pass(TIMES.warm, &mut step)?;
        if self.key() != Key::Run {
            return Ok(step);
        }
        let attached = self.attachments(0)?.0;
        let warm = match self.rig.heat_now(&attached).map_err(unsolved)? {
            None => "the engine bay is hot, the fan has cut in",
            Some(heat) => self.warmth_in_words(&heat),
        };
        step.say(format!(
            "{:.0} minutes at a fast idle: {warm}.",
            TIMES.warm / 60.0
        ));
        let instant = self.rig.now(&attached).map_err(unsolved)?;
        let both = self.hear_both(&instant.pump, self.rig.controls().key);
        let heard = both.as_deref().unwrap_or_else(|| self.hear(&instant.pump));
        step.say(heard.to_owned());
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    /// What is seen of a cooling circuit from the driver's seat, with the engine at idle.
    fn warmth_in_words(&self, heat: &HeatReport) -> &'static str {
        /// So far below its thermostat's temperature an engine's needle stands visibly low, K; ours, no source.
        const LOW_K: f64 = 10.0;
        let opens_c = self.vehicle.cooling.map_or(0.0, |cooling| cooling.opens_c);
        let noticed = |symptom| heat.symptoms().any(|found| found == symptom);
        if noticed(Symptom::BoilsOver) {
            "the needle stands in the red and steam comes from the expansion tank"
        } else if noticed(Symptom::RunsHot) {
            "the needle has climbed towards the red"
        } else if heat.hottest_c < opens_c - LOW_K {
            "the needle stays low"
        } else if noticed(Symptom::HeaterCold) {
            "the needle stands in its place, and the heater blows cold"
        } else {
            "the needle stands in its place, and the heater blows warm"
        }
    }

    /// The pump as it is with nothing attached.
    pub(super) fn bare(&mut self) -> Result<crate::rig::Instant, Refusal> {
        self.rig.now(&Attachments::none()).map_err(unsolved)
    }
}
