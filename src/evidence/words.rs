//! What eyes, ears, hands and the words of an outcome say of each draw.

use std::sync::Arc;

use super::account::Account;
use super::likelihood::{
    SLACK, drive_log, fuse_log, lift_sound, lift_sound_chances, look_log, sound, sound_chances,
};
use super::setup::Setup;
use super::weigh::Evidence;
use crate::bay::{Action, Entry, Fact};
use crate::fault::{Fault, Sense};
use crate::instrument::Glow;
use crate::rig::{DriveReport, Symptom, Warmth};
use crate::vehicle::{Key, Kind, Law, PartId, ThermostatState};

/// What the starter did, in the words of the bay.
const STARTS: [&str; 4] = [
    "The starter does nothing.",
    "The starter hardly turns the engine.",
    "The engine turns over but does not start.",
    "The engine starts.",
];

/// What a glass of fuel shows, in the words of the bay.
pub(super) const GLASS: [&str; 3] = ["Nothing comes", "clear and bright", "Two layers"];
/// What is heard of the first fuel that goes into an empty tank, in the words of the bay.
const FALLS: &str = "falls a long way";

/// Brightness of a lamp, in order.
const GLOWS: [Glow; 5] = [
    Glow::Dark,
    Glow::Faint,
    Glow::Dim,
    Glow::Yellowish,
    Glow::Full,
];

impl Account {
    pub(super) fn words(&mut self, setup: &Setup, entry: &Entry) -> Vec<Evidence> {
        let mut all = Vec::new();
        for fact in &entry.facts {
            match fact {
                Fact::Drove { symptoms } => all.push(self.drove(setup, symptoms)),
                Fact::Filled { .. } => all.extend(self.filled(setup, entry)),
                Fact::Seen { what, .. } if entry.action == Action::Sample => {
                    all.extend(self.sampled(setup, what));
                }
                Fact::Seen { what, .. } => {
                    all.extend(self.glowed(setup, what));
                    if let Action::Open(part) = entry.action {
                        all.extend(self.opened(setup, part, what));
                    }
                }
                _ => {}
            }
        }
        if let Some(started) = STARTS
            .iter()
            .position(|words| entry.said.iter().any(|line| line == words))
        {
            all.extend(self.cranked(started));
        } else if let Some(heard) = sound(&entry.said).filter(|_| !self.track.has_ammeter()) {
            all.extend(self.heard(setup, heard));
        }
        let lift = lift_sound(self.forecasts.vehicle(), &entry.said);
        if let Some(heard) = lift.filter(|_| !self.track.has_ammeter()) {
            all.extend(self.heard_lift(setup, heard));
        }
        if matches!(entry.action, Action::Scan | Action::PumpTool(true)) {
            let silent = entry.said.iter().any(|line| line.contains("no answer"));
            all.extend(self.answered(setup, silent));
        }
        all.extend(self.looked(setup, entry));
        all
    }

    fn drove(&mut self, setup: &Setup, symptoms: &[Symptom]) -> Evidence {
        let due = self.forecasts.drives(setup);
        let mut lists = due.clone();
        lists.push(symptoms.to_vec());
        lists.sort_unstable();
        lists.dedup();
        let row = |due: &Vec<Symptom>| {
            let chances: Vec<f64> = lists
                .iter()
                .map(|list| libm::exp(drive_log(due, list)))
                .collect();
            let whole: f64 = chances.iter().sum();
            chances.into_iter().map(|chance| chance / whole).collect()
        };
        let seen = lists.binary_search(&symptoms.to_vec()).unwrap_or(0);
        let table = due.iter().map(row).collect();
        Evidence::of_outcome(table, seen)
    }

    /// What the glass of fuel showed.
    fn sampled(&self, setup: &Setup, what: &str) -> Option<Evidence> {
        let seen = GLASS.iter().position(|words| what.contains(words))?;
        let table = (0..self.forecasts.draws().len()).map(|index| {
            let due = self.forecasts.glass(setup, index);
            let chance = |o| {
                if o == due {
                    1.0 - SLACK.missed
                } else {
                    0.5 * SLACK.missed
                }
            };
            (0..GLASS.len()).map(chance).collect()
        });
        Some(Evidence::of_outcome(table.collect(), seen))
    }

    /// How the fuel went in: into an empty tank it falls, which is told only where it was not drained before.
    fn filled(&self, setup: &Setup, entry: &Entry) -> Option<Evidence> {
        if entry.action == (Action::Fill { drained: true }) {
            return None;
        }
        let mut before = setup.clone();
        before.fills.pop();
        let fell = entry.said.iter().any(|line| line.contains(FALLS));
        let table = (0..self.forecasts.draws().len()).map(|index| {
            let empty = self.forecasts.glass(&before, index) == 0;
            let p = if empty {
                1.0 - SLACK.missed
            } else {
                SLACK.missed
            };
            vec![1.0 - p, p]
        });
        Some(Evidence::of_outcome(table.collect(), usize::from(fell)))
    }

    /// A sound of a lift pump, unless the same has been heard before as things stand.
    fn heard_lift(&mut self, setup: &Setup, sound: usize) -> Option<Evidence> {
        // Beside the places of the main pump's sounds.
        let place = usize::MAX / 2 + sound;
        if !self.heard.insert((setup.clone().after(0.0), place)) {
            return None;
        }
        let forecasts = self.forecasts_of(setup);
        let table = forecasts.iter().map(|known| {
            known
                .as_ref()
                .map_or_else(Vec::new, |known| lift_sound_chances(known))
        });
        Some(Evidence::of_outcome(table.collect(), sound))
    }

    /// A sound, unless the same has been heard before as things stand.
    fn heard(&mut self, setup: &Setup, sound: usize) -> Option<Evidence> {
        if !self.heard.insert((setup.clone().after(0.0), sound)) {
            return None;
        }
        let forecasts = self.forecasts_of(setup);
        let table = forecasts.iter().map(|known| {
            known
                .as_ref()
                .map_or_else(Vec::new, |known| sound_chances(known))
        });
        Some(Evidence::of_outcome(table.collect(), sound))
    }

    /// How a lamp or a bulb looked.
    fn glowed(&mut self, setup: &Setup, what: &str) -> Option<Evidence> {
        let seen = GLOWS
            .iter()
            .position(|glow| ["lamp", "bulb"].iter().any(|of| glow.words(of) == what))?;
        let forecasts = self.forecasts_of(setup);
        let row = |known: &Option<Arc<super::forecast::Forecast>>| {
            let due = known.as_ref().and_then(|known| known.frame.glow)?;
            let worse = known
                .as_ref()
                .and_then(|known| known.worse.as_ref()?.glow)
                .unwrap_or(due);
            let place = |glow| GLOWS.iter().position(|known| *known == glow).unwrap_or(0);
            let chances = [place(due), place(worse)].map(steps_off::<5>);
            Some(
                (0..5)
                    .map(|k| 0.7 * chances[0][k] + 0.3 * chances[1][k])
                    .collect(),
            )
        };
        let table = forecasts.iter().map(|known| row(known).unwrap_or_default());
        Some(Evidence::of_outcome(table.collect(), seen))
    }

    /// What the starter and the engine did, if nothing was changed that the draws' own road tests do not know.
    fn cranked(&mut self, seen: usize) -> Option<Evidence> {
        let setup = self.track.setup().clone();
        if !self.track.is_whole() || !self.heard.insert((setup.clone(), usize::MAX - seen)) {
            return None;
        }
        let due = |report: &DriveReport| match report.crank_share {
            share if share < 0.1 => 0,
            share if share < 0.5 => 1,
            _ if !report.starts => 2,
            _ => 3,
        };
        let healthy = self.sound_draw();
        let table = (0..self.forecasts.draws().len()).map(|index| {
            let of = if self.forecasts.is_cured(&setup, index) {
                healthy
            } else {
                index
            };
            steps_off::<4>(due(&self.forecasts.draws()[of].report)).to_vec()
        });
        Some(Evidence::of_outcome(table.collect(), seen))
    }

    /// Whether the control unit answered the service tool: it does if it is fed.
    fn answered(&mut self, setup: &Setup, silent: bool) -> Option<Evidence> {
        let place = if silent {
            usize::MAX - 10
        } else {
            usize::MAX - 11
        };
        if !self.heard.insert((setup.clone().after(0.0), place)) {
            return None;
        }
        let vehicle = Arc::clone(self.forecasts.vehicle());
        let fed = vehicle.elements.iter().position(|element| {
            matches!(element.law, Law::Load { .. })
                && vehicle.parts[element.part.0].kind == Kind::ControlUnit
        })?;
        let key_on = Setup {
            key: Key::On,
            pump: false,
            ..setup.clone()
        };
        let forecasts = self.forecasts_of(&key_on);
        let row = |known: &Option<Arc<super::forecast::Forecast>>| {
            known.as_ref().map_or_else(Vec::new, |known| {
                let missed = SLACK.missed;
                if known.frame.amps[fed] > 0.0 {
                    vec![1.0 - missed, missed]
                } else {
                    vec![missed, 1.0 - missed]
                }
            })
        };
        let table = forecasts.iter().map(row).collect();
        Some(Evidence::of_outcome(table, usize::from(silent)))
    }

    /// What an opened part showed: draws whose fault lies elsewhere show what a sound one shows.
    fn opened(&mut self, setup: &Setup, part: PartId, what: &str) -> Option<Evidence> {
        /// A joint that has gained this much looks dull, ohm, as the bay has it.
        const DULL_OHMS: f64 = 0.1;
        /// How many times a sound one's resistance makes the next worse look.
        const CLOGGED: [f64; 3] = [3.0, 15.0, 80.0];
        let kind = self.forecasts.vehicle().parts[part.0].kind;
        let table: Vec<Vec<f64>>;
        let seen;
        if kind.is_blown_through() {
            let words = ["is clear", "brownish", "Brown sludge", "Black sludge"];
            seen = words.iter().position(|words| what.contains(words))?;
            let grade = self.local(setup, part, |rig| {
                let factor = rig.restriction(part).unwrap_or(1.0);
                CLOGGED.iter().filter(|limit| factor >= **limit).count()
            })?;
            let row =
                |grade: Option<usize>| grade.map_or_else(Vec::new, |g| steps_off::<4>(g).to_vec());
            table = grade.into_iter().map(row).collect();
        } else if kind == Kind::Thermostat {
            let words = ["shut, and in boiling", "it opens, and shuts", "stands open"];
            seen = words.iter().position(|words| what.contains(words))?;
            let state = self.local(setup, part, |rig| match rig.thermostat() {
                ThermostatState::Shut => 0,
                ThermostatState::Works => 1,
                ThermostatState::Open => 2,
            })?;
            let row = |state: Option<usize>| {
                state.map_or_else(Vec::new, |state| steps_off::<3>(state).to_vec())
            };
            table = state.into_iter().map(row).collect();
        } else {
            seen = usize::from(what.contains("dull"));
            let dull = self.local(setup, part, |rig| {
                rig.joints(part)
                    .iter()
                    .any(|(_, gained)| *gained > DULL_OHMS)
            })?;
            let row = |dull: Option<bool>| {
                dull.map_or_else(Vec::new, |dull| {
                    let p = if dull {
                        1.0 - SLACK.missed
                    } else {
                        SLACK.missed
                    };
                    vec![1.0 - p, p]
                })
            };
            table = dull.into_iter().map(row).collect();
        }
        Some(Evidence::of_outcome(table, seen))
    }

    fn looked(&mut self, setup: &Setup, entry: &Entry) -> Vec<Evidence> {
        let (part, senses): (PartId, &[Sense]) = match &entry.action {
            Action::Look(target) => (target.part, &[Sense::Look, Sense::Smell]),
            Action::Feel(part) => (*part, &[Sense::Feel]),
            Action::Listen if sound(&entry.said) != Some(0) => {
                (self.forecasts.vehicle().pump.part, &[Sense::Listen])
            }
            _ => return Vec::new(),
        };
        // The same look again tells nothing new.
        let key = usize::MAX - 100 - 4 * part.0 - senses[0] as usize;
        if !self.heard.insert((setup.clone().after(0.0), key)) {
            return Vec::new();
        }
        let vehicle = Arc::clone(self.forecasts.vehicle());
        let window = vehicle.parts[part.0].kind == Kind::Fuse && senses[0] == Sense::Look;
        let frames = window.then(|| self.forecasts_of(setup));
        let open = entry
            .said
            .iter()
            .any(|line| line.contains("bridge in its window is gone"));
        let logs = (0..self.forecasts.draws().len()).map(|index| {
            let cured = self.forecasts.is_cured(setup, index);
            let fault: Option<&Fault> = self.forecasts.draws()[index]
                .fault
                .as_ref()
                .filter(|_| !cured);
            let seen = look_log(&vehicle, &self.catalogue, fault, part, senses, &entry.said);
            let fuse = match &frames {
                Some(frames) => frames[index].as_ref().map_or(0.0, |known| {
                    fuse_log(&known.frame, fault, &self.catalogue, part, open)
                }),
                None => 0.0,
            };
            Some(seen + fuse)
        });
        let mut all = vec![Evidence::plain(logs.collect())];
        if matches!(entry.action, Action::Feel(_)) {
            all.extend(self.felt(setup, part, entry));
        }
        all
    }

    /// How warm a part felt.
    fn felt(&mut self, setup: &Setup, part: PartId, entry: &Entry) -> Option<Evidence> {
        let words = ["no warmer", "is warm to", "too hot"];
        let seen = words
            .iter()
            .position(|words| entry.said.iter().any(|line| line.contains(words)))?;
        let grade = self.local(setup, part, |rig| match rig.warmth(part) {
            Warmth::Cold => 0,
            Warmth::Warm => 1,
            Warmth::Hot => 2,
        })?;
        let row =
            |grade: Option<usize>| grade.map_or_else(Vec::new, |g| steps_off::<3>(g).to_vec());
        Some(Evidence::of_outcome(
            grade.into_iter().map(row).collect(),
            seen,
        ))
    }
}

/// Chances of `N` grades in order when `due` is expected: most for it, some for its neighbours.
fn steps_off<const N: usize>(due: usize) -> [f64; N] {
    let mut chances = [0.0; N];
    for (grade, chance) in chances.iter_mut().enumerate() {
        *chance = match grade.abs_diff(due) {
            0 => 1.0 - SLACK.misheard,
            1 => 0.4 * SLACK.misheard,
            _ => 0.1 * SLACK.misheard,
        };
    }
    let whole: f64 = chances.iter().sum();
    chances.map(|chance| chance / whole)
}
