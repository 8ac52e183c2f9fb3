//! Things that take time: turning the key, priming, cranking, waiting.

use super::assemble::Assembled;
use super::attach::Attachments;
use super::chatter::Chatter;
use super::settle::{Instant, PumpState, Settled};
use super::{Rig, RigError};
use crate::circuit::{Port, Solver};
use crate::pump::{self, Rest};
use crate::vehicle::{ElementId, Key, Law};

/// Time between samples of a phase, s: fine enough for the start surge of a small motor.
const SAMPLE_S: f64 = 0.005;
/// The control unit primes again only after the key has been off this long, s.
const PRIME_REARM_S: f64 = 10.0;

/// One moment of a phase.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sample {
    /// Since the phase began, s.
    pub t_s: f64,
    /// The pump at that moment.
    pub pump: PumpState,
}

/// A stretch of time in which the pump was driven and the circuit did not switch.
pub struct Phase {
    /// Moments in order; the last is the end of the phase.
    pub samples: Vec<Sample>,
    assembled: Assembled,
    port: Port,
    chatter: Option<Chatter>,
    winding: Option<ElementId>,
}

impl Phase {
    /// The circuit at a sample, as anything attached met it.
    #[must_use]
    pub fn instant(&self, sample: &Sample) -> Instant {
        let amps = sample.pump.amps;
        // Both states of a chatter were solved when the phase was made, so they can be solved again.
        let chattered = self
            .chatter
            .as_ref()
            .and_then(|c| c.mean(&mut Solver::new(), amps).ok());
        let solution = chattered.unwrap_or_else(|| self.port.loaded(amps));
        Instant::new(
            solution,
            &self.assembled,
            self.winding,
            sample.pump,
            self.chatter.is_some(),
        )
    }

    /// Pump at the end of the phase.
    #[must_use]
    pub fn end(&self) -> PumpState {
        self.samples
            .last()
            .map(|sample| sample.pump)
            .unwrap_or_default()
    }
}

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
    /// The starter turned the engine over, revolutions as a share of its healthy speed.
    pub crank_share: f64,
}

impl Rig {
    /// The circuit as it stands now, with instruments attached.
    pub fn now(&mut self, attached: &Attachments) -> Result<Instant, RigError> {
        let settled = self.settle(self.pump_wanted(), attached)?;
        let powered = settled.point.rad_s > 0.0;
        let pump = PumpState {
            amps: settled.point.amps,
            rad_s: settled.point.rad_s,
            rail_pa: if powered {
                settled.point.rail_pa
            } else {
                self.rail_pa
            },
            delivered_m3_s: settled.point.delivered_m3_s,
            return_m3_s: settled.point.return_m3_s,
            starved: settled.point.starved,
        };
        let winding = self.winding();
        let chattering = settled.chatter.is_some();
        Ok(Instant::new(
            settled.solution,
            &settled.assembled,
            winding,
            pump,
            chattering,
        ))
    }

    /// Whether the control unit wants the pump to run, the prime left aside.
    pub(super) fn pump_wanted(&self) -> bool {
        match self.controls.key {
            Key::Off => false,
            Key::On => self.controls.tool_commands_pump,
            Key::Crank | Key::Run => true,
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
            return Ok(turn);
        }
        if from == Key::Off {
            self.controls.key = Key::On;
            if self.key_off_s >= PRIME_REARM_S {
                let (phase, chattered) = self.drive_pump(self.vehicle.prime_seconds, attached)?;
                turn.relay = if chattered {
                    RelaySound::Chatters
                } else if self.closed_relays.is_empty() {
                    RelaySound::Silent
                } else {
                    RelaySound::Clicks
                };
                turn.prime = Some(phase);
                self.closed_relays.clear();
            }
        }
        match to {
            Key::Crank | Key::Run if from != Key::Run => self.crank(attached, &mut turn)?,
            Key::On => {
                turn.stopped = from == Key::Run;
                self.controls.key = Key::On;
            }
            _ => {}
        }
        Ok(turn)
    }

    fn crank(&mut self, attached: &Attachments, turn: &mut KeyTurn) -> Result<(), RigError> {
        self.controls.key = Key::Crank;
        let (phase, chattered) = self.drive_pump(self.vehicle.engine.crank_seconds, attached)?;
        let first = phase.samples.first().copied();
        let starter = self.starter();
        turn.crank_share = match (first, starter) {
            (Some(sample), Some((id, healthy_a))) => phase.instant(&sample).amps(id) / healthy_a,
            _ => 0.0,
        };
        if chattered {
            turn.relay = RelaySound::Chatters;
        }
        // Below half its healthy current a starter no longer turns an engine fast enough (common practice, no source).
        let turns = turn.crank_share > 0.5;
        turn.started = turns
            && phase.end().rail_pa >= self.vehicle.engine.start_pa
            && self.ignition_live(&phase)
            && !self.handwork.water_stops_engine();
        turn.crank = Some(phase);
        self.controls.key = if turn.started { Key::Run } else { Key::On };
        Ok(())
    }

    /// The starter's element and the current it takes from a healthy battery.
    fn starter(&self) -> Option<(ElementId, f64)> {
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
        phase.samples.last().is_some_and(|sample| {
            let instant = phase.instant(sample);
            self.vehicle
                .elements
                .iter()
                .enumerate()
                .any(|(index, element)| {
                    matches!(element.law, Law::Load { .. })
                        && self.vehicle.parts[element.part.0].kind
                            == crate::vehicle::Kind::ControlUnit
                        && instant.amps(ElementId(index)) > 0.0
                })
        })
    }

    /// Commands the pump through the control unit by a service tool, or stops that.
    pub fn command_pump(&mut self, on: bool) {
        self.controls.tool_commands_pump = on;
    }

    /// Runs the pump from rest for a while with the control unit wanting it; fuses may open on the way.
    pub(super) fn drive_pump(
        &mut self,
        seconds: f64,
        attached: &Attachments,
    ) -> Result<(Phase, bool), RigError> {
        self.elapse(true, seconds, attached)?;
        let settled = self.settle(true, attached)?;
        let demand = self.demand();
        let trace = pump::prime(
            &self.unit_now(),
            &self.build.hydraulics,
            &settled.supply,
            &demand,
            Rest {
                rail_pa: self.rail_pa,
            },
            seconds,
            SAMPLE_S,
        )?;
        let samples = trace
            .samples
            .iter()
            .map(|sample| Sample {
                t_s: sample.t_s,
                pump: PumpState {
                    amps: sample.amps,
                    rad_s: sample.rad_s,
                    rail_pa: sample.rail_pa,
                    delivered_m3_s: sample.delivered_m3_s,
                    return_m3_s: 0.0,
                    starved: settled.point.starved,
                },
            })
            .collect();
        let winding = self.winding();
        let Settled {
            assembled,
            port,
            chatter,
            ..
        } = settled;
        let chattered = chatter.is_some();
        let phase = Phase {
            samples,
            assembled,
            port,
            chatter,
            winding,
        };
        self.rail_pa = phase.end().rail_pa;
        Ok((phase, chattered))
    }

    /// Lets time pass: pressure leaks down or is held by the running pump, parts warm or cool, the battery sags or
    /// recovers, an overloaded fuse opens. Tells how many fuses opened.
    pub fn wait(&mut self, seconds: f64, attached: &Attachments) -> Result<usize, RigError> {
        if self.controls.key == Key::Off {
            self.key_off_s += seconds;
        }
        let opened = self.elapse(self.pump_wanted(), seconds, attached)?;
        let settled = self.settle(self.pump_wanted(), attached)?;
        self.rail_pa = if settled.point.rad_s > 0.0 {
            settled.point.rail_pa
        } else {
            pump::hold_pressure(&self.build.hydraulics, self.rail_pa, seconds)
        };
        Ok(opened)
    }

    /// Opens the line at the service port: pressure is gone.
    pub fn bleed(&mut self) {
        self.rail_pa = 0.0;
    }
}
