//! Newtypes for the quantities that cross a module border, with parsing and display in both unit
//! systems.
//!
//! Every value is held in its SI unit in the public field; only [`Money`] is a whole number of
//! minor units. Inside a kernel plain `f64`s are fine when the name carries the unit. This module
//! knows nothing of circuits or vehicles. Conversion factors: metric prefixes and exact definitions
//! (foot 0.3048 m, US gallon 231 cubic inches, avoirdupois pound and standard gravity for psi; NIST
//! SP 811 appendix B), wire gauges by ASTM B258.

mod gauge;
mod money;
mod parse;
mod prose;
mod show;
mod tables;

pub use money::Money;
pub use parse::UnitError;
pub use prose::told;

use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};

/// Which units a person wants to read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum System {
    /// kPa, L/h, mm2, m, C.
    #[default]
    Metric,
    /// psi, gal/h (US gallon), AWG, ft, F.
    Us,
}

/// Electric potential difference in volts.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Volt(pub f64);

/// Electric current in amperes.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Amp(pub f64);

/// Electric resistance in ohms. Infinity is an open circuit.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Ohm(pub f64);

/// Power in watts.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Watt(pub f64);

/// Length in metres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Metre(pub f64);

/// Cross-section of a conductor in square metres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Area(pub f64);

/// Pressure in pascals, against the atmosphere unless its owner says otherwise.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Pascal(pub f64);

/// Volume flow in cubic metres per second.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Flow(pub f64);

/// Volume in cubic metres.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Volume(pub f64);

/// Time in seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Seconds(pub f64);

/// Temperature in degrees Celsius.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Celsius(pub f64);

/// `$left $op $right = $out`, on the SI values.
macro_rules! operator {
    ($trait:ident $method:ident: $($left:ident, $right:ident => $out:ident;)+) => {$(
        impl $trait<$right> for $left {
            type Output = $out;
            fn $method(self, right: $right) -> $out {
                $out($trait::$method(self.0, right.0))
            }
        }
    )+};
}

operator! { Add add: Volt, Volt => Volt; Amp, Amp => Amp; Ohm, Ohm => Ohm; Metre, Metre => Metre; Seconds, Seconds => Seconds; }
operator! { Sub sub: Volt, Volt => Volt; Amp, Amp => Amp; Seconds, Seconds => Seconds; }
operator! { Mul mul: Amp, Ohm => Volt; Volt, Amp => Watt; Flow, Seconds => Volume; }
operator! { Div div: Volt, Ohm => Amp; Volt, Amp => Ohm; Volume, Seconds => Flow; }

impl Neg for Volt {
    type Output = Volt;
    fn neg(self) -> Volt {
        Volt(-self.0)
    }
}

impl AddAssign for Seconds {
    fn add_assign(&mut self, more: Seconds) {
        self.0 += more.0;
    }
}

impl Sum for Seconds {
    fn sum<I: Iterator<Item = Seconds>>(parts: I) -> Seconds {
        parts.fold(Seconds(0.0), Add::add)
    }
}
