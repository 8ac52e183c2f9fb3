//! The generator versions this program has, and what each pins so that its codes last.
//!
//! A code names its version. What a version draws never changes once it has been released: its vehicles and their order
//! stand here, its draws in a file of their own. A later version is one more entry beside these.

use std::sync::Arc;

use super::draw::{self, Drawn};
use super::library::Library;
use crate::rig::RigError;
use crate::seed::{CodeError, GENERATOR_VERSION, ScenarioCode, Stream, VehicleSet};
use crate::vehicle::Vehicle;

/// Draws after which a code is given up.
pub const MAX_REDRAWS: u32 = 64;

/// Why a code gave no scenario.
#[derive(Debug, thiserror::Error)]
pub enum GenerateError {
    /// The code is of another generator.
    #[error(transparent)]
    Code(#[from] CodeError),
    /// The code names a set of vehicles this program does not have.
    #[error("the code asks for vehicle set {0}, and this program has {1} vehicles to choose from")]
    UnknownSet(u8, usize),
    /// No draw was fit to be offered.
    #[error(
        "no draw of {vehicle} at level {level} was fit to be offered in {MAX_REDRAWS} tries; most often: {reason}"
    )]
    Exhausted {
        /// Vehicle tried.
        vehicle: String,
        /// Level asked for.
        level: u8,
        /// Why draws were thrown away, the commonest reason.
        reason: String,
    },
    /// A drawn vehicle could not be solved.
    #[error("a drawn vehicle could not be solved: {0}")]
    Rig(#[from] RigError),
}

/// One version of the generator.
pub struct Generator {
    /// The version codes carry.
    pub version: u8,
    /// Identifiers of its vehicles, in the order the set bits of its codes count them.
    pub vehicles: &'static [&'static str],
    draw: fn(&Arc<Vehicle>, &Library, ScenarioCode, u32) -> Result<Drawn, RigError>,
}

/// Every version, oldest first.
static GENERATORS: [Generator; 1] = [Generator {
    version: 1,
    vehicles: &[
        "harbour-van",
        "mobile-library",
        "rescue-4x4",
        "workshop-truck",
        "school-minibus",
        "fire-tender",
    ],
    draw: draw::draw,
}];

impl Generator {
    /// The generator of a version.
    ///
    /// # Errors
    /// [`CodeError::UnknownVersion`] for one this program does not have.
    pub fn of(version: u8) -> Result<&'static Generator, CodeError> {
        let found = GENERATORS.iter().find(|known| known.version == version);
        found.ok_or(CodeError::UnknownVersion {
            needs: version,
            have: GENERATOR_VERSION,
        })
    }

    /// The newest: what fresh codes are made with.
    #[must_use]
    pub fn newest() -> &'static Generator {
        &GENERATORS[GENERATORS.len() - 1]
    }

    /// The place of a vehicle among this version's, for a [`VehicleSet`].
    #[must_use]
    pub fn place(&self, id: &str) -> Option<usize> {
        self.vehicles
            .iter()
            .position(|known| known.eq_ignore_ascii_case(id))
    }

    /// The vehicle of a code: its place in the library.
    ///
    /// # Errors
    /// [`GenerateError::UnknownSet`] if the code names vehicles this version does not have.
    pub fn vehicle(&self, library: &Library, code: ScenarioCode) -> Result<usize, GenerateError> {
        let unknown = || GenerateError::UnknownSet(code.set(), self.vehicles.len());
        let set = VehicleSet::from_bits(code.set());
        let places = set.places(self.vehicles.len()).ok_or_else(unknown)?;
        let place = *Stream::named(code.seed(), "vehicle")
            .pick(&places)
            .ok_or_else(unknown)?;
        let id = self.vehicles[place];
        let found = library.vehicles.iter().position(|known| known.id == id);
        found.ok_or_else(unknown)
    }

    /// Draw `number` of a code of this version, the first being 0; `vehicle` is its place in the library.
    ///
    /// # Errors
    /// [`GenerateError::Rig`] if what was drawn cannot be solved.
    pub fn draw(
        &self,
        library: &Library,
        vehicle: usize,
        code: ScenarioCode,
        number: u32,
    ) -> Result<Drawn, GenerateError> {
        Ok((self.draw)(
            &library.vehicles[vehicle],
            library,
            code,
            number,
        )?)
    }
}
