//! The road test: from a cold start to full load on the hill and back.

use super::attach::Attachments;
use super::control::{Controls, EngineLoad};
use super::coolant::{self, Round};
use super::events::TURNS_SHARE;
use super::{Rig, RigError};
use crate::pump;
use crate::vehicle::{Cooling, Key};

/// Standing time after which the driver tries to restart, s.
const STAND_S: f64 = 3600.0;

/// The road: what the engine does for how long, s.
const STRETCHES: [(EngineLoad, f64); 3] = [
    (EngineLoad::Idle, 60.0),
    (EngineLoad::Cruise, 300.0),
    (EngineLoad::Hill, 180.0),
];

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
    /// What a cooling circuit's engine and heater did.
    pub heat: Option<HeatReport>,
}

/// What a road test shows of a cooling circuit, degrees Celsius.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct HeatReport {
    /// Hottest coolant at the end of a stretch.
    pub hottest_c: f64,
    /// Air from the heater at the end of the cruise.
    pub heater_c: f64,
    /// A driver sees the needle climb above this.
    pub warns_c: f64,
    /// It boils over at this.
    pub boils_c: f64,
    /// Air below this feels cold.
    pub warm_c: f64,
}

impl HeatReport {
    fn new(cooling: &Cooling, air_c: f64) -> HeatReport {
        HeatReport {
            hottest_c: air_c,
            heater_c: air_c,
            warns_c: cooling.warns_c,
            boils_c: cooling.boils_c,
            warm_c: cooling.heater_warm_c,
        }
    }

    /// Takes a stretch of the road into account.
    fn passes(&mut self, cooling: &Cooling, round: &Round, coolant_c: f64) {
        self.hottest_c = self.hottest_c.max(coolant_c);
        self.heater_c = coolant::heater_c(cooling, round.flow_m3_s, coolant_c, round.air_c);
    }

    /// What the driver notices of it, worst first.
    pub fn symptoms(&self) -> impl Iterator<Item = Symptom> {
        let boils = self.hottest_c >= self.boils_c;
        let hot = (!boils && self.hottest_c > self.warns_c).then_some(Symptom::RunsHot);
        let cold = (self.heater_c < self.warm_c).then_some(Symptom::HeaterCold);
        boils
            .then_some(Symptom::BoilsOver)
            .into_iter()
            .chain(hot)
            .chain(cold)
    }
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
    /// The coolant boils over.
    BoilsOver,
    /// The temperature climbs under load.
    RunsHot,
    /// The heater blows cold with a hot engine.
    HeaterCold,
}

impl Symptom {
    /// Its name in files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Symptom::HardlyCranks => "hardly-cranks",
            Symptom::CranksWithoutFiring => "cranks-without-firing",
            Symptom::CutsOut => "cuts-out",
            Symptom::FadesUnderLoad => "fades-under-load",
            Symptom::RunsRich => "runs-rich",
            Symptom::LongCrankAfterStanding => "long-crank-after-standing",
            Symptom::Whines => "whines",
            Symptom::LongCrank => "long-crank",
            Symptom::RunsOn => "runs-on",
            Symptom::BoilsOver => "boils-over",
            Symptom::RunsHot => "runs-hot",
            Symptom::HeaterCold => "heater-cold",
        }
    }
}

/// Share of the wanted pressure at which an engine bucks or dies at steady speed; ours, no source.
const CUT_OUT_FRACTION: f64 = 0.55;
/// Share of the wanted pressure above which an engine runs rich enough to be smelt; ours, no source.
const RICH_FRACTION: f64 = 1.2;
/// Share of the wanted pressure that must be left after an hour for a prompt start; ours, no source.
const HELD_FRACTION: f64 = 0.1;

impl DriveReport {
    fn rail_pa(&mut self, load: EngineLoad) -> &mut f64 {
        match load {
            EngineLoad::Idle => &mut self.idle_pa,
            EngineLoad::Cruise => &mut self.cruise_pa,
            EngineLoad::Hill => &mut self.hill_pa,
        }
    }

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
        if self.starts {
            symptoms.extend(self.heat.iter().flat_map(HeatReport::symptoms));
        }
        let most_pa = self.idle_pa.max(self.cruise_pa).max(self.hill_pa);
        if self.starts && most_pa > RICH_FRACTION * self.wanted_pa {
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

    fn heat_report(&self) -> Option<HeatReport> {
        let cooling = self.vehicle.cooling.as_ref()?;
        Some(HeatReport::new(cooling, self.conditions.ambient_c))
    }

    /// What a cooling circuit's engine and heater do just now; nothing on a vehicle without one.
    ///
    /// # Errors
    /// The circuit cannot be solved.
    pub fn heat_now(&mut self, attached: &Attachments) -> Result<Option<HeatReport>, RigError> {
        let flow_m3_s = self.now(attached)?.pump.return_m3_s;
        let (Some(mut heat), Some(cooling)) = (self.heat_report(), self.vehicle.cooling) else {
            return Ok(None);
        };
        let coolant_c = self.medium_c();
        heat.passes(&cooling, &self.round(flow_m3_s), coolant_c);
        Ok(Some(heat))
    }

    /// What a stretch of the road did to a cooling circuit. The heater is felt at steady speed.
    fn warm_stretch(&self, report: &mut DriveReport, load: EngineLoad, flow_m3_s: f64) {
        if let (Some(cooling), Some(heat)) = (&self.vehicle.cooling, &mut report.heat) {
            let felt_c = heat.heater_c;
            heat.passes(cooling, &self.round(flow_m3_s), self.medium_c());
            if load != EngineLoad::Cruise {
                heat.heater_c = felt_c;
            }
        }
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
            heat: self.heat_report(),
        };
        if report.starts {
            for (load, seconds) in STRETCHES {
                self.controls.load = load;
                self.wait(seconds, &none)?;
                report.ran_s += seconds;
                let pump = self.now(&none)?.pump;
                report.starved |= pump.whines();
                self.warm_stretch(&mut report, load, pump.return_m3_s);
                *report.rail_pa(load) = pump.rail_pa;
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
            heat: self.heat_report(),
        };
        if starts {
            let surroundings = self.surroundings;
            for (load, seconds) in STRETCHES {
                let pump = at(self, Key::Run, load)?.pump;
                report.starved |= pump.whines();
                *report.rail_pa(load) = pump.rail_pa;
                if let Some(cooling) = self.vehicle.cooling {
                    let round = self.round(pump.return_m3_s);
                    let end_c = coolant::after(&cooling, &round, self.medium_c(), seconds);
                    self.surroundings.medium_k = end_c - self.conditions.ambient_c;
                }
                self.warm_stretch(&mut report, load, pump.return_m3_s);
            }
            self.surroundings = surroundings;
        }
        self.closed_relays.clear();
        report.runs_on = at(self, Key::Off, EngineLoad::Idle)?.pump.rad_s > 0.0;
        report.held_pa = pump::hold_pressure(&self.build.hydraulics, report.idle_pa, STAND_S);
        self.controls = before;
        self.closed_relays.clear();
        Ok(report)
    }
}
