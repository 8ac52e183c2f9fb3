//! Things that take time: turning the key, priming, cranking, waiting.

use super::attach::Attachments;
use super::chatter::Beat;
use super::phase::Phase;
use super::settle::Instant;
use super::{Rig, RigError};
use crate::pump;
use crate::vehicle::{ElementId, Key, Kind, Law, PartId};

/// The control unit primes again only after the key has been off this long, s.
const PRIME_REARM_S: f64 = 10.0;

/// Below half its healthy current a starter no longer turns an engine fast enough (common practice, no source).
pub(super) const TURNS_SHARE: f64 = 0.5;

/// Time in which a running engine has used up what hoses and rail hold without a pump, s: some millilitres at some
/// millilitres a second.
const EMPTIES_S: f64 = 3.0;

/// What is heard of a relay.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub enum RelaySound {
    /// Nothing.
    #[default]
    Silent,
    /// It clicks in.
    Clicks,
    /// It can neither hold nor drop out.
    Chatters,
}

/// What turning the key brought about.
#[derive(Default)]
pub struct KeyTurn {
    /// The pump ran its prime (or tried to).
    pub prime: Option<Phase>,
    /// The starter was engaged.
    pub crank: Option<Phase>,
    /// The engine caught.
    pub started: bool,
    /// The engine that was running stopped.
    pub stopped: bool,
    /// What was heard of the relays.
    pub relay: RelaySound,
    /// What threw the circuit to and fro.
    pub beat: Option<Beat>,
    /// The starter turned the engine over, revolutions as a share of its healthy speed.
    pub crank_share: f64,
    /// How long it was turned over, s.
    pub crank_s: f64,
}

impl Rig {
    /// The circuit as it stands now, with instruments attached.
    pub fn now(&mut self, attached: &Attachments) -> Result<Instant, RigError> {
        let settled = self.settle(self.pump_wanted(), attached)?;
        let mut pump = settled.pump_state();
        if pump.rad_s <= 0.0 {
            (pump.rail_pa, pump.outlet_pa) = (self.rail_pa, self.rail_pa);
        }
        let winding = self.winding();
        let chattering = settled.chatter.as_ref().map(|chatter| chatter.beat);
        Ok(Instant::new(
            settled.solution,
            &settled.assembled,
            winding,
            pump,
            chattering,
        )
        .with_ripple(settled.ripple))
    }

    /// A relay is heard when it closes; a driver module is not.
    pub(super) fn clicks(&self, part: PartId) -> bool {
        self.vehicle.parts[part.0].kind == Kind::Relay
    }

    /// Whether the control unit wants the pump to run, the prime left aside.
    pub(super) fn pump_wanted(&self) -> bool {
        match self.controls.key {
            Key::Off => false,
            Key::On => self.controls.tool_commands_pump,
            Key::Crank | Key::Run => !self.build.prime_only,
        }
    }

    /// Turns the key. `Crank` engages the starter until the engine catches or the learner gives up.
    pub fn turn_key(&mut self, to: Key, attached: &Attachments) -> Result<KeyTurn, RigError> {
        let from = self.controls.key;
        let mut turn = KeyTurn::default();
        if to == Key::Off {
            turn.stopped = from == Key::Run;
            self.controls.key = Key::Off;
            self.controls.tool_commands_pump = false;
            self.key_off_s = 0.0;
            self.cranked_s = 0.0;
            return Ok(turn);
        }
        let turning = self.turns_already(attached)?;
        if from == Key::Off {
            self.controls.key = Key::On;
            if self.key_off_s >= PRIME_REARM_S {
                let (phase, chattered) =
                    self.drive_pump(self.vehicle.prime_seconds, turning, attached)?;
                turn.beat = chattered;
                turn.relay = if chattered == Some(Beat::Relay) {
                    RelaySound::Chatters
                } else if self.closed_relays.iter().any(|&part| self.clicks(part)) {
                    RelaySound::Clicks
                } else {
                    RelaySound::Silent
                };
                turn.prime = Some(phase);
                self.closed_relays.clear();
            }
        }
        match to {
            Key::Crank | Key::Run if from != Key::Run => {
                self.crank(turning, attached, &mut turn)?;
            }
            Key::On => {
                turn.stopped = from == Key::Run;
                self.controls.key = Key::On;
            }
            _ => {}
        }
        Ok(turn)
    }

    /// Whether something keeps the pump going that no key has to switch on: a jumper, the service tool.
    fn turns_already(&mut self, attached: &Attachments) -> Result<bool, RigError> {
        if self.controls.jumper.is_none() && !self.controls.tool_commands_pump {
            return Ok(false);
        }
        let closed = self.closed_relays.clone();
        let settled = self.settle(self.pump_wanted(), attached)?;
        // Only looked at: nothing has switched.
        self.closed_relays = closed;
        Ok(settled.point.rad_s > 0.0)
    }

    fn crank(
        &mut self,
        turning: bool,
        attached: &Attachments,
        turn: &mut KeyTurn,
    ) -> Result<(), RigError> {
        let engine = self.vehicle.engine;
        self.controls.key = Key::Crank;
        self.cranked_s = 0.0;
        self.crank_on(engine.crank_seconds, turning, attached, turn)?;
        // A driver who knows the vehicle goes on until the oil pressure is up, and then until it catches.
        let stretches = [
            engine.oil_pressure_s - engine.crank_seconds,
            engine.longest_crank_s - engine.oil_pressure_s.max(engine.crank_seconds),
        ];
        let patient = engine.longest_crank_s > engine.crank_seconds;
        for seconds in stretches {
            if patient && seconds > 0.0 && !turn.started && turn.crank_share > TURNS_SHARE {
                self.crank_on(seconds, turning, attached, turn)?;
            }
        }
        self.cranked_s = 0.0;
        self.controls.key = if turn.started { Key::Run } else { Key::On };
        Ok(())
    }

    /// Turns the engine over for a while in the present state.
    fn crank_on(
        &mut self,
        seconds: f64,
        turning: bool,
        attached: &Attachments,
        turn: &mut KeyTurn,
    ) -> Result<(), RigError> {
        let (phase, chattered) = self.drive_pump(seconds, turning, attached)?;
        let first = phase.samples.first().copied();
        let starter = self.starter();
        turn.crank_share = match (first, starter) {
            (Some(sample), Some((id, healthy_a))) => phase.instant(&sample).amps(id) / healthy_a,
            _ => 0.0,
        };
        turn.beat = turn.beat.or(chattered);
        if chattered == Some(Beat::Relay) {
            turn.relay = RelaySound::Chatters;
        }
        turn.started = turn.crank_share > TURNS_SHARE
            && phase.end().rail_pa >= self.vehicle.engine.start_pa
            && self.ignition_live(&phase)
            && !self.water_stops_engine();
        turn.crank_s += seconds;
        self.cranked_s += seconds;
        turn.crank = Some(phase);
        Ok(())
    }

    /// Whether the engine has been turning for long enough to have oil pressure.
    pub(super) fn oil_pressure(&self) -> bool {
        self.controls.key == Key::Run
            || self.controls.key == Key::Crank
                && self.cranked_s >= self.vehicle.engine.oil_pressure_s
    }

    /// The starter's element and the current it takes from a healthy battery.
    pub(super) fn starter(&self) -> Option<(ElementId, f64)> {
        let elements = &self.vehicle.elements;
        let index = elements
            .iter()
            .position(|e| matches!(e.law, Law::Starter { .. }))?;
        let healthy = self.vehicle.nominal();
        Some((
            ElementId(index),
            healthy.battery.emf_v / (healthy.battery.ohms + healthy.ohms[index]),
        ))
    }

    /// The control unit is fed, so that it sparks and injects.
    fn ignition_live(&self, phase: &Phase) -> bool {
        let last = phase.samples.last();
        last.is_some_and(|sample| self.feeds_ignition(&phase.instant(sample)))
    }

    /// The control unit draws current at an instant.
    pub(super) fn feeds_ignition(&self, instant: &Instant) -> bool {
        let elements = self.vehicle.elements.iter().enumerate();
        let mut loads = elements.filter(|(_, e)| matches!(e.law, Law::Load { .. }));
        loads.any(|(index, e)| {
            self.vehicle.parts[e.part.0].kind == Kind::ControlUnit
                && instant.amps(ElementId(index)) > 0.0
        })
    }

    /// Commands the pump through the control unit by a service tool, or stops that.
    pub fn command_pump(&mut self, on: bool) {
        self.controls.tool_commands_pump = on;
    }

    /// Lets time pass: pressure leaks down or is held by the running pump, parts warm or cool, the battery sags or
    /// recovers, an overloaded fuse opens. Tells how many fuses opened.
    pub fn wait(&mut self, seconds: f64, attached: &Attachments) -> Result<usize, RigError> {
        match self.controls.key {
            Key::Off => self.key_off_s += seconds,
            Key::Crank => self.cranked_s += seconds,
            Key::On | Key::Run => {}
        }
        let opened = self.elapse(self.pump_wanted(), seconds, attached)?;
        let settled = self.settle(self.pump_wanted(), attached)?;
        self.rail_pa = if settled.point.rad_s > 0.0 {
            settled.point.rail_pa
        } else if self.controls.key == Key::Run {
            // What hose and line give back is in proportion to the pressure, and the engine takes it evenly.
            (self.rail_pa - self.wanted_pa() * seconds / EMPTIES_S).max(0.0)
        } else {
            pump::hold_pressure(&self.build.hydraulics, self.rail_pa, seconds)
        };
        Ok(opened)
    }

    /// A running engine dies when the pressure it needs to start has gone. True if it just has.
    pub fn engine_dies(&mut self, attached: &Attachments) -> Result<bool, RigError> {
        /// Share of the starting pressure below which a running engine dies; ours, no source.
        const DIES_SHARE: f64 = 0.6;
        if self.controls.key != Key::Run || self.vehicle.cooling.is_some() {
            return Ok(false);
        }
        let point = self.settle(self.pump_wanted(), attached)?.point;
        let fed = point.rad_s > 0.0 && point.rail_pa >= DIES_SHARE * self.vehicle.engine.start_pa;
        if fed {
            return Ok(false);
        }
        self.rail_pa = point.rail_pa;
        self.controls.key = Key::On;
        Ok(true)
    }

    /// Opens the line at the service port: pressure is gone.
    pub fn bleed(&mut self) {
        self.rail_pa = 0.0;
    }
}
