//! Whether a vehicle can honestly be diagnosed, by what, and how hard that is; and the generator's codes, which give only
//! vehicles that can.
//!
//! Every explanation the catalogue allows on a vehicle, at several severities, is solved with the same physics once for a
//! type of vehicle. A greedy policy that does not know the truth then reads the true values of one vehicle, test after test,
//! opening up included, until one repair is right with enough probability; the mean over draws of tolerance and reading is
//! what the certificate states. Explanations that one repair cures are never told apart. What it does not prove: that the
//! sequence is the cheapest, or anything about pairs of faults other than those that contain one of a hidden pair, which are
//! put together from single ones.

mod atlas;
mod cause;
mod certificate;
mod choosing;
mod effort;
mod generate;
mod level;
mod policy;
mod prior;
mod probe;
mod readings;
mod repairs;
mod survey;
mod weighing;

use std::sync::{Arc, OnceLock};

pub use cause::{Cause, Cure, Hypothesis};
pub use certificate::{Certificate, Complaint, Road, Step};
pub use level::{Difficulty, band};
pub use survey::{
    Counted, Habits, KindTally, LevelTally, RankCorrelations, Survey, Tally, spearman,
};

use crate::rig::RigError;
use crate::scenario::{Library, Revealed};
use atlas::Atlas;

/// A library with what certifying needs, solved for each vehicle when it is first met.
pub struct Certifier {
    stock: Library,
    atlases: Vec<OnceLock<Atlas>>,
}

impl Certifier {
    /// Nothing is solved yet.
    #[must_use]
    pub fn new(stock: Library) -> Certifier {
        let atlases = stock.vehicles.iter().map(|_| OnceLock::new()).collect();
        Certifier { stock, atlases }
    }

    /// For one revealed scenario, whose vehicle and fault kinds may be somebody's own.
    #[must_use]
    pub fn for_one(revealed: &Revealed) -> Certifier {
        Certifier::new(Library {
            vehicles: vec![Arc::clone(&revealed.vehicle)],
            catalogue: Arc::clone(&revealed.catalogue),
        })
    }

    /// The vehicles and fault kinds.
    #[must_use]
    pub fn stock(&self) -> &Library {
        &self.stock
    }

    /// What is solved beforehand for a vehicle of the library.
    fn atlas(&self, vehicle: usize) -> Result<&Atlas, RigError> {
        let slot = &self.atlases[vehicle];
        if let Some(atlas) = slot.get() {
            return Ok(atlas);
        }
        let atlas = Atlas::new(
            &Arc::clone(&self.stock.vehicles[vehicle]),
            &self.stock.catalogue,
        )?;
        // Two threads may have solved the same, which is the same to the last bit.
        Ok(slot.get_or_init(|| atlas))
    }
}
