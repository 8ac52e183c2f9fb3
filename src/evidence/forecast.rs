//! What every draw predicts for a setup.
//!
//! One solve of the circuit gives the volts of every node and the current of every element, so that all readings of one
//! setup come from one [`Frame`] for each draw, worked out when first asked for. Each draw's vehicle is built once and
//! copied from then on, which saves building it and finding the order of elimination.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use super::draws::Draw;
use super::repairs::Cure;
use super::setup::{GRIP, Setup};
use crate::circuit::NodeId;
use crate::fault::{Catalogue, Effect};
use crate::instrument::{Connection, Function, Glow, Meter};
use crate::rig::{Attachments, PumpState, Rig, RigError, Symptom, TankTrouble, Tap};
use crate::vehicle::{ElementId, Key, PartId, Vehicle};

/// Everything one draw predicts for one setup.
#[derive(Clone, PartialEq, Debug)]
pub struct Frame {
    /// Volts of each node against the reference; nothing for one that floats.
    pub volts: Vec<Option<f64>>,
    /// Current through each element, A.
    pub amps: Vec<f64>,
    /// The pump.
    pub pump: PumpState,
    /// Speed of a pump of this type that is well, revolutions a minute.
    pub usual_rpm: f64,
    /// The same of a lift pump; nothing on a vehicle without one.
    pub usual_lift_rpm: Option<f64>,
    /// Parts whose fuse has opened.
    pub open_fuses: Vec<PartId>,
    /// How the lamp or the bulb looks, if one is connected.
    pub glow: Option<Glow>,
}

impl Frame {
    fn of(rig: &mut Rig, setup: &Setup) -> Result<Frame, RigError> {
        let (attached, seen) = setup.attached();
        let instant = rig.now(&attached)?;
        let vehicle = Arc::clone(rig.vehicle());
        let reference = Tap::Node(rig.reference());
        let nodes = (0..vehicle.nodes.len()).map(crate::vehicle::node_at);
        let parts = (0..vehicle.parts.len()).map(PartId);
        Ok(Frame {
            volts: nodes
                .map(|node| instant.across(Tap::Node(node), reference))
                .collect(),
            amps: (0..vehicle.elements.len())
                .map(|index| instant.amps(ElementId(index)))
                .collect(),
            pump: instant.pump,
            usual_rpm: rig.usual_rpm(),
            usual_lift_rpm: rig.usual_lift_rpm(),
            open_fuses: parts.filter(|&part| rig.fuse_open(part)).collect(),
            glow: seen.map(|(lamp, ends)| lamp.glow(ends, &instant)),
        })
    }

    /// Pressure at the outlet of a lift pump, kPa.
    #[must_use]
    pub fn lift_kpa(&self) -> f64 {
        self.pump.lift.map_or(0.0, |lift| lift.outlet_pa / 1e3)
    }

    /// Speed of a lift pump over that of one that is well.
    #[must_use]
    pub fn lift_pitch(&self) -> f64 {
        let usual = self.usual_lift_rpm.unwrap_or(f64::INFINITY);
        let rad_s = self.pump.lift.map_or(0.0, |lift| lift.rad_s);
        rad_s * 60.0 / core::f64::consts::TAU / usual
    }

    /// Volts a meter of high resistance shows between two nodes: next to nothing if one of them floats.
    #[must_use]
    pub fn across(&self, red: NodeId, black: NodeId) -> f64 {
        match (self.volts[red.0 as usize], self.volts[black.0 as usize]) {
            (Some(red), Some(black)) => red - black,
            _ => 0.0,
        }
    }
}

/// What a draw predicts, and what it would predict if its fault were somewhat worse.
#[derive(Clone, PartialEq, Debug)]
pub struct Forecast {
    /// As drawn.
    pub frame: Frame,
    /// With the severity moved by one standard deviation of what the draw stands for; nothing for a fault without
    /// degrees.
    pub worse: Option<Frame>,
}

/// Whether a draw is asked for a forecast.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Ask {
    /// It is hardly believed in any more.
    Not,
    /// As it stood at first, without what warms up in a while.
    Roughly,
    /// With everything.
    Fully,
}

/// Forecasts worked out so far for one setup, by the draw's place in the pool; nothing for a draw without solution.
type Known = BTreeMap<usize, Option<Arc<Forecast>>>;

/// A draw's vehicle as it comes in, and the same with its fault somewhat worse.
#[derive(Clone)]
struct Bench {
    rig: Rig,
    worse: Option<Rig>,
}

/// What the accounts of one pool share: each draw's vehicle, and forecasts for setups that every job passes through. By
/// the draw's place in the pool.
#[derive(Default)]
pub(super) struct Bank {
    benches: BTreeMap<usize, Bench>,
    known: BTreeMap<Setup, Known>,
}

/// Forecasts of a list of draws, worked out as they are asked for.
pub struct Forecasts {
    vehicle: Arc<Vehicle>,
    catalogue: Arc<Catalogue>,
    draws: Vec<Draw>,
    bank: Arc<Mutex<Bank>>,
    known: BTreeMap<Setup, Known>,
    solved: u64,
}

impl Forecasts {
    /// Forecasts for `draws` of a vehicle, sharing what the bank of their pool holds.
    #[must_use]
    pub(super) fn new(
        vehicle: &Arc<Vehicle>,
        catalogue: &Arc<Catalogue>,
        draws: Vec<Draw>,
        bank: &Arc<Mutex<Bank>>,
    ) -> Forecasts {
        Forecasts {
            vehicle: Arc::clone(vehicle),
            catalogue: Arc::clone(catalogue),
            draws,
            bank: Arc::clone(bank),
            known: BTreeMap::new(),
            solved: 0,
        }
    }

    /// The draws.
    #[must_use]
    pub fn draws(&self) -> &[Draw] {
        &self.draws
    }

    /// The vehicle.
    #[must_use]
    pub fn vehicle(&self) -> &Arc<Vehicle> {
        &self.vehicle
    }

    /// Vehicles solved so far.
    #[must_use]
    pub fn solved(&self) -> u64 {
        self.solved
    }

    /// What each draw of those `asked` predicts for a setup; nothing for one not asked or without solution.
    pub fn of(&mut self, setup: &Setup, asked: &[Ask]) -> Vec<Option<Arc<Forecast>>> {
        let cold = (setup.stood_s > 0).then(|| {
            let cold = setup.clone().after(0.0);
            let only = |ask: &Ask| {
                if *ask == Ask::Roughly {
                    Ask::Fully
                } else {
                    Ask::Not
                }
            };
            let asked: Vec<Ask> = asked.iter().map(only).collect();
            self.of(&cold, &asked)
        });
        let shared = setup.is_usual();
        let taken = if shared {
            self.lock().known.remove(setup)
        } else {
            self.known.remove(setup)
        };
        let mut slots = taken.unwrap_or_default();
        let mut forecasts = Vec::with_capacity(self.draws.len());
        for (index, ask) in asked.iter().enumerate() {
            forecasts.push(match (ask, &cold) {
                // What another account has asked for already is none of this one's business.
                (Ask::Not, _) => None,
                (Ask::Roughly, Some(cold)) => cold[index].clone(),
                _ => {
                    let place = self.draws[index].place;
                    let known = slots.entry(place).or_insert_with(|| {
                        self.solved += 1;
                        self.forecast(setup, index).map(Arc::new)
                    });
                    known.clone()
                }
            });
        }
        if shared {
            self.lock().known.insert(setup.clone(), slots);
        } else {
            self.known.insert(setup.clone(), slots);
        }
        forecasts
    }

    /// The bank; a panic elsewhere leaves only whole forecasts in it, so it can still be used.
    fn lock(&self) -> std::sync::MutexGuard<'_, Bank> {
        self.bank.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn forecast(&mut self, setup: &Setup, index: usize) -> Option<Forecast> {
        let stands = self.stands(setup, index);
        let bench = self.bench(index)?;
        let put = |mut rig: Rig| -> Option<Frame> {
            stands.place(&mut rig).ok()?;
            Frame::of(&mut rig, &stands).ok()
        };
        let frame = put(bench.rig)?;
        Some(Forecast {
            frame,
            worse: bench.worse.and_then(put),
        })
    }

    /// The setup as a draw takes it: an engine that does not start does not run.
    fn stands(&self, setup: &Setup, index: usize) -> Setup {
        let stalls = setup.key == Key::Run
            && !self.draws[index].report.starts
            && !self.is_cured(setup, index);
        Setup {
            key: if stalls { Key::On } else { setup.key },
            ..setup.clone()
        }
    }

    /// Whether the repairs of a setup have cured a draw.
    #[must_use]
    pub fn is_cured(&self, setup: &Setup, index: usize) -> bool {
        let draw = &self.draws[index];
        if let Some(trouble) = draw.trouble {
            return setup
                .done()
                .any(|done| Cure::of_tank(trouble).contains(&done));
        }
        let Some(fault) = &draw.fault else {
            return true;
        };
        let charged = setup.charged.is_some()
            && self.catalogue.kinds[fault.kind.0].effect == Effect::LowCharge;
        charged
            || setup.remedies.iter().any(|&(part, element, remedy)| {
                crate::fault::cured_by(&self.vehicle, &self.catalogue, fault, part, element, remedy)
            })
    }

    /// The same of every draw.
    pub(super) fn cured(&self, setup: &Setup) -> Vec<bool> {
        (0..self.draws.len())
            .map(|index| self.is_cured(setup, index))
            .collect()
    }

    /// What a glass of fuel from a draw shows: nothing comes, fuel, fuel over water.
    #[must_use]
    pub fn glass(&self, setup: &Setup, index: usize) -> usize {
        match self.draws[index].trouble {
            Some(TankTrouble::Empty) if setup.fills.is_empty() => 0,
            Some(TankTrouble::Water) if !setup.fills.contains(&true) => 2,
            _ => 1,
        }
    }

    /// A copy of a draw's vehicle as it comes in.
    fn bench(&self, index: usize) -> Option<Bench> {
        let draw = &self.draws[index];
        if let Some(known) = self.lock().benches.get(&draw.place) {
            return Some(known.clone());
        }
        let rig = brought_in(&self.vehicle, &self.catalogue, draw).ok()?;
        let worse = draw
            .worse(&self.catalogue)
            .and_then(|worse| brought_in(&self.vehicle, &self.catalogue, &worse).ok());
        let bench = Bench { rig, worse };
        self.lock().benches.insert(draw.place, bench.clone());
        Some(bench)
    }

    /// One draw's vehicle in a setup, for what no frame holds.
    pub(super) fn rig(&mut self, setup: &Setup, index: usize) -> Option<Rig> {
        let stands = self.stands(setup, index);
        let mut rig = self.bench(index)?.rig;
        stands.place(&mut rig).ok()?;
        Some(rig)
    }

    /// What a meter on a function that draws, sends or carries a current shows for each draw, before its own errors; the
    /// outer nothing for a draw without solution, the inner for an overload.
    pub fn meter(
        &mut self,
        setup: &Setup,
        function: Function,
        red: NodeId,
        black: NodeId,
        asked: &[Ask],
    ) -> Vec<Option<Option<f64>>> {
        let connection = Connection {
            function,
            red: Tap::Node(red),
            black: Tap::Node(black),
            red_grip: GRIP,
            black_grip: GRIP,
        };
        let mut read = Vec::with_capacity(self.draws.len());
        for (index, ask) in asked.iter().enumerate() {
            let shown = (*ask != Ask::Not).then(|| {
                let mut rig = self.rig(setup, index)?;
                let meter = Meter::new(self.draws[index].seed);
                self.solved += 1;
                for range in 0..function.ranges() {
                    let mut attached: Attachments = setup.attached().0;
                    let inputs = meter.attach(&connection, range, &mut attached);
                    let instant = rig.now(&attached).ok()?;
                    let seen = meter.sees(function, range, inputs, &instant);
                    let full = function.full_scales().nth(range).unwrap_or(f64::INFINITY);
                    if seen.is_some_and(|value| libm::fabs(value) <= full) {
                        return Some(seen);
                    }
                }
                Some(None)
            });
            read.push(shown.flatten());
        }
        read
    }

    /// What a road test of each draw shows after the repairs of a setup.
    #[must_use]
    pub fn drives(&self, setup: &Setup) -> Vec<Vec<Symptom>> {
        let shown = |index: usize| {
            if self.is_cured(setup, index) {
                Vec::new()
            } else {
                self.draws[index].symptoms.clone()
            }
        };
        (0..self.draws.len()).map(shown).collect()
    }
}

/// A draw's vehicle as it comes in.
fn brought_in(
    vehicle: &Arc<Vehicle>,
    catalogue: &Arc<Catalogue>,
    draw: &Draw,
) -> Result<Rig, RigError> {
    let none = Attachments::none();
    let mut rig = draw.rig(vehicle, catalogue)?;
    // Solved once with the pump on, so that copies know the order of elimination.
    rig.stand(Key::On, true);
    rig.now(&none)?;
    rig.stand(Key::Off, false);
    Ok(rig)
}
