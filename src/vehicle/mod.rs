//! A vehicle described as data: its parts, wires, places, prices and service figures.
//!
//! The description knows nothing of faults, of instruments or of how a network is solved.
//! [`model`] holds the validated description.

pub mod model;
pub mod stand_in;

pub use model::{
    Access, AccessHazard, AccessId, Element, ElementId, Engine, Figure, Key, KeySet, Kind, Law,
    Node, Part, PartId, Place, PlaceId, PumpPart, Section, Tip, Touch, Vehicle, Work,
};
