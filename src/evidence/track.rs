//! How the vehicle stands, followed through the actions of an attempt.

use std::collections::BTreeSet;

use crate::bay::{Action, Bridge, ENGINE_DIES, Entry, Fitting, Mode, TIMES};
use crate::circuit::NodeId;
use crate::fault::Remedy;
use crate::instrument::Quantity;
use crate::vehicle::{AccessId, Key, Kind, PartId, PlaceId, Vehicle};

use super::repairs::Cure;
use super::setup::{Laid, Setup};

/// Temperature jumper copper is taken at, degrees Celsius.
const JUMPER_C: f64 = 15.0;

/// Current of the bench charger over its hours, A, as the bay has it.
const CHARGER_A: f64 = 7.5;
/// How often moving a part by hand moves it.
const MOVES: u32 = 3;

/// What an attempt has done to the vehicle.
#[derive(Clone, Debug, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a thing of its own that an action sets or ends"
)]
pub(super) struct Track {
    setup: Setup,
    accesses: BTreeSet<AccessId>,
    /// Other work that is done once: the service tool connected, a longer lead, the gauge fitted, protection.
    ready: Ready,
    /// The pump ran its prime during the last action: its readings are of a running pump.
    primed: bool,
    /// The starter turned during the last action.
    cranked: bool,
    /// How it stood while the last action ran the pump into a can, with the feed off its rail.
    caught: Option<Setup>,
    clamped: Option<PartId>,
    zeroed: bool,
    /// Clock when the pump was last switched, and now, s.
    since_s: f64,
    now_s: f64,
    /// The gauge is teed into a line, where the forecasts know no pressure.
    teed: bool,
    /// It is teed into the line of a lift pump, which the forecasts do know.
    teed_lift: bool,
    /// The pump lies beside its tank and draws air.
    out: bool,
    /// The meter is wired into the circuit on amps, where the forecasts know of none.
    in_line: Option<[NodeId; 2]>,
}

/// Where a job stands as far as planning goes on from it.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Standing {
    pub(super) accesses: BTreeSet<AccessId>,
    pub(super) ready: Ready,
    pub(super) done: Vec<Cure>,
    /// Key off, key on, pump commanded, engine running.
    pub(super) mode: Mode,
}

/// Shared work besides access that stays done.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a piece of work of its own"
)]
pub(super) struct Ready {
    pub tool: bool,
    pub leads: bool,
    pub gauge: bool,
    pub protection: bool,
}

/// A jumper as a setup has it.
fn jumper(bridge: &Bridge) -> Laid {
    // A wire that cannot be was refused at the bay.
    let ohms = bridge.ohms(JUMPER_C).unwrap_or(0.0);
    (bridge.a, bridge.b, ohms.to_bits())
}

impl Track {
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// The setup that readings of the last action belong to.
    pub fn readable(&self) -> Setup {
        if let Some(caught) = &self.caught {
            return caught.clone();
        }
        let mut setup = self.setup.clone();
        setup.pump |= self.primed;
        if self.primed {
            setup
        } else {
            setup.after(self.now_s - self.since_s)
        }
    }

    /// The setup while the starter turned during the last action, if it did.
    pub fn cranking(&self) -> Option<Setup> {
        self.cranked.then(|| Setup {
            key: Key::Crank,
            pump: false,
            ..self.setup.clone()
        })
    }

    /// Nothing but repairs stands between the vehicle and a start as it came in.
    pub fn is_whole(&self) -> bool {
        let setup = &self.setup;
        setup.unplugged.is_empty()
            && setup.jumper.is_none()
            && setup.pinched.is_empty()
            && setup.handled.is_empty()
            && setup.tapped.is_empty()
            && setup.swapped.is_empty()
            && setup.load.is_none()
            && setup.charged.is_none()
    }

    /// Where the job stands.
    pub fn standing(&self) -> Standing {
        let setup = &self.setup;
        Standing {
            accesses: self.accesses.clone(),
            ready: self.ready,
            done: setup.done().collect(),
            mode: match (setup.key, setup.pump) {
                (Key::Off, _) => Mode::KeyOff,
                (Key::On | Key::Crank, false) => Mode::KeyOn,
                (Key::On | Key::Crank, true) => Mode::Pumping,
                (Key::Run, _) => Mode::Running,
            },
        }
    }

    pub fn clamped(&self) -> Option<PartId> {
        self.clamped
    }

    pub fn clamp_zeroed(&self) -> bool {
        self.zeroed
    }

    pub fn primed(&self) -> bool {
        self.primed
    }

    /// The gauge shows the pressure of a lift pump.
    pub fn at_lift(&self) -> bool {
        self.teed_lift
    }

    /// The meter is part of the circuit.
    pub fn has_ammeter(&self) -> bool {
        self.in_line.is_some()
    }

    /// The pump keeps the pressure up, so that it depends on nothing that went before.
    pub fn pressure_is_steady(&self) -> bool {
        (!self.teed || self.teed_lift)
            && !self.out
            && !self.primed
            && !self.cranked
            && (self.setup.pump || self.setup.key == Key::Run)
    }

    pub fn apply(&mut self, vehicle: &Vehicle, entry: &Entry) {
        let running = self.setup.pump || self.setup.key == Key::Run;
        self.now_s = entry.clock_s;
        self.primed = false;
        self.cranked = false;
        self.caught = None;
        self.follow(vehicle, entry);
        if entry.said.iter().any(|line| line == ENGINE_DIES) {
            self.setup.key = Key::On;
        }
        self.out = vehicle.pump_is_out(&self.accesses);
        if (self.setup.pump || self.setup.key == Key::Run) != running || !running {
            // Without current nothing grows warm; what happens during a switching action happens at its end.
            let warm = matches!(entry.action, Action::Warm) && self.setup.key == Key::Run;
            self.since_s = entry.clock_s - if warm { TIMES.warm } else { 0.0 };
        }
    }

    fn follow(&mut self, vehicle: &Vehicle, entry: &Entry) {
        let setup = &mut self.setup;
        match &entry.action {
            Action::Key(key) => self.turn(*key, entry),
            Action::Warm if setup.key != Key::Run => self.turn(Key::Run, entry),
            Action::Access(access) => {
                self.accesses.insert(*access);
            }
            Action::PumpTool(on) => {
                let answered = !entry.said.iter().any(|line| line.contains("no answer"));
                (setup.pump, self.ready.tool) = (*on && answered, true);
            }
            Action::Scan => self.ready.tool = true,
            Action::Flow { bridge, .. } if vehicle.flow_part().is_none() => {
                let caught = entry
                    .readings
                    .iter()
                    .any(|r| r.quantity == Quantity::Volume);
                self.ready.tool |= bridge.is_none();
                self.caught = caught.then(|| setup.clone().catching(bridge.map(|b| jumper(&b))));
            }
            Action::Protect => self.ready.protection = true,
            Action::Gauge(at) => {
                self.ready.gauge = at.is_some();
                self.teed = matches!(at, Some(Fitting::Tee(_)));
                self.teed_lift = matches!(at, Some(Fitting::Tee(part)) if vehicle.parts[part.0].kind == Kind::LiftLine);
            }
            Action::Refit(access) => self.refit(vehicle, *access),
            Action::Unplug(part) => {
                setup.unplugged.insert(*part);
            }
            Action::Plug(part) => self.plug(vehicle, *part),
            Action::Isolate(on) => self.isolate(vehicle, *on),
            Action::Wiggle(part) => *setup.handled.entry(*part).or_insert(0) += MOVES,
            Action::Tap(part) => {
                let tank = vehicle.parts[part.0].kind == Kind::Tank;
                let hit = if tank {
                    vehicle.tank_pump().part
                } else {
                    *part
                };
                *setup.tapped.entry(hit).or_insert(0) += 1;
            }
            Action::Swap { relay, with } => {
                let kind = |id: PartId| &vehicle.parts[id.0].relay_type;
                let other = (0..vehicle.parts.len())
                    .map(PartId)
                    .find(|&id| id != *relay && kind(id).is_some() && kind(id) == kind(*relay));
                setup
                    .swapped
                    .extend(with.or(other).map(|other| (*relay, other)));
            }
            Action::Pinch { line, shut: true } => {
                setup.pinched.insert(*line);
            }
            Action::Pinch { line, shut: false } => {
                setup.pinched.remove(line);
            }
            Action::Charge { seconds } => {
                let hours = seconds.map_or(f64::INFINITY, |seconds| seconds / 3600.0);
                setup.charged = Some((CHARGER_A * hours).to_bits());
            }
            Action::Drive | Action::Handover => {
                *setup = std::mem::take(setup).driven();
                self.clamped = None;
                self.in_line = None;
                self.ready.gauge = false;
                (self.teed, self.teed_lift) = (false, false);
                self.accesses.clear();
            }
            Action::Meter {
                function,
                red,
                black,
                ..
            } => self.in_line = function.carries_current().then_some([*red, *black]),
            Action::MeterOff | Action::Zero | Action::Needles(_) => self.in_line = None,
            Action::Leads(choice) => (self.in_line, self.ready.leads) = (None, choice.is_some()),
            Action::Clamp(part) => self.clamped = Some(*part),
            Action::ClampZero => (self.clamped, self.zeroed) = (None, true),
            Action::ClampOff => self.clamped = None,
            Action::Lamp { a, b } => setup.lamp = Some((*a, *b)),
            Action::LampOff => setup.lamp = None,
            Action::Load { a, b, bulb } => setup.load = Some((*a, *b, *bulb)),
            Action::LoadOff => setup.load = None,
            Action::Jumper(bridge) => {
                let burnt = entry.said.iter().any(|line| line.contains("fuse is gone"));
                setup.jumper = (!burnt).then(|| jumper(bridge));
            }
            Action::JumperOff => setup.jumper = None,
            Action::Repair(target) => {
                let leg = target.leg.as_ref();
                let element = leg.and_then(|leg| vehicle.element(target.part, leg));
                setup.remedies.push((target.part, element, Remedy::Repair));
            }
            Action::Replace(part) => self.replace(vehicle, *part),
            Action::Fill { drained } => setup.fills.push(*drained),
            _ => {}
        }
    }

    /// What was opened beyond `access` shuts, and what was connected there comes off.
    fn refit(&mut self, vehicle: &Vehicle, access: AccessId) {
        self.accesses
            .retain(|open| !vehicle.access_order(&[*open]).contains(&access));
        let shut = |place: PlaceId| {
            let order = vehicle.access_to(place);
            order.iter().any(|need| !self.accesses.contains(need))
        };
        let out_of_reach = |node: &NodeId| {
            let touch = vehicle.nodes[node.0 as usize].touch;
            touch.is_some_and(|touch| shut(touch.place))
        };
        let setup = &mut self.setup;
        if (setup.jumper.as_ref()).is_some_and(|(a, b, _)| out_of_reach(a) || out_of_reach(b)) {
            setup.jumper = None;
        }
        if (setup.lamp.as_ref()).is_some_and(|(a, b)| out_of_reach(a) || out_of_reach(b)) {
            setup.lamp = None;
        }
        if (setup.load.as_ref()).is_some_and(|(a, b, _)| out_of_reach(a) || out_of_reach(b)) {
            setup.load = None;
        }
        self.in_line = self.in_line.filter(|tips| !tips.iter().any(out_of_reach));
        if self
            .clamped
            .is_some_and(|part| shut(vehicle.parts[part.0].place))
        {
            self.clamped = None;
        }
    }

    fn turn(&mut self, key: Key, entry: &Entry) {
        let says = |words: &str| entry.said.iter().any(|line| line.contains(words));
        match key {
            Key::Off => (self.setup.key, self.setup.pump) = (Key::Off, false),
            Key::On => {
                self.primed = says("It stops after")
                    || says("nothing is heard")
                    || says("nothing from the pump");
                (self.setup.key, self.setup.pump) =
                    (Key::On, self.setup.pump && self.setup.key == Key::On);
            }
            Key::Crank | Key::Run => {
                self.cranked = self.setup.key != Key::Run;
                self.setup.key = if says("The engine starts.") {
                    Key::Run
                } else {
                    Key::On
                };
                self.setup.pump = false;
            }
        }
    }

    /// A new fuse or relay is in by being pushed in.
    fn replace(&mut self, vehicle: &Vehicle, part: PartId) {
        self.setup.remedies.push((part, None, Remedy::Replace));
        let pushed_in = matches!(vehicle.parts[part.0].kind, Kind::Fuse | Kind::Relay);
        if pushed_in && self.setup.unplugged.contains(&part) {
            self.plug(vehicle, part);
        }
    }

    fn plug(&mut self, vehicle: &Vehicle, part: PartId) {
        // A tip cannot stay where the plug goes.
        let gone = |node: &NodeId| {
            let touch = vehicle.nodes[node.0 as usize].touch;
            touch.is_some_and(|touch| touch.only_unplugged == Some(part))
        };
        self.in_line = self.in_line.filter(|tips| !tips.iter().any(gone));
        self.setup.unplugged.remove(&part);
        *self.setup.handled.entry(part).or_insert(0) += 1;
    }

    fn isolate(&mut self, vehicle: &Vehicle, on: bool) {
        let clamps = vehicle
            .parts
            .iter()
            .enumerate()
            .filter(|(_, part)| part.kind == Kind::Clamp);
        let negative = clamps.map(|(index, _)| PartId(index)).find(|&part| {
            vehicle
                .elements_of(part)
                .any(|(_, e)| e.from == vehicle.reference || e.to == vehicle.reference)
        });
        let Some(part) = negative else { return };
        if on {
            self.setup.unplugged.insert(part);
        } else {
            self.plug(vehicle, part);
        }
    }
}
