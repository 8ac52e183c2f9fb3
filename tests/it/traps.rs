//! Known mistakes with real tools: each script walks into one, and the sum behind the reading is worked beside it.
//!
//! What the circuit really carries comes from a second copy of the vehicle with no instrument on it; the tests add to
//! it, by Ohm's and Kirchhoff's laws, what the instrument does.

mod bench;
mod hydraulic;
mod loads;
mod moves;
mod ohms;
mod people;
mod table;
mod told;
mod tools;
mod volts;
