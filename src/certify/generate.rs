//! From a code to a certified scenario: draw after draw until one is fit to be offered.

use std::collections::BTreeMap;

use super::Certifier;
use super::cause::Cause;
use super::level::band;
use crate::fault::KindId;
use crate::rig::RigError;
use crate::scenario::{Drawn, GenerateError, Generator, MAX_REDRAWS, Redraw, Revealed, Scenario};
use crate::seed::ScenarioCode;

/// What a code came to, with what was thrown away on the way.
pub(super) struct Made {
    pub revealed: Revealed,
    pub run: super::certificate::Run,
    /// Draws thrown away, each with the kinds of fault it had.
    pub thrown_away: Vec<(Redraw, Vec<KindId>)>,
}

impl Certifier {
    /// The scenario of a code: the same on every machine.
    ///
    /// # Errors
    /// [`GenerateError`] for a code this program does not have the generator or the vehicles of, or if none of its
    /// draws can be offered.
    pub fn generate(&self, code: ScenarioCode) -> Result<Scenario, GenerateError> {
        Ok(self.make(code)?.revealed.seal())
    }

    /// Solves the types of vehicle that some codes choose, one after another with all threads on each, so that threads
    /// which then share the codes do not solve the same type each.
    ///
    /// # Errors
    /// As for [`Certifier::generate`].
    pub fn prepare(&self, codes: &[ScenarioCode]) -> Result<(), GenerateError> {
        for &code in codes {
            let generator = Generator::of(code.version())?;
            self.atlas(generator.vehicle(&self.stock, code)?)?;
        }
        Ok(())
    }

    pub(super) fn make(&self, code: ScenarioCode) -> Result<Made, GenerateError> {
        let generator = Generator::of(code.version())?;
        let vehicle = generator.vehicle(&self.stock, code)?;
        let mut thrown_away = Vec::new();
        for number in 0..MAX_REDRAWS {
            let thrown = match generator.draw(&self.stock, vehicle, code, number)? {
                Drawn::Refused(reason, kinds) => (reason, kinds),
                Drawn::Kept(revealed) => {
                    let (low, high) = band(code.level(), number);
                    // A sound vehicle is soon known by what it does; handing it back as it is takes the nerve.
                    let low = if Cause::all_of(&revealed) == [Cause::Nothing] {
                        0.0
                    } else {
                        low
                    };
                    let run = self.run(&revealed, high)?;
                    let index = run.difficulty().index();
                    let reason = if index > high {
                        Redraw::OffLevel
                    } else if !run.holds {
                        Redraw::Uncertain
                    } else if index < low {
                        Redraw::OffLevel
                    } else if !sound(&revealed)? {
                        Redraw::Unsound
                    } else {
                        return Ok(Made {
                            revealed: *revealed,
                            run,
                            thrown_away,
                        });
                    };
                    let kinds = revealed.faults.iter().map(|fault| fault.kind);
                    (reason, kinds.collect())
                }
            };
            thrown_away.push(thrown);
        }
        let mut times: BTreeMap<Redraw, usize> = BTreeMap::new();
        for (reason, _) in &thrown_away {
            *times.entry(*reason).or_insert(0) += 1;
        }
        // The first of equals, so that the order of the reasons decides.
        let most = times.iter().rev().max_by_key(|(_, times)| **times);
        Err(GenerateError::Exhausted {
            vehicle: self.stock.vehicles[vehicle].id.clone(),
            level: code.level(),
            reason: most.map_or("", |(reason, _)| reason.words()).to_owned(),
        })
    }
}

/// Whether the vehicle would run well if nothing were hidden.
fn sound(revealed: &Revealed) -> Result<bool, RigError> {
    let fade = revealed.vehicle.engine.fade_fraction;
    let report = revealed.sound_rig()?.glance()?;
    Ok(report.symptoms(fade).is_empty())
}
