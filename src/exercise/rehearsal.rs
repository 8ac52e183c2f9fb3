//! Working a vehicle through with the reference under the rules of an exercise, so that nobody hands out one that cannot
//! be done.
//!
//! The reference knows what a learner could know: the work order and its own readings. It takes the test with the most
//! bits for its cost, repairs when that is worth more than another test, drives to see, and goes on if the complaint is
//! still there. It is careful and not clever, so what it manages a learner can manage.

use std::collections::BTreeSet;
use std::sync::Arc;

use serde::Serialize;
use thiserror::Error;

use crate::bay::{Action, Bay, Fact, Fitting, Limits, Refusal, Target};
use crate::circuit::conductor::ConductorSize;
use crate::evidence::{Account, Cure, Depth, Next, Pool, Probe, ProblemError, Reference};
use crate::fault::Remedy;
use crate::instrument::{Extension, Function, Side};
use crate::rig::RigError;
use crate::scenario::Scenario;
use crate::units::System;
use crate::vehicle::{AccessId, Key, Kind, PartId, PlaceId, Vehicle, node_index};

/// Tests and repairs before the reference gives up.
const MOST_STEPS: usize = 60;
/// Probability from which on a repair is done without more tests. Ours.
const CERTAIN: f64 = 0.95;
/// Tests made without the reference wanting them before the likeliest repair is done.
const PATIENCE: u32 = 20;
/// States the planner looks at for one step.
const LIMIT: u64 = 20_000;

/// What came of a rehearsal.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Rehearsal {
    /// The vehicle went back with nothing wrong.
    pub solved: bool,
    /// Simulated time, s.
    pub seconds: f64,
    /// Money, whole minor units.
    pub spent: i64,
    /// Tests and repairs, in order, as words.
    pub steps: Vec<String>,
    /// What stopped it, if it was not the end of the job.
    pub stopped: Option<String>,
}

/// Why there was no rehearsal.
#[derive(Debug, Error)]
pub enum RehearsalError {
    /// The vehicle cannot be solved.
    #[error("the vehicle cannot be worked on: {0}")]
    Rig(#[from] RigError),
    /// The reference has nothing to plan on.
    #[error("the reference cannot plan on it: {0}")]
    Problem(#[from] ProblemError),
}

/// Works a scenario.
///
/// # Errors
/// [`RehearsalError`] if it cannot be worked on at all; a scenario the reference fails is no error.
pub fn rehearse(scenario: Scenario, limits: &Limits) -> Result<Rehearsal, RehearsalError> {
    let order = scenario.order().clone();
    let bay = Bay::open(scenario, System::Metric)?.under(limits.clone());
    let pool = Pool::shared(bay.vehicle(), bay.catalogue(), bay.level())?;
    let account = Account::begin(&pool, bay.level(), &order);
    Hand::new(bay, account).job()
}

/// The reference at work.
struct Hand {
    bay: Bay,
    vehicle: Arc<Vehicle>,
    account: Account,
    done: BTreeSet<AccessId>,
    asked: BTreeSet<Probe>,
    tried: BTreeSet<usize>,
    at_a_loss: u32,
    pump: bool,
    steps: Vec<String>,
}

impl Hand {
    fn new(bay: Bay, account: Account) -> Hand {
        Hand {
            vehicle: Arc::clone(bay.vehicle()),
            bay,
            account,
            done: BTreeSet::new(),
            asked: BTreeSet::new(),
            tried: BTreeSet::new(),
            at_a_loss: 0,
            pump: false,
            steps: Vec::new(),
        }
    }

    fn job(mut self) -> Result<Rehearsal, RehearsalError> {
        let mut stopped = self.prepare().err();
        for _ in 0..MOST_STEPS {
            if stopped.is_some() {
                break;
            }
            match self.next()? {
                Next::Probe(probe) => {
                    self.asked.insert(probe);
                    // A test that the rules withhold is left out; one that fails otherwise tells nothing.
                    let _ = self.probe(probe);
                }
                Next::Repair(repair) if !self.tried.insert(repair) => break,
                Next::Repair(repair) => match self.repair(repair) {
                    Ok(true) => break,
                    Ok(false) => self.asked.clear(),
                    Err(refusal) => stopped = Some(refusal),
                },
            }
        }
        let _ = self.act(&Action::Key(Key::Off));
        let given = self.act(&Action::Handover);
        stopped = stopped.or(given.err());
        let facts = self.bay.ledger().last().map(|entry| entry.facts.clone());
        let solved = facts.into_iter().flatten().any(|fact| {
            matches!(fact, Fact::HandedBack { symptoms, faults_left, .. } if symptoms.is_empty() && faults_left == 0)
        });
        Ok(Rehearsal {
            solved,
            seconds: self.bay.clock_s(),
            spent: self.bay.spent().0,
            steps: self.steps,
            stopped: stopped.map(|refusal| refusal.error),
        })
    }

    fn prepare(&mut self) -> Result<(), Refusal> {
        self.act(&Action::Protect)?;
        let longer = Extension {
            length_m: 6.0,
            size: ConductorSize::SquareMillimetres(1.0),
        };
        self.act(&Action::Leads(Some((Side::Black, longer))))
    }

    /// Does something and takes in what it told.
    fn act(&mut self, action: &Action) -> Result<(), Refusal> {
        self.bay.act(action)?;
        if let Some(entry) = self.bay.ledger().last() {
            self.account.observe(entry);
        }
        Ok(())
    }

    /// A repair that is all but certain; else the reference's own test; else, since it plans on certain outcomes and may
    /// want a reading it already has, the best test it has not made; and when none is left the likeliest repair.
    fn next(&mut self) -> Result<Next, ProblemError> {
        let p = self.account.repair_probabilities();
        let untried = (0..p.len()).filter(|repair| !self.tried.contains(repair));
        let likeliest = untried.reduce(|best, next| if p[next] > p[best] { next } else { best });
        let likeliest = likeliest.unwrap_or(0);
        if p[likeliest] >= CERTAIN {
            return Ok(Next::Repair(likeliest));
        }
        let reference = Reference::new(&mut self.account)?;
        if let Next::Probe(probe) = reference.advice(Depth::Greedy, LIMIT).next
            && !self.asked.contains(&probe)
        {
            return Ok(Next::Probe(probe));
        }
        self.at_a_loss += 1;
        let other = reference
            .probes()
            .iter()
            .flatten()
            .find(|probe| !self.asked.contains(probe));
        Ok(match other {
            Some(probe) if self.at_a_loss <= PATIENCE => Next::Probe(*probe),
            _ => Next::Repair(likeliest),
        })
    }

    fn reach(&mut self, place: PlaceId) -> Result<(), Refusal> {
        let needs = self.vehicle.places[place.0].needs.clone();
        self.open_up(&needs)
    }

    fn open_up(&mut self, needs: &[AccessId]) -> Result<(), Refusal> {
        for access in self.vehicle.access_order(needs) {
            if !self.done.insert(access) {
                continue;
            }
            if self.act(&Action::Access(access)).is_err() {
                // Some work wants the key off and the battery's negative clamp away.
                let _ = self.act(&Action::Key(Key::Off));
                self.pump = false;
                self.act(&Action::Access(access))?;
            }
            // Only a raised vehicle can be set on stands.
            let _ = self.act(&Action::Stands);
        }
        Ok(())
    }

    fn running(&mut self, pump: bool) -> Result<(), Refusal> {
        if self.bay.key() != Key::On {
            self.act(&Action::Key(Key::On))?;
            self.pump = false;
        }
        if self.pump != pump {
            self.act(&Action::PumpTool(pump))?;
            self.pump = pump;
        }
        Ok(())
    }

    fn probe(&mut self, probe: Probe) -> Result<(), Refusal> {
        let vehicle = Arc::clone(&self.vehicle);
        match probe {
            Probe::Volts { point, pump } => {
                for node in [point, vehicle.reference] {
                    if let Some(touch) = vehicle.nodes[node_index(node)].touch {
                        self.reach(touch.place)?;
                    }
                }
                self.running(pump)?;
                self.act(&Action::Meter {
                    function: Function::Volts,
                    red: point,
                    black: vehicle.reference,
                })?;
                let name = &vehicle.nodes[node_index(point)].name;
                self.steps.push(format!(
                    "volts {name}, pump {}",
                    if pump { "on" } else { "off" }
                ));
            }
            Probe::Current(part) => {
                self.reach(vehicle.parts[part.0].place)?;
                self.act(&Action::ClampZero)?;
                self.running(true)?;
                self.act(&Action::Clamp(part))?;
                let id = &vehicle.parts[part.0].id;
                self.steps.push(format!("clamp {id}, pump on"));
            }
            Probe::Look(part) => {
                self.reach(vehicle.parts[part.0].place)?;
                self.act(&Action::Look(Target { part, leg: None }))?;
                self.steps
                    .push(format!("look {}", vehicle.parts[part.0].id));
            }
            // Repairs are decided on by what is read here, and never tried.
            Probe::Try(_) => {}
            Probe::Listen => {
                self.running(true)?;
                self.act(&Action::Listen)?;
                self.steps.push("listen, pump on".to_owned());
            }
            Probe::LiftPressure => self.lift_pressure(&vehicle)?,
            Probe::Pressure => {
                if let Some(part) = vehicle
                    .parts
                    .iter()
                    .find(|part| part.kind == Kind::Injectors)
                {
                    self.reach(part.place)?;
                }
                self.act(&Action::Key(Key::Off))?;
                self.pump = false;
                self.act(&Action::Relieve)?;
                if vehicle.lift.is_some() {
                    // It may be teed into the lift line.
                    let _ = self.act(&Action::Gauge(None));
                }
                self.act(&Action::Gauge(Some(Fitting::Port)))?;
                self.running(true)?;
                self.steps.push("pressure, pump on".to_owned());
            }
            Probe::Flow => {
                if let Some(part) = vehicle.flow_part() {
                    self.reach(vehicle.parts[part.0].place)?;
                    self.running(true)?;
                } else {
                    // The bay's own tool runs the pump once the feed is off the rail.
                    let mut parts = vehicle.parts.iter();
                    if let Some(rail) = parts.find(|part| part.kind == Kind::Injectors) {
                        self.reach(rail.place)?;
                    }
                    self.running(false)?;
                    self.act(&Action::Relieve)?;
                }
                self.act(&Action::Flow {
                    seconds: 30.0,
                    bridge: None,
                })?;
                self.steps.push("flow for 30 s, pump on".to_owned());
            }
            Probe::Sample => {
                if let Some(part) = vehicle.parts.iter().find(|part| part.kind == Kind::Line) {
                    self.reach(part.place)?;
                }
                self.act(&Action::Key(Key::Off))?;
                self.pump = false;
                self.act(&Action::Relieve)?;
                self.act(&Action::Sample)?;
                self.steps.push("sample".to_owned());
            }
        }
        Ok(())
    }

    /// The gauge teed into a lift pump's line, both pumps running.
    fn lift_pressure(&mut self, vehicle: &Vehicle) -> Result<(), Refusal> {
        let mut lines = vehicle.parts.iter();
        let Some(line) = lines.position(|part| part.kind == Kind::LiftLine) else {
            return Ok(());
        };
        self.reach(vehicle.parts[line].place)?;
        self.act(&Action::Key(Key::Off))?;
        self.pump = false;
        self.act(&Action::Relieve)?;
        // It may be on the port.
        let _ = self.act(&Action::Gauge(None));
        self.act(&Action::Gauge(Some(Fitting::Tee(PartId(line)))))?;
        self.running(true)?;
        self.steps
            .push("pressure behind the lift pump, pumps on".to_owned());
        Ok(())
    }

    /// Repairs and drives; true once there is nothing more to do.
    fn repair(&mut self, repair: usize) -> Result<bool, Refusal> {
        let repair = self.account.repairs().all()[repair].clone();
        if repair.what == Cure::HandBack {
            return Ok(true);
        }
        self.act(&Action::Key(Key::Off))?;
        self.pump = false;
        // Instruments in the way come off; it is no matter if none are on.
        let _ = self.act(&Action::MeterOff);
        self.open_up(&repair.needs)?;
        let id = |part: PartId| &self.vehicle.parts[part.0].id;
        let (action, step) = match repair.what {
            Cure::Part(part, Remedy::Replace) => {
                (Action::Replace(part), format!("replace {}", id(part)))
            }
            Cure::Part(part, Remedy::Repair) => {
                let whole = Target { part, leg: None };
                (Action::Repair(whole), format!("repair {}", id(part)))
            }
            Cure::Drain => (Action::Fill { drained: true }, "fill drained".to_owned()),
            Cure::Fill | Cure::HandBack => (Action::Fill { drained: false }, "fill".to_owned()),
        };
        self.act(&action)?;
        self.steps.push(step);
        self.act(&Action::Drive)?;
        self.done.clear();
        let drove = self
            .bay
            .ledger()
            .last()
            .map(|entry| entry.facts.clone())
            .unwrap_or_default();
        Ok(drove
            .iter()
            .any(|fact| matches!(fact, Fact::Drove { symptoms } if symptoms.is_empty())))
    }
}
