//! What is in the tank, and what an opened part shows.

use super::ledger::{Fact, Grade};
use super::outcome::{Refusal, Step};
use super::{Bay, FILL, FUEL_PRICE, TIMES};
use crate::units::{System, Volume};
use crate::vehicle::{Key, Kind, Medium, PartId, ThermostatState};

/// A jam jar of fuel, m3.
const SAMPLE: Volume = Volume(200e-6);
/// Less than this does not count as filling in, m3.
const LEAST_FILL: Volume = Volume(0.5e-3);
/// A joint that has gained this much shows it, ohm: film, discolouring, slack spring (ours, no source).
const DULL_OHMS: f64 = 0.1;

impl Bay {
    pub(super) fn sample_fuel(&mut self) -> Result<Step, Refusal> {
        self.carries_fuel()?;
        let line = self.part_of(Kind::Line)?;
        self.reach_part(line)?;
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        if self.pump_is_out() {
            return Err(Refusal::new(
                "The pump lies beside the tank: nothing comes out of the line.",
                self.put_tank_back(),
            ));
        }
        self.refuse_while_pumping()?;
        let mut step = Step::taking(TIMES.sample);
        self.go_to(self.vehicle.parts[line.0].place, &mut step);
        self.open_line("fuel was drawn from the line", &mut step);
        let how = "200 mL drawn from the tank side of the line";
        match self.rig.sample_fuel(SAMPLE) {
            None => step.see("Nothing comes but a few drops and air.", how),
            Some(water) if water.0 < 0.5e-6 => step.see(
                "The glass is clear and bright, one colour from top to bottom.",
                how,
            ),
            Some(water) => {
                let amount = match self.system {
                    System::Metric => format!("{:.0} mL", water.0 * 1e6),
                    System::Us => format!("{:.1} fl oz", water.0 / 29.573_529_562_5e-6),
                };
                step.see(
                    format!("Two layers: below the fuel stands {amount} of water."),
                    how,
                );
            }
        }
        Ok(step)
    }

    /// Refuses what is done with fuel alone.
    fn carries_fuel(&self) -> Result<(), Refusal> {
        match self.vehicle.medium() {
            Medium::Fuel => Ok(()),
            Medium::Coolant => Err(Refusal::new(
                "This circuit carries coolant and has no tank of fuel.",
                "`look` at the expansion tank shows the level; `repair` tops it up.",
            )),
        }
    }

    pub(super) fn fill_tank(&mut self, drained: bool) -> Result<Step, Refusal> {
        self.carries_fuel()?;
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        if self.tank_is_open() {
            return Err(Refusal::new(
                "The filler hose is off while the tank is down.",
                self.put_tank_back(),
            ));
        }
        if drained && self.pump_turns()? {
            return Err(Refusal::new(
                "The pump runs, and would run dry in the drained tank.",
                self.pump_off_words(),
            ));
        }
        let tank = self.rig.tank_capacity();
        let room = if drained {
            tank.0
        } else {
            tank.0 * (1.0 - self.rig.fuel_share())
        };
        let volume = Volume(FILL.0.min(room));
        if volume.0 < LEAST_FILL.0 {
            return Err(Refusal::new(
                "The nozzle clicks off at once: the tank is full.",
                "`fill drained` empties it first.",
            ));
        }
        let mut step = Step::taking(TIMES.fill.0 + if drained { TIMES.fill.1 } else { 0.0 });
        if !self.protected {
            step.hazard(
                Grade::Serious,
                "fuel was filled without eye protection, ventilation and an extinguisher",
            );
        }
        if self.key() != Key::Off {
            step.hazard(
                Grade::Serious,
                "fuel was filled with the key on: anything switched on may spark",
            );
        }
        let troubled = self.rig.tank_trouble().is_some();
        if drained {
            if self.is_energised()? {
                step.hazard(
                    Grade::Serious,
                    "the tank was drained with the battery's negative clamp on",
                );
            }
            self.rig.drain();
            step.say("The tank is drained into a grounded can.");
        }
        let before = self.rig.fuel_share();
        self.rig.fill(volume.0 / tank.0);
        let cured = troubled && self.rig.tank_trouble().is_none();
        step.facts.push(Fact::Filled { cured });
        // Below the price of a whole fill, which is some thousands.
        #[expect(clippy::cast_possible_truncation)]
        let price = libm::round(FUEL_PRICE as f64 * volume.0 / FILL.0) as i64;
        step.goods += price;
        let told = volume.show(self.system);
        step.say(if volume.0 < FILL.0 {
            format!("The nozzle clicks off: {told} went in, the tank is full.")
        } else if before < 0.01 && !drained {
            format!("{told} go in. The first of it falls a long way.")
        } else {
            format!("{told} go in.")
        });
        Ok(step)
    }

    /// The pump, or a lift pump ahead of it, turns.
    fn pump_turns(&mut self) -> Result<bool, Refusal> {
        let pump = self.now_attached()?.pump;
        Ok(pump.rad_s != 0.0 || pump.lift.is_some_and(|lift| lift.rad_s != 0.0))
    }

    /// Refuses to open a fuel line against a pump that runs.
    pub(super) fn refuse_while_pumping(&mut self) -> Result<(), Refusal> {
        if self.vehicle.medium() == Medium::Fuel && self.pump_turns()? {
            return Err(Refusal::new(
                "The pump runs, and would pump its fuel out of the open line.",
                self.pump_off_words(),
            ));
        }
        Ok(())
    }

    /// What to type so that the pump stands.
    fn pump_off_words(&self) -> &'static str {
        let controls = self.rig.controls();
        if controls.jumper.is_some() {
            "`jumper off` first."
        } else if controls.tool_commands_pump {
            "`pump off` first."
        } else if self.key() != Key::Off {
            "`key off` first."
        } else {
            "Something feeds it unasked: unplug its relay or its fuse first."
        }
    }

    fn openable(&self) -> String {
        let parts = self.vehicle.parts.iter();
        let ids: Vec<&str> = parts
            .filter(|part| part.kind.is_blown_through() || part.kind == Kind::Thermostat)
            .map(|part| part.id.as_str())
            .collect();
        let first = ids.first().copied().unwrap_or("X1");
        format!(
            "{} and whatever is unplugged can be, such as `open {first}`; `look` does for the rest.",
            ids.join(", ")
        )
    }

    pub(super) fn open_for_inspection(&mut self, part: PartId) -> Result<Step, Refusal> {
        let found = &self.vehicle.parts[part.0];
        let (id, kind, place) = (found.id.clone(), found.kind, found.place);
        match kind {
            Kind::Connector | Kind::Relay | Kind::Fuse => {
                self.reach_part(part)?;
                if !self.rig.controls().unplugged.contains(&part) {
                    return Err(Refusal::new(
                        format!("{id} is plugged."),
                        format!("`unplug {id}` lets you look inside."),
                    ));
                }
                let mut step = Step::taking(TIMES.open.0);
                self.go_to(place, &mut step);
                let dull: Vec<String> = self
                    .rig
                    .joints(part)
                    .into_iter()
                    .filter(|(_, gained)| *gained > DULL_OHMS)
                    .map(|(leg, _)| leg)
                    .collect();
                let how = format!("{id} opened, under a lamp");
                step.see(
                    match dull.len() {
                        0 => "All terminals bright and springy.".to_owned(),
                        _ => format!("Terminal {} dull, the rest bright.", dull.join(", ")),
                    },
                    how,
                );
                Ok(step)
            }
            kind if kind.is_blown_through() => {
                self.reach_part(part)?;
                if self.key() == Key::Run {
                    return Err(Refusal::new(
                        "Not with the engine running.",
                        "`key off` first.",
                    ));
                }
                self.refuse_while_pumping()?;
                let mut step = Step::taking(TIMES.open.1);
                self.go_to(place, &mut step);
                if self.vehicle.medium() == Medium::Fuel && self.is_energised()? {
                    step.hazard(
                        Grade::Serious,
                        "fuel work was done with the battery's negative clamp on",
                    );
                }
                self.open_line(&format!("{id} was opened"), &mut step);
                let how = format!("{id} taken off, emptied backwards, held to the light, put back");
                let words = match self.rig.restriction(part).unwrap_or(1.0) {
                    factor if factor < 3.0 => {
                        "What runs out backwards is clear; breath goes through easily."
                    }
                    factor if factor < 15.0 => {
                        "What runs out backwards is brownish; breath goes through with some effort."
                    }
                    factor if factor < 80.0 => {
                        "Brown sludge runs out backwards; breath hardly goes through."
                    }
                    _ => "Black sludge comes out backwards; no breath goes through.",
                };
                step.see(words, how);
                Ok(step)
            }
            Kind::Thermostat => {
                self.reach_part(part)?;
                if self.key() == Key::Run {
                    return Err(Refusal::new(
                        "Not with the engine running.",
                        "`key off` first.",
                    ));
                }
                let mut step = Step::taking(TIMES.open.1 + TIMES.hob);
                self.go_to(place, &mut step);
                self.open_line(&format!("{id} was taken out"), &mut step);
                let how = format!("{id} taken out, in a pot of water on the hob, put back");
                let words = match self.rig.thermostat() {
                    ThermostatState::Works => {
                        "Cold it is shut; in the hot water it opens, and shuts again as that cools."
                    }
                    ThermostatState::Shut => "Cold it is shut, and in boiling water as well.",
                    ThermostatState::Open => "It stands open cold, and hot water does not move it.",
                };
                step.see(words, how);
                Ok(step)
            }
            _ => Err(Refusal::new(
                format!("{id} is not opened for a look."),
                self.openable(),
            )),
        }
    }
}
