//! The vehicle being worked on: description, hidden faults, conditions and time, coupled into one physical whole.
//!
//! Circuit and pump meet here: the network is reduced to what the pump's terminals see, the motor and its hydraulic
//! load find their point against it, and the network is then known everywhere. The rig holds the hidden truth in
//! private fields; [`Rig::reveal`] gives it up only by consuming the rig.

mod activation;
mod assemble;
mod attach;
mod battery;
mod chatter;
mod control;
mod coolant;
mod drive;
mod driven;
mod elapse;
mod events;
mod fuse;
mod hands;
mod pair;
mod phase;
mod regulate;
mod senses;
mod settle;
mod stage;
mod start_up;
mod surroundings;
mod tank;
mod thermal;
mod truth;
mod usual;
mod waveform;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub use attach::{Attachments, Filament, Tap};
pub use chatter::Beat;
pub use control::{Controls, EngineLoad, Jumper};
pub use drive::{DriveReport, HeatReport, Symptom};
pub use events::{KeyTurn, RelaySound};
pub use fuse::fuse_opens_after;
pub use hands::DRIVER_LIMIT_W;
pub use pair::{LiftState, Pair};
pub use phase::{Catch, Phase, Sample};
pub use regulate::{Asked, SensorLine};
pub use senses::{PumpSound, Warmth};
pub use settle::{Instant, PumpState};
pub use start_up::StartUp;
pub use surroundings::petrol_vapour_pa;
pub use tank::{EMPTY_TANK, Tank, TankTrouble};
pub use truth::{Branch, Ladder, LadderPump, LadderSource, Moment, SolvedLift, SolvedPump};
pub use waveform::Waveform;

use crate::circuit::{CircuitError, NodeId, Solver, Work};
use activation::Present;

use crate::fault::{self, Activation, Catalogue, Fault, Remedy};
use crate::pump::{Demand, Outlet, PumpError, PumpUnit};
use crate::seed::Stream;
use crate::vehicle::{Build, ElementId, Key, Kind, Law, PartId, Section, Vehicle};

/// Surroundings that a scenario fixes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Conditions {
    /// Ambient temperature, degrees Celsius; copper takes it on.
    pub ambient_c: f64,
    /// State of charge of a healthy battery, 0 to 1.
    pub charge: f64,
    /// Fuel in the tank, share of full.
    pub fuel: f64,
}

/// Why a rig could not answer.
#[derive(Debug, thiserror::Error)]
pub enum RigError {
    /// The network has no solution.
    #[error("the circuit could not be solved: {0}")]
    Circuit(#[from] CircuitError),
    /// The pump has no operating point.
    #[error("the pump could not be solved: {0}")]
    Pump(#[from] PumpError),
}

/// The truth about a rig, given up when the work is over.
pub struct Truth {
    /// Faults the vehicle came with.
    pub came_with: Vec<Fault>,
    /// Faults still there.
    pub left: Vec<Fault>,
    /// The kinds of fault.
    pub catalogue: Arc<Catalogue>,
    /// The seed that decided tolerances.
    pub seed: u64,
    /// Surroundings, as they were when the vehicle came.
    pub conditions: Conditions,
    /// What else was the matter with the tank.
    pub tank: Tank,
    /// What is still wrong with what is in it.
    pub trouble_left: Option<TankTrouble>,
}

impl Truth {
    /// What was wrong with what was in the tank.
    #[must_use]
    pub fn trouble(&self) -> Option<TankTrouble> {
        TankTrouble::of(self.conditions.fuel, self.tank.water)
    }

    /// How many things were wrong: faults, and what was in the tank.
    #[must_use]
    pub fn matters(&self) -> usize {
        self.came_with.len() + usize::from(self.trouble().is_some())
    }

    /// How many of them still are.
    #[must_use]
    pub fn matters_left(&self) -> usize {
        self.left.len() + usize::from(self.trouble_left.is_some())
    }

    /// The same vehicle fresh from the yard with other faults, for telling what difference they make.
    pub fn rig(&self, vehicle: &Arc<Vehicle>, faults: Vec<Fault>) -> Result<Rig, RigError> {
        let rig = Rig::new(
            Arc::clone(vehicle),
            Arc::clone(&self.catalogue),
            self.seed,
            self.conditions,
            faults,
        )?;
        Ok(rig.with_tank(self.tank))
    }
}

/// One vehicle on the floor.
#[derive(Clone)]
pub struct Rig {
    vehicle: Arc<Vehicle>,
    catalogue: Arc<Catalogue>,
    seed: u64,
    conditions: Conditions,
    came_with: Vec<Fault>,
    faults: Vec<Present>,
    generation: BTreeMap<PartId, u32>,
    handled: BTreeMap<PartId, u32>,
    blown: BTreeSet<ElementId>,
    /// What overloaded fuses have used up of their time.
    wear: fuse::Wear,
    /// How warm the air and the fuel are.
    surroundings: surroundings::Surroundings,
    /// How long it has been out of the wet, s.
    dry_s: f64,
    /// How warm everything is.
    thermal: thermal::Thermal,
    /// Charge drawn, surface charge and sag.
    cell: battery::Cell,
    build: Build,
    /// The vehicle as built without faults and handwork, with the charge it was built with; parts fitted anew change it.
    sound: Option<(f64, Build)>,
    controls: Controls,
    closed_relays: BTreeSet<PartId>,
    rail_pa: f64,
    key_off_s: f64,
    /// How long the starter has been turning the engine, s.
    cranked_s: f64,
    /// What a pressure sensor put out last, V.
    signal_v: f64,
    solver: Solver,
    handwork: hands::Handwork,
    contents: tank::Contents,
}

impl Rig {
    /// Chance that unplugging or moving a bad joint wipes it better for a while; ours, no source.
    const WIPE_CHANCE: f64 = 0.3;

    /// Puts a vehicle on the floor. The seed decides every part's own tolerance.
    ///
    /// # Errors
    /// [`RigError`] if the vehicle's own pump has no operating point.
    pub fn new(
        vehicle: Arc<Vehicle>,
        catalogue: Arc<Catalogue>,
        seed: u64,
        conditions: Conditions,
        faults: Vec<Fault>,
    ) -> Result<Rig, RigError> {
        usual::has_point(&vehicle)?;
        let build = vehicle.build(seed, conditions.charge, &|_| 0);
        let thermal = thermal::Thermal::cold(&vehicle);
        let mut rig = Rig {
            vehicle,
            seed,
            conditions,
            faults: faults
                .iter()
                .map(|&fault| Present::new(fault, &catalogue.kinds[fault.kind.0]))
                .collect(),
            catalogue,
            came_with: faults,
            surroundings: surroundings::Surroundings::default(),
            dry_s: 0.0,
            generation: BTreeMap::new(),
            handled: BTreeMap::new(),
            blown: BTreeSet::new(),
            wear: fuse::Wear::default(),
            thermal,
            cell: battery::Cell::default(),
            sound: Some((conditions.charge, build.clone())),
            build,
            controls: Controls::default(),
            closed_relays: BTreeSet::new(),
            rail_pa: 0.0,
            key_off_s: f64::INFINITY,
            cranked_s: 0.0,
            signal_v: 0.0,
            solver: Solver::new(),
            handwork: hands::Handwork::default(),
            contents: tank::Contents::default(),
        };
        rig.rebuild();
        rig.come_in()?;
        Ok(rig)
    }

    /// The public description of the vehicle.
    #[must_use]
    pub fn vehicle(&self) -> &Arc<Vehicle> {
        &self.vehicle
    }

    /// The kinds of fault there are.
    #[must_use]
    pub fn catalogue(&self) -> &Arc<Catalogue> {
        &self.catalogue
    }

    /// What is set on the vehicle just now.
    #[must_use]
    pub fn controls(&self) -> &Controls {
        &self.controls
    }

    /// Ambient temperature, state of charge, fuel.
    #[must_use]
    pub fn conditions(&self) -> Conditions {
        self.conditions
    }

    /// Gauge pressure held at the rail, Pa.
    #[must_use]
    pub fn rail_pa(&self) -> f64 {
        self.rail_pa
    }

    /// Puts key and service tool where they are without what turning them brings about: for forecasts of a vehicle that
    /// stands so.
    pub(crate) fn stand(&mut self, key: Key, tool: bool) {
        self.controls.key = key;
        self.controls.tool_commands_pump = tool;
        self.closed_relays.clear();
    }

    /// Takes a connector, fuse, relay or battery clamp off, or puts it back.
    pub fn set_unplugged(&mut self, part: PartId, unplugged: bool) {
        if unplugged {
            self.controls.unplugged.insert(part);
        } else {
            self.controls.unplugged.remove(&part);
            self.handle(part);
        }
    }

    /// The same for working out what could be read: nothing is moved by it that handling would move.
    pub fn take_out(&mut self, part: PartId, out: bool) {
        if out {
            self.controls.unplugged.insert(part);
        } else {
            self.controls.unplugged.remove(&part);
        }
    }

    /// Sets how hard the engine works while it runs.
    pub fn set_load(&mut self, load: EngineLoad) {
        self.controls.load = load;
    }

    /// Lays a wire between two points, or takes it away.
    pub fn set_jumper(&mut self, jumper: Option<Jumper>) {
        self.controls.jumper = jumper;
    }

    /// Moves a part by hand: intermittent faults may come or go, bad contacts may be wiped.
    pub fn handle(&mut self, part: PartId) {
        let count = self.handled.entry(part).or_insert(0);
        *count += 1;
        let key = [self.vehicle.parts[part.0].id.as_str(), &count.to_string()];
        let mut stream = Stream::keyed(self.seed, "contact", &["handled", key[0], key[1]]);
        for present in self
            .faults
            .iter_mut()
            .filter(|present| present.fault.site.part == part)
        {
            let kind = &self.catalogue.kinds[present.fault.kind.0];
            match kind.activation {
                Activation::Wiggle => present.showing = stream.chance(0.5),
                _ if fault::is_contact(kind) => {
                    present.share = if stream.chance(Self::WIPE_CHANCE) {
                        stream.log_between(0.05, 0.5)
                    } else {
                        1.0
                    };
                }
                _ => {}
            }
        }
        self.rebuild();
    }

    /// Repairs a part (or one element of it) or replaces it. True if that cured a fault that was there.
    pub fn cure(&mut self, part: PartId, element: Option<ElementId>, remedy: Remedy) -> bool {
        let before = self.faults.len();
        let (vehicle, catalogue) = (&self.vehicle, &self.catalogue);
        self.faults.retain(|present| {
            !fault::cured_by(vehicle, catalogue, &present.fault, part, element, remedy)
        });
        if remedy == Remedy::Replace {
            *self.generation.entry(part).or_insert(0) += 1;
            self.sound = None;
            self.fit_new(part);
        }
        self.rebuild();
        self.faults.len() < before
    }

    /// A new part is whole, cold and (a battery) charged.
    fn fit_new(&mut self, part: PartId) {
        for (index, element) in self.vehicle.elements.iter().enumerate() {
            if element.part != part {
                continue;
            }
            self.blown.remove(&ElementId(index));
            self.wear.renew(ElementId(index));
            self.thermal.cool(index);
            match element.law {
                Law::Battery { .. } => self.cell = battery::Cell::default(),
                Law::Winding if self.vehicle.is_lift(part) => self.thermal.lift_winding_k = 0.0,
                Law::Winding => self.thermal.winding_k = 0.0,
                _ => {}
            }
        }
    }

    /// What the scenario hid, and what of it is left.
    #[must_use]
    pub fn reveal(self) -> Truth {
        Truth {
            trouble_left: self.tank_trouble(),
            came_with: self.came_with,
            left: self
                .faults
                .into_iter()
                .map(|present| present.fault)
                .collect(),
            catalogue: self.catalogue,
            seed: self.seed,
            conditions: self.conditions,
            tank: self.contents.came,
        }
    }

    /// Whether a fault that is still there lies in a section.
    #[must_use]
    pub(crate) fn is_faulty(&self, section: Section) -> bool {
        let fuel = section == Section::Hydraulic && self.fuel_is_bad();
        fuel || self
            .faults
            .iter()
            .any(|present| fault::section(&self.vehicle, &present.fault) == section)
    }

    /// How many hidden faults are still there; what is wrong with the tank's contents counts as one.
    pub(crate) fn faults_left(&self) -> usize {
        self.faults.len() + usize::from(self.tank_trouble().is_some())
    }

    /// Whether the fuse of a part has opened, which its window shows.
    #[must_use]
    pub fn fuse_open(&self, part: PartId) -> bool {
        self.build
            .fuse_blown
            .iter()
            .any(|id| self.vehicle.elements[id.0].part == part)
    }

    fn rebuild(&mut self) {
        let generation = |part: PartId| self.generation.get(&part).copied().unwrap_or(0);
        // A battery fitted during the job comes charged.
        let battery = self
            .vehicle
            .parts
            .iter()
            .position(|part| part.kind == Kind::Battery);
        let new = battery.is_some_and(|index| generation(PartId(index)) > 0);
        let charge = if new {
            1.0
        } else {
            self.handwork.charge_or(self.conditions.charge)
        };
        self.build = match &self.sound {
            Some((built, sound)) if *built == charge => sound.clone(),
            _ => self.vehicle.build(self.seed, charge, &generation),
        };
        if self
            .sound
            .as_ref()
            .is_none_or(|(built, _)| *built != charge)
        {
            self.sound = Some((charge, self.build.clone()));
        }
        self.handwork.exchange(&self.vehicle, &mut self.build);
        let showing: Vec<Fault> = self
            .faults
            .iter()
            .filter(|present| present.showing)
            .map(|present| Fault {
                severity: present.fault.severity * present.share,
                ..present.fault
            })
            .collect();
        fault::apply(&self.vehicle, &self.catalogue, &showing, &mut self.build);
        self.build.fuse_blown.extend(self.blown.iter().copied());
        self.handwork.apply(&self.vehicle, &mut self.build);
        self.contents
            .apply(&self.vehicle, self.conditions.fuel, &mut self.build);
    }

    fn winding(&self) -> Option<ElementId> {
        self.vehicle.winding(&self.vehicle.pump)
    }

    fn lift_winding(&self) -> Option<ElementId> {
        self.vehicle.winding(&self.vehicle.lift.as_ref()?.pump)
    }

    /// Resistance of every element at its present temperature, ohm.
    fn ohms_now(&self) -> Vec<f64> {
        self.vehicle
            .elements
            .iter()
            .zip(&self.build.ohms)
            .enumerate()
            .map(|(index, (element, &own))| match element.law {
                Law::Battery { .. } => own * battery::cold_factor(self.air_c(element.part)),
                _ => self
                    .thermal
                    .ohms(index, element, own, self.air_c(element.part)),
            })
            .collect()
    }

    /// What the battery offers at no load, V.
    fn emf_v(&self) -> f64 {
        self.rest_v() + self.cell.polarised_v
    }

    /// The pump with its winding at its present temperature.
    fn unit_now(&self) -> PumpUnit {
        let mut unit = self.build.unit;
        unit.motor.winding_ohms *= thermal::copper_factor(self.medium_c() + self.thermal.winding_k);
        unit
    }

    /// How much solving the circuit has taken so far.
    #[must_use]
    pub fn work(&self) -> Work {
        self.solver.work()
    }

    /// How much a relay's operating volts have risen with its coil's resistance: a relay answers to its current.
    fn coil_factor(&self, coil: usize) -> f64 {
        let air_c = self.air_c(self.vehicle.elements[coil].part);
        thermal::copper_factor(air_c + self.thermal.rise_k(coil))
    }

    /// Temperature of the hottest place of an element, degrees Celsius.
    #[must_use]
    pub fn temperature_c(&self, element: ElementId) -> f64 {
        if self.winding() == Some(element) {
            self.medium_c() + self.thermal.winding_k
        } else if self.lift_winding() == Some(element) {
            self.medium_c() + self.thermal.lift_winding_k
        } else {
            self.air_c(self.vehicle.elements[element.0].part) + self.thermal.rise_k(element.0)
        }
    }

    /// What the engine draws and what the regulator refers to.
    fn demand(&self) -> Demand {
        self.demand_at(self.controls.key, self.controls.load)
    }

    /// The same with the key and the load elsewhere.
    fn demand_at(&self, key: Key, load: EngineLoad) -> Demand {
        let engine = &self.vehicle.engine;
        if self.handwork.feed_off {
            return Demand {
                outlet: Outlet::LineIntoCan,
                ..Demand::none()
            };
        }
        if key != Key::Run {
            return Demand::none();
        }
        let (injectors_m3_s, manifold_pa) = match load {
            EngineLoad::Idle => (engine.idle_m3_s, engine.idle_manifold_pa),
            EngineLoad::Cruise => (engine.cruise_m3_s, engine.cruise_manifold_pa),
            EngineLoad::Hill => (engine.hill_m3_s, engine.hill_manifold_pa),
        };
        Demand {
            injectors_m3_s,
            manifold_pa,
            outlet: Outlet::Rail,
        }
    }

    /// The node of the vehicle's reference, the negative post.
    #[must_use]
    pub fn reference(&self) -> NodeId {
        self.vehicle.reference
    }
}
