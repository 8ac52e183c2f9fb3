//! A vehicle described as data: its parts, wires, places, prices and service figures.
//!
//! The description knows nothing of faults, of instruments or of how a network is solved.
//! [`model`] holds the validated description, [`load`] reads it from a TOML file, [`build`] makes
//! one particular vehicle out of it, in which every part has its own value within tolerance.

pub mod build;
pub mod diagnostic;
pub mod harness;
pub mod model;
pub mod reader;

mod cooling;
mod elements;
mod examples;
mod file;
mod handling;
mod hydraulic;
mod keys;
mod kinds;
mod law;
mod lift;
mod modules;
mod names;
mod parts;
mod places;
mod table;
mod validate;
mod way;

pub use build::{BatteryState, Build, Short, ThermostatState, open_circuit_v};
pub use cooling::Cooling;
pub use diagnostic::Diagnostic;
pub use examples::Examples;
pub use file::{keys, load};
pub use handling::Handling;
pub(crate) use hydraulic::ATMOSPHERE_PA;
pub use keys::{Keys, Known, Shape, path_of};
pub use kinds::{Kind, Medium, Section, UnknownSection};
pub use law::{Duty, Key, KeySet, Law};
pub use model::{
    Access, AccessHazard, AccessId, CustomerWords, Element, ElementId, Engine, Figure, LiftPump,
    Node, Part, PartId, Place, PlaceId, PumpPart, Service, Tip, Touch, Vehicle, Work, node_at,
    node_index,
};
pub use way::Way;

/// The vehicle files built into the program: name and text.
pub const FILES: [(&str, &str); 6] = [
    (
        "scenarios/vehicles/harbour-van.toml",
        include_str!("../../scenarios/vehicles/harbour-van.toml"),
    ),
    (
        "scenarios/vehicles/mobile-library.toml",
        include_str!("../../scenarios/vehicles/mobile-library.toml"),
    ),
    (
        "scenarios/vehicles/rescue-4x4.toml",
        include_str!("../../scenarios/vehicles/rescue-4x4.toml"),
    ),
    (
        "scenarios/vehicles/workshop-truck.toml",
        include_str!("../../scenarios/vehicles/workshop-truck.toml"),
    ),
    (
        "scenarios/vehicles/school-minibus.toml",
        include_str!("../../scenarios/vehicles/school-minibus.toml"),
    ),
    (
        "scenarios/vehicles/fire-tender.toml",
        include_str!("../../scenarios/vehicles/fire-tender.toml"),
    ),
];

/// The vehicles built into the program.
///
/// # Errors
/// Everything wrong in the built-in files; a test holds that there is nothing.
pub fn built_in() -> Result<Vec<Vehicle>, Vec<Diagnostic>> {
    FILES.iter().map(|(file, text)| load(file, text)).collect()
}
