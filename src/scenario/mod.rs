//! Scenarios: a vehicle, its conditions, its hidden faults and the work order that comes with it.
//!
//! A [`Generator`] draws one from a code, the same on every machine; whether a draw is fit to be offered is judged above
//! this module, by `certify`. [`written`] reads one from a file. The hidden part lies in a private field: a scenario
//! either becomes the rig that is worked on, or is revealed, and both consume it.

mod complaint;
mod draw;
mod generator;
mod history;
mod jobs;
mod library;
mod occasion;
mod order;
pub mod schema;
mod severity;
mod theme;
mod usage;
mod written;

use std::sync::Arc;

pub use complaint::{Told, customer_lines, symptoms_told};
pub use draw::{
    Drawn, ODDITIES, Oddities, PAIRED_LEVEL, Redraw, dearest_part, fault_weights, follows,
    other_kinds,
};
pub use generator::{GenerateError, Generator, MAX_REDRAWS};
pub use history::named_part;
pub use jobs::{JOBS, job_name};
pub use library::Library;
pub use occasion::Occasion;
pub use order::WorkOrder;
pub use severity::{SEVERITY_DRAWS, draw_conditions, draw_tank, severity_at, severity_shares};
pub use theme::Theme;
pub use usage::Usage;
pub use written::written;

use crate::fault::{Catalogue, Fault};
pub use crate::rig::TankTrouble;
use crate::rig::{Conditions, EMPTY_TANK, Rig, RigError, Tank};
use crate::seed::{ScenarioCode, VehicleSet};
use crate::vehicle::Vehicle;

/// One job, not yet begun.
#[derive(Clone)]
pub struct Scenario {
    hidden: Revealed,
}

/// A scenario with nothing hidden.
#[derive(Clone)]
pub struct Revealed {
    /// The vehicle.
    pub vehicle: Arc<Vehicle>,
    /// The kinds of fault.
    pub catalogue: Arc<Catalogue>,
    /// The code that reproduces it, for a generated one.
    pub code: Option<ScenarioCode>,
    /// The seed that decides tolerances, instruments, contacts and noise.
    pub seed: u64,
    /// Level, 1 to 5.
    pub level: u8,
    /// Ambient temperature, charge and fuel.
    pub conditions: Conditions,
    /// The work order.
    pub order: WorkOrder,
    /// Draws that were thrown away before this one.
    pub redraws: u32,
    /// What else is the matter with the tank.
    pub tank: Tank,
    /// The faults.
    pub faults: Vec<Fault>,
    /// Points and parts that tests may use, for a written scenario that says so; nothing for all.
    pub allowed: Option<Vec<String>>,
}

impl Revealed {
    /// What is wrong with what is in the tank.
    #[must_use]
    pub fn tank_trouble(&self) -> Option<TankTrouble> {
        TankTrouble::of(self.conditions.fuel, self.tank.water)
    }

    /// Why the second of two faults follows from the first, where it does.
    #[must_use]
    pub fn consequence(&self) -> Option<&str> {
        let [first, second] = self.faults.as_slice() else {
            return None;
        };
        let mut pairs = self.catalogue.consequences.iter();
        let found = pairs.find(|pair| (pair.of, pair.brings) == (first.kind, second.kind))?;
        Some(&found.why)
    }

    /// No figures were to be had.
    #[must_use]
    pub fn withholds_figures(&self) -> bool {
        let set = self.code.map(|code| VehicleSet::from_bits(code.set()));
        set.is_some_and(VehicleSet::withholds_figures)
    }

    /// The vehicle on the floor with these faults and what is in its tank.
    pub fn rig(&self, faults: Vec<Fault>) -> Result<Rig, RigError> {
        let rig = Rig::new(
            Arc::clone(&self.vehicle),
            Arc::clone(&self.catalogue),
            self.seed,
            self.conditions,
            faults,
        )?;
        Ok(rig.with_tank(self.tank))
    }

    /// The same vehicle with nothing wrong with it.
    pub fn sound_rig(&self) -> Result<Rig, RigError> {
        let conditions = Conditions {
            fuel: self.conditions.fuel.max(10.0 * EMPTY_TANK),
            ..self.conditions
        };
        Rig::new(
            Arc::clone(&self.vehicle),
            Arc::clone(&self.catalogue),
            self.seed,
            conditions,
            Vec::new(),
        )
    }

    /// Hides it again.
    #[must_use]
    pub fn seal(self) -> Scenario {
        Scenario { hidden: self }
    }
}

impl Scenario {
    /// The public description of the vehicle.
    #[must_use]
    pub fn vehicle(&self) -> &Arc<Vehicle> {
        &self.hidden.vehicle
    }

    /// The code that reproduces it, for a generated one.
    #[must_use]
    pub fn code(&self) -> Option<ScenarioCode> {
        self.hidden.code
    }

    /// The same scenario without the code that would reproduce it.
    #[must_use]
    pub fn without_code(mut self) -> Scenario {
        self.hidden.code = None;
        self
    }

    /// The seed that decides tolerances, instruments, contacts and noise.
    #[must_use]
    pub fn seed(&self) -> u64 {
        self.hidden.seed
    }

    /// Level, 1 to 5.
    #[must_use]
    pub fn level(&self) -> u8 {
        self.hidden.level
    }

    /// The work order.
    #[must_use]
    pub fn order(&self) -> &WorkOrder {
        &self.hidden.order
    }

    /// Ambient temperature, charge and fuel.
    #[must_use]
    pub fn conditions(&self) -> Conditions {
        self.hidden.conditions
    }

    /// Puts the vehicle on the floor.
    pub fn into_rig(self) -> Result<Rig, RigError> {
        self.hidden.rig(self.hidden.faults.clone())
    }

    /// Gives the secret away.
    #[must_use]
    pub fn reveal(self) -> Revealed {
        self.hidden
    }
}
