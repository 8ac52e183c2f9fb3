//! Fuel: relieving pressure, opening lines, the timed flow.

use super::ledger::Grade;
use super::outcome::{Refusal, Step};
use super::underway::SPRAY_PA;
use super::{Bay, TIMES, unsolved};
use crate::rig::Attachments;
use crate::vehicle::{Key, Kind, PartId};

/// Longest and shortest catch, s.
const CATCH_S: (f64, f64) = (2.0, 120.0);

impl Bay {
    pub(super) fn relieve(&mut self) -> Result<Step, Refusal> {
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        // The gauge brings a bleed hose of its own.
        let by_gauge = self.gauge_at.is_some();
        let mut step = Step::taking(if by_gauge { TIMES.bleed } else { TIMES.relieve });
        self.rig.bleed();
        let running = self.bare()?.pump.rad_s > 0.0;
        step.say(if running {
            "Fuel comes and goes on coming: the pump runs and keeps the pressure up."
        } else if by_gauge {
            "Through the gauge's bleed hose the pressure goes down into the can until nothing more comes."
        } else {
            "With a rag round the joint the pressure is let down into the can until nothing more comes."
        });
        if !self.protected {
            step.hazard(
                Grade::Minor,
                "fuel pressure was relieved without eye protection",
            );
        }
        Ok(step)
    }

    /// Where fuel is reached outside the tank: the regulator on the rail.
    pub(super) fn fuel_side(&self, kind: Kind) -> Result<PartId, Refusal> {
        let found = self.vehicle.parts.iter().position(|part| part.kind == kind);
        found.map(PartId).ok_or_else(|| {
            Refusal::new(
                format!("This vehicle has no {kind} to get at."),
                "`prices` lists its parts.",
            )
        })
    }

    /// Opening a line: what was in it, and who was there.
    pub(super) fn open_line(&mut self, what: &str, step: &mut Step) {
        if self.rig.rail_pa() > SPRAY_PA {
            step.say("Fuel sprays from the joint as it opens.");
            step.hazard(
                Grade::Serious,
                &format!("{what} with pressure still in the line"),
            );
            if self.protected {
                step.say("It runs down your gloves and sleeves.");
            } else {
                step.say("It is over your bare hands and in your face.");
                step.hazard(
                    Grade::Serious,
                    "fuel sprayed over bare hands and eyes, without ventilation and an extinguisher",
                );
            }
        } else if self.protected {
            step.say("A few drops run over your gloves into the rag.");
        } else {
            step.say("A few drops run over your bare hands.");
            step.hazard(
                Grade::Minor,
                &format!("{what} with bare hands, without eye protection, ventilation and an extinguisher"),
            );
        }
        self.rig.bleed();
    }

    pub(super) fn catch_flow(&mut self, seconds: f64) -> Result<Step, Refusal> {
        if !(seconds >= CATCH_S.0 && seconds <= CATCH_S.1) {
            return Err(Refusal::new(
                format!("A catch takes {:.0} to {:.0} s.", CATCH_S.0, CATCH_S.1),
                "`flow 15 s` is usual.",
            ));
        }
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off`, then `key on` and `pump on`.",
            ));
        }
        let parts = &self.vehicle.parts;
        if !parts.iter().any(|part| part.kind == Kind::ReturnLine) {
            return Err(Refusal::new(
                "This vehicle has no return line, so nothing comes back that could be caught.",
                self.example(
                    "Pressure tells how the pump fares: `gauge on`, or `gauge tee {filter}` to see what the filter takes.",
                ),
            ));
        }
        let line = self.fuel_side(Kind::ReturnLine)?;
        self.reach_part(line)?;
        let mut step = Step::taking(TIMES.flow + seconds);
        self.open_line("the return line was opened", &mut step);
        let instant = self.rig.now(&Attachments::none()).map_err(unsolved)?;
        let volume = instant.pump.return_m3_s * seconds;
        let repeat = self.repeat("can");
        let how = format!("caught from the return line in {seconds:.0} s");
        let reading = self.can.read(volume, self.system, repeat, how);
        step.outcome.readings.push(reading);
        if instant.pump.rad_s == 0.0 {
            step.say("The pump is not running: `pump on` by service tool would keep it going.");
        }
        Ok(step)
    }
}
