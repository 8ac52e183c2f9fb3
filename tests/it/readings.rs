//! What readings must show, each with the sum that gives the figure. Limits are those of the meter's own
//! specification, so that a reading is held to the physics and not to a recorded number.

mod faults;
mod leads;
mod moves;

/// Display steps of the volts function below 6 V and above, V (6000 counts).
pub const STEP_LOW_V: f64 = 0.001;
pub const STEP_HIGH_V: f64 = 0.01;
/// Display step of the ohms function below 600 ohm.
pub const STEP_OHM: f64 = 0.1;

/// Largest error the volts function states for a reading: 0.5 % + 2 counts, and half a count of rounding.
pub fn volts_limit(volts: f64) -> f64 {
    let step = if volts.abs() < 6.0 {
        STEP_LOW_V
    } else {
        STEP_HIGH_V
    };
    0.005 * volts.abs() + 2.5 * step
}

/// Likewise the ohms function on its lowest range: 0.9 % + 2 counts, and half a count.
pub fn ohms_limit(ohms: f64) -> f64 {
    0.009 * ohms + 2.5 * STEP_OHM
}

/// What warming up adds to a loaded joint or wire at most, as a share: copper rises by 0.393 % a kelvin (IEC 60028), and
/// a joint that gives off a few watts is some tens of kelvin warmer after minutes of work than when the load came on.
pub const WARMED: f64 = 0.06;

/// A figure within a limit, named when it is not.
#[track_caller]
pub fn assert_near(what: &str, found: f64, wanted: f64, limit: f64) {
    assert!(
        (found - wanted).abs() <= limit,
        "{what}: {found}, wanted {wanted} within {limit}"
    );
}
