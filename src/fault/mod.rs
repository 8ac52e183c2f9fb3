//! The fault catalogue and how a fault alters a built vehicle.
//!
//! A fault is a change to one part; the catalogue is data. This module does not choose faults
//! and does not solve networks.

pub mod model;

pub use model::{
    Activation, Catalogue, Clue, Cure, Effect, Fault, FaultKind, KindId, Remedy, Sense, Severity,
    Site, Spread,
};
