//! Resistor networks against worked examples, ngspice and the laws of the subject.

mod conductor;
mod decks;
mod errors;
mod examples;
mod floating;
mod laws;
mod netlist;
mod vehicle_like;
