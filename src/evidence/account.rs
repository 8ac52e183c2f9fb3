//! What a learner could know after each action of an attempt.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::belief::{Belief, realised_bits};
use super::draws::{Hypothesis, Pool};
use super::information::{expected_bits, expected_class_bits};
use super::likelihood::{Shared, drive_log, fuse_log, look_log, sound};
use super::logs::log_sum_exp;
use super::repairs::Repairs;
use super::setup::{Forecast, Forecasts, Setup};
use super::track::Track;
use super::weigh::Evidence;
use crate::bay::{Action, Closed, Entry, Fact};
use crate::circuit::NodeId;
use crate::fault::{Fault, Sense};
use crate::instrument::{Function, Quantity};
use crate::rig::RigError;
use crate::scenario::symptoms_told;
use crate::vehicle::{Kind, PartId};

/// What one action changed in what could be known.
#[derive(Clone, PartialEq, Debug)]
pub struct Step {
    /// Number of the action.
    pub number: u32,
    /// What it was expected to tell about the fault, bits; nothing for an action that was no test.
    pub expected_bits: Option<f64>,
    /// What it was expected to tell about the right repair, bits.
    pub expected_repair_bits: Option<f64>,
    /// Entropy over hypotheses after it, bits.
    pub entropy: f64,
    /// Probability of the likeliest repair after it.
    pub surest_repair: f64,
    /// Probability of each repair after it, in the order of [`Account::repairs`].
    pub repairs: Vec<f64>,
}

/// Belief over one attempt.
#[derive(Debug)]
pub struct Account {
    pub(super) hypotheses: Vec<Hypothesis>,
    repairs: Repairs,
    pub(super) belief: Belief,
    /// What the readings of each draw share.
    pub(super) shared: Vec<Shared>,
    pub(super) forecasts: Forecasts,
    catalogue: Arc<crate::fault::Catalogue>,
    pub(super) track: Track,
    steps: Vec<Step>,
    /// What each measurement of one setup and pair of points showed, so that its repeat is not counted again.
    pub(super) told: BTreeMap<(Setup, Function, NodeId, NodeId), f64>,
    /// Sounds heard so far, each with its setup.
    pub(super) heard: BTreeSet<(Setup, usize)>,
}

impl Account {
    /// What can be believed before the first action: after reading the work order at a level.
    #[must_use]
    pub fn begin(pool: &Pool, level: u8, customer: &str) -> Account {
        let (hypotheses, belief, draws) = pool.after_complaint(level, &symptoms_told(customer));
        let shared = vec![Shared::default(); draws.len()];
        let forecasts = Forecasts::new(pool.vehicle(), pool.catalogue(), draws);
        let repairs = Repairs::of(pool.vehicle(), pool.catalogue(), &hypotheses);
        Account {
            hypotheses,
            repairs,
            belief,
            shared,
            forecasts,
            catalogue: Arc::clone(pool.catalogue()),
            track: Track::default(),
            steps: Vec::new(),
            told: BTreeMap::new(),
            heard: BTreeSet::new(),
        }
    }

    /// The whole of an attempt that is over.
    pub fn of(pool: &Pool, closed: &Closed) -> Result<Account, RigError> {
        let mut account = Account::begin(pool, closed.level, &closed.order.customer);
        for entry in &closed.ledger {
            account.observe(entry);
        }
        Ok(account)
    }

    /// What could be wrong.
    #[must_use]
    pub fn hypotheses(&self) -> &[Hypothesis] {
        &self.hypotheses
    }

    /// What could be right to do.
    #[must_use]
    pub fn repairs(&self) -> &Repairs {
        &self.repairs
    }

    /// Present belief.
    #[must_use]
    pub fn belief(&self) -> &Belief {
        &self.belief
    }

    /// Probability of each repair at present.
    #[must_use]
    pub fn repair_probabilities(&self) -> Vec<f64> {
        self.belief.classes(self.repairs.class_of())
    }

    /// What each action so far changed.
    #[must_use]
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// How the vehicle stands as far as the attempt shows.
    #[must_use]
    pub fn setup(&self) -> &Setup {
        self.track.setup()
    }

    /// Forecasts of what the draws predict.
    pub fn forecasts(&mut self) -> &mut Forecasts {
        &mut self.forecasts
    }

    /// Takes in one action with what it answered.
    pub fn observe(&mut self, entry: &Entry) {
        self.track.apply(self.forecasts.vehicle(), entry);
        let mut expected = None;
        for evidence in self.evidence(entry) {
            let (known, repair): (f64, f64) = expected.unwrap_or((0.0, 0.0));
            let bits = evidence
                .table
                .as_ref()
                .map_or((0.0, 0.0), |table| self.bits(table));
            expected = Some((known + bits.0, repair + bits.1));
            self.take_in(&evidence);
        }
        let repairs = self.repair_probabilities();
        self.steps.push(Step {
            number: entry.number,
            expected_bits: expected.map(|bits| bits.0),
            expected_repair_bits: expected.map(|bits| bits.1),
            entropy: self.belief.entropy(),
            surest_repair: repairs.iter().copied().fold(0.0, f64::max),
            repairs,
        });
    }

    /// Draws that are hardly believed in any more are not asked: what cannot be told of them leaves them as they are.
    fn take_in(&mut self, evidence: &Evidence) {
        let p = self.belief.draws();
        let told = p
            .iter()
            .zip(&evidence.logs)
            .filter_map(|(p, log)| Some((*p, (*log)?)));
        let (masses, logs): (Vec<f64>, Vec<f64>) =
            told.map(|(p, log)| (p, libm::log(p) + log)).unzip();
        let mean = log_sum_exp(&logs) - libm::log(masses.iter().sum());
        if mean.is_finite() {
            self.belief
                .update(|draw| evidence.logs[draw].unwrap_or(mean));
        }
        if let Some(shared) = &evidence.shared {
            self.shared.clone_from(shared);
        }
    }

    /// Which draws are believed in enough to be asked.
    pub(super) fn awake(&self) -> Vec<bool> {
        /// Probability below which a draw is left alone.
        const ASLEEP: f64 = 1e-5;
        // Sound vehicles stand for the tolerance of all others.
        let draws = self.belief.draws();
        draws
            .iter()
            .zip(self.forecasts.draws())
            .map(|(&p, draw)| p > ASLEEP || draw.fault.is_none())
            .collect()
    }

    pub(super) fn forecasts_of(&mut self, setup: &Setup) -> Vec<Option<Arc<Forecast>>> {
        let awake = self.awake();
        self.forecasts.of(setup, |draw| awake[draw])
    }

    /// Bits a table of outcome chances for each draw is expected to tell of the hypothesis and of the repair.
    fn bits(&self, table: &[Vec<f64>]) -> (f64, f64) {
        let prior = self.belief.draws();
        let outcomes = table.iter().map(Vec::len).max().unwrap_or(0);
        let mut rows = vec![vec![0.0; outcomes]; self.hypotheses.len()];
        let mut masses = vec![0.0; self.hypotheses.len()];
        for ((&h, &p), row) in self.belief.hypothesis_of().iter().zip(&prior).zip(table) {
            if row.is_empty() {
                continue;
            }
            masses[h] += p;
            for (sum, &chance) in rows[h].iter_mut().zip(row) {
                *sum += p * chance;
            }
        }
        for (row, &mass) in rows.iter_mut().zip(&masses) {
            for chance in row {
                *chance = if mass > 0.0 {
                    *chance / mass
                } else {
                    1.0 / outcomes as f64
                };
            }
        }
        let whole: f64 = masses.iter().sum();
        let masses: Vec<f64> = masses.iter().map(|mass| mass / whole).collect();
        (
            expected_bits(&masses, &rows),
            expected_class_bits(&masses, self.repairs.class_of(), &rows),
        )
    }

    fn evidence(&mut self, entry: &Entry) -> Vec<Evidence> {
        let mut all = Vec::new();
        let Some(setup) = self.track.readable() else {
            return self.blind_evidence(entry);
        };
        for fact in &entry.facts {
            match fact {
                Fact::Measured(measured) => all.extend(self.measured(&setup, measured)),
                Fact::Drove { symptoms } => {
                    let due = self.forecasts.drives(&setup);
                    all.push(Evidence::plain(
                        due.iter()
                            .map(|due| Some(drive_log(due, symptoms)))
                            .collect(),
                    ));
                }
                _ => {}
            }
        }
        for reading in &entry.readings {
            let Some(value) = reading.value else { continue };
            all.extend(match (reading.quantity, &entry.action) {
                (Quantity::Current, _) => self
                    .track
                    .clamped()
                    .and_then(|part| self.clamped(&setup, part, value)),
                (Quantity::Pressure, _) => self.pressure(&setup, value),
                (Quantity::Volume, Action::Flow { seconds }) => {
                    Some(self.caught(&setup, *seconds, value))
                }
                _ => None,
            });
        }
        if let Some(heard) = sound(&entry.said) {
            all.extend(self.heard(&setup, heard));
        }
        all.extend(self.looked(&setup, entry));
        all
    }

    /// What can still be judged when the forecasts do not know how the vehicle stands.
    fn blind_evidence(&mut self, entry: &Entry) -> Vec<Evidence> {
        self.looked(&Setup::default(), entry).into_iter().collect()
    }

    fn looked(&mut self, setup: &Setup, entry: &Entry) -> Option<Evidence> {
        let (part, senses): (PartId, &[Sense]) = match &entry.action {
            Action::Look(target) => (target.part, &[Sense::Look, Sense::Smell]),
            Action::Feel(part) => (*part, &[Sense::Feel]),
            _ => return None,
        };
        let vehicle = Arc::clone(self.forecasts.vehicle());
        let frames = self.forecasts_of(setup);
        let window = vehicle.parts[part.0].kind == Kind::Fuse && senses[0] == Sense::Look;
        let open = entry
            .said
            .iter()
            .any(|line| line.contains("bridge in its window is gone"));
        let cured = |fault: &&Fault| {
            let remedies = &setup.remedies;
            !remedies.iter().any(|&(part, element, remedy)| {
                crate::fault::cured_by(&vehicle, &self.catalogue, fault, part, element, remedy)
            })
        };
        let logs = self
            .forecasts
            .draws()
            .iter()
            .zip(&frames)
            .map(|(draw, frame)| {
                let fault = draw.fault.as_ref().filter(cured);
                let seen = look_log(&vehicle, &self.catalogue, fault, part, senses, &entry.said);
                let fuse = match frame {
                    Some(known) if window => {
                        fuse_log(&known.frame, fault, &self.catalogue, part, open)
                    }
                    _ => 0.0,
                };
                Some(seen + fuse)
            });
        Some(Evidence::plain(logs.collect()))
    }

    /// The repair that is right for a fault, by its place in [`Account::repairs`]; nothing if it was never believed in.
    #[must_use]
    pub fn right_for(&self, fault: &Fault) -> Option<usize> {
        let name = Hypothesis::of(&self.catalogue, fault);
        let exact = self
            .hypotheses
            .iter()
            .position(|hypothesis| *hypothesis == name);
        let alike = |hypothesis: &Hypothesis| match hypothesis {
            Hypothesis::Fault { kind, site, .. } => *kind == fault.kind && *site == fault.site,
            Hypothesis::Nothing => false,
        };
        let place = exact.or_else(|| self.hypotheses.iter().position(alike))?;
        self.repairs.class_of().get(place).copied()
    }

    /// What each action told about what was truly wrong, bits: for looking back, when the truth is out. Adds up to
    /// `log2` of the last probability of the right repair over the first. Nothing if the truth is not among what could be
    /// believed.
    #[must_use]
    pub fn realised(&self, prior: f64, truth: usize) -> Vec<f64> {
        let mut before = prior;
        let bits = |step: &Step| {
            let after = step.repairs[truth];
            let bits = realised_bits(before, after);
            before = after;
            bits
        };
        self.steps.iter().map(bits).collect()
    }
}
