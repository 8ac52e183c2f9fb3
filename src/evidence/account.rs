//! What a learner could know after each action of an attempt.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::belief::{Belief, realised_bits};
use super::draws::{Hypothesis, Pool};
use super::information::{expected_bits, expected_class_bits};
use super::likelihood::{
    Gross, Predicted, Reading, Shared, drive_log, fuse_log, look_log, meter_sigma, ohms_scale,
    sound, sound_log,
};
use super::logs::log_sum_exp;
use super::repairs::Repairs;
use super::setup::{Forecast, Forecasts, Frame, Setup};
use super::track::Track;
use crate::bay::{Action, Closed, Entry, Fact, Measurement};
use crate::circuit::NodeId;
use crate::fault::{Fault, Sense};
use crate::instrument::{Function, Quantity};
use crate::rig::RigError;
use crate::scenario::symptoms_told;
use crate::vehicle::{Kind, Law, PartId};

/// Resistance of a drawn meter's own two leads, ohm.
const LEADS_OHMS: f64 = 0.25;
/// Outcomes a continuous reading is put into for working out what it was expected to tell.
const BINS: usize = 24;

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
    hypotheses: Vec<Hypothesis>,
    repairs: Repairs,
    belief: Belief,
    /// What the readings of each draw share.
    shared: Vec<Shared>,
    forecasts: Forecasts,
    catalogue: Arc<crate::fault::Catalogue>,
    track: Track,
    steps: Vec<Step>,
    /// What each measurement of one setup and pair of points showed, so that its repeat is not counted again.
    told: BTreeMap<(Setup, Function, NodeId, NodeId), f64>,
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
    fn awake(&self) -> Vec<bool> {
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

    fn forecasts_of(&mut self, setup: &Setup) -> Vec<Option<Arc<Forecast>>> {
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
            let forecasts = self.forecasts_of(&setup);
            let log =
                |known: &Option<Arc<Forecast>>| Some(sound_log(&known.as_ref()?.frame, heard));
            all.push(Evidence::plain(forecasts.iter().map(log).collect()));
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

    fn measured(&mut self, setup: &Setup, measured: &Measurement) -> Option<Evidence> {
        let (red, black) = (measured.red, measured.black);
        let touch = |node: crate::circuit::NodeId| {
            self.forecasts.vehicle().nodes[node.0 as usize]
                .touch
                .map(|touch| touch.tip)
        };
        let mut gross = Gross::of_tips([touch(red), touch(black)], measured.proved);
        let function = measured.function;
        let awake = self.awake();
        let (predicted, value, sigma) = match function {
            Function::Volts | Function::Millivolts => {
                let value = measured.value?;
                let across = |frame: &Frame| frame.across(red, black);
                (
                    self.predicted(setup, across, |frame| frame.pump.amps),
                    value,
                    meter_sigma(function, value),
                )
            }
            Function::LowVolts => {
                let value = measured.value?;
                let seen = self
                    .forecasts
                    .meter(setup, function, red, black, |draw| awake[draw]);
                let predicted = seen
                    .into_iter()
                    .map(|seen| Some(Predicted::plain(seen.flatten()?)));
                (predicted.collect(), value, meter_sigma(function, value))
            }
            Function::Ohms | Function::Continuity => {
                // On a live circuit the reading says nothing that could be worth a model.
                if measured.live {
                    return None;
                }
                gross.nothing = 0.0;
                let leads = if measured.zeroed {
                    0.0
                } else {
                    measured.lead_ohms
                };
                let value = ohms_scale(measured.value.map(|ohms| (ohms - leads).max(0.0)));
                let seen = self
                    .forecasts
                    .meter(setup, function, red, black, |draw| awake[draw]);
                let scaled =
                    |ohms: Option<f64>| ohms_scale(ohms.map(|ohms| (ohms - LEADS_OHMS).max(0.0)));
                let predicted = seen
                    .into_iter()
                    .map(|seen| Some(Predicted::plain(scaled(seen?))));
                (predicted.collect(), value, 0.25)
            }
            Function::Amps => return None,
        };
        // A tip in bad contact only makes a reading smaller, so of two that differ the larger counts.
        // Nor is the same reading new because the joints have grown warm since.
        let key = (setup.clone().after(0.0), function, red, black);
        let slack = 4.0 * sigma + 0.01 * libm::fabs(value);
        if self
            .told
            .get(&key)
            .is_some_and(|known| libm::fabs(value) <= libm::fabs(*known) + slack)
        {
            return None;
        }
        self.told.insert(key, value);
        Some(self.valued(
            &predicted,
            &Reading {
                value,
                sigma,
                gross,
            },
        ))
    }

    /// The forecasts of each hypothesis's draws for a setup, with the probability of each.
    pub(super) fn frames_by_hypothesis(&mut self, setup: &Setup) -> Vec<Vec<(f64, Arc<Forecast>)>> {
        let forecasts = self.forecasts_of(setup);
        let mut all = vec![Vec::new(); self.hypotheses.len()];
        for ((known, p), &h) in forecasts
            .into_iter()
            .zip(self.belief.draws())
            .zip(self.belief.hypothesis_of())
        {
            all[h].extend(known.map(|known| (p, known)));
        }
        all
    }

    /// What each draw that is asked predicts of one quantity. Tolerance is what differs between sound vehicles, taken as
    /// often as `load` is larger than theirs: volts lost in a joint go with the current.
    fn predicted(
        &mut self,
        setup: &Setup,
        quantity: impl Fn(&Frame) -> f64,
        load: impl Fn(&Frame) -> f64,
    ) -> Vec<Option<Predicted>> {
        /// Largest factor tolerance is taken at.
        const MOST: f64 = 3.0;
        let forecasts = self.forecasts_of(setup);
        let draws = self.forecasts.draws().iter().zip(&forecasts);
        let healthy: Vec<&Frame> = draws
            .filter(|(draw, _)| draw.fault.is_none())
            .filter_map(|(_, known)| Some(&known.as_ref()?.frame))
            .collect();
        let sound: Vec<f64> = healthy.iter().map(|frame| quantity(frame)).collect();
        let usual = healthy
            .iter()
            .map(|frame| libm::fabs(load(frame)))
            .sum::<f64>()
            / healthy.len().max(1) as f64;
        let one = |known: &Option<Arc<Forecast>>| {
            let known = known.as_ref()?;
            let share = libm::fabs(load(&known.frame)) / usual;
            let scale = if share.is_finite() {
                share.clamp(1.0, MOST)
            } else {
                1.0
            };
            let worse = known.worse.as_ref().map(&quantity);
            Some(Predicted::new(quantity(&known.frame), worse, &sound, scale))
        };
        forecasts.iter().map(one).collect()
    }

    fn clamped(&mut self, setup: &Setup, part: PartId, value: f64) -> Option<Evidence> {
        let vehicle = Arc::clone(self.forecasts.vehicle());
        let (element, _) = vehicle
            .elements_of(part)
            .find(|(_, element)| matches!(element.law, Law::Copper { .. }))?;
        let predicted = self.predicted(
            setup,
            |frame| frame.amps[element.0],
            |frame| frame.amps[element.0],
        );
        // Data sheet of a small clamp: 2 %; what its zero is worth when it was set, and when it was not.
        let zero = if self.track.clamp_zeroed() { 0.02 } else { 0.4 };
        let sigma = (0.0001 * value * value + zero * zero).sqrt();
        let gross = Gross {
            chance: 0.01,
            nothing: 0.0,
            width: 30.0,
        };
        Some(self.valued(
            &predicted,
            &Reading {
                value,
                sigma,
                gross,
            },
        ))
    }

    fn pressure(&mut self, setup: &Setup, pa: f64) -> Option<Evidence> {
        if !self.track.pressure_is_steady() {
            return None;
        }
        let predicted = self.predicted(
            setup,
            |frame| frame.pump.rail_pa / 1e3,
            |frame| frame.pump.rail_pa / 1e3,
        );
        // A gauge of grade A over 700 kPa, read to 5 kPa (ASME B40.100).
        let gross = Gross {
            chance: 0.01,
            nothing: 0.0,
            width: 700.0,
        };
        Some(self.valued(
            &predicted,
            &Reading {
                value: pa / 1e3,
                sigma: 4.0,
                gross,
            },
        ))
    }

    fn caught(&mut self, setup: &Setup, seconds: f64, volume_m3: f64) -> Evidence {
        /// Litres an hour in a cubic metre a second.
        const LITRES_AN_HOUR: f64 = 3.6e6;
        let predicted = self.predicted(
            setup,
            |frame| frame.pump.return_m3_s * LITRES_AN_HOUR,
            |frame| frame.pump.return_m3_s * LITRES_AN_HOUR,
        );
        let value = volume_m3 / seconds * LITRES_AN_HOUR;
        let gross = Gross {
            chance: 0.01,
            nothing: 0.0,
            width: 200.0,
        };
        self.valued(
            &predicted,
            &Reading {
                value,
                sigma: 0.015 * value + 0.6,
                gross,
            },
        )
    }

    /// Evidence of one number that each draw predicts.
    fn valued(&self, predicted: &[Option<Predicted>], reading: &Reading) -> Evidence {
        let mut shared = self.shared.clone();
        let logs = predicted
            .iter()
            .zip(&mut shared)
            .map(|(predicted, shared)| {
                let (log, after) = reading.judge(predicted.as_ref()?, shared);
                *shared = after;
                Some(log)
            });
        let logs = logs.collect();
        let edges = edges(predicted);
        let chances = |(predicted, shared): (&Option<Predicted>, &Shared)| {
            predicted.map_or_else(Vec::new, |predicted| {
                reading.bins(&edges, &predicted, shared)
            })
        };
        let table = predicted.iter().zip(&self.shared).map(chances).collect();
        Evidence {
            logs,
            table: Some(table),
            shared: Some(shared),
        }
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

/// Bounds of bins that hold equally many predictions.
fn edges(predicted: &[Option<Predicted>]) -> Vec<f64> {
    let mut sorted: Vec<f64> = predicted
        .iter()
        .filter_map(|predicted| Some(predicted.as_ref()?.mean))
        .collect();
    sorted.sort_by(f64::total_cmp);
    let quantile = |k: usize| {
        sorted
            .get(k * sorted.len() / BINS)
            .map(|value| value + 1e-9)
    };
    let (low, high) = (
        sorted.first().copied().unwrap_or(0.0),
        sorted.last().copied().unwrap_or(1.0),
    );
    let mut edges = vec![low.min(0.0) - 1.0];
    edges.extend((1..BINS).filter_map(quantile));
    edges.push(high.max(0.0) + 1.0);
    edges.dedup();
    edges
}

/// What one observation says of each draw.
struct Evidence {
    /// Nothing for a draw that was not asked.
    logs: Vec<Option<f64>>,
    /// Chance of each outcome under each draw, for what was to be expected of the test.
    table: Option<Vec<Vec<f64>>>,
    /// What the readings of each draw share after this one.
    shared: Option<Vec<Shared>>,
}

impl Evidence {
    fn plain(logs: Vec<Option<f64>>) -> Evidence {
        Evidence {
            logs,
            table: None,
            shared: None,
        }
    }
}
