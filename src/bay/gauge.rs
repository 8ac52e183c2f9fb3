//! The pressure gauge: on the rail's service port, or teed into a line.

use super::action::{Fitting, Tool};
use super::outcome::{Glance, Refusal, Step, Switch};
use super::underway::SPRAY_PA;
use super::{Bay, TIMES, unsolved};
use crate::rig::{Attachments, Phase, PumpState};
use crate::vehicle::{Handling, Key, Kind, PartId};

/// A needle that is in its place within this time was there before, s.
const SEEN_TO_MOVE_S: f64 = 0.05;

impl Bay {
    pub(super) fn fit_gauge(&mut self, at: Option<Fitting>) -> Result<Step, Refusal> {
        let gauge = Switch {
            what: "The gauge",
            on: ("is fitted already", "gauge on"),
            off: ("is not fitted", "gauge off"),
        };
        gauge.turn(self.gauge_at.is_some(), at.is_some())?;
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        // What it is taken off from was said when it was fitted, so one of the two is there.
        let Some(there) = at.or(self.gauge_at) else {
            return Err(Refusal::new("There is no gauge.", "`gauge on` fits one."));
        };
        let (part, whole_s) = match there {
            Fitting::Port => (self.service_port()?, TIMES.gauge),
            Fitting::Tee(part) => (self.teeable(part)?, TIMES.tee),
        };
        let place = self.vehicle.parts[part.0].place;
        self.reach_place(&format!("The {}", self.gauge_place(there)), place)?;
        if matches!(there, Fitting::Tee(_)) {
            self.refuse_while_pumping()?;
        }
        let mut step = Step::taking(if at.is_some() { whole_s } else { whole_s / 2.0 });
        self.go_to(place, &mut step);
        let what = if at.is_some() {
            "the gauge was fitted"
        } else {
            "the gauge was taken off"
        };
        self.open_line(what, &mut step);
        self.gauge_at = at;
        step.say(match (at, there) {
            (Some(Fitting::Port), _) => {
                "The gauge is on the rail's service port, its dial under the windscreen.".to_owned()
            }
            (Some(Fitting::Tee(_)), _) => format!(
                "The gauge is teed in at the {}, its dial on a long hose under the windscreen.",
                self.gauge_place(there)
            ),
            (None, Fitting::Port) => "The gauge is off and the port closed.".to_owned(),
            (None, Fitting::Tee(_)) => {
                "The gauge and its tee are out, the line joined again.".to_owned()
            }
        });
        self.read_into(&mut step, Glance::Tool(Tool::Gauge))?;
        Ok(step)
    }

    /// The rail with its port; not every vehicle has one.
    fn service_port(&self) -> Result<PartId, Refusal> {
        let parts = &self.vehicle.parts;
        if let Some(index) = parts.iter().position(|part| part.kind == Kind::Injectors) {
            return Ok(PartId(index));
        }
        Err(Refusal::new(
            "This vehicle has no service port.",
            match self.tees().first() {
                Some(tee) => format!("{tee} would put it into the line."),
                None => "`prices` lists its parts.".to_owned(),
            },
        ))
    }

    fn teeable(&self, part: PartId) -> Result<PartId, Refusal> {
        let found = &self.vehicle.parts[part.0];
        if self.vehicle.takes(part, Handling::Tee) {
            return Ok(part);
        }
        let fit = self.tees();
        Err(Refusal::new(
            format!("No tee fits at {}.", found.id),
            if fit.is_empty() {
                "This vehicle has no line for one.".to_owned()
            } else {
                format!("{} would.", fit.join(" or "))
            },
        ))
    }

    /// What to type for a tee, one for each place that takes one.
    fn tees(&self) -> Vec<String> {
        let parts = self.vehicle.parts.iter().enumerate();
        parts
            .filter(|&(index, _)| self.vehicle.takes(PartId(index), Handling::Tee))
            .map(|(_, part)| format!("`gauge tee {}`", part.id))
            .collect()
    }

    fn gauge_place(&self, at: Fitting) -> String {
        match at {
            Fitting::Port => "service port".to_owned(),
            Fitting::Tee(part) => format!("inlet of {}", self.vehicle.parts[part.0].id),
        }
    }

    /// Pressure where the gauge is, Pa.
    fn gauge_pa(&self, pump: &PumpState) -> f64 {
        match self.gauge_at {
            Some(Fitting::Tee(part)) => self.rig.inlet_pa(part, pump),
            _ => pump.rail_pa,
        }
    }

    fn gauge_how(&self, rest: &str) -> String {
        let at = match self.gauge_at {
            Some(Fitting::Tee(_)) => {
                format!(
                    "gauge at the {}",
                    self.gauge_place(self.gauge_at.unwrap_or(Fitting::Port))
                )
            }
            _ => "gauge on the rail".to_owned(),
        };
        format!("{at}{rest}")
    }

    /// There is no dial to look at.
    pub(super) fn no_gauge(&self) -> Refusal {
        Refusal::new(
            "The gauge is not fitted.",
            match self.tees().first() {
                Some(tee) => {
                    format!("`gauge on` fits it to the service port, {tee} into a line.")
                }
                None => "`gauge on` fits it to the service port.".to_owned(),
            },
        )
    }

    pub(super) fn read_gauge(&mut self, step: &mut Step) -> Result<(), Refusal> {
        if self.gauge_at.is_none() {
            return Ok(());
        }
        let instant = self.rig.now(&Attachments::none()).map_err(unsolved)?;
        let reading = self.gauge.read(
            self.gauge_pa(&instant.pump),
            self.system,
            self.gauge_how(""),
        );
        step.outcome.readings.push(reading);
        Ok(())
    }

    /// What the needle did during a phase.
    pub(super) fn watch_gauge(&mut self, phase: &Phase, step: &mut Step) {
        if self.gauge_at.is_none() {
            return;
        }
        let end = self.gauge_pa(&phase.end());
        let reading = self
            .gauge
            .read(end, self.system, self.gauge_how(", at the end"));
        let arrived = phase
            .samples
            .iter()
            .find(|sample| self.gauge_pa(&sample.pump) >= 0.95 * end);
        if let Some(sample) = arrived.filter(|_| end > SPRAY_PA) {
            let last = phase.samples.last().map_or(0.0, |sample| sample.t_s);
            step.say(if sample.t_s < SEEN_TO_MOVE_S {
                "The needle stands about where it stood.".to_owned()
            } else if sample.t_s < 0.8 * last {
                format!("The needle reaches its place after {:.1} s.", sample.t_s)
            } else {
                "The needle is still climbing when the pump stops.".to_owned()
            });
        } else {
            step.say("The needle hardly moves.");
        }
        step.outcome.readings.push(reading);
    }
}
