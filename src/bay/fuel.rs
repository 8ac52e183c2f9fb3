//! Fuel: relieving pressure, the gauge, the timed flow.

use super::ledger::Grade;
use super::outcome::{Refusal, Step};
use super::underway::SPRAY_PA;
use super::{Bay, TIMES, unsolved};
use crate::rig::{Attachments, Phase};
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
        let mut step = Step::taking(TIMES.relieve);
        self.rig.bleed();
        step.say("With a rag round the service port the pressure is let down into the can until nothing more comes.");
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
            if !self.protected {
                step.hazard(
                    Grade::Serious,
                    "fuel sprayed about without eye protection, ventilation and an extinguisher",
                );
            }
        } else if !self.protected {
            step.hazard(
                Grade::Minor,
                &format!("{what} without eye protection, ventilation and an extinguisher"),
            );
        }
        self.rig.bleed();
    }

    pub(super) fn fit_gauge(&mut self, on: bool) -> Result<Step, Refusal> {
        if self.gauge_fitted == on {
            let (now, other) = if on {
                ("is fitted already", "off")
            } else {
                ("is not fitted", "on")
            };
            return Err(Refusal::new(
                format!("The gauge {now}."),
                format!("`gauge {other}` changes that."),
            ));
        }
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        let port = self.fuel_side(Kind::Injectors)?;
        self.reach_part(port)?;
        let mut step = Step::taking(if on { TIMES.gauge } else { TIMES.gauge / 2.0 });
        self.open_line(
            if on {
                "the gauge was fitted"
            } else {
                "the gauge was taken off"
            },
            &mut step,
        );
        self.gauge_fitted = on;
        step.say(if on {
            "The gauge is on the rail's service port, its dial under the windscreen."
        } else {
            "The gauge is off and the port closed."
        });
        if on {
            self.read_gauge(&mut step)?;
        }
        Ok(step)
    }

    pub(super) fn read_gauge(&mut self, step: &mut Step) -> Result<(), Refusal> {
        let instant = self.rig.now(&Attachments::none()).map_err(unsolved)?;
        let reading = self.gauge.read(
            instant.pump.rail_pa,
            self.system,
            "gauge on the rail".to_owned(),
        );
        step.outcome.readings.push(reading);
        Ok(())
    }

    /// What the needle did during a phase.
    pub(super) fn watch_gauge(&mut self, phase: &Phase, step: &mut Step) {
        if !self.gauge_fitted {
            return;
        }
        let end = phase.end().rail_pa;
        let reading = self
            .gauge
            .read(end, self.system, "gauge on the rail, at the end".to_owned());
        let arrived = phase
            .samples
            .iter()
            .find(|sample| sample.pump.rail_pa >= 0.95 * end);
        if let Some(sample) = arrived.filter(|_| end > SPRAY_PA) {
            let last = phase.samples.last().map_or(0.0, |sample| sample.t_s);
            step.say(if sample.t_s < 0.8 * last {
                format!("The needle reaches its place after {:.1} s.", sample.t_s)
            } else {
                "The needle is still climbing when the pump stops.".to_owned()
            });
        } else {
            step.say("The needle hardly moves.");
        }
        step.outcome.readings.push(reading);
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
