//! What is in the tank and what of it reaches the pump: level, float, water, air at the strainer.

use super::attach::{Attachments, Tap};
use super::control::EngineLoad;
use super::{Rig, RigError};
use crate::units::Volume;
use crate::vehicle::{Build, ElementId, Key, Law, PartId, Vehicle};

/// The tank as it came, besides the share of fuel in it.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Tank {
    /// The float hangs at this share of full whatever is in the tank.
    pub stuck_float: Option<f64>,
    /// Share of water in what the pump draws.
    pub water: f64,
}

/// What can be wrong with a tank's contents.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum TankTrouble {
    /// Nothing in it, whatever the gauge says.
    Empty,
    /// Water in the fuel.
    Water,
}

impl TankTrouble {
    /// What is wrong with this share of full, and this share of water in it.
    #[must_use]
    pub fn of(fuel: f64, water: f64) -> Option<TankTrouble> {
        if fuel < EMPTY_TANK {
            Some(TankTrouble::Empty)
        } else if water > WATER_LIMIT {
            Some(TankTrouble::Water)
        } else {
            None
        }
    }
}

/// The tank, and what hands have done to it.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Contents {
    /// As it came.
    pub came: Tank,
    /// Fuel filled in, share of full.
    filled: f64,
    /// It was drained: the water is gone.
    drained: bool,
    /// The pump with its strainer hangs in the air.
    module_out: bool,
}

/// Share of water in petrol above which an engine does not start; ours, no source.
const WATER_LIMIT: f64 = 0.05;
/// Below this share of full the pump draws air.
pub const EMPTY_TANK: f64 = 0.01;
/// Below this share of full the fuel runs away from the strainer on a hill; ours, no source.
const SLOSHES: f64 = 0.04;

/// Sender resistance at a level over its nominal value: 110 to 10 ohm for a 60 ohm sender (ours, no source).
fn sender_factor(level: f64) -> f64 {
    (110.0 - 100.0 * level) / 60.0
}

impl Contents {
    /// Share of water in what the pump draws.
    fn water(&self) -> f64 {
        if self.drained { 0.0 } else { self.came.water }
    }

    /// Fuel in the tank, share of full.
    fn level(&self, fuel: f64) -> f64 {
        (fuel + self.filled).clamp(0.0, 1.0)
    }

    /// What the pump and the gauge get of it.
    pub fn apply(&self, vehicle: &Vehicle, fuel: f64, build: &mut Build) {
        let level = self.level(fuel);
        let dry = level < EMPTY_TANK || self.module_out;
        match &mut build.lift {
            Some(lift) => lift.hydraulics.tank_empty |= dry,
            None => build.hydraulics.tank_empty |= dry,
        }
        if let Some(sender) = sender(vehicle) {
            build.ohms[sender.0] *= sender_factor(self.came.stuck_float.unwrap_or(level));
        }
    }
}

/// A consumer inside the tank is the fuel gauge's sender.
fn sender(vehicle: &Vehicle) -> Option<ElementId> {
    let inside = vehicle.parts[vehicle.tank_pump().part.0].place;
    let mut loads = vehicle
        .elements
        .iter()
        .enumerate()
        .filter(|(_, e)| matches!(e.law, Law::Load { .. }));
    loads
        .find(|(_, e)| vehicle.parts[e.part.0].place == inside)
        .map(|(index, _)| ElementId(index))
}

impl Rig {
    /// Says what else is the matter with the tank; done before work begins.
    #[must_use]
    pub fn with_tank(mut self, tank: Tank) -> Rig {
        self.contents.came = tank;
        self.rebuild();
        self
    }

    /// Lifts the pump module out of the tank, or puts it back. Out of it the strainer draws air: the pump runs dry
    /// when it is powered, no pressure comes up and no engine starts.
    pub fn set_module_out(&mut self, out: bool) {
        if self.contents.module_out != out {
            self.contents.module_out = out;
            self.rebuild();
        }
    }

    /// Whether the pump module is out of the tank.
    #[must_use]
    pub fn module_out(&self) -> bool {
        self.contents.module_out
    }

    /// Fills fuel in: a share of what the tank holds. It thins water out.
    pub fn fill(&mut self, share: f64) {
        self.contents.filled += share.min(1.0 - self.fuel_share()).max(0.0);
        self.rebuild();
    }

    /// Drains the tank; what goes in next is clean.
    pub fn drain(&mut self) {
        self.contents.filled -= self.fuel_share();
        self.contents.drained = true;
        self.rebuild();
    }

    /// Fuel in the tank, share of full. Hidden from the learner, who has a gauge that may lie and a dipstick.
    #[must_use]
    pub fn fuel_share(&self) -> f64 {
        self.contents.level(self.conditions.fuel)
    }

    /// What the tank holds when full.
    #[must_use]
    pub fn tank_capacity(&self) -> Volume {
        Volume(self.vehicle.tank_m3)
    }

    /// The fuel lies away from the strainer: little of it, on a slope.
    pub(super) fn sloshes(&self) -> bool {
        self.controls.key == Key::Run
            && self.controls.load == EngineLoad::Hill
            && self.fuel_share() < SLOSHES
    }

    /// What is wrong with what is in the tank now.
    #[must_use]
    pub(crate) fn tank_trouble(&self) -> Option<TankTrouble> {
        TankTrouble::of(self.fuel_share(), self.contents.water())
    }

    pub(super) fn water_stops_engine(&self) -> bool {
        self.contents.water() > WATER_LIMIT
    }

    /// What is in the tank keeps the engine from running.
    pub(super) fn fuel_is_bad(&self) -> bool {
        self.water_stops_engine() || self.fuel_share() < EMPTY_TANK
    }

    /// Water at the bottom of a sample of `volume` drawn from the tank, m3; nothing comes from an empty one.
    #[must_use]
    pub fn sample_fuel(&self, volume: Volume) -> Option<Volume> {
        (self.fuel_share() >= EMPTY_TANK).then_some(Volume(volume.0 * self.contents.water()))
    }

    /// Where the fuel gauge's needle stands, 0 to 1, from the sender resistance it sees; nothing without ignition. A
    /// gauge is a consumer at the driver's seat.
    pub fn gauge_needle(&mut self, gauge: PartId) -> Result<Option<f64>, RigError> {
        let element = self
            .vehicle
            .elements_of(gauge)
            .find(|(_, e)| matches!(e.law, Law::Load { .. }));
        let Some((id, element)) = element.map(|(id, e)| (id, e.clone())) else {
            return Ok(None);
        };
        let at_seat = self.vehicle.parts[gauge.0].place == self.vehicle.seat;
        let Some(nominal) =
            sender(&self.vehicle).map(|s| self.vehicle.elements[s.0].law.nominal_ohms())
        else {
            return Ok(None);
        };
        let instant = self.now(&Attachments::none())?;
        let reference = Tap::Node(self.vehicle.reference);
        let fed = instant
            .across(Tap::Node(element.from), reference)
            .is_some_and(|volts| volts > 6.0);
        if !at_seat || !fed {
            return Ok(None);
        }
        let amps = instant.amps(id);
        let below = instant
            .across(Tap::Node(element.to), reference)
            .unwrap_or(0.0);
        let seen = if amps > 0.0 {
            below / amps / nominal * 60.0
        } else {
            f64::INFINITY
        };
        Ok(Some(((110.0 - seen) / 100.0).clamp(0.0, 1.0)))
    }
}
