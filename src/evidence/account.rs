//! What a learner could know after each action of an attempt.

use std::sync::Arc;

use super::belief::{Belief, realised_bits};
use super::draws::{Hypothesis, Pool};
use super::information::{expected_bits, expected_class_bits};
use super::likelihood::{Gross, Reading, bins, drive_log, fuse_log, look_log, meter_sigma, ohms_scale, sound, sound_log};
use super::repairs::Repairs;
use super::setup::{Forecasts, Frame, Setup};
use super::track::Track;
use crate::bay::{Action, Closed, Entry, Fact, Measurement};
use crate::fault::{Fault, Sense};
use crate::instrument::{Function, Quantity};
use crate::rig::RigError;
use crate::scenario::symptoms_told;
use crate::vehicle::{Kind, Law, PartId};

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
    forecasts: Forecasts,
    catalogue: Arc<crate::fault::Catalogue>,
    track: Track,
    steps: Vec<Step>,
    /// What each measurement of one setup and pair of points told, so that its repeat is not counted again.
    told: Vec<Told>,
}

#[derive(Clone, Debug)]
struct Told {
    setup: Setup,
    function: Function,
    ends: (crate::circuit::NodeId, crate::circuit::NodeId),
    value: f64,
    logs: Vec<f64>,
}

impl Account {
    /// What can be believed before the first action: after reading the work order at a level.
    #[must_use]
    pub fn begin(pool: &Pool, level: u8, customer: &str) -> Account {
        let (hypotheses, belief, draws) = pool.after_complaint(level, &symptoms_told(customer));
        let forecasts = Forecasts::new(pool.vehicle(), pool.catalogue(), draws);
        let repairs = Repairs::of(pool.vehicle(), pool.catalogue(), &hypotheses);
        Account {
            hypotheses,
            repairs,
            belief,
            forecasts,
            catalogue: Arc::clone(pool.catalogue()),
            track: Track::default(),
            steps: Vec::new(),
            told: Vec::new(),
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
        let before = self.belief.clone();
        let mut expected = None;
        for evidence in self.evidence(entry) {
            if let Some(table) = &evidence.table {
                let prior = before.draws();
                let bits = self.bits(&prior, table);
                let known: (f64, f64) = expected.unwrap_or((0.0, 0.0));
                expected = Some((known.0 + bits.0, known.1 + bits.1));
            } else {
                expected = expected.or(Some((0.0, 0.0)));
            }
            self.belief.update(|draw| evidence.logs[draw]);
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

    /// Bits a table of outcome chances for each draw is expected to tell of the hypothesis and of the repair.
    fn bits(&self, prior: &[f64], table: &[Vec<f64>]) -> (f64, f64) {
        let outcomes = table.first().map_or(0, Vec::len);
        let mut rows = vec![vec![0.0; outcomes]; self.hypotheses.len()];
        let mut masses = vec![0.0; self.hypotheses.len()];
        for ((&h, &p), row) in self.belief.hypothesis_of().iter().zip(prior).zip(table) {
            masses[h] += p;
            for (sum, &chance) in rows[h].iter_mut().zip(row) {
                *sum += p * chance;
            }
        }
        for (row, &mass) in rows.iter_mut().zip(&masses) {
            for chance in row {
                *chance = if mass > 0.0 { *chance / mass } else { 1.0 / outcomes as f64 };
            }
        }
        (expected_bits(&masses, &rows), expected_class_bits(&masses, self.repairs.class_of(), &rows))
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
                    all.push(Evidence::plain(due.iter().map(|due| drive_log(due, symptoms)).collect()));
                }
                _ => {}
            }
        }
        for reading in &entry.readings {
            let Some(value) = reading.value else { continue };
            all.extend(match (reading.quantity, &entry.action) {
                (Quantity::Current, _) => self.track.clamped().and_then(|part| self.clamped(&setup, part, value)),
                (Quantity::Pressure, _) => self.pressure(&setup, value),
                (Quantity::Volume, Action::Flow { seconds }) => Some(self.caught(&setup, *seconds, value)),
                _ => None,
            });
        }
        if let Some(heard) = sound(&entry.said) {
            let frames = self.forecasts.frames(&setup);
            let log = |frame: &Option<Arc<Frame>>| frame.as_ref().map_or(0.0, |frame| sound_log(frame, heard));
            all.push(Evidence::plain(frames.iter().map(log).collect()));
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
        let frames = self.forecasts.frames(setup);
        let window = vehicle.parts[part.0].kind == Kind::Fuse && senses[0] == Sense::Look;
        let open = entry.said.iter().any(|line| line.contains("bridge in its window is gone"));
        let cured = |fault: &&Fault| {
            let remedies = &setup.remedies;
            !remedies.iter().any(|&(part, element, remedy)| {
                crate::fault::cured_by(&vehicle, &self.catalogue, fault, part, element, remedy)
            })
        };
        let logs = self.forecasts.draws().iter().zip(&frames).map(|(draw, frame)| {
            let fault = draw.fault.as_ref().filter(cured);
            let seen = look_log(&vehicle, &self.catalogue, fault, part, senses, &entry.said);
            let fuse = match frame {
                Some(frame) if window => fuse_log(frame, fault, &self.catalogue, part, open),
                _ => 0.0,
            };
            seen + fuse
        });
        Some(Evidence::plain(logs.collect()))
    }

    fn measured(&mut self, setup: &Setup, measured: &Measurement) -> Option<Evidence> {
        let (red, black) = (measured.red, measured.black);
        let touch = |node: crate::circuit::NodeId| {
            self.forecasts.vehicle().nodes[node.0 as usize].touch.map(|touch| touch.tip)
        };
        let mut gross = Gross::of_tips([touch(red), touch(black)], measured.proved);
        let function = measured.function;
        let (means, value, sigma) = match function {
            Function::Volts | Function::Millivolts => {
                let value = measured.value?;
                let frames = self.forecasts.frames(setup);
                let means = frames.iter().map(|frame| frame.as_ref().map(|frame| frame.across(red, black)));
                (means.collect::<Vec<Option<f64>>>(), value, meter_sigma(function, value))
            }
            Function::LowVolts => {
                let value = measured.value?;
                let seen = self.forecasts.meter(setup, function, red, black);
                (seen.into_iter().map(Option::flatten).collect(), value, meter_sigma(function, value))
            }
            Function::Ohms | Function::Continuity => {
                // Half an ohm of leads and its zero, and readings on a live circuit, are not worth a finer model.
                if measured.live {
                    return None;
                }
                gross.nothing = 0.0;
                let leads = if measured.zeroed { 0.0 } else { measured.lead_ohms };
                let value = ohms_scale(measured.value.map(|ohms| (ohms - leads).max(0.0)));
                let seen = self.forecasts.meter(setup, function, red, black);
                let means = seen.into_iter().map(|seen| seen.map(|ohms| ohms_scale(ohms.map(|o| (o - 0.25).max(0.0)))));
                (means.collect(), value, 0.15)
            }
            Function::Amps => return None,
        };
        let reading = Reading { value, sigma, gross };
        let mut evidence = self.valued(&means, &reading);
        let same = |told: &Told| {
            told.setup == *setup && told.function == function && told.ends == (red, black)
        };
        if let Some(place) = self.told.iter().position(same) {
            let known = &mut self.told[place];
            // A tip in bad contact only makes a reading smaller, so of two that differ the larger counts.
            let slack = 4.0 * sigma + 0.01 * libm::fabs(value);
            if libm::fabs(value) <= libm::fabs(known.value) + slack {
                return None;
            }
            let new = evidence.logs.clone();
            for (log, old) in evidence.logs.iter_mut().zip(&known.logs) {
                *log -= old;
            }
            (known.value, known.logs) = (value, new);
        } else {
            let (setup, logs) = (setup.clone(), evidence.logs.clone());
            self.told.push(Told { setup, function, ends: (red, black), value, logs });
        }
        Some(evidence)
    }

    fn clamped(&mut self, setup: &Setup, part: PartId, value: f64) -> Option<Evidence> {
        let vehicle = Arc::clone(self.forecasts.vehicle());
        let (element, _) =
            vehicle.elements_of(part).find(|(_, element)| matches!(element.law, Law::Copper { .. }))?;
        let frames = self.forecasts.frames(setup);
        let means: Vec<Option<f64>> =
            frames.iter().map(|frame| frame.as_ref().map(|frame| frame.amps[element.0])).collect();
        // Data sheet of a small clamp: 2 %; what its zero is worth when it was set, and when it was not.
        let zero = if self.track.clamp_zeroed() { 0.02 } else { 0.4 };
        let sigma = (0.0001 * value * value + zero * zero).sqrt();
        let gross = Gross { chance: 0.01, nothing: 0.0, width: 30.0 };
        Some(self.valued(&means, &Reading { value, sigma, gross }))
    }

    fn pressure(&mut self, setup: &Setup, pa: f64) -> Option<Evidence> {
        if !self.track.pressure_is_steady() {
            return None;
        }
        let frames = self.forecasts.frames(setup);
        let means: Vec<Option<f64>> =
            frames.iter().map(|frame| frame.as_ref().map(|frame| frame.pump.rail_pa / 1e3)).collect();
        // A gauge of grade A over 700 kPa, read to 5 kPa (ASME B40.100).
        let gross = Gross { chance: 0.01, nothing: 0.0, width: 700.0 };
        Some(self.valued(&means, &Reading { value: pa / 1e3, sigma: 4.0, gross }))
    }

    fn caught(&mut self, setup: &Setup, seconds: f64, volume_m3: f64) -> Evidence {
        let frames = self.forecasts.frames(setup);
        let litres = 3.6e6 / seconds;
        let means: Vec<Option<f64>> = frames
            .iter()
            .map(|frame| frame.as_ref().map(|frame| frame.pump.return_m3_s * 3.6e6))
            .collect();
        let value = volume_m3 * litres;
        let gross = Gross { chance: 0.01, nothing: 0.0, width: 200.0 };
        self.valued(&means, &Reading { value, sigma: 0.015 * value + 0.6, gross })
    }

    /// Evidence of one number that each draw predicts.
    fn valued(&self, means: &[Option<f64>], reading: &Reading) -> Evidence {
        let spreads = self.spreads(means);
        let logs = means.iter().zip(&spreads).map(|(mean, &spread)| {
            mean.map_or_else(|| libm::log(reading.gross.chance), |mean| reading.log_likelihood(mean, spread))
        });
        let mut sorted: Vec<f64> = means.iter().filter_map(|mean| *mean).collect();
        sorted.sort_by(f64::total_cmp);
        let mut edges: Vec<f64> =
            (1..BINS).filter_map(|k| sorted.get(k * sorted.len() / BINS).copied()).map(|v| v + 1e-9).collect();
        edges.dedup();
        let (low, high) = (sorted.first().copied().unwrap_or(0.0), sorted.last().copied().unwrap_or(1.0));
        edges.insert(0, low.min(0.0) - 1.0);
        edges.push(high.max(0.0) + 1.0);
        let table = means.iter().zip(&spreads).map(|(mean, &spread)| {
            let even = 1.0 / (edges.len() - 1) as f64;
            mean.map_or_else(
                || vec![even; edges.len() - 1],
                |mean| bins(&edges, mean, reading.sigma, spread, &reading.gross),
            )
        });
        Evidence { logs: logs.collect(), table: Some(table.collect()) }
    }

    /// How far what the draws of a hypothesis stand for spreads about each of them: a few draws stand for all
    /// severities between them (the normal reference rule, Silverman 1986).
    fn spreads(&self, means: &[Option<f64>]) -> Vec<f64> {
        let mut sums = vec![(0.0, 0.0, 0.0); self.hypotheses.len()];
        for (&h, mean) in self.belief.hypothesis_of().iter().zip(means) {
            if let Some(mean) = mean {
                let (count, sum, squares) = &mut sums[h];
                *count += 1.0;
                *sum += mean;
                *squares += mean * mean;
            }
        }
        let spread = |h: usize, mean: f64| {
            let (count, sum, squares): (f64, f64, f64) = sums[h];
            if count < 2.0 {
                return 0.05 * libm::fabs(mean);
            }
            let variance = ((squares - sum * sum / count) / (count - 1.0)).max(0.0);
            0.9 * variance.sqrt() * libm::pow(count, -0.2)
        };
        let of = self.belief.hypothesis_of().iter().zip(means);
        of.map(|(&h, mean)| mean.map_or(0.0, |mean| spread(h, mean))).collect()
    }

    /// The repair that is right for a fault, by its place in [`Account::repairs`]; nothing if it was never believed in.
    #[must_use]
    pub fn right_for(&self, fault: &Fault) -> Option<usize> {
        let name = Hypothesis::of(&self.catalogue, fault);
        let exact = self.hypotheses.iter().position(|hypothesis| *hypothesis == name);
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

/// What one observation says of each draw.
struct Evidence {
    logs: Vec<f64>,
    /// Chance of each outcome under each draw, for what was to be expected of the test.
    table: Option<Vec<Vec<f64>>>,
}

impl Evidence {
    fn plain(logs: Vec<f64>) -> Evidence {
        Evidence { logs, table: None }
    }
}
