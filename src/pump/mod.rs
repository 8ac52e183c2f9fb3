//! The fuel pump and everything its fuel passes: motor, pumping element, hydraulic circuit.
//!
//! The module knows no electrical network. It sees a Thevenin [`Supply`] at the pump's terminals and
//! answers with an [`OperatingPoint`] (everything settled) or a [`Trace`] (motor current, speed and two
//! pressures stepped through time). Faults are nothing but changed parameters.
//!
//! Plain `f64` in SI inside: Pa above the atmosphere, m3/s, rad/s, N m, A, V.
//!
//! # Sources of the formulas
//! - motor: V = Ke w + I R + brush drop, T = Ke I (textbook permanent-magnet machine, Ke = Kt in SI);
//! - element: Q = D w - c dP, hydraulic torque D dP (textbook positive-displacement pump with
//!   laminar slip), or the centrifugal one of the module `impeller`;
//! - orifice: Q = Cd A sqrt(2 dP / rho);
//! - the valves are straight lines above their opening pressure.
mod chamber;
mod check;
mod deck;
mod element;
mod hydraulic;
mod impeller;
mod load;
mod motor;
mod operating;
mod rated;
mod ripple;
mod starving;
mod transient;

pub use check::PumpError;
pub use deck::spice_motor;
pub use element::{Element, ElementKind};
pub use hydraulic::{
    CheckValve, Demand, Hydraulics, Outlet, Regulator, RegulatorPlace, RegulatorStuck,
    hold_pressure,
};
pub use impeller::Impeller;
pub use motor::{FILM_AMPS, Motor};
pub use operating::{OperatingPoint, operating_point};
pub use rated::{Rated, RatedElement};
pub use ripple::{Interrupted, counted_rpm, current_waveform, interrupted_waveform};
pub use transient::{Motion, Rest, Sample, Trace, prime, transient};

/// What the pump's two terminals see of the vehicle: an open-circuit voltage behind a resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Open-circuit volts, plus terminal against minus terminal. Negative turns the pump backwards.
    pub volts: f64,
    /// Source resistance in ohm; infinity is an open circuit.
    pub ohms: f64,
}

/// A motor with the element it drives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpUnit {
    /// The motor.
    pub motor: Motor,
    /// The pumping element on its shaft.
    pub element: Element,
}

/// Numerical limits of this module, none of which a reading can show.
///
/// They keep equations single-valued where a parameter is exactly zero.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Limits {
    /// Slip of the tightest element, m3/s per Pa. At ten bar it passes 1e-11 m3/s, a millionth of a pump's
    /// flow. Without it a blocked pump would have no definite speed.
    pub leak_m3_s_pa: f64,
    /// Steepest valve, Pa s/m3: 25 Pa over 100 L/h. With zero the flow would not follow from pressure.
    pub slope_pa_s_m3: f64,
    /// Below this rail pressure in Pa the rail is partly vapour and injectors pass proportionally less.
    /// With zero, intake vacuum would empty a rail that is already empty.
    pub rail_full_pa: f64,
    /// Below this pressure difference in Pa an orifice is laminar: flow follows dP, not its root.
    /// With zero the slope at rest would be infinite.
    pub laminar_pa: f64,
    /// Smallest loop resistance, ohm, so that a stalled motor's current is a number.
    pub ohms: f64,
    /// Below this motor constant, V s/rad, there is no magnet and no torque.
    pub ke: f64,
    /// Below this displacement, m3, there is no pumping element.
    pub displacement_m3_rad: f64,
    /// Below this pressure over the square of speed, Pa s2/rad2, there is no impeller.
    pub head_pa_s2: f64,
    /// A resistance of any kind above this is a closed path.
    pub closed: f64,
    /// Shortest electrical time constant L/R in s that is stepped.
    pub electrical_s: f64,
    /// Smallest inertia in kg m2 that is stepped.
    pub inertia_kg_m2: f64,
    /// Smallest compliance in m3/Pa that is stepped.
    pub compliance_m3_pa: f64,
}

/// The limits in force.
pub(crate) const LIMITS: Limits = Limits {
    leak_m3_s_pa: 1e-17,
    slope_pa_s_m3: 1e6,
    rail_full_pa: 1e3,
    laminar_pa: 10.0,
    ohms: 1e-9,
    ke: 1e-12,
    displacement_m3_rad: 1e-20,
    head_pa_s2: 1e-20,
    closed: 1e24,
    electrical_s: 1e-6,
    inertia_kg_m2: 1e-9,
    compliance_m3_pa: 1e-14,
};
