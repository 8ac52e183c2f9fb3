//! From what is believed of a vehicle to a problem that can be planned on: the tests that could be done, what each hypothesis
//! makes of them, and what everything costs as things stand.
//!
//! Planning takes each reading for certain: the range a hypothesis most likely puts it in (certainty equivalence). The
//! plan is made anew on the belief after every reading, so that the noise left out here is met there. A repair is a piece
//! of work that is there once it is done; a road test after it tells whether it cured. Costs are minutes of labour, parts
//! counted at the labour rate.

use std::sync::Arc;

use super::account::{Account, Seen};
use super::forecast::Frame;
use super::information::expected_bits;
use super::plan::{Choice, Depth, Planner};
use super::problem::{Problem, ProblemError, Remedy, State, Test};
use super::ranges::ranges;
use super::repairs::{COMEBACK_MINUTES, Repairs};
use super::setup::Setup;
use super::track::Standing;
use super::works::{Works, modes};
use crate::circuit::NodeId;
use crate::units::Flow;
use crate::vehicle::{ElementId, Law, PartId, PumpPart, Vehicle};

/// A test the reference considers.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Probe {
    /// Volts of a point against the vehicle's reference, key on, the pump commanded or not.
    Volts {
        /// Where the red tip goes.
        point: NodeId,
        /// Pump commanded.
        pump: bool,
    },
    /// Current through a wire by clamp, pump commanded.
    Current(PartId),
    /// Listening while the pump is commanded.
    Listen,
    /// A close look at a part.
    Look(PartId),
    /// Pressure at the service port, pump commanded.
    Pressure,
    /// Pressure behind a lift pump, by a tee in its line, pump commanded.
    LiftPressure,
    /// Timed flow through the return line, pump commanded.
    Flow,
    /// A glass of fuel drawn from the line.
    Sample,
    /// A repair, by its place in [`Repairs::all`], and a road test to see whether it cured.
    Try(usize),
}

/// Sizes of a problem for planning; larger is slower and loses less. Ours, measured on the built-in vehicle.
struct Size {
    /// Hypotheses kept, the likeliest.
    hypotheses: usize,
    /// Probability of a hypothesis that is not kept, share of the likeliest's.
    least: f64,
    /// Tests kept, those with most bits for their cost.
    tests: usize,
    /// Bits below which a test is left out.
    bits: f64,
    /// Probability of a repair from which trying it is considered.
    tried: f64,
}

const SIZE: Size = Size {
    hypotheses: 128,
    least: 1e-3,
    tests: 40,
    bits: 0.03,
    tried: 0.03,
};

/// What can be planned on from one belief.
pub struct Reference {
    problem: Problem,
    probes: Vec<Option<Probe>>,
    bits: Vec<f64>,
    /// Probability left out because it was spread over too many hypotheses.
    dropped: f64,
    works: Works,
    repairs: Repairs,
    /// Repairs that can be planned on, in the order of the problem's remedies.
    planned: Vec<usize>,
    standing: Standing,
    /// Place of the test that was really done among the problem's.
    done_test: Option<usize>,
}

/// What the reference would do next.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Advice {
    /// A test, or a repair by its place in [`Repairs::all`] to finish with.
    pub next: Next,
    /// What the job is expected to cost from here, minutes of labour.
    pub minutes: f64,
    /// States valued to find out.
    pub work: u64,
}

/// A test or a repair.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Next {
    /// Do this test.
    Probe(Probe),
    /// Do this repair, unless it is done, and finish.
    Repair(usize),
}

/// A test that was really done, to be weighed among those that could have been.
pub struct Done<'s> {
    /// What it showed.
    pub seen: &'s Seen,
    /// What it cost, minutes of labour.
    pub minutes: f64,
    /// Where the job stood before it.
    pub before: Standing,
}

impl Reference {
    /// The problem as an account of an attempt stands.
    pub fn new(account: &mut Account) -> Result<Reference, ProblemError> {
        Reference::build(account, None, None)
    }

    /// The problem before a test that was really done and that the account has weighed but not taken.
    pub fn with(account: &mut Account, done: &Done) -> Result<Reference, ProblemError> {
        Reference::build(account, Some(done), None)
    }

    /// The problem before a repair that is about to be done.
    pub fn before_repair(
        account: &mut Account,
        repair: Option<usize>,
    ) -> Result<Reference, ProblemError> {
        Reference::build(account, None, repair)
    }

    fn build(
        account: &mut Account,
        done: Option<&Done>,
        wanted: Option<usize>,
    ) -> Result<Reference, ProblemError> {
        let vehicle = Arc::clone(account.forecasts().vehicle());
        let (kept, dropped) = likeliest(&account.belief().probabilities());
        let prior: Vec<f64> = kept.iter().map(|&(_, p)| p).collect();
        let repairs = account.repairs().clone();
        let after = account.standing();
        let standing = done.map_or_else(|| after.clone(), |done| done.before.clone());
        let planned = planned(&repairs, &kept, &after, wanted);
        let works = Works::of(&vehicle, &repairs, planned.clone());
        let already = works.done(&repairs, &standing);
        let mut tests: Vec<(f64, Option<Probe>, Test, f64)> = Vec::new();
        for (probe, bits, outcomes) in considered(account, &vehicle, &kept, &repairs, &planned) {
            if account.tried().contains(&probe) && done.is_none() {
                continue;
            }
            let test = works.test(&vehicle, &repairs, probe, outcomes);
            let minutes = test.cost + works.missing(test.needs, already);
            tests.push((bits / minutes.max(0.1), Some(probe), test, bits));
        }
        // Most bits for cost first; the order of the list decides between equals.
        tests.sort_by(|a, b| b.0.total_cmp(&a.0));
        tests.truncate(SIZE.tests);
        let mut done_test = None;
        if let Some(done) = done
            && let Some((bits, outcomes)) = account.outcomes(done.seen, &kept)
        {
            done_test = Some(tests.len());
            let new = works.done(&repairs, &after) & !already;
            let change = standing.mode.switching(after.mode) / 60.0;
            let test = Test {
                cost: (done.minutes - works.missing(new, already) - change).max(0.0),
                needs: new,
                mode: Some(after.mode as u8),
                outcomes,
            };
            tests.push((0.0, None, test, bits));
        }
        let problem = Problem {
            remedies: remedies(account, &repairs, &works, &kept, &planned),
            prior,
            works: works.minutes.clone(),
            modes: modes(),
            tests: tests.iter().map(|(_, _, test, _)| test.clone()).collect(),
        };
        problem.check()?;
        Ok(Reference {
            problem,
            probes: tests.iter().map(|(_, probe, _, _)| *probe).collect(),
            bits: tests.iter().map(|(_, _, _, bits)| *bits).collect(),
            dropped,
            works,
            repairs,
            planned,
            standing,
            done_test,
        })
    }

    /// The problem planned on.
    #[must_use]
    pub fn problem(&self) -> &Problem {
        &self.problem
    }

    /// The tests considered, in the order of the problem's; nothing for the one that was really done.
    #[must_use]
    pub fn probes(&self) -> &[Option<Probe>] {
        &self.probes
    }

    /// Probability of the hypotheses left out.
    #[must_use]
    pub fn dropped(&self) -> f64 {
        self.dropped
    }

    /// Bits a test it considers is expected to tell of the hypothesis.
    #[must_use]
    pub fn bits(&self, probe: Probe) -> Option<f64> {
        let place = self.probes.iter().position(|known| *known == Some(probe))?;
        Some(self.bits[place])
    }

    /// What handing back or the best repair without another test is expected to cost, minutes.
    #[must_use]
    pub fn minutes_to_stop(&self) -> f64 {
        self.problem.stop(&self.state()).1
    }

    /// What handing back as it is is expected to cost, minutes.
    #[must_use]
    pub fn minutes_to_hand_back(&self) -> f64 {
        let losses = self
            .problem
            .prior
            .iter()
            .zip(&self.problem.remedies[0].loss);
        losses.map(|(p, loss)| p * loss).sum()
    }

    /// Where the attempt stands.
    #[must_use]
    pub fn state(&self) -> State {
        self.state_at(&self.standing)
    }

    /// The state of planning where the job stands otherwise.
    #[must_use]
    pub fn state_at(&self, standing: &Standing) -> State {
        State {
            done: self.works.done(&self.repairs, standing),
            mode: standing.mode as u8,
            ..self.problem.start()
        }
    }

    /// What to do next, looking ahead on at most `limit` states.
    #[must_use]
    pub fn advice(&self, depth: Depth, limit: u64) -> Advice {
        self.advice_by(&mut Planner::new(&self.problem, limit), depth)
    }

    /// What to do next, by a planner of this problem that may know some of it already.
    pub fn advice_by(&self, planner: &mut Planner, depth: Depth) -> Advice {
        let state = self.state();
        let minutes = planner.value(depth, &state);
        let next = match planner.choice(depth, &state) {
            Choice::Test(test) => self.probes[test].map(Next::Probe),
            Choice::Stop(remedy) => Some(Next::Repair(self.planned[remedy])),
        };
        Advice {
            // The test that was really done stands in for itself only where it is the best: then the runner-up is told.
            next: next.unwrap_or_else(|| self.runner_up(planner, depth, &state)),
            minutes,
            work: planner.work(),
        }
    }

    fn runner_up(&self, planner: &mut Planner, depth: Depth, state: &State) -> Next {
        let stop = self.problem.stop(state);
        let mut best = (stop.1, Next::Repair(self.planned[stop.0]));
        for (test, probe) in self.probes.iter().enumerate() {
            let Some(probe) = probe else { continue };
            let q = planner.q(depth, state, Choice::Test(test));
            if q < best.0 {
                best = (q, Next::Probe(*probe));
            }
        }
        best.1
    }

    /// What the job is expected to cost if the test that was really done is done and the reference goes on after it.
    pub fn minutes_of_done(&self, planner: &mut Planner, depth: Depth) -> Option<f64> {
        Some(planner.q(depth, &self.state(), Choice::Test(self.done_test?)))
    }

    /// What the job is expected to cost if this is done next and the reference after it, minutes; nothing for what it
    /// did not consider. Less [`Advice::minutes`], this is the regret of the choice.
    #[must_use]
    pub fn minutes_after(&self, next: Next, depth: Depth, limit: u64) -> Option<f64> {
        let choice = match next {
            Next::Repair(repair) => {
                Choice::Stop(self.planned.iter().position(|known| *known == repair)?)
            }
            Next::Probe(probe) => {
                Choice::Test(self.probes.iter().position(|known| *known == Some(probe))?)
            }
        };
        Some(Planner::new(&self.problem, limit).q(depth, &self.state(), choice))
    }
}

/// The likeliest hypotheses with their probabilities, together one, in order of index; and what was left out.
fn likeliest(p: &[f64]) -> (Vec<(usize, f64)>, f64) {
    let mut order: Vec<(usize, f64)> = p.iter().copied().enumerate().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    order.truncate(SIZE.hypotheses);
    let least = order.first().map_or(0.0, |(_, p)| SIZE.least * p);
    order.retain(|(_, p)| *p >= least);
    order.sort_by_key(|&(index, _)| index);
    let whole: f64 = order.iter().map(|&(_, p)| p).sum();
    for (_, p) in &mut order {
        *p /= whole;
    }
    (order, (1.0 - whole).max(0.0))
}

/// Repairs that are planned on: handing back first, those that are right for a kept hypothesis, those already done, and
/// the one about to be done.
fn planned(
    repairs: &Repairs,
    kept: &[(usize, f64)],
    standing: &Standing,
    wanted: Option<usize>,
) -> Vec<usize> {
    let done = standing
        .done
        .iter()
        .filter_map(|&done| repairs.position(done));
    let right = kept.iter().map(|&(h, _)| repairs.class_of()[h]);
    let mut planned: Vec<usize> = done
        .chain(right)
        .chain(wanted)
        .filter(|&r| r != 0)
        .collect();
    planned.sort_unstable();
    planned.dedup();
    planned.insert(0, 0);
    planned
}

/// Every test that tells something, with its bits and the likeliest outcome under each kept hypothesis.
fn considered(
    account: &mut Account,
    vehicle: &Vehicle,
    kept: &[(usize, f64)],
    repairs: &Repairs,
    planned: &[usize],
) -> Vec<(Probe, f64, Vec<u8>)> {
    let prior: Vec<f64> = kept.iter().map(|&(_, p)| p).collect();
    let mut all = Vec::new();
    let stands = |pump: bool| Setup {
        remedies: account.setup().remedies.clone(),
        fills: account.setup().fills.clone(),
        ..Setup::key_on(pump)
    };
    let flow = |frame: &Frame| Flow(frame.pump.return_m3_s).litres_an_hour();
    let mut setups = vec![stands(true), stands(false)];
    if vehicle.flow_part().is_none() {
        setups.push(stands(false).catching(None));
    }
    for setup in setups {
        let pump = setup.pump;
        let forecasts = account.forecasts_of(&setup);
        let mut add =
            |probe, sigma: f64, quantity: &dyn Fn(&Frame) -> f64, load: &dyn Fn(&Frame) -> f64| {
                let predicted = account.predictions(&setup, &forecasts, quantity, load);
                let places = account.places(&predicted, sigma);
                if let Some((bits, outcomes)) =
                    ranges(&prior, &account.by_hypothesis(&places, kept))
                    && bits >= SIZE.bits
                {
                    all.push((probe, bits, outcomes));
                }
            };
        if setup.feed_off {
            add(Probe::Flow, 2.0, &flow, &flow);
            continue;
        }
        let amps = |frame: &Frame| frame.pump.amps;
        for point in vehicle.plugged_points() {
            // Through an opened tank nobody reads with the pump commanded.
            if point != vehicle.reference && !(pump && vehicle.is_in_tank(vehicle.place_of(point)))
            {
                let volts = |frame: &Frame| frame.across(point, vehicle.reference);
                add(Probe::Volts { point, pump }, 0.02, &volts, &amps);
            }
        }
        if pump {
            let speed =
                |frame: &Frame| frame.pump.rad_s * 60.0 / core::f64::consts::TAU / frame.usual_rpm;
            add(Probe::Listen, 0.08, &speed, &speed);
            let pressure = |frame: &Frame| frame.pump.rail_pa / 1e3;
            add(Probe::Pressure, 5.0, &pressure, &pressure);
            if vehicle.lift.is_some() {
                add(Probe::Listen, 0.08, &Frame::lift_pitch, &Frame::lift_pitch);
                add(Probe::LiftPressure, 5.0, &Frame::lift_kpa, &Frame::lift_kpa);
            }
            if vehicle.flow_part().is_some() {
                add(Probe::Flow, 2.0, &flow, &flow);
            }
            for part in clampable(vehicle) {
                let Some((element, _)) = vehicle
                    .elements_of(part)
                    .find(|(_, e)| matches!(e.law, Law::Copper { .. }))
                else {
                    continue;
                };
                let amps = |frame: &Frame| frame.amps[element.0];
                add(Probe::Current(part), 0.1, &amps, &amps);
            }
        }
    }
    let classes: Vec<usize> = kept.iter().map(|&(h, _)| h).collect();
    for part in (0..vehicle.parts.len()).map(PartId) {
        let outcomes = account.looks(vehicle, &classes, part);
        all.extend(
            two_sided(&prior, outcomes).map(|(bits, outcomes)| (Probe::Look(part), bits, outcomes)),
        );
    }
    let glass = account.in_the_glass(&classes);
    let rows: Vec<Vec<f64>> = glass
        .iter()
        .map(|&o| (0..3).map(|k| if k == o { 1.0 } else { 0.0 }).collect())
        .collect();
    let bits = expected_bits(&prior, &rows);
    if bits >= SIZE.bits {
        all.push((Probe::Sample, bits, glass));
    }
    for &repair in planned.iter().filter(|&&repair| repair != 0) {
        let cured = |&(h, _): &(usize, f64)| u8::from(repairs.cures(repair, h));
        let outcomes: Vec<u8> = kept.iter().map(cured).collect();
        let chance: f64 = prior
            .iter()
            .zip(&outcomes)
            .map(|(p, o)| p * f64::from(*o))
            .sum();
        if chance >= SIZE.tried {
            all.extend(
                two_sided(&prior, outcomes)
                    .map(|(bits, outcomes)| (Probe::Try(repair), bits, outcomes)),
            );
        }
    }
    all
}

/// Bits of a test with certain outcomes; nothing if it tells nothing apart.
fn two_sided(prior: &[f64], outcomes: Vec<u8>) -> Option<(f64, Vec<u8>)> {
    if outcomes.iter().all(|o| *o == outcomes[0]) {
        return None;
    }
    let rows: Vec<Vec<f64>> = outcomes
        .iter()
        .map(|&o| vec![f64::from(1 - o), f64::from(o)])
        .collect();
    Some((expected_bits(prior, &rows), outcomes))
}

/// Wires of the pump's own loop that a clamp can be closed around, the easiest to get at.
fn clampable(vehicle: &Vehicle) -> Vec<PartId> {
    let easiest = |pump| easiest_wires(vehicle, pump);
    vehicle.pumps().flat_map(easiest).collect()
}

fn easiest_wires(vehicle: &Vehicle, pump: &PumpPart) -> Vec<PartId> {
    let shared = vehicle.pump_way().elements;
    let way = vehicle.way_of(pump);
    let main = pump.part == vehicle.pump.part;
    // Of a lift pump only what is its own.
    let own = |id: &&ElementId| main || !shared.contains(id);
    let mut wires: Vec<(usize, PartId)> = way
        .elements
        .iter()
        .filter(own)
        .map(|id| &vehicle.elements[id.0])
        .filter(|e| matches!(e.law, Law::Copper { .. }))
        .map(|e| {
            let place = vehicle.parts[e.part.0].place;
            (vehicle.access_to(place).len(), e.part)
        })
        .collect();
    wires.sort_unstable();
    wires.dedup();
    wires.truncate(2);
    wires.into_iter().map(|(_, part)| part).collect()
}

fn remedies(
    account: &Account,
    repairs: &Repairs,
    works: &Works,
    kept: &[(usize, f64)],
    planned: &[usize],
) -> Vec<Remedy> {
    let done: Vec<usize> = account
        .setup()
        .done()
        .filter_map(|done| repairs.position(done))
        .collect();
    let right = |h: usize| &repairs.all()[repairs.class_of()[h]];
    let loss = |repair: usize, h: usize| {
        if repairs.cures(repair, h) || done.iter().any(|&done| repairs.cures(done, h)) {
            0.0
        } else {
            // It comes back, and then the right repair is made with everything it takes.
            let access: f64 = right(h).needs.iter().map(|id| works.minutes[id.0]).sum();
            COMEBACK_MINUTES + right(h).minutes + access
        }
    };
    planned
        .iter()
        .map(|&repair| Remedy {
            needs: works.of_repair(repairs, repair),
            loss: kept.iter().map(|&(h, _)| loss(repair, h)).collect(),
        })
        .collect()
}
