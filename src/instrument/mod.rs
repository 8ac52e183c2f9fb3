//! Instruments: what each puts into the circuit, and how its display follows from what it meets there.
//!
//! Nothing here knows what is wrong with the vehicle; a reading comes out of a solved instant with the instrument in
//! it, then passes the instrument's own systematic error, noise and resolution.

mod clamp;
mod gauge;
mod lamp;
mod leads;
mod meter;
mod ranges;
mod reading;
mod recorder;
mod screen;
mod settling;
mod thermometer;

pub use clamp::Clamp;
pub use gauge::{Can, Gauge, Grade};
pub use lamp::{Bulb, Glow, TestLamp};
pub use leads::{Extension, Grip, Lead, LeadSet, Manner, Side, grip_ohms, pressed_ohms};
pub use meter::{Connection, Display, Function, Inputs, Meter};
pub use reading::{Quantity, Reading};
pub use recorder::{Interval, Recorder};
pub use screen::{Screen, Trace};
pub use settling::{CONVERSION_S, conversions};
pub use thermometer::Thermometer;
