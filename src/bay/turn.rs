//! The key, the service tool and the road.

use super::action::Fitting;
use super::ledger::{Fact, Grade};
use super::outcome::{Glance, Refusal, Step, Switch};
use super::recording::During;
use super::{Bay, PUTTING_BACK_SHARE, TIMES, unsolved};
use crate::rig::{KeyTurn, Phase, RelaySound, Symptom};
use crate::vehicle::{Key, Kind, Medium};

/// Share of its current below which a starter does nothing that is heard.
const NOT_TURNING: f64 = 0.1;

impl Bay {
    pub(super) fn turn_key(&mut self, to: Key) -> Result<Step, Refusal> {
        let from = self.key();
        if from == to {
            let now = match to {
                Key::Run => "The engine is running already.".to_owned(),
                _ => format!("The key is {} already.", to.name()),
            };
            return Err(Refusal::new(
                now,
                "`key off`, `key on`, `key crank` and `key run` turn it.",
            ));
        }
        if to == Key::Crank && from == Key::Run {
            return Err(Refusal::new(
                "The engine is running.",
                "`key off` stops it.",
            ));
        }
        let mut step = Step::taking(TIMES.key);
        if to != Key::Off {
            self.energise_open_tank(&mut step);
        }
        if to == Key::Crank || to == Key::Run {
            self.check_start(&mut step);
        }
        if to != Key::Off {
            self.spare_driver(true, &mut step)?;
        }
        let range = self.connected.map_or(0, |connected| connected.range);
        let (attachments, hooked) = self.attachments(range)?;
        let turn = self.rig.turn_key(to, &attachments).map_err(unsolved)?;
        self.tell_turn(&turn, &mut step);
        if from == Key::Off && turn.prime.is_none() {
            step.say("No prime: the key was off for less than ten seconds.");
        }
        if turn.prime.is_some() {
            step.outcome.seconds += self.vehicle.prime_seconds;
            step.lived += self.vehicle.prime_seconds;
        }
        if turn.crank.is_some() {
            step.outcome.seconds += TIMES.start + turn.crank_s;
            step.lived += turn.crank_s;
        }
        let phases: Vec<&Phase> = turn.prime.iter().chain(&turn.crank).collect();
        if let Some(&last) = phases.last() {
            step.pumped = true;
            let during = match &turn.crank {
                None => During::Prime,
                Some(_) if turn.crank_share < NOT_TURNING => During::CrankInVain,
                Some(_) => During::Cranking,
            };
            self.read_phases(&phases, during, hooked.meter, &mut step)?;
            self.watch_phase(last, during, &hooked, &mut step);
            self.watch_gauge(last, &mut step);
        }
        if turn.started || turn.prime.is_none() && turn.crank.is_none() {
            self.read_if_seen(&mut step)?;
        }
        self.store_codes()?;
        Ok(step)
    }

    /// With the pump's own place laid open, its brushes spark in fuel vapour.
    pub(super) fn energise_open_tank(&self, step: &mut Step) {
        if self.pump_is_out() {
            step.hazard(
                Grade::Grave,
                "the pump's circuit was switched on with the pump module out of its tank: sparks in fuel vapour",
            );
        }
    }

    /// Dangers of starting an engine as things stand.
    fn check_start(&self, step: &mut Step) {
        if self.tank_is_open() {
            step.hazard(
                Grade::Grave,
                "the starter was engaged with the tank lowered: fuel vapour and sparks",
            );
        }
        if !self.protected {
            step.hazard(
                Grade::Minor,
                "the engine was cranked indoors before the exhaust was led away",
            );
        }
    }

    fn tell_turn(&self, turn: &KeyTurn, step: &mut Step) {
        if let Some(phase) = &turn.prime {
            let pump = phase
                .samples
                .iter()
                .rev()
                .nth(20)
                .map_or_else(|| phase.end(), |s| s.pump);
            let seconds = self.vehicle.prime_seconds;
            let both = self.hear_both(&pump, Key::On);
            match both
                .as_deref()
                .unwrap_or_else(|| self.hear_at(&pump, Key::On))
            {
                _ if turn.relay == RelaySound::Chatters => {
                    step.say("A relay chatters like a sewing machine, then it is quiet.");
                }
                _ if turn.beat.is_some() => {
                    step.say("The pump is fed in bursts, many in a second, then it is quiet.");
                }
                Self::SILENT if turn.relay == RelaySound::Clicks => {
                    step.say("A relay clicks; of the pump nothing is heard.");
                }
                Self::SILENT => step.say("No click, and nothing from the pump."),
                sound => {
                    let it = if both.is_some() {
                        "Both stop"
                    } else {
                        "It stops"
                    };
                    step.say(format!("{sound} {it} after {seconds:.0} s."));
                }
            }
        }
        if turn.crank.is_some() {
            step.say(if turn.crank_share < NOT_TURNING {
                "The starter does nothing."
            } else if turn.crank_share < 0.5 {
                "The starter hardly turns the engine."
            } else if turn.started {
                "The engine starts."
            } else {
                "The engine turns over but does not start."
            });
        }
        if turn.stopped {
            step.say("The engine stops.");
        }
    }

    /// Reads what is connected, if it can be seen from the seat.
    fn read_if_seen(&mut self, step: &mut Step) -> Result<(), Refusal> {
        let ends: Vec<_> = self
            .connected
            .iter()
            .flat_map(|c| {
                [
                    (c.red.node, self.meter.leads.red.reach_m),
                    (c.black.node, self.meter.leads.black.reach_m),
                ]
            })
            .filter_map(|(node, reach)| Some((self.place_of(node)?, reach)))
            .collect();
        if self.connected.is_some() && !self.helper && !self.seen_from_seat(&ends) {
            // Stepping over to the meter shows the steady state just as well.
            step.outcome.seconds += TIMES.read;
        }
        self.read_into(step, Glance::All)
    }

    pub(super) fn command_pump(&mut self, on: bool) -> Result<Step, Refusal> {
        if on && self.key() != Key::On {
            return Err(Refusal::new(
                "The service tool talks to the control unit with the key on and the engine stopped.",
                "`key on` first.",
            ));
        }
        let command = Switch {
            what: "The pump",
            on: ("is commanded on already", "pump on"),
            off: ("is not commanded", "pump off"),
        };
        command.turn(self.rig.controls().tool_commands_pump, on)?;
        let mut step = self.take_service_tool(TIMES.tool)?;
        if on {
            self.energise_open_tank(&mut step);
        }
        if !self.control_unit_answers()? {
            step.say("The service tool gets no answer from the control unit.");
            return Ok(step);
        }
        if on {
            self.spare_driver(true, &mut step)?;
        }
        self.rig.command_pump(on);
        self.store_codes()?;
        step.say(if on {
            "The service tool commands the pump on."
        } else {
            "The service tool lets the pump stop."
        });
        step.say(self.tell_pump()?);
        self.read_into(&mut step, Glance::All)?;
        Ok(step)
    }

    pub(super) fn control_unit_answers(&mut self) -> Result<bool, Refusal> {
        let none = crate::rig::Attachments::none();
        let instant = self.rig.now(&none).map_err(unsolved)?;
        let parts = &self.vehicle.parts;
        let mut fed = self
            .vehicle
            .elements
            .iter()
            .enumerate()
            .filter(|(_, element)| {
                parts[element.part.0].kind == Kind::ControlUnit
                    && matches!(element.law, crate::vehicle::Law::Load { .. })
            });
        Ok(fed.any(|(index, _)| instant.amps(crate::vehicle::ElementId(index)) > 0.0))
    }

    pub(super) fn drive(&mut self) -> Result<Step, Refusal> {
        let mut step = self.make_roadworthy()?;
        step.outcome.seconds += TIMES.drive;
        let report = self.rig.drive().map_err(unsolved)?;
        // Only what is left of the time it stands and cools: it comes back as warm as the road has made it.
        step.lived += report.ran_s;
        let symptoms = report.symptoms(self.vehicle.engine.fade_fraction);
        for line in tell_drive(&symptoms, self.vehicle.medium()) {
            step.say(line);
        }
        step.facts.push(Fact::Drove { symptoms });
        Ok(step)
    }

    /// Takes everything off and puts everything back; refuses while something is unplugged.
    pub(super) fn make_roadworthy(&mut self) -> Result<Step, Refusal> {
        if let Some(part) = self.rig.controls().unplugged.iter().next() {
            let part = &self.vehicle.parts[part.0];
            let (what, hint) = if part.kind != Kind::Clamp {
                let hint = format!("`plug {}` puts it back.", part.id);
                (part.id.clone(), hint)
            } else if self.tank_is_open() {
                // The battery goes on last: it sparks.
                let hint = format!("{} Then `isolate off`.", self.put_tank_back());
                ("The battery's negative clamp".to_owned(), hint)
            } else {
                let hint = "`isolate off` puts it back on.".to_owned();
                ("The battery's negative clamp".to_owned(), hint)
            };
            return Err(Refusal::new(format!("{what} is off."), hint));
        }
        let mut step = Step::default();
        let putting_back: f64 = self
            .accesses
            .iter()
            .map(|id| self.vehicle.accesses[id.0].seconds * PUTTING_BACK_SHARE)
            .sum();
        let busy = self.connected.is_some()
            || self.clamped.is_some()
            || self.lit.is_some()
            || self.load.is_some()
            || !self.rig.pinched().is_empty()
            || self.rig.controls().jumper.is_some();
        if busy {
            step.outcome.seconds += TIMES.clamp;
            step.say("Instruments and jumpers are taken off.");
        }
        if let Some(at) = self.gauge_at.take() {
            let seconds = match at {
                Fitting::Port => TIMES.gauge,
                Fitting::Tee(_) => TIMES.tee,
            };
            step.outcome.seconds += seconds / 2.0;
            step.say("The gauge is taken off.");
            self.open_line("the gauge was taken off", &mut step);
        }
        if putting_back > 0.0 {
            step.outcome.seconds += putting_back;
            let raised = if self.is_raised() {
                " and the vehicle stands on its wheels"
            } else {
                ""
            };
            // A bonnet is shut in passing.
            step.say(if putting_back < 60.0 {
                format!("Everything is shut again{raised}.")
            } else {
                format!(
                    "Everything is put back{raised} ({:.0} min).",
                    putting_back / 60.0
                )
            });
        }
        self.connected = None;
        self.clamped = None;
        self.lit = None;
        self.load = None;
        for line in self.rig.pinched().clone() {
            self.rig.set_pinched(line, false);
        }
        self.rig.set_jumper(None);
        self.accesses.clear();
        self.rig.set_module_out(false);
        self.on_stands = false;
        Ok(step)
    }
}

/// What a driver tells after the road test.
fn tell_drive(symptoms: &[Symptom], medium: Medium) -> Vec<&'static str> {
    if symptoms.is_empty() {
        return vec![match medium {
            Medium::Fuel => {
                "It starts at once, pulls cleanly to the top of the hill and idles evenly. Left to stand, it starts again at once."
            }
            Medium::Coolant => {
                "It starts at once and warms up as it should. To the top of the hill the needle keeps to its place, and the heater blows warm."
            }
        }];
    }
    symptoms
        .iter()
        .map(|symptom| match symptom {
            Symptom::HardlyCranks => "The starter hardly turns the engine; there is no driving it.",
            Symptom::CranksWithoutFiring => {
                "It turns over well but does not fire; there is no driving it."
            }
            Symptom::CutsOut => "It starts, bucks at steady speed and cuts out.",
            Symptom::FadesUnderLoad => {
                "It runs well on the level and fades on the hill; coasting down it recovers."
            }
            Symptom::RunsRich => {
                "It runs, with a smell of fuel behind it and soot at the tailpipe."
            }
            Symptom::LongCrankAfterStanding => {
                "After an hour's standing it cranks long before it catches."
            }
            Symptom::Whines => "A harsh whine comes from the pump, louder under load.",
            Symptom::LongCrank => "It starts only after long cranking.",
            Symptom::RunsOn => "With the key out the pump goes on running.",
            Symptom::BoilsOver => {
                "On the hill the needle runs into the red, steam comes from the expansion tank, and it has to stop."
            }
            Symptom::RunsHot => {
                "On the hill the needle climbs towards the red; on the level it comes back."
            }
            Symptom::HeaterCold => "With a warm engine the heater blows cold.",
        })
        .collect()
}
