//! Wires from the drawer: which there are, and how they are told and typed in the learner's units.

use super::Bay;
use super::outcome::Refusal;
use crate::circuit::conductor::ConductorError;
use crate::instrument::Extension;
use crate::units::{Metre, System};

/// Longest wire in the drawer, m.
const LONGEST_WIRE_M: f64 = 25.0;
/// A foot, m (exact by definition).
const FOOT_M: f64 = 0.3048;

/// What a wire is wanted for, which decides the size that is proposed.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Stock {
    /// A meter lead.
    Lead,
    /// A jumper that carries a pump's current.
    Jumper,
}

impl Bay {
    /// Refuses a wire that nobody has.
    pub(super) fn check_wire(&self, wire: &Extension) -> Result<(), Refusal> {
        if wire.length_m > 0.0 && wire.length_m <= LONGEST_WIRE_M {
            return Ok(());
        }
        let longest = match self.system {
            System::Metric => format!("{LONGEST_WIRE_M:.0} m"),
            System::Us => format!("{:.0} ft", libm::floor(LONGEST_WIRE_M / FOOT_M)),
        };
        Err(Refusal::new(
            format!(
                "There is no wire of {} in the drawer.",
                Metre(wire.length_m).show(self.system)
            ),
            format!(
                "Lengths up to {longest}, such as `{}`.",
                self.wire_to_type(5.0, Stock::Lead)
            ),
        ))
    }

    /// A wire at least this long as it is typed: `6 m 1.0 mm2`, `20 ft 18 AWG`.
    pub(super) fn wire_to_type(&self, at_least_m: f64, stock: Stock) -> String {
        match (self.system, stock) {
            (System::Metric, Stock::Lead) => format!("{:.0} m 1.0 mm2", libm::ceil(at_least_m)),
            (System::Metric, Stock::Jumper) => format!("{:.0} m 1.5 mm2", libm::ceil(at_least_m)),
            (System::Us, Stock::Lead) => {
                format!("{:.0} ft 18 AWG", libm::ceil(at_least_m / FOOT_M))
            }
            (System::Us, Stock::Jumper) => {
                format!("{:.0} ft 16 AWG", libm::ceil(at_least_m / FOOT_M))
            }
        }
    }
}

pub(super) fn no_such_wire(error: ConductorError) -> Refusal {
    Refusal::new(format!("{error}."), "Sizes such as `1.0 mm2` or `18 AWG`.")
}
