//! Resistance of copper conductors.
//!
//! Trade sizes are nominal: a "1.5 mm2" harness wire is defined by its maximum resistance, which lies
//! 5 to 11 % above resistivity times length over area (stranding, tolerance on area). So metric
//! sizes take the harness table, AWG sizes their exact diameter. All tables are at 20 C.

use std::f64::consts::PI;
use std::fmt;

use thiserror::Error;

/// Resistivity of annealed copper at 20 C, in ohm metres: 0.017241 ohm mm2/m, 100 % IACS.
///
/// IEC 60028 as quoted by the Copper Development Association, Innovations 2001/08, table 5.
pub const COPPER_OHM_METRES: f64 = 1.7241e-8;

/// Temperature coefficient of copper's resistance at 20 C, per kelvin (IEC 60028, as quoted in
/// conductor handbooks).
pub const COPPER_PER_KELVIN: f64 = 0.00393;

/// Temperature that all tables are for, in degrees Celsius.
pub const TABLE_CELSIUS: f64 = 20.0;

/// Square metres in a square millimetre.
const MM2: f64 = 1e-6;

/// ISO 6722 maximum conductor resistance at 20 C: nominal mm2, ohms per metre. Read from makers'
/// FLRY-B and FLY tables, not from the standard's own text.
pub const ISO_6722: [(f64, f64); 11] = [
    (0.35, 54.4e-3),
    (0.5, 37.1e-3),
    (0.75, 24.7e-3),
    (1.0, 18.5e-3),
    (1.5, 12.7e-3),
    (2.0, 9.42e-3),
    (2.5, 7.60e-3),
    (3.0, 6.15e-3),
    (4.0, 4.71e-3),
    (6.0, 3.14e-3),
    (10.0, 1.82e-3),
];

/// A conductor's trade size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ConductorSize {
    /// Nominal cross-section in square millimetres.
    SquareMillimetres(f64),
    /// American wire gauge; 0 is 1/0, -1 is 2/0, -3 is 4/0.
    Awg(i32),
}

impl fmt::Display for ConductorSize {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            ConductorSize::SquareMillimetres(mm2) => write!(f, "{mm2} mm2"),
            ConductorSize::Awg(gauge @ 1..) => write!(f, "{gauge} AWG"),
            ConductorSize::Awg(aught) => write!(f, "{}/0 AWG", 1 - aught),
        }
    }
}

/// A conductor that cannot be.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum ConductorError {
    /// A cross-section outside what the tables can be stretched to.
    #[error("{0} mm2 is not a wire size; give 0.05 to 240 mm2")]
    SquareMillimetres(f64),
    /// A gauge outside the standard.
    #[error("AWG {0} is not a wire size; give 40 down to -3 (4/0)")]
    Awg(i32),
    /// A negative length.
    #[error("{0} m is not a length; give 0 or more")]
    Length(f64),
    /// A temperature at which copper is not a wire, or the linear law fails.
    #[error("{0} C is outside -100 to 300 C")]
    Celsius(f64),
}

/// Diameter of an American wire gauge in metres: 0.127 mm * 92^((36 - n)/39), ASTM B258 (formula
/// from memory; published tables agree).
#[must_use]
pub fn awg_diameter_m(gauge: i32) -> f64 {
    0.127e-3 * libm::pow(92.0, (36.0 - f64::from(gauge)) / 39.0)
}

/// Ohms per metre at 20 C.
///
/// AWG: resistivity over the area of a solid wire of the standard's diameter. Metric: the ISO 6722
/// table where the size is in it. Between two table sizes the *ratio* of the table's resistance to
/// resistivity over area (1.056 to 1.105) is interpolated linearly by area; below 0.35 and above
/// 10 mm2 the ratio of the nearest table size is kept.
///
/// # Errors
/// [`ConductorError::SquareMillimetres`], [`ConductorError::Awg`].
pub fn ohms_per_metre(size: ConductorSize) -> Result<f64, ConductorError> {
    match size {
        ConductorSize::Awg(gauge) if (-3..=40).contains(&gauge) => {
            let diameter = awg_diameter_m(gauge);
            Ok(COPPER_OHM_METRES / (PI / 4.0 * diameter * diameter))
        }
        ConductorSize::Awg(gauge) => Err(ConductorError::Awg(gauge)),
        ConductorSize::SquareMillimetres(mm2) if (0.05..=240.0).contains(&mm2) => {
            Ok(iso_6722_ohms_per_metre(mm2))
        }
        ConductorSize::SquareMillimetres(mm2) => Err(ConductorError::SquareMillimetres(mm2)),
    }
}

fn iso_6722_ohms_per_metre(mm2: f64) -> f64 {
    let solid = |mm2: f64| COPPER_OHM_METRES / (mm2 * MM2);
    let ratio = |(mm2, ohms): (f64, f64)| ohms / solid(mm2);
    let above = ISO_6722.partition_point(|&(size, _)| size < mm2);
    match (
        above.checked_sub(1).map(|i| ISO_6722[i]),
        ISO_6722.get(above).copied(),
    ) {
        (_, Some((size, ohms))) if size == mm2 => ohms,
        (Some(low), Some(high)) => {
            let share = (mm2 - low.0) / (high.0 - low.0);
            solid(mm2) * (ratio(low) + share * (ratio(high) - ratio(low)))
        }
        (Some(nearest), None) | (None, Some(nearest)) => solid(mm2) * ratio(nearest),
        (None, None) => solid(mm2),
    }
}

/// Resistance at a temperature as a multiple of that at 20 C.
///
/// # Errors
/// [`ConductorError::Celsius`].
pub fn temperature_factor(celsius: f64) -> Result<f64, ConductorError> {
    if (-100.0..=300.0).contains(&celsius) {
        Ok(1.0 + COPPER_PER_KELVIN * (celsius - TABLE_CELSIUS))
    } else {
        Err(ConductorError::Celsius(celsius))
    }
}

/// Ohms of a length of conductor, one way, at a temperature.
///
/// # Errors
/// See [`ConductorError`].
pub fn resistance(size: ConductorSize, metres: f64, celsius: f64) -> Result<f64, ConductorError> {
    Ok(ohms_per_metre(size)? * check_length(metres)? * temperature_factor(celsius)?)
}

fn check_length(metres: f64) -> Result<f64, ConductorError> {
    if (0.0..f64::INFINITY).contains(&metres) {
        Ok(metres)
    } else {
        Err(ConductorError::Length(metres))
    }
}
