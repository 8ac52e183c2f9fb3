//! The pumping element.

use super::LIMITS;

/// How the element moves fuel. Both kinds follow Q = D w - c dP; a turbine's slip is its side channel
/// (published: a near-constant -12 to -15 L/h per 100 kPa at fixed speed), a roller cell's its clearances.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ElementKind {
    /// Roller cell with this many rollers.
    Roller {
        /// Rollers, each of which delivers once a turn.
        rollers: u32,
    },
    /// Side-channel turbine with this many vanes.
    Turbine {
        /// Vanes on the wheel.
        vanes: u32,
    },
}

/// The pumping element on the motor's shaft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Element {
    /// Volume swept per radian, m3.
    pub displacement_m3_rad: f64,
    /// Internal leakage per Pa of pressure rise, m3/s. Wear raises it.
    pub leak_m3_s_pa: f64,
    /// Construction.
    pub kind: ElementKind,
}

impl Element {
    /// Leakage as the equations use it: never quite zero.
    pub(crate) fn leak(&self) -> f64 {
        self.leak_m3_s_pa.max(LIMITS.leak_m3_s_pa)
    }
}
