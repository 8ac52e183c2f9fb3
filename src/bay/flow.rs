//! The timed flow: what comes in a stated time into a marked can, or through a meter let into a closed loop.

use super::action::Bridge;
use super::ledger::Grade;
use super::limits::Equipment;
use super::outcome::{Refusal, Step};
use super::recording::During;
use super::wires::Stock;
use super::{Bay, TIMES, pump_in_words, unsolved};
use crate::rig::Attachments;
use crate::vehicle::{Key, Kind, Medium, PartId};

/// Longest and shortest catch, s.
const CATCH_S: (f64, f64) = (2.0, 120.0);

impl Bay {
    pub(super) fn catch_flow(
        &mut self,
        seconds: f64,
        bridge: Option<&Bridge>,
    ) -> Result<Step, Refusal> {
        if !(seconds >= CATCH_S.0 && seconds <= CATCH_S.1) {
            return Err(Refusal::new(
                format!("A catch takes {:.0} to {:.0} s.", CATCH_S.0, CATCH_S.1),
                "`flow 15 s` is usual.",
            ));
        }
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                if self.vehicle.flow_part().is_some() {
                    "`key off`, then `key on` and `pump on`."
                } else {
                    "`key off`, `key on`, then `relieve`."
                },
            ));
        }
        match (self.vehicle.flow_part(), bridge) {
            (None, bridge) => self.catch_from_the_feed(seconds, bridge),
            (Some(line), None) => self.catch_what_comes_back(line, seconds),
            (Some(line), Some(bridge)) => {
                let line = &self.vehicle.parts[line.0].id;
                let (a, b) = (self.name(bridge.a), self.name(bridge.b));
                Err(Refusal::new(
                    format!(
                        "On this vehicle the can is filled from {line} while the pump runs, so `flow` lays no jumper of its own."
                    ),
                    format!(
                        "`jumper {a} {b}` first, which runs the pump, then `flow {seconds:.0} s`."
                    ),
                ))
            }
        }
    }

    /// What the pump drives round: out of the return line, or through a flow meter in a closed loop.
    fn catch_what_comes_back(&mut self, line: PartId, seconds: f64) -> Result<Step, Refusal> {
        self.reach_part(line)?;
        let mut step = Step::taking(TIMES.flow + seconds);
        let title = self.vehicle.parts[line.0].title.clone();
        let coolant = self.vehicle.medium() == Medium::Coolant;
        if coolant {
            self.open_line("a flow meter was let into the line", &mut step);
        } else {
            self.open_return(&mut step);
        }
        let instant = self.rig.now(&Attachments::none()).map_err(unsolved)?;
        let volume = instant.pump.return_m3_s * seconds;
        let how = if coolant {
            format!("counted by a flow meter in the {title} in {seconds:.0} s")
        } else {
            format!("caught from the return line in {seconds:.0} s")
        };
        self.read_can(volume, how, &mut step);
        if instant.pump.rad_s == 0.0 {
            step.say("The pump is not running: `pump on` by service tool would keep it going.");
        }
        Ok(step)
    }

    /// Behind the regulator stands next to no pressure: fuel runs, it does not spray, and the rail keeps its own.
    fn open_return(&mut self, step: &mut Step) {
        if self.protected {
            step.say("A little fuel runs over your gloves before the return's end is in the can.");
        } else {
            step.say(
                "A little fuel runs over your bare hands before the return's end is in the can.",
            );
            step.hazard(
                Grade::Minor,
                "the return line was opened with bare hands, without eye protection, ventilation and an extinguisher",
            );
        }
    }

    /// Nothing comes back to the tank that could be caught: the feed comes off the rail and its end into the can, and the
    /// service tool or a jumper runs the pump against no pressure but that of filter and line.
    fn catch_from_the_feed(
        &mut self,
        seconds: f64,
        bridge: Option<&Bridge>,
    ) -> Result<Step, Refusal> {
        let rail = self.part_of(Kind::Injectors)?;
        self.reach_part(rail)?;
        let by = if let Some(bridge) = bridge {
            self.limits.allow(Equipment::Jumper)?;
            if self.rig.controls().jumper.is_some() {
                return Err(Refusal::new(
                    "The jumper lies elsewhere.",
                    "`jumper off` takes it up, then `relieve`.",
                ));
            }
            Some(self.jumper_for(bridge)?)
        } else {
            self.limits.allow(Equipment::Pump)?;
            if self.key() != Key::On {
                return Err(Refusal::new(
                    "No return line: the feed has to come off the rail, and something to run the pump once it is off.",
                    format!(
                        "By service tool: `key on`, then `relieve`, since the prime puts pressure into the line. By jumper: `relieve`, then {}.",
                        self.catch_by_jumper()
                    ),
                ));
            }
            None
        };
        if self.bare()?.pump.rad_s != 0.0 {
            return Err(Refusal::new(
                "The pump runs, and the feed cannot come off the rail against it.",
                self.what_stops_the_pump(),
            ));
        }
        let mut step = match by {
            Some((_, places)) => {
                let mut step = Step::taking(TIMES.jumper);
                for place in places {
                    self.go_to(place, &mut step);
                }
                step
            }
            None => self.take_service_tool(TIMES.tool)?,
        };
        step.outcome.seconds += TIMES.feed;
        self.go_to(self.vehicle.parts[rail.0].place, &mut step);
        if by.is_none() && !self.control_unit_answers()? {
            step.say("The service tool gets no answer from the control unit: without it the pump would not run, and the line stays on.");
            return Ok(step);
        }
        self.energise_open_tank(&mut step);
        self.open_line("the feed was taken off the rail", &mut step);
        if let Some((jumper, _)) = by {
            let stands = self.bridge(jumper, &mut step)?;
            self.rig.set_jumper(None);
            if !stands {
                step.say("The line goes back on the rail.");
                return Ok(step);
            }
        } else {
            self.spare_driver(true, &mut step)?;
        }
        let jumper = by.map(|(jumper, _)| jumper);
        let range = self.connected.map_or(0, |connected| connected.range);
        let (attachments, hooked) = self.attachments(range)?;
        let catch = self
            .rig
            .catch(seconds, jumper, &attachments)
            .map_err(unsolved)?;
        step.outcome.seconds += seconds;
        step.lived += seconds;
        step.pumped = true;
        step.say(pump_in_words(&catch.phase.end(), catch.usual_rpm));
        let bridged = jumper.map_or_else(String::new, |jumper| {
            let (a, b) = (self.name(jumper.a), self.name(jumper.b));
            format!(", with {a} and {b} bridged")
        });
        let how = format!("caught from the feed, off the rail, in {seconds:.0} s{bridged}");
        self.read_can(catch.volume_m3, how, &mut step);
        self.read_phases(&[&catch.phase], During::Catch, hooked.meter, &mut step)?;
        self.watch_phase(&catch.phase, During::Catch, &hooked, &mut step);
        step.say(if jumper.is_some() {
            "The jumper is off, the line back on the rail; what was caught goes back into the tank."
        } else {
            "The pump is stopped, the line back on the rail; what was caught goes back into the tank."
        });
        self.store_codes()?;
        Ok(step)
    }

    /// A catch by jumper as it is typed: past the relay's contacts, or past a driver module and all that feeds it.
    fn catch_by_jumper(&self) -> String {
        let parts = &self.vehicle.parts;
        if parts.iter().any(|part| part.kind == Kind::DriverModule) {
            let wire = self.wire_to_type(5.0, Stock::Jumper);
            format!("`flow 15 s jumper POINT POINT {wire}`, from a fused point to the pump's plug")
        } else {
            self.example("`flow 15 s jumper {relay-in} {relay-out}`, with the relay out")
        }
    }

    /// What to type for a pump that runs before the feed is off.
    fn what_stops_the_pump(&self) -> String {
        let controls = self.rig.controls();
        if let Some(jumper) = controls.jumper {
            let (a, b) = (self.name(jumper.a), self.name(jumper.b));
            format!(
                "`jumper off`, `relieve`, then `flow 15 s jumper {a} {b}` lays it again for the catch."
            )
        } else if controls.tool_commands_pump {
            "`pump off`, then `relieve`: the service tool runs it again for the catch.".to_owned()
        } else {
            "Something feeds it unasked: find that first, or `key off` and `unplug` its relay."
                .to_owned()
        }
    }

    fn read_can(&mut self, volume_m3: f64, how: String, step: &mut Step) {
        let repeat = self.repeat("can");
        let reading = self.can.read(volume_m3, self.system, repeat, how);
        step.outcome.readings.push(reading);
    }
}
