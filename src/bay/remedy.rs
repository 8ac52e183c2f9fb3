//! Repairing, replacing, giving back.

use super::action::Target;
use super::ledger::{Fact, Grade};
use super::outcome::{Glance, Refusal, Step};
use super::{Bay, Closed, TIMES, unsolved};
use crate::fault::Remedy;
use crate::vehicle::{Key, Kind, Medium, PartId, Work};

impl Bay {
    pub(super) fn repair(&mut self, target: &Target) -> Result<Step, Refusal> {
        let part = &self.vehicle.parts[target.part.0];
        let Some(work) = part.repair.clone() else {
            return Err(Refusal::new(
                format!("{} is not repaired.", part.id),
                if part.replace.is_some() {
                    format!("`replace {}` fits a new one.", part.id)
                } else {
                    "`prices` lists what is repaired and replaced.".to_owned()
                },
            ));
        };
        self.work_on(target, &work, Remedy::Repair)
    }

    pub(super) fn replace(&mut self, part: PartId) -> Result<Step, Refusal> {
        let found = &self.vehicle.parts[part.0];
        let Some(work) = found.replace.clone() else {
            return Err(Refusal::new(
                format!("No new {} is sold.", found.title),
                if found.repair.is_some() {
                    format!("`repair {}` puts it right in place.", found.id)
                } else {
                    "`prices` lists what is repaired and replaced.".to_owned()
                },
            ));
        };
        self.work_on(&Target { part, leg: None }, &work, Remedy::Replace)
    }

    fn work_on(&mut self, target: &Target, work: &Work, remedy: Remedy) -> Result<Step, Refusal> {
        let part = &self.vehicle.parts[target.part.0];
        let (id, kind, place) = (part.id.clone(), part.kind, part.place);
        self.done(&format!("{id} cannot be worked on yet"), &work.needs)?;
        self.reach_part(target.part)?;
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        if self.key() != Key::Off && self.negative_clamp() == Some(target.part) {
            return Err(Refusal::new(
                "Not with the key on: the clamp comes off for it, control units dislike it, and it sparks.",
                "`key off` first.",
            ));
        }
        let element = match &target.leg {
            None => None,
            Some(leg) => Some(self.vehicle.element(target.part, leg).ok_or_else(|| {
                let legs: Vec<&str> = self
                    .vehicle
                    .elements_of(target.part)
                    .map(|(_, e)| e.leg.as_str())
                    .collect();
                Refusal::new(
                    format!("{id} has no {leg}."),
                    format!("It has {}.", legs.join(", ")),
                )
            })?),
        };
        if work.opens_line {
            self.refuse_while_pumping()?;
        }
        let mut step = Step::taking(work.seconds);
        self.go_to(place, &mut step);
        if self.is_loaded_near_tank(target.part)? {
            step.hazard(
                Grade::Serious,
                "a joint beside the tank was undone with the pump's current through it",
            );
        }
        if self.negative_clamp() == Some(target.part) {
            self.take_clamp_off(target.part, &mut step)?;
        }
        let heard = self.tell_pump()?;
        // The negative clamp is the one piece of unfused wiring that comes off first: whoever works on it isolates.
        let unfused = matches!(
            kind,
            Kind::Battery | Kind::Clamp | Kind::FusibleLink | Kind::Starter | Kind::Alternator
        ) && self.negative_clamp() != Some(target.part);
        let vapour = work.opens_line && self.vehicle.medium() == Medium::Fuel;
        if (vapour || unfused) && self.is_energised()? {
            let what = if vapour {
                "fuel work was done with the battery's negative clamp on"
            } else {
                "unfused wiring was worked on with the battery's negative clamp on"
            };
            step.hazard(Grade::Serious, what);
        }
        if work.opens_line {
            let what = format!("a {} part was opened", self.vehicle.medium().name());
            self.open_line(&what, &mut step);
        }
        let blown = remedy == Remedy::Replace && self.rig.fuse_open(target.part);
        let broken = self.rig.driver_destroyed();
        let before = self.rig.faults_left();
        self.rig.cure(target.part, element, remedy);
        let gone = before - self.rig.faults_left();
        // A driver that the work itself destroyed counts among the faults, but curing it mends nobody's complaint.
        let mended = self.damaged.contains(&target.part) && broken && !self.rig.driver_destroyed();
        let cured = gone > usize::from(mended);
        let own = !cured && (mended || self.marked.contains(&target.part));
        step.goods = work.price.0;
        step.say(work.does.clone());
        // A fuse or a relay is new by being pushed in, wherever the old one lay.
        let pushed_in = remedy == Remedy::Replace
            && matches!(kind, Kind::Fuse | Kind::Relay)
            && self.rig.controls().unplugged.contains(&target.part);
        if pushed_in {
            self.push_in(target.part, &mut step);
        } else if self.rig.controls().unplugged.contains(&target.part) && kind != Kind::Clamp {
            step.say(format!(
                "{id} is still unplugged; `plug {id}` puts it together."
            ));
        }
        step.facts.push(Fact::Remedied {
            target: target.clone(),
            remedy,
            cured,
            own,
            blown,
            price: work.price,
        });
        self.tell_pump_if_new(&heard, &mut step)?;
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    pub(super) fn hand_over(&mut self) -> Result<Step, Refusal> {
        let mut step = self.make_roadworthy()?;
        step.outcome.seconds += TIMES.handover;
        self.charge_for_damage(&mut step);
        let report = self.rig.drive().map_err(unsolved)?;
        let symptoms = report.symptoms(self.vehicle.engine.fade_fraction);
        step.facts.push(Fact::HandedBack {
            symptoms,
            faults_left: self.rig.faults_left(),
            blown: (0..self.vehicle.parts.len())
                .map(PartId)
                .filter(|&part| self.rig.fuse_open(part))
                .collect(),
        });
        step.say("The key goes back to its driver, with the bill.");
        self.handed_back = true;
        Ok(step)
    }
}

impl Closed {
    /// Whether an action renewed a fuse that something else had blown, and the new one was still whole at the end: work
    /// that belongs to the mending of what blew it.
    #[must_use]
    pub fn renewed_a_fuse(&self, action: u32) -> bool {
        let facts = || {
            let entries = self.ledger.iter();
            entries.flat_map(|entry| entry.facts.iter().map(|fact| (entry.number, fact)))
        };
        let renewed = facts().find_map(|(number, fact)| match fact {
            Fact::Remedied {
                target,
                blown: true,
                cured: false,
                ..
            } if number == action => Some(target.part),
            _ => None,
        });
        let blew_again = |part: PartId| {
            facts().any(|(number, fact)| match fact {
                Fact::Remedied {
                    target,
                    blown: true,
                    ..
                } => number > action && target.part == part,
                Fact::HandedBack { blown, .. } => blown.contains(&part),
                _ => false,
            })
        };
        renewed.is_some_and(|part| !blew_again(part))
    }
}
