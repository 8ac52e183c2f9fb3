//! What a learner could know after each action of an attempt.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::belief::{Belief, realised_bits};
use super::draws::{Hypothesis, Pool};
use super::forecast::{Ask, Forecast, Forecasts};
use super::information::{expected_bits, expected_class_bits};
use super::likelihood::Shared;
use super::logs::log_sum_exp;
use super::metered::Doubt;
use super::pairs::Pairs;
use super::reference::Probe;
use super::repairs::Repairs;
use super::setup::Setup;
use super::track::{Standing, Track};
use super::weigh::Evidence;
use crate::bay::{Action, Closed, Entry, Fact};
use crate::circuit::NodeId;
use crate::fault::{Catalogue, Fault};
use crate::instrument::{Function, Quantity};
use crate::rig::{RigError, Symptom, Truth};
use crate::scenario::{PAIRED_LEVEL, Told, Usage, WorkOrder};
use crate::vehicle::{Key, PartId};

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

/// Probability of a draw from which it is worth warming it through for a reading after a while.
const WARMED_FROM: f64 = 2e-4;

/// What an action showed, weighed and not yet believed.
pub struct Seen {
    number: u32,
    pub(super) evidence: Vec<Evidence>,
    /// What a road test after a repair showed.
    proof: Option<Vec<Symptom>>,
}

impl Seen {
    /// Whether it showed nothing that could be weighed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.evidence.is_empty()
    }
}

/// Belief over one attempt.
pub struct Account {
    pub(super) hypotheses: Vec<Hypothesis>,
    repairs: Repairs,
    pub(super) belief: Belief,
    /// Two faults are hidden, and neither is believed cured: belief is in pairs, and `belief` in the one of each that is
    /// nearer to being found.
    pub(super) two: Option<Pairs>,
    /// Tests that were done as things stand: done again they would tell nothing new.
    tried: BTreeSet<Probe>,
    /// What the readings of each draw share.
    pub(super) shared: Vec<Shared>,
    pub(super) forecasts: Forecasts,
    pub(super) catalogue: Arc<Catalogue>,
    pub(super) track: Track,
    steps: Vec<Step>,
    /// What each measurement of one setup and pair of points showed, so that its repeat is not counted again.
    pub(super) told: BTreeMap<(Setup, Function, NodeId, NodeId), f64>,
    /// The last reading of next to no volts whose red tip nothing has proved yet.
    pub(super) doubt: Option<Doubt>,
    /// Sounds heard so far, each with its setup.
    pub(super) heard: BTreeSet<(Setup, usize)>,
}

impl Account {
    /// What can be believed before the first action: after reading the work order at a level.
    #[must_use]
    pub fn begin(pool: &Pool, level: u8, order: &WorkOrder) -> Account {
        let usage = Usage::told(pool.vehicle(), &order.known);
        let told = Told::by(pool.vehicle(), &order.customer);
        let (hypotheses, belief, draws) = pool.after_complaint(level, usage, &told);
        let shared = vec![Shared::default(); draws.len()];
        let forecasts = Forecasts::new(pool.vehicle(), pool.catalogue(), draws, pool.bank());
        let repairs = Repairs::of(pool.vehicle(), pool.catalogue(), &hypotheses);
        let mut account = Account {
            hypotheses,
            repairs,
            belief,
            tried: BTreeSet::new(),
            two: None,
            shared,
            forecasts,
            catalogue: Arc::clone(pool.catalogue()),
            track: Track::default(),
            steps: Vec::new(),
            told: BTreeMap::new(),
            doubt: None,
            heard: BTreeSet::new(),
        };
        if level == PAIRED_LEVEL {
            account.hide_two(usage, &told);
        }
        account
    }

    /// The whole of an attempt that is over.
    pub fn of(pool: &Pool, closed: &Closed) -> Result<Account, RigError> {
        let mut account = Account::begin(pool, closed.level, &closed.order);
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

    /// Probability of each hypothesis that it is what is wrong; where two things are, one of them, so that they add up to
    /// two.
    #[must_use]
    pub fn probabilities(&self) -> Vec<f64> {
        let Some(pairs) = &self.two else {
            return self.belief.probabilities();
        };
        let mut sums = vec![0.0; self.hypotheses.len()];
        for (&h, p) in self.belief.hypothesis_of().iter().zip(pairs.members()) {
            sums[h] += 2.0 * p;
        }
        sums
    }

    /// Probability of each repair at present that it is needed: where two things are wrong, they add up to two.
    #[must_use]
    pub fn repair_probabilities(&self) -> Vec<f64> {
        let classes = self.repairs.class_of();
        match &self.two {
            Some(pairs) => {
                let of = self.belief.hypothesis_of();
                let class_of: Vec<usize> = of.iter().map(|&h| classes[h]).collect();
                pairs.classes(&class_of, classes.iter().max().map_or(0, |last| last + 1))
            }
            None => self.belief.classes(classes),
        }
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

    /// Where the job stands.
    #[must_use]
    pub fn standing(&self) -> Standing {
        self.track.standing()
    }

    /// Probability that the work of a setup alone cures what is wrong; where two things are, one of them.
    #[must_use]
    pub fn probability_of_cure(&self, work: &Setup) -> f64 {
        self.cured(work).0
    }

    /// Probability that what has been done so far has cured all that was wrong.
    #[must_use]
    pub fn probability_done(&self) -> f64 {
        self.cured(self.track.setup()).1
    }

    /// Probabilities that a setup's work has cured something that was wrong, and all of it.
    fn cured(&self, setup: &Setup) -> (f64, f64) {
        let cured = self.forecasts.cured(setup);
        if let Some(pairs) = &self.two {
            return pairs.one_and_both(&cured);
        }
        let p = self.belief.draws();
        let all = p.iter().zip(&cured).filter(|(_, cured)| **cured);
        let all = all.map(|(p, _)| p).sum();
        (all, all)
    }

    /// Forecasts of what the draws predict.
    pub fn forecasts(&mut self) -> &mut Forecasts {
        &mut self.forecasts
    }

    /// Takes in one action with what it answered.
    pub fn observe(&mut self, entry: &Entry) {
        let seen = self.weigh(entry);
        self.take(&seen);
    }

    /// Follows what an action did to the vehicle and weighs what it showed, without believing it yet: what was to be
    /// expected of a test has to be worked out on the belief before it.
    pub fn weigh(&mut self, entry: &Entry) -> Seen {
        self.track.apply(self.forecasts.vehicle(), entry);
        self.note_tried(entry);
        Seen {
            number: entry.number,
            evidence: self.evidence(entry),
            proof: entry.facts.iter().find_map(|fact| match fact {
                Fact::Drove { symptoms } if !self.track.setup().is_untouched() => {
                    Some(symptoms.clone())
                }
                _ => None,
            }),
        }
    }

    /// Tests that would tell nothing new.
    pub(super) fn tried(&self) -> &BTreeSet<Probe> {
        &self.tried
    }

    fn note_tried(&mut self, entry: &Entry) {
        let setup = self.track.setup();
        let pump = setup.pump || setup.key == Key::Run;
        let reference = self.forecasts.vehicle().reference;
        match &entry.action {
            Action::Repair(_) | Action::Replace(_) | Action::Fill { .. } => self.tried.clear(),
            Action::PumpTool(true) if !pump => {
                // Without an answer nothing can be read with the pump commanded.
                let points = self.forecasts.vehicle().plugged_points();
                self.tried.extend(
                    points
                        .into_iter()
                        .map(|point| Probe::Volts { point, pump: true }),
                );
                self.tried.extend([
                    Probe::Listen,
                    Probe::Pressure,
                    Probe::LiftPressure,
                    Probe::Flow,
                ]);
                let parts = (0..self.forecasts.vehicle().parts.len()).map(PartId);
                self.tried.extend(parts.map(Probe::Current));
            }
            Action::Listen | Action::PumpTool(true) => {
                self.tried.insert(Probe::Listen);
            }
            Action::Flow { .. } => {
                self.tried.insert(Probe::Flow);
            }
            Action::Clamp(part) => {
                self.tried.insert(Probe::Current(*part));
            }
            Action::Look(target) => {
                self.tried.insert(Probe::Look(target.part));
            }
            _ => {}
        }
        for fact in &entry.facts {
            if let Fact::Measured(taken) = fact
                && taken.function.quantity() == Quantity::Voltage
                && taken.black == reference
            {
                self.tried.insert(Probe::Volts {
                    point: taken.red,
                    pump,
                });
            }
        }
        if pump
            && entry
                .readings
                .iter()
                .any(|reading| reading.quantity == Quantity::Pressure)
        {
            let lift = self.track.at_lift();
            self.tried.insert(if lift {
                Probe::LiftPressure
            } else {
                Probe::Pressure
            });
        }
    }

    /// Believes what was weighed.
    pub fn take(&mut self, seen: &Seen) {
        let mut expected: Option<(f64, f64)> = None;
        for evidence in &seen.evidence {
            let (known, repair) = expected.unwrap_or((0.0, 0.0));
            let bits = self.bits(&evidence.table);
            expected = Some((known + bits.0, repair + bits.1));
            self.take_in(evidence);
        }
        if let Some(symptoms) = &seen.proof {
            self.look_for_the_other(symptoms);
        }
        let repairs = self.repair_probabilities();
        self.steps.push(Step {
            number: seen.number,
            expected_bits: expected.map(|bits| bits.0),
            expected_repair_bits: expected.map(|bits| bits.1),
            entropy: self.belief.entropy(),
            surest_repair: repairs.iter().copied().fold(0.0, f64::max),
            repairs,
        });
    }

    /// Draws that are hardly believed in any more are not asked: what cannot be told of them leaves them as they are.
    fn take_in(&mut self, evidence: &Evidence) {
        if self.take_in_of_two(evidence) {
            return;
        }
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
    pub(super) fn awake(&self) -> Vec<Ask> {
        /// Probability below which a draw is left alone.
        const ASLEEP: f64 = 3e-5;
        // Sound vehicles stand for the tolerance of all others.
        let draws = match &self.two {
            Some(pairs) => pairs.members(),
            None => self.belief.draws(),
        };
        draws
            .iter()
            .zip(self.forecasts.draws())
            .map(|(&p, draw)| match p {
                p if p > WARMED_FROM || draw.is_sound() => Ask::Fully,
                p if p > ASLEEP => Ask::Roughly,
                _ => Ask::Not,
            })
            .collect()
    }

    pub(super) fn forecasts_of(&mut self, setup: &Setup) -> Vec<Option<Arc<Forecast>>> {
        let awake = self.awake();
        self.forecasts.of(setup, &awake)
    }

    /// Bits a table of outcome chances for each draw is expected to tell of the hypothesis and of the repair.
    fn bits(&self, table: &[Vec<f64>]) -> (f64, f64) {
        let prior = self.belief.draws();
        let outcomes = table.iter().map(Vec::len).max().unwrap_or(0);
        if outcomes == 0 {
            return (0.0, 0.0);
        }
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

    /// The repair that is right for a fault, by its place in [`Account::repairs`]; nothing if it was never believed in.
    #[must_use]
    pub fn right_for(&self, fault: &Fault) -> Option<usize> {
        self.right_for_any(&Hypothesis::of(&self.catalogue, fault))
    }

    /// The repairs that are right for all that a vehicle came with; handing it back for one with nothing wrong.
    #[must_use]
    pub fn rights(&self, truth: &Truth) -> Vec<usize> {
        if truth.matters() == 0 {
            return self
                .right_for_any(&Hypothesis::Nothing)
                .into_iter()
                .collect();
        }
        let faults = truth
            .came_with
            .iter()
            .filter_map(|fault| self.right_for(fault));
        let tank = truth.trouble().map(Hypothesis::Tank);
        faults
            .chain(tank.and_then(|tank| self.right_for_any(&tank)))
            .collect()
    }

    /// The repair that is right for a hypothesis, whatever its severity.
    #[must_use]
    pub fn right_for_any(&self, name: &Hypothesis) -> Option<usize> {
        let exact = self
            .hypotheses
            .iter()
            .position(|hypothesis| hypothesis == name);
        let alike = |hypothesis: &Hypothesis| match (hypothesis, name) {
            (
                Hypothesis::Fault { kind, site, .. },
                Hypothesis::Fault {
                    kind: named,
                    site: at,
                    ..
                },
            ) => kind == named && site == at,
            _ => false,
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
