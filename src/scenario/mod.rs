//! Scenarios: a vehicle, its conditions, its hidden faults and the work order that comes with it.
//!
//! [`generate`] draws one from a code, the same on every machine; [`written`] reads one from a file. The hidden part
//! lies in private fields: a scenario either becomes the rig that is worked on, or is revealed, and both consume it.

mod complaint;
mod generate;
mod library;
mod order;
mod written;

use std::sync::Arc;

pub use complaint::symptoms_told;
pub use generate::{
    GenerateError, SEVERITY_DRAWS, Theme, draw_conditions, generate, severity_at, severity_shares,
};
pub use library::Library;
pub use order::WorkOrder;
pub use written::written;

use crate::fault::{Catalogue, Fault};
use crate::rig::{Conditions, Rig, RigError, Tank};
use crate::seed::ScenarioCode;
use crate::vehicle::Vehicle;

/// One job, not yet begun.
pub struct Scenario {
    vehicle: Arc<Vehicle>,
    catalogue: Arc<Catalogue>,
    code: Option<ScenarioCode>,
    seed: u64,
    level: u8,
    conditions: Conditions,
    order: WorkOrder,
    redraws: u32,
    tank: Tank,
    faults: Vec<Fault>,
}

/// What a scenario hides.
pub struct Revealed {
    /// The vehicle.
    pub vehicle: Arc<Vehicle>,
    /// The kinds of fault.
    pub catalogue: Arc<Catalogue>,
    /// The faults.
    pub faults: Vec<Fault>,
    /// Draws that were thrown away before this one.
    pub redraws: u32,
}

impl Scenario {
    /// The public description of the vehicle.
    #[must_use]
    pub fn vehicle(&self) -> &Arc<Vehicle> {
        &self.vehicle
    }

    /// The code that reproduces it, for a generated one.
    #[must_use]
    pub fn code(&self) -> Option<ScenarioCode> {
        self.code
    }

    /// The seed that decides tolerances, instruments, contacts and noise.
    #[must_use]
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// Level, 1 to 5.
    #[must_use]
    pub fn level(&self) -> u8 {
        self.level
    }

    /// The work order.
    #[must_use]
    pub fn order(&self) -> &WorkOrder {
        &self.order
    }

    /// Ambient temperature, charge and fuel.
    #[must_use]
    pub fn conditions(&self) -> Conditions {
        self.conditions
    }

    /// Puts the vehicle on the floor.
    pub fn into_rig(self) -> Result<Rig, RigError> {
        let rig = Rig::new(
            self.vehicle,
            self.catalogue,
            self.seed,
            self.conditions,
            self.faults,
        )?;
        Ok(rig.with_tank(self.tank))
    }

    /// Gives the secret away.
    #[must_use]
    pub fn reveal(self) -> Revealed {
        Revealed {
            vehicle: self.vehicle,
            catalogue: self.catalogue,
            faults: self.faults,
            redraws: self.redraws,
        }
    }
}
