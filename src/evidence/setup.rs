//! How a vehicle stands while it is measured, and what every draw predicts for it.
//!
//! One solve of the circuit gives the volts of every node and the current of every element, so that all readings of one
//! setup come from one [`Frame`] for each draw, worked out when first asked for.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::draws::Draw;
use crate::circuit::NodeId;
use crate::fault::{Catalogue, Effect, Fault, Remedy};
use crate::instrument::{Connection, Function, Grip, Meter};
use crate::rig::{Attachments, Jumper, PumpState, Rig, RigError, Tap};
use crate::vehicle::{ElementId, Key, PartId, Vehicle};

/// What stands on a vehicle from outside, as far as readings depend on it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Setup {
    /// Key position; with the engine running if it starts.
    pub key: Key,
    /// The service tool commands the pump.
    pub pump: bool,
    /// What is unplugged.
    pub unplugged: BTreeSet<PartId>,
    /// How often each part was handled since the last road test: a bad joint may have been wiped.
    pub handled: BTreeMap<PartId, u32>,
    /// A wire laid between two nodes, with the bits of its resistance.
    pub jumper: Option<(NodeId, NodeId, u64)>,
    /// Repairs done so far.
    pub remedies: Vec<(PartId, Option<ElementId>, Remedy)>,
    /// How long it has stood so, roughly, s: joints under load grow warm and batteries sag.
    pub stood_s: u16,
}

impl Default for Setup {
    /// As it comes in: key off, nothing done.
    fn default() -> Setup {
        Setup {
            key: Key::Off,
            pump: false,
            unplugged: BTreeSet::new(),
            handled: BTreeMap::new(),
            jumper: None,
            remedies: Vec::new(),
            stood_s: 0,
        }
    }
}

/// Times a setup is forecast at, s, each standing for those up to the second number.
const STOOD_S: [(u16, f64); 4] = [(0, 12.0), (30, 60.0), (120, 300.0), (600, f64::INFINITY)];
/// How long a short is fed before anything is measured, s: the vehicle was driven here with it.
const FED_S: f64 = 10.0;

impl Setup {
    /// Key on, with the pump commanded by service tool or not.
    #[must_use]
    pub fn key_on(pump: bool) -> Setup {
        Setup {
            key: Key::On,
            pump,
            ..Setup::default()
        }
    }

    /// The same setup after it has stood for a while.
    #[must_use]
    pub fn after(mut self, seconds: f64) -> Setup {
        let time = STOOD_S.iter().find(|&&(_, up_to)| seconds <= up_to);
        self.stood_s = time.map_or(0, |&(stood_s, _)| stood_s);
        self
    }

    /// Puts a drawn vehicle into this setup.
    pub fn rig(
        &self,
        vehicle: &Arc<Vehicle>,
        catalogue: &Arc<Catalogue>,
        draw: &Draw,
    ) -> Result<Rig, RigError> {
        let none = Attachments::none();
        let faults: Vec<Fault> = draw.fault.into_iter().collect();
        let shorted = faults
            .iter()
            .any(|fault| catalogue.kinds[fault.kind.0].effect == Effect::ChafedShort);
        let mut rig = Rig::new(
            Arc::clone(vehicle),
            Arc::clone(catalogue),
            draw.seed,
            draw.conditions,
            faults,
        )?;
        if shorted {
            // It has blown what it will blow before it comes in.
            rig.turn_key(Key::Off, &none)?;
            rig.turn_key(Key::On, &none)?;
            rig.command_pump(true);
            rig.wait(FED_S, &none)?;
        }
        for (&part, &times) in &self.handled {
            for _ in 0..times {
                rig.handle(part);
            }
        }
        for &part in &self.unplugged {
            rig.set_unplugged(part, true);
        }
        for &(part, element, remedy) in &self.remedies {
            rig.cure(part, element, remedy);
        }
        rig.set_jumper(self.jumper.map(|(a, b, bits)| Jumper {
            a,
            b,
            ohms: f64::from_bits(bits),
        }));
        // Turned off a moment ago, so that turning it on runs no new prime.
        rig.turn_key(Key::Off, &none)?;
        match self.key {
            Key::Off => {}
            Key::On | Key::Crank => {
                rig.turn_key(Key::On, &none)?;
                rig.command_pump(self.pump);
            }
            Key::Run => {
                rig.turn_key(Key::Run, &none)?;
            }
        }
        if self.stood_s > 0 {
            rig.wait(f64::from(self.stood_s), &none)?;
        }
        Ok(rig)
    }
}

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
    /// Parts whose fuse has opened.
    pub open_fuses: Vec<PartId>,
    /// The engine runs.
    pub runs: bool,
}

impl Frame {
    fn of(mut rig: Rig) -> Result<Frame, RigError> {
        let instant = rig.now(&Attachments::none())?;
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
            open_fuses: parts.filter(|&part| rig.fuse_open(part)).collect(),
            runs: rig.controls().key == Key::Run,
        })
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

/// How far one draw's forecast has come.
#[derive(Clone, Debug)]
enum Slot {
    Unasked,
    Unsolved,
    Known(Arc<Forecast>),
}

/// Forecasts of a list of draws, worked out as they are asked for.
#[derive(Debug)]
pub struct Forecasts {
    vehicle: Arc<Vehicle>,
    catalogue: Arc<Catalogue>,
    draws: Vec<Draw>,
    known: BTreeMap<Setup, Vec<Slot>>,
    solved: u64,
}

impl Forecasts {
    /// Forecasts for `draws` of a vehicle.
    #[must_use]
    pub fn new(vehicle: &Arc<Vehicle>, catalogue: &Arc<Catalogue>, draws: Vec<Draw>) -> Forecasts {
        Forecasts {
            vehicle: Arc::clone(vehicle),
            catalogue: Arc::clone(catalogue),
            draws,
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
    pub fn of(
        &mut self,
        setup: &Setup,
        asked: impl Fn(usize) -> bool,
    ) -> Vec<Option<Arc<Forecast>>> {
        let slots = self
            .known
            .entry(setup.clone())
            .or_insert_with(|| vec![Slot::Unasked; self.draws.len()]);
        let mut forecasts = Vec::with_capacity(self.draws.len());
        for (index, slot) in slots.iter_mut().enumerate() {
            if matches!(slot, Slot::Unasked) && asked(index) {
                self.solved += 1;
                let found = forecast(&self.vehicle, &self.catalogue, setup, &self.draws[index]);
                *slot = found.map_or(Slot::Unsolved, |forecast| Slot::Known(Arc::new(forecast)));
            }
            forecasts.push(match slot {
                Slot::Known(forecast) => Some(Arc::clone(forecast)),
                Slot::Unasked | Slot::Unsolved => None,
            });
        }
        forecasts
    }

    /// What a meter on a function that draws or sends a current shows for each draw, before its own errors; the
    /// outer nothing for a draw without solution, the inner for an overload.
    pub fn meter(
        &mut self,
        setup: &Setup,
        function: Function,
        red: NodeId,
        black: NodeId,
        asked: impl Fn(usize) -> bool,
    ) -> Vec<Option<Option<f64>>> {
        let grip = Grip { ohms: 0.02 };
        let connection = Connection {
            function,
            red: Tap::Node(red),
            black: Tap::Node(black),
            red_grip: grip,
            black_grip: grip,
        };
        let read = |(index, draw): (usize, &Draw)| {
            if !asked(index) {
                return None;
            }
            let mut rig = setup.rig(&self.vehicle, &self.catalogue, draw).ok()?;
            let meter = Meter::new(draw.seed);
            let mut shown = None;
            for range in 0..function.ranges() {
                let mut attached = Attachments::none();
                let inputs = meter.attach(&connection, range, &mut attached);
                let instant = rig.now(&attached).ok()?;
                let seen = meter.sees(function, range, inputs, &instant);
                let full = function.full_scales().nth(range).unwrap_or(f64::INFINITY);
                if seen.is_some_and(|value| libm::fabs(value) <= full) {
                    shown = seen;
                    break;
                }
            }
            Some(shown)
        };
        let read: Vec<Option<Option<f64>>> = self.draws.iter().enumerate().map(read).collect();
        self.solved += read.len() as u64;
        read
    }

    /// Road test of each draw in a setup: what it shows after the repairs done.
    pub fn drives(&mut self, setup: &Setup) -> Vec<Vec<crate::rig::Symptom>> {
        if setup.remedies.is_empty() {
            return self
                .draws
                .iter()
                .map(|draw| draw.symptoms.clone())
                .collect();
        }
        let fade = self.vehicle.engine.fade_fraction;
        let as_it_stands = Setup {
            remedies: setup.remedies.clone(),
            ..Setup::default()
        };
        let drive = |draw: &Draw| {
            let mut rig = as_it_stands
                .rig(&self.vehicle, &self.catalogue, draw)
                .ok()?;
            Some(rig.drive().ok()?.symptoms(fade))
        };
        self.solved += self.draws.len() as u64;
        self.draws
            .iter()
            .map(|draw| drive(draw).unwrap_or_default())
            .collect()
    }
}

fn forecast(
    vehicle: &Arc<Vehicle>,
    catalogue: &Arc<Catalogue>,
    setup: &Setup,
    draw: &Draw,
) -> Option<Forecast> {
    let frame = Frame::of(setup.rig(vehicle, catalogue, draw).ok()?).ok()?;
    let worse = draw
        .worse(catalogue)
        .and_then(|worse| Frame::of(setup.rig(vehicle, catalogue, &worse).ok()?).ok());
    Some(Forecast { frame, worse })
}
