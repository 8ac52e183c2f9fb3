//! From what is believed of a vehicle to a problem that can be planned on: the tests that could be done, what each hypothesis
//! makes of them, and what everything costs as things stand.
//!
//! Planning takes each reading for certain: the range a hypothesis most likely puts it in (certainty equivalence). The
//! plan is made anew on the belief after every reading, so that the noise left out here is met there. Costs are minutes
//! of labour, parts counted at the labour rate.

use std::collections::BTreeSet;

use super::account::Account;
use super::information::{Predicted, binned, expected_bits};
use super::mixture::Mixture;
use super::plan::{Choice, Depth, Planner};
use super::problem::{Problem, ProblemError, Remedy, Test};
use super::repairs::COMEBACK_MINUTES;
use super::setup::{Frame, Setup};
use crate::bay::TIMES;
use crate::circuit::NodeId;
use crate::instrument::LeadSet;
use crate::vehicle::{AccessId, Kind, PlaceId, Vehicle, node_index};

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
    /// Listening while the pump is commanded.
    Listen,
    /// Pressure at the service port, pump commanded.
    Pressure,
    /// Timed flow through the return line, pump commanded.
    Flow,
}

/// Sizes of a problem for planning; larger is slower and loses less. Ours, measured on the built-in vehicle.
struct Size {
    /// Hypotheses kept, the likeliest.
    hypotheses: usize,
    /// Tests kept, those with most bits for their cost.
    tests: usize,
    /// Ranges a reading is put into.
    outcomes: usize,
    /// Places where a range may end.
    cuts: usize,
    /// Bits below which a test is left out.
    bits: f64,
}

const SIZE: Size = Size {
    hypotheses: 128,
    tests: 48,
    outcomes: 4,
    cuts: 16,
    bits: 0.02,
};

/// Key off, key on, pump commanded.
const MODES: [u8; 3] = [0, 1, 2];

/// What can be planned on from one belief.
#[derive(Clone, PartialEq, Debug)]
pub struct Reference {
    problem: Problem,
    probes: Vec<Probe>,
    /// Probability left out because it was spread over too many hypotheses.
    dropped: f64,
    done: u128,
    mode: u8,
}

/// What the reference would do next.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Advice {
    /// A test, or a repair by its place in [`super::Repairs::all`].
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
    /// Do this repair and finish.
    Repair(usize),
}

impl Reference {
    /// The problem as an account of an attempt stands, with access work `done`.
    pub fn new(
        account: &mut Account,
        done: &BTreeSet<AccessId>,
    ) -> Result<Reference, ProblemError> {
        let vehicle = std::sync::Arc::clone(account.forecasts().vehicle());
        let (kept, dropped) = likeliest(&account.belief().probabilities());
        let prior: Vec<f64> = kept.iter().map(|&(_, p)| p).collect();
        let extra = Extra::of(&vehicle);
        let mut tests: Vec<(f64, Probe, Test)> = Vec::new();
        for (probe, predicted) in predictions(account, &vehicle, &kept) {
            let Some((bits, outcomes)) = ranges(&prior, &predicted) else {
                continue;
            };
            let test = extra.test(&vehicle, probe, outcomes);
            let works: f64 = test.cost + extra.missing(&test, done);
            tests.push((bits / works, probe, test));
        }
        // Most bits for cost first; the order of the list decides between equals.
        tests.sort_by(|a, b| b.0.total_cmp(&a.0));
        tests.truncate(SIZE.tests);
        let problem = Problem {
            remedies: remedies(account, &kept, vehicle.accesses.len()),
            prior,
            works: extra.works.clone(),
            modes: modes(),
            tests: tests.iter().map(|(_, _, test)| test.clone()).collect(),
        };
        problem.check()?;
        let setup = account.setup();
        let mode = match (setup.key, setup.pump) {
            (crate::vehicle::Key::Off, _) => 0,
            (_, false) => 1,
            (_, true) => 2,
        };
        Ok(Reference {
            problem,
            probes: tests.iter().map(|&(_, probe, _)| probe).collect(),
            dropped,
            done: done.iter().fold(0, |bits, access| bits | 1 << access.0),
            mode,
        })
    }

    /// The problem planned on.
    #[must_use]
    pub fn problem(&self) -> &Problem {
        &self.problem
    }

    /// The tests considered, in the order of the problem's.
    #[must_use]
    pub fn probes(&self) -> &[Probe] {
        &self.probes
    }

    /// Probability of the hypotheses left out.
    #[must_use]
    pub fn dropped(&self) -> f64 {
        self.dropped
    }

    /// Where the attempt stands.
    #[must_use]
    pub fn state(&self) -> super::State {
        super::State {
            done: self.done,
            mode: self.mode,
            ..self.problem.start()
        }
    }

    /// What to do next, looking ahead on at most `limit` states.
    #[must_use]
    pub fn advice(&self, depth: Depth, limit: u64) -> Advice {
        let mut planner = Planner::new(&self.problem, limit);
        let state = self.state();
        let minutes = planner.value(depth, &state);
        let next = match planner.choice(depth, &state) {
            Choice::Test(test) => Next::Probe(self.probes[test]),
            Choice::Stop(repair) => Next::Repair(repair),
        };
        Advice {
            next,
            minutes,
            work: planner.work(),
        }
    }

    /// What the job is expected to cost if this is done next and the reference after it, minutes; nothing for a test it
    /// did not consider. Less [`Advice::minutes`], this is the regret of the choice.
    #[must_use]
    pub fn minutes_after(&self, next: Next, depth: Depth, limit: u64) -> Option<f64> {
        let choice = match next {
            Next::Repair(repair) => Choice::Stop(repair),
            Next::Probe(probe) => {
                Choice::Test(self.probes.iter().position(|known| *known == probe)?)
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
    order.sort_by_key(|&(index, _)| index);
    let whole: f64 = order.iter().map(|&(_, p)| p).sum();
    for (_, p) in &mut order {
        *p /= whole;
    }
    (order, (1.0 - whole).max(0.0))
}

/// What the kept hypotheses predict of every probe.
fn predictions(
    account: &mut Account,
    vehicle: &Vehicle,
    kept: &[(usize, f64)],
) -> Vec<(Probe, Vec<Predicted>)> {
    /// Litres an hour in a cubic metre a second.
    const LITRES_AN_HOUR: f64 = 3.6e6;
    let mut all = Vec::new();
    for pump in [true, false] {
        let setup = Setup {
            remedies: account.setup().remedies.clone(),
            ..Setup::key_on(pump)
        };
        let frames = account.frames_by_hypothesis(&setup);
        let mut add = |probe, sigma: f64, quantity: &dyn Fn(&Frame) -> f64| {
            let one = |&(h, _): &(usize, f64)| spread(&frames[h], sigma, quantity);
            all.push((probe, kept.iter().map(one).collect()));
        };
        for point in vehicle.plugged_points() {
            if point != vehicle.reference {
                let volts = |frame: &Frame| frame.across(point, vehicle.reference);
                add(Probe::Volts { point, pump }, 0.03, &volts);
            }
        }
        if pump {
            add(Probe::Listen, 0.05, &|frame| {
                frame.pump.rad_s * 60.0 / core::f64::consts::TAU / frame.usual_rpm
            });
            add(Probe::Pressure, 5.0, &|frame| frame.pump.rail_pa / 1e3);
            add(Probe::Flow, 2.0, &|frame| {
                frame.pump.return_m3_s * LITRES_AN_HOUR
            });
        }
    }
    all
}

/// Mean and spread of a quantity over the draws of a hypothesis, the instrument included.
fn spread(
    frames: &[(f64, std::sync::Arc<super::Forecast>)],
    sigma: f64,
    quantity: &dyn Fn(&Frame) -> f64,
) -> Predicted {
    let (mut whole, mut mean) = (0.0, 0.0);
    for (p, known) in frames {
        whole += p;
        mean += p * quantity(&known.frame);
    }
    if whole <= 0.0 {
        return Predicted {
            mean: 0.0,
            sigma: 1e3,
        };
    }
    mean /= whole;
    let square = |x: f64| x * x;
    let variance = frames
        .iter()
        .map(|(p, known)| p * square(quantity(&known.frame) - mean))
        .sum::<f64>()
        / whole;
    Predicted {
        mean,
        sigma: (variance + sigma * sigma).sqrt(),
    }
}

/// The ranges that tell most, and in which of them each hypothesis falls most likely; nothing if none tells anything.
fn ranges(prior: &[f64], predicted: &[Predicted]) -> Option<(f64, Vec<u8>)> {
    let mut means: Vec<f64> = predicted.iter().map(|p| p.mean).collect();
    means.sort_by(f64::total_cmp);
    let (low, high) = (means.first()? - 1.0, means.last()? + 1.0);
    // The widest gaps between neighbouring predictions are where ranges may end.
    let mut gaps: Vec<(f64, f64)> = means
        .windows(2)
        .map(|pair| (pair[1] - pair[0], f64::midpoint(pair[0], pair[1])))
        .collect();
    gaps.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.total_cmp(&b.1)));
    gaps.truncate(SIZE.cuts);
    let chances = |cuts: &[f64]| {
        let mut edges = vec![low];
        edges.extend(cuts);
        edges.push(high);
        edges.sort_by(f64::total_cmp);
        binned(predicted, &Mixture::NONE, &edges)
    };
    let mut cuts: Vec<f64> = Vec::new();
    let mut bits = 0.0;
    while cuts.len() + 1 < SIZE.outcomes {
        let with = |cut: f64| {
            let mut more = cuts.clone();
            more.push(cut);
            expected_bits(prior, &chances(&more))
        };
        let tried = gaps
            .iter()
            .filter(|(gap, _)| *gap > 0.0)
            .map(|&(_, cut)| (with(cut), cut));
        let best = tried.reduce(|best, next| if next.0 > best.0 { next } else { best });
        match best {
            Some((more, cut)) if more > bits + SIZE.bits => {
                bits = more;
                cuts.push(cut);
            }
            _ => break,
        }
    }
    if cuts.is_empty() {
        return None;
    }
    let likeliest = |row: &Vec<f64>| {
        let best =
            (0..row.len()).reduce(|best, next| if row[next] > row[best] { next } else { best });
        u8::try_from(best.unwrap_or(0)).unwrap_or(0)
    };
    Some((bits, chances(&cuts).iter().map(likeliest).collect()))
}

/// Shared work besides access: bits above those of the accesses.
struct Extra {
    accesses: usize,
    works: Vec<f64>,
}

impl Extra {
    const TOOL: usize = 0;
    const LEADS: usize = 1;
    const GAUGE: usize = 2;
    const PROTECTION: usize = 3;

    fn of(vehicle: &Vehicle) -> Extra {
        let mut works: Vec<f64> = vehicle
            .accesses
            .iter()
            .map(|access| access.seconds / 60.0)
            .collect();
        let extra = [
            TIMES.tool_first,
            TIMES.leads,
            TIMES.gauge + TIMES.relieve,
            TIMES.protect,
        ];
        works.extend(extra.map(|seconds| seconds / 60.0));
        Extra {
            accesses: vehicle.accesses.len(),
            works,
        }
    }

    fn bit(&self, work: usize) -> u128 {
        1 << (self.accesses + work)
    }

    /// A probe as a test with its outcomes.
    fn test(&self, vehicle: &Vehicle, probe: Probe, outcomes: Vec<u8>) -> Test {
        let tool = self.bit(Self::TOOL);
        let (seconds, needs, mode) = match probe {
            Probe::Volts { point, pump } => {
                let place = vehicle.nodes[node_index(point)]
                    .touch
                    .map_or(vehicle.seat, |touch| touch.place);
                let home = vehicle.nodes[node_index(vehicle.reference)]
                    .touch
                    .map_or(vehicle.seat, |touch| touch.place);
                let far = distance_m(vehicle, place, home) > 2.0 * LeadSet::STANDARD_REACH_M;
                let leads = if far { self.bit(Self::LEADS) } else { 0 };
                let both = reach(vehicle, place) | reach(vehicle, home) | leads;
                (
                    TIMES.read + TIMES.tip,
                    both | if pump { tool } else { 0 },
                    if pump { 2 } else { 1 },
                )
            }
            Probe::Listen => (TIMES.listen, tool, 2),
            Probe::Pressure => {
                let gauge = self.bit(Self::GAUGE) | self.bit(Self::PROTECTION);
                (
                    TIMES.read,
                    tool | gauge | reach_kind(vehicle, Kind::Injectors),
                    2,
                )
            }
            Probe::Flow => {
                let needs =
                    tool | self.bit(Self::PROTECTION) | reach_kind(vehicle, Kind::ReturnLine);
                // Half a minute of catching.
                (TIMES.flow + 30.0, needs, 2)
            }
        };
        Test {
            cost: seconds / 60.0,
            needs,
            mode: Some(mode),
            outcomes,
        }
    }

    fn missing(&self, test: &Test, done: &BTreeSet<AccessId>) -> f64 {
        let needed =
            |index: &usize| test.needs >> index & 1 == 1 && !done.contains(&AccessId(*index));
        (0..self.works.len())
            .filter(needed)
            .map(|index| self.works[index])
            .sum()
    }
}

fn reach(vehicle: &Vehicle, place: PlaceId) -> u128 {
    let order = vehicle.access_order(&vehicle.places[place.0].needs);
    order.iter().fold(0, |bits, access| bits | 1 << access.0)
}

fn reach_kind(vehicle: &Vehicle, kind: Kind) -> u128 {
    let part = vehicle.parts.iter().find(|part| part.kind == kind);
    part.map_or(0, |part| reach(vehicle, part.place))
}

fn distance_m(vehicle: &Vehicle, a: PlaceId, b: PlaceId) -> f64 {
    let (a, b) = (vehicle.places[a.0].at_m, vehicle.places[b.0].at_m);
    a.iter()
        .zip(&b)
        .map(|(a, b)| (a - b) * (a - b))
        .sum::<f64>()
        .sqrt()
}

/// Minutes from one state of key and pump to another.
fn modes() -> Vec<Vec<f64>> {
    let steps = |from: u8, to: u8| match (from, to) {
        (0, 1) | (1 | 2, 0) => TIMES.key,
        (0, 2) => TIMES.key + TIMES.tool,
        (1, 2) | (2, 1) => TIMES.tool,
        _ => 0.0,
    };
    MODES
        .iter()
        .map(|&from| MODES.iter().map(|&to| steps(from, to) / 60.0).collect())
        .collect()
}

fn remedies(account: &Account, kept: &[(usize, f64)], accesses: usize) -> Vec<Remedy> {
    let repairs = account.repairs();
    let of = |index: usize| &repairs.all()[index];
    let loss = |repair: usize, h: usize| {
        let right = if repairs.cures(repair, h) {
            0.0
        } else {
            COMEBACK_MINUTES + of(repairs.class_of()[h]).minutes
        };
        of(repair).minutes + right
    };
    (0..repairs.all().len())
        .map(|repair| Remedy {
            needs: of(repair)
                .needs
                .iter()
                .filter(|id| id.0 < accesses)
                .fold(0, |bits, id| bits | 1 << id.0),
            loss: kept.iter().map(|&(h, _)| loss(repair, h)).collect(),
        })
        .collect()
}
