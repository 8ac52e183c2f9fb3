//! The vehicles and fault kinds scenarios are made of.

use std::sync::Arc;

use crate::fault::{self, Catalogue};
use crate::vehicle::{self, Diagnostic, Vehicle};

/// Vehicles and fault kinds.
#[derive(Clone)]
pub struct Library {
    /// Vehicles, in an order that generator version 1 relies on.
    pub vehicles: Vec<Arc<Vehicle>>,
    /// Fault kinds, in an order that generator version 1 relies on.
    pub catalogue: Arc<Catalogue>,
}

impl Library {
    /// What is built into the program. Fails only if the built-in files are wrong, which a test rules out.
    pub fn built_in() -> Result<Library, Vec<Diagnostic>> {
        Ok(Library {
            vehicles: vehicle::built_in()?.into_iter().map(Arc::new).collect(),
            catalogue: Arc::new(fault::built_in()?),
        })
    }

    /// The vehicle of an identifier.
    #[must_use]
    pub fn vehicle(&self, id: &str) -> Option<&Arc<Vehicle>> {
        self.vehicles.iter().find(|vehicle| vehicle.id == id)
    }
}
