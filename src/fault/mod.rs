//! The fault catalogue and how a fault alters a built vehicle.
//!
//! A fault is a change to one part; the catalogue is data, see [`load`]. This module does not
//! choose faults and does not solve networks.

pub mod model;

mod apply;
mod file;
mod sites;

pub use apply::apply;
pub use file::{keys, load, read_value};
pub use model::{
    Activation, Catalogue, Clue, Consequence, Cure, Effect, Fault, FaultKind, Grows, KindId,
    Remedy, Sense, Severity, Sign, Site, Spread,
};
pub use sites::{clue, cured_by, is_contact, section, signs, sites};

use crate::vehicle::Diagnostic;

/// The catalogue files built into the program: name and text, in the order of the catalogue.
pub const FILES: [(&str, &str); 10] = [
    (
        "scenarios/faults/supply.toml",
        include_str!("../../scenarios/faults/supply.toml"),
    ),
    (
        "scenarios/faults/wiring.toml",
        include_str!("../../scenarios/faults/wiring.toml"),
    ),
    (
        "scenarios/faults/control.toml",
        include_str!("../../scenarios/faults/control.toml"),
    ),
    (
        "scenarios/faults/tank.toml",
        include_str!("../../scenarios/faults/tank.toml"),
    ),
    (
        "scenarios/faults/fuel.toml",
        include_str!("../../scenarios/faults/fuel.toml"),
    ),
    (
        "scenarios/faults/regulation.toml",
        include_str!("../../scenarios/faults/regulation.toml"),
    ),
    (
        "scenarios/faults/switches.toml",
        include_str!("../../scenarios/faults/switches.toml"),
    ),
    (
        "scenarios/faults/modules.toml",
        include_str!("../../scenarios/faults/modules.toml"),
    ),
    (
        "scenarios/faults/consequences.toml",
        include_str!("../../scenarios/faults/consequences.toml"),
    ),
    (
        "scenarios/faults/coolant.toml",
        include_str!("../../scenarios/faults/coolant.toml"),
    ),
];

/// The catalogue built into the program.
///
/// # Errors
/// Everything wrong in the built-in files; a test holds that there is nothing.
pub fn built_in() -> Result<Catalogue, Vec<Diagnostic>> {
    load(&FILES)
}
