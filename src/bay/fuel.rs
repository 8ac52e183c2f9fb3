//! Fuel and coolant: relieving pressure, opening lines.

use super::ledger::Grade;
use super::outcome::{Refusal, Step};
use super::underway::SPRAY_PA;
use super::{Bay, TIMES};
use crate::vehicle::{Key, Kind, Medium, PartId};

/// Coolant hotter than this burns at once, degrees Celsius: as bare metal does that is touched for ten seconds (ISO
/// 13732-1, from memory).
const SCALDS_C: f64 = 55.0;

impl Bay {
    pub(super) fn relieve(&mut self) -> Result<Step, Refusal> {
        if self.key() == Key::Run {
            return Err(Refusal::new(
                "Not with the engine running.",
                "`key off` first.",
            ));
        }
        if self.vehicle.medium() == Medium::Coolant {
            return Ok(self.open_cap());
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

    /// Lets the pressure out of a cooling circuit by its cap.
    fn open_cap(&self) -> Step {
        let mut step = Step::taking(TIMES.relieve);
        if self.scalds() {
            step.say("The cap hisses at the first turn and coolant boils up into the rag.");
            step.hazard(
                Grade::Serious,
                "the cap of a hot cooling circuit was opened",
            );
        } else {
            step.say("The cap comes off the expansion tank with hardly a sigh, and goes on again.");
        }
        step
    }

    /// The coolant would burn a hand.
    fn scalds(&self) -> bool {
        self.rig.medium_c() > SCALDS_C
    }

    /// What runs out of a cooling circuit, and over whom.
    fn open_cooling(&self, what: &str, step: &mut Step) {
        if self.scalds() {
            step.say("Hot coolant spurts from the joint as it opens.");
            step.hazard(
                Grade::Serious,
                &format!("{what} with the coolant scalding hot: let it cool first"),
            );
        } else {
            step.say("Coolant runs into the tray.");
        }
        if !self.protected {
            step.hazard(
                Grade::Minor,
                &format!("{what} with bare hands and without eye protection"),
            );
        }
    }

    /// The one part of a kind.
    pub(super) fn part_of(&self, kind: Kind) -> Result<PartId, Refusal> {
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
        if self.vehicle.medium() == Medium::Coolant {
            self.open_cooling(what, step);
            return;
        }
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
}
