//! One scenario being worked on: what is connected, taken apart, repaired; the clock, the money, the dangers.
//!
//! A pure state machine: an [`Action`] goes in, an [`Outcome`] or a [`Refusal`] comes out. A refusal changes nothing.
//! The hidden faults lie inside the rig, which nothing here hands out before the vehicle is given back.

mod action;
mod costs;
mod flow;
mod fuel;
mod gauge;
mod judging;
mod jumper;
mod know;
mod learnt;
mod ledger;
mod limits;
mod loads;
mod meter;
mod moves;
mod outcome;
mod passing;
mod reach;
mod recording;
mod refit;
mod remedy;
mod senses;
mod standing;
mod tank;
mod tools;
mod turn;
mod underway;
mod watch;
mod wires;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub use action::{Action, Bridge, Cited, Fitting, PointFilter, Target, Tool, Verdict};
pub use costs::{
    FILL, FUEL_PRICE, HELPER_SHARE, METER_FUSE_PRICE, Mode, PUTTING_BACK_SHARE, TIMES, Times,
};
pub use ledger::{Call, Entry, Fact, Grade, Hazard, Measurement};
pub use limits::{Equipment, Limits};
pub use meter::PROVING_V;
pub use outcome::{Outcome, Refusal};
pub use senses::{lift_in_words, pump_in_words};

use crate::circuit::NodeId;
use crate::fault::Catalogue;
use crate::instrument::{
    Bulb, Can, Clamp, Function, Gauge, Grip, Manner, Meter, Recorder, TestLamp, Thermometer,
};
use crate::rig::{Rig, RigError, Truth};
use crate::scenario::{Scenario, WorkOrder};
use crate::seed::ScenarioCode;
use crate::units::{self, Money, System};
use crate::vehicle::{AccessId, Key, PartId, Vehicle};
use outcome::Step;

/// What is heard when a running engine has no fuel pressure left.
pub const ENGINE_DIES: &str = "The engine coughs and dies.";

/// A tip on a point.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Placed {
    node: NodeId,
    grip: Grip,
    manner: Manner,
    /// A reading in this placement has shown that the tip touches.
    proved: bool,
}

/// The meter with both tips placed.
#[derive(Clone, Copy, PartialEq, Debug)]
struct Connected {
    function: Function,
    red: Placed,
    black: Placed,
    /// The range the display stands on, by its number.
    range: usize,
}

/// One scenario being worked on.
// Each switch is a plain fact of the floor, and none excludes another.
#[expect(clippy::struct_excessive_bools)]
pub struct Bay {
    vehicle: Arc<Vehicle>,
    rig: Rig,
    code: Option<ScenarioCode>,
    seed: u64,
    level: u8,
    order: WorkOrder,
    system: System,
    clock_s: f64,
    goods: i64,
    helper: bool,
    helper_s: f64,
    accesses: BTreeSet<AccessId>,
    on_stands: bool,
    protected: bool,
    tool_connected: bool,
    meter: Meter,
    connected: Option<Connected>,
    recorder: Option<Recorder>,
    zeroed: bool,
    placements: BTreeMap<NodeId, u32>,
    repeats: BTreeMap<String, u32>,
    /// Points that have been spelt out already.
    spelt: BTreeSet<NodeId>,
    clamp: Clamp,
    clamped: Option<PartId>,
    lamp: TestLamp,
    lit: Option<(Placed, Placed)>,
    load: Option<(Placed, Placed, Bulb)>,
    thermometer: Thermometer,
    needles: bool,
    scraped: BTreeSet<NodeId>,
    codes: BTreeSet<learnt::Code>,
    damaged: BTreeSet<PartId>,
    /// Parts that the work has left a trace on: a hole, a bright spot.
    marked: BTreeSet<PartId>,
    unattended_s: f64,
    gauge: Gauge,
    gauge_at: Option<Fitting>,
    can: Can,
    ledger: Vec<Entry>,
    handed_back: bool,
    limits: Limits,
}

/// A bay after the vehicle was given back: everything marks and explanation are made from.
pub struct Closed {
    /// The vehicle.
    pub vehicle: Arc<Vehicle>,
    /// The code it came from, if it was generated.
    pub code: Option<ScenarioCode>,
    /// Level, 1 to 5.
    pub level: u8,
    /// The work order.
    pub order: WorkOrder,
    /// What was done.
    pub ledger: Vec<Entry>,
    /// What had been hidden.
    pub truth: Truth,
}

impl Bay {
    /// Puts a scenario's vehicle on the floor. Readings and costs are told in `system`.
    pub fn open(scenario: Scenario, system: System) -> Result<Bay, RigError> {
        let (code, seed, level) = (scenario.code(), scenario.seed(), scenario.level());
        let mut order = scenario.order().clone();
        for line in order.figures.iter_mut().chain(&mut order.known) {
            *line = units::told(line, system);
        }
        let vehicle = Arc::clone(scenario.vehicle());
        Ok(Bay {
            vehicle,
            rig: scenario.into_rig()?,
            code,
            seed,
            level,
            order,
            system,
            clock_s: 0.0,
            goods: 0,
            helper: false,
            helper_s: 0.0,
            accesses: BTreeSet::new(),
            on_stands: false,
            protected: false,
            tool_connected: false,
            meter: Meter::new(seed),
            connected: None,
            recorder: None,
            zeroed: false,
            placements: BTreeMap::new(),
            repeats: BTreeMap::new(),
            spelt: BTreeSet::new(),
            clamp: Clamp::new(seed),
            clamped: None,
            lamp: TestLamp::default(),
            lit: None,
            load: None,
            thermometer: Thermometer::new(seed),
            needles: false,
            scraped: BTreeSet::new(),
            codes: BTreeSet::new(),
            damaged: BTreeSet::new(),
            marked: BTreeSet::new(),
            unattended_s: 0.0,
            gauge: Gauge::new(seed),
            gauge_at: None,
            can: Can::new(seed),
            ledger: Vec::new(),
            handed_back: false,
            limits: Limits::default(),
        })
    }

    /// The same bay under the rules of an exercise.
    #[must_use]
    pub fn under(mut self, limits: Limits) -> Bay {
        if limits.no_figures {
            self.order.figures.clear();
        }
        self.limits = limits;
        self
    }

    /// The rules it is worked under.
    #[must_use]
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// Does one thing, or says why not.
    pub fn act(&mut self, action: &Action) -> Result<Outcome, Refusal> {
        if self.handed_back {
            return Err(Refusal::new(
                "The vehicle has been given back.",
                "`quit` leaves the prompt.",
            ));
        }
        self.limits.permit(action, self.clock_s, self.spent())?;
        let mut step = self.perform(action)?;
        self.clock_s += step.outcome.seconds;
        self.clamp.wait(step.outcome.seconds);
        self.goods += step.goods;
        if self.helper {
            self.helper_s += step.outcome.seconds - step.unattended;
        }
        self.unattended_s += step.unattended;
        step.outcome.number = self.actions() + 1;
        self.ledger.push(Entry {
            number: step.outcome.number,
            action: action.clone(),
            readings: step.outcome.readings.clone(),
            said: step.outcome.said.clone(),
            clock_s: self.clock_s,
            spent: self.spent(),
            facts: step.facts,
        });
        Ok(step.outcome)
    }

    /// The action itself, before its time has passed.
    fn begin(&mut self, action: &Action) -> Result<Step, Refusal> {
        match action {
            Action::Order
            | Action::Diagram
            | Action::Points(_)
            | Action::Data
            | Action::Prices(_)
            | Action::Log
            | Action::Clock
            | Action::Aside { .. }
            | Action::Hint { .. } => Ok(self.know(action)),
            Action::Key(key) => self.turn_key(*key),
            Action::PumpTool(on) => self.command_pump(*on),
            Action::Drive => self.drive(),
            Action::Unplug(part) => self.unplug(*part),
            Action::Plug(part) => self.plug(*part),
            Action::Look(target) => self.look(target),
            Action::Listen => self.listen(),
            Action::Feel(part) => self.feel(*part),
            Action::Wiggle(part) => self.wiggle(*part),
            Action::Access(access) => self.gain_access(*access),
            Action::Refit(access) => self.refit(*access),
            Action::Warm => self.warm_through(),
            Action::Tap(part) => self.tap(*part),
            Action::Swap { relay, with } => self.swap(*relay, *with),
            Action::Pinch { line, shut } => self.pinch(*line, *shut),
            Action::Open(part) => self.open_for_inspection(*part),
            Action::Sample => self.sample_fuel(),
            Action::Fill { drained } => self.fill_tank(*drained),
            Action::Charge { seconds } => self.charge_battery(*seconds),
            Action::Scan => self.scan(),
            Action::Wait { seconds } => Self::pass_time(*seconds),
            Action::Meter {
                function,
                red,
                black,
            } => self.connect(*function, *red, *black),
            Action::ReadMeter => self.read_again(),
            Action::MeterOff => self.meter_off(),
            Action::Range(full) => self.choose_range(*full),
            Action::MeterFuse => self.renew_meter_fuse(),
            Action::Needles(on) => self.take_needles(*on),
            Action::Scrape(node) => self.scrape(*node),
            Action::Record(interval) => self.record(*interval),
            Action::Leads(choice) => self.choose_leads(*choice),
            Action::Tip(side) => self.place_anew(*side),
            Action::Zero => self.zero_meter(),
            Action::Clamp(part) => self.clamp_on(*part),
            Action::ClampZero => Ok(self.clamp_zero()),
            Action::ClampOff => self.clamp_off(),
            Action::Lamp { a, b } => self.lamp_on(*a, *b),
            Action::LampOff => self.lamp_off(),
            Action::Load { a, b, bulb } => self.load_on(*a, *b, *bulb),
            Action::LoadOff => self.load_off(),
            Action::Waveform => self.show_waveform(),
            Action::Temperature(part) => self.take_temperature(*part),
            Action::Gauge(at) => self.fit_gauge(*at),
            Action::Reread(tool) => self.reread(*tool),
            Action::Flow { seconds, bridge } => self.catch_flow(*seconds, bridge.as_ref()),
            Action::Jumper(bridge) => self.lay_jumper(bridge),
            Action::JumperOff => self.jumper_off(),
            Action::Helper(on) => self.call_helper(*on),
            Action::Call {
                section,
                verdict,
                cites,
            } => self.judge(*section, *verdict, cites.as_ref()),
            Action::Protect => self.protect(),
            Action::Relieve => self.relieve(),
            Action::Isolate(on) => self.isolate(*on),
            Action::Stands => self.set_stands(),
            Action::Repair(target) => self.repair(target),
            Action::Replace(part) => self.replace(*part),
            Action::Handover => self.hand_over(),
        }
    }

    /// Simulated time since work began, s.
    #[must_use]
    pub fn clock_s(&self) -> f64 {
        self.clock_s
    }

    /// Money spent: labour, a colleague's time, parts.
    #[must_use]
    pub fn spent(&self) -> Money {
        // Labour per hour is some thousands of minor units, so the product is exact enough to round.
        let hours = (self.clock_s - self.unattended_s + HELPER_SHARE * self.helper_s) / 3600.0;
        let labour = libm::round(self.vehicle.labour_per_hour.0 as f64 * hours);
        // A bill of some thousands of millions would take centuries of labour.
        #[expect(clippy::cast_possible_truncation)]
        let labour = labour as i64;
        Money(self.goods + labour)
    }

    /// Position of the key.
    #[must_use]
    pub fn key(&self) -> Key {
        self.rig.controls().key
    }

    /// What the meter is switched to and where its red and its black tip are, if it is connected.
    #[must_use]
    pub fn metered(&self) -> Option<(Function, NodeId, NodeId)> {
        let connected = self.connected.as_ref()?;
        Some((connected.function, connected.red.node, connected.black.node))
    }

    /// Number of accepted actions so far.
    #[must_use]
    pub fn actions(&self) -> u32 {
        // A learner types at most some thousands of lines.
        u32::try_from(self.ledger.len()).unwrap_or(u32::MAX - 1)
    }

    /// Whether the vehicle has been given back.
    #[must_use]
    pub fn closed(&self) -> bool {
        self.handed_back
    }

    /// The public description of the vehicle.
    #[must_use]
    pub fn vehicle(&self) -> &Arc<Vehicle> {
        &self.vehicle
    }

    /// The work order.
    #[must_use]
    pub fn work_order(&self) -> &WorkOrder {
        &self.order
    }

    /// The code that reproduces the vehicle.
    #[must_use]
    pub fn code(&self) -> Option<ScenarioCode> {
        self.code
    }

    /// Level, 1 to 5.
    #[must_use]
    pub fn level(&self) -> u8 {
        self.level
    }

    /// Units in which readings are told.
    #[must_use]
    pub fn system(&self) -> System {
        self.system
    }

    /// What was done so far. It knows more than the learner was told (whether a repair cured, whether a section was bad),
    /// so it stays inside the program.
    #[must_use]
    pub(crate) fn ledger(&self) -> &[Entry] {
        &self.ledger
    }

    /// The kinds of fault there are.
    #[must_use]
    pub fn catalogue(&self) -> &Arc<Catalogue> {
        self.rig.catalogue()
    }

    /// Gives up the truth once the vehicle has been given back; the bay itself otherwise.
    pub fn hand_back(self) -> Result<Closed, Box<Bay>> {
        if !self.handed_back {
            return Err(Box::new(self));
        }
        Ok(Closed {
            vehicle: self.vehicle,
            code: self.code,
            level: self.level,
            order: self.order,
            ledger: self.ledger,
            truth: self.rig.reveal(),
        })
    }
}

/// The physics gave no answer: a fault of the program, told without losing the attempt.
// By value, as `map_err` hands it over.
#[expect(clippy::needless_pass_by_value)]
fn unsolved(error: RigError) -> Refusal {
    Refusal::new(
        format!("The simulator could not work this out: {error}."),
        "This is a fault of the program; the attempt so far is kept, `quit` leaves it.",
    )
}
