//! The road test: from a cold start to full load on the hill and back.

use super::attach::Attachments;
use super::control::{Controls, EngineLoad};
use super::events::TURNS_SHARE;
use super::{Rig, RigError};
use crate::pump;
use crate::vehicle::Key;

/// Standing time after which the driver tries to restart, s.
const STAND_S: f64 = 3600.0;

/// What a road test shows, SI units. The driver notices behaviour; the figures are for judging it.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct DriveReport {
    /// Pressure at the end of the prime, Pa.
    pub primed_pa: f64,
    /// Starter current as a share of what a healthy battery gives.
    pub crank_share: f64,
    /// The engine started.
    pub starts: bool,
    /// How long it ran, s.
    pub ran_s: f64,
    /// Rail pressure at idle, Pa.
    pub idle_pa: f64,
    /// Rail pressure at steady speed, Pa.
    pub cruise_pa: f64,
    /// Rail pressure under full load, Pa.
    pub hill_pa: f64,
    /// Rail pressure after an hour at rest, Pa.
    pub held_pa: f64,
    /// The pump ran starved somewhere on the way.
    pub starved: bool,
    /// How much longer than usual it was cranked until it started, s.
    pub late_s: f64,
    /// The pump went on with the key off.
    pub runs_on: bool,
    /// Regulated pressure that full load should see, Pa.
    pub wanted_pa: f64,
}

/// Something a driver notices.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Symptom {
    /// The starter hardly turns the engine.
    HardlyCranks,
    /// The starter turns the engine well but it does not fire.
    CranksWithoutFiring,
    /// It starts but dies or bucks at steady speed.
    CutsOut,
    /// It pulls badly under full load and recovers.
    FadesUnderLoad,
    /// It runs rich: smell of fuel, thirst.
    RunsRich,
    /// After standing it needs long cranking.
    LongCrankAfterStanding,
    /// A whine from the tank.
    Whines,
    /// Every start takes long cranking.
    LongCrank,
    /// The pump goes on when everything is switched off.
    RunsOn,
}

/// Share of the wanted pressure at which an engine bucks or dies at steady speed; ours, no source.
const CUT_OUT_FRACTION: f64 = 0.55;
/// Share of the wanted pressure above which an engine runs rich enough to be smelt; ours, no source.
const RICH_FRACTION: f64 = 1.2;
/// Share of the wanted pressure that must be left after an hour for a prompt start; ours, no source.
const HELD_FRACTION: f64 = 0.1;

impl DriveReport {
    /// What the driver notices, worst first; `fade_fraction` is the vehicle's own.
    #[must_use]
    pub fn symptoms(&self, fade_fraction: f64) -> Vec<Symptom> {
        let mut symptoms = Vec::new();
        if self.crank_share < TURNS_SHARE {
            symptoms.push(Symptom::HardlyCranks);
        } else if !self.starts {
            symptoms.push(Symptom::CranksWithoutFiring);
        } else if self.cruise_pa < CUT_OUT_FRACTION * self.wanted_pa {
            symptoms.push(Symptom::CutsOut);
        } else if self.hill_pa < fade_fraction * self.wanted_pa {
            symptoms.push(Symptom::FadesUnderLoad);
        }
        if self.starts && self.hill_pa > RICH_FRACTION * self.wanted_pa {
            symptoms.push(Symptom::RunsRich);
        }
        if self.starts && self.held_pa < HELD_FRACTION * self.wanted_pa {
            symptoms.push(Symptom::LongCrankAfterStanding);
        }
        if self.starts && self.starved {
            symptoms.push(Symptom::Whines);
        }
        if self.starts && self.late_s > 0.0 {
            symptoms.push(Symptom::LongCrank);
        }
        if self.runs_on {
            symptoms.push(Symptom::RunsOn);
        }
        symptoms
    }
}

impl Rig {
    /// Gauge pressure that full load should see, Pa.
    pub(super) fn wanted_pa(&self) -> f64 {
        let set_pa = self.vehicle.hydraulics.regulator.set_pa;
        self.vehicle.holds_pa.unwrap_or(set_pa) + self.vehicle.engine.hill_manifold_pa
    }

    /// Drives the vehicle as it stands: starts it from cold, idles, cruises, climbs, comes back and lets it stand.
    /// The road shakes intermittent faults awake and undoes what handling a bad joint had wiped better.
    pub fn drive(&mut self) -> Result<DriveReport, RigError> {
        self.shake();
        let none = Attachments::none();
        self.key_off_s = f64::INFINITY;
        self.rail_pa = 0.0;
        self.turn_key(Key::Off, &none)?;
        self.key_off_s = f64::INFINITY;
        let turn = self.turn_key(Key::Run, &none)?;
        let mut report = DriveReport {
            primed_pa: turn.prime.as_ref().map_or(0.0, |phase| phase.end().rail_pa),
            crank_share: turn.crank_share,
            starts: turn.started,
            ran_s: 0.0,
            idle_pa: 0.0,
            cruise_pa: 0.0,
            hill_pa: 0.0,
            held_pa: 0.0,
            starved: false,
            late_s: turn.crank_s - self.vehicle.engine.crank_seconds,
            runs_on: false,
            wanted_pa: self.wanted_pa(),
        };
        if report.starts {
            for (load, seconds) in [
                (EngineLoad::Idle, 60.0),
                (EngineLoad::Cruise, 300.0),
                (EngineLoad::Hill, 180.0),
            ] {
                self.controls.load = load;
                self.wait(seconds, &none)?;
                report.ran_s += seconds;
                let pump = self.now(&none)?.pump;
                report.starved |= pump.starved;
                match load {
                    EngineLoad::Idle => report.idle_pa = pump.rail_pa,
                    EngineLoad::Cruise => report.cruise_pa = pump.rail_pa,
                    EngineLoad::Hill => report.hill_pa = pump.rail_pa,
                }
            }
        }
        self.controls = Controls {
            unplugged: self.controls.unplugged.clone(),
            ..Controls::default()
        };
        self.closed_relays.clear();
        report.runs_on = self.now(&none)?.pump.rad_s > 0.0;
        report.held_pa = pump::hold_pressure(&self.build.hydraulics, report.idle_pa, STAND_S);
        self.rail_pa = pump::hold_pressure(&self.build.hydraulics, report.idle_pa, 60.0);
        self.key_off_s = 0.0;
        Ok(report)
    }

    /// What a road test would show if nothing grew warm and nothing sagged on the way: steady states alone, some ten
    /// times quicker than [`Rig::drive`]. For weighing what might be wrong; what a driver notices is told by the drive.
    pub fn glance(&mut self) -> Result<DriveReport, RigError> {
        let none = Attachments::none();
        let before = self.controls.clone();
        let engine = self.vehicle.engine;
        let at = |rig: &mut Rig, key: Key, load: EngineLoad| {
            rig.controls.key = key;
            rig.controls.load = load;
            rig.now(&none)
        };
        let catches = |rig: &Rig, cranking: &super::Instant| {
            cranking.pump.rail_pa >= engine.start_pa
                && rig.feeds_ignition(cranking)
                && !rig.water_stops_engine()
        };
        let mut cranking = at(self, Key::Crank, EngineLoad::Idle)?;
        let crank_share = self
            .starter()
            .map_or(0.0, |(id, healthy_a)| cranking.amps(id) / healthy_a);
        let turns = crank_share > TURNS_SHARE;
        let mut starts = turns && catches(self, &cranking);
        let mut late_s = 0.0;
        if turns && !starts && engine.longest_crank_s > engine.crank_seconds {
            // Oil pressure comes after some turning, and may switch what the key alone does not.
            self.cranked_s = engine.longest_crank_s;
            cranking = at(self, Key::Crank, EngineLoad::Idle)?;
            self.cranked_s = 0.0;
            starts = catches(self, &cranking);
            late_s = engine.longest_crank_s - engine.crank_seconds;
        }
        let mut report = DriveReport {
            primed_pa: cranking.pump.rail_pa,
            crank_share,
            starts,
            ran_s: 0.0,
            idle_pa: 0.0,
            cruise_pa: 0.0,
            hill_pa: 0.0,
            held_pa: 0.0,
            starved: false,
            late_s,
            runs_on: false,
            wanted_pa: self.wanted_pa(),
        };
        if starts {
            let idle = at(self, Key::Run, EngineLoad::Idle)?.pump;
            let cruise = at(self, Key::Run, EngineLoad::Cruise)?.pump;
            let hill = at(self, Key::Run, EngineLoad::Hill)?.pump;
            report.idle_pa = idle.rail_pa;
            report.cruise_pa = cruise.rail_pa;
            report.hill_pa = hill.rail_pa;
            report.starved = idle.starved || cruise.starved || hill.starved;
        }
        self.closed_relays.clear();
        report.runs_on = at(self, Key::Off, EngineLoad::Idle)?.pump.rad_s > 0.0;
        report.held_pa = pump::hold_pressure(&self.build.hydraulics, report.idle_pa, STAND_S);
        self.controls = before;
        self.closed_relays.clear();
        Ok(report)
    }
}
