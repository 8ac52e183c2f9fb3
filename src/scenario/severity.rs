//! How bad a fault is drawn, and the surroundings.

use crate::fault::{Severity, Spread};
use crate::rig::{Conditions, Tank, TankTrouble};
use crate::seed::Stream;

/// How bad a fault is gets drawn this often before another fault is drawn: without that, faults that show at any
/// severity would crowd out those that show only when they are bad.
pub const SEVERITY_DRAWS: u32 = 6;

/// The part of a severity range that a level draws from, as shares from mildest to worst: lower levels
/// draw from the worse part, where readings speak louder.
#[must_use]
pub fn severity_shares(level: u8) -> (f64, f64) {
    match level {
        1 => (0.6, 1.0),
        2 => (0.4, 1.0),
        3 => (0.2, 0.9),
        _ => (0.0, 0.8),
    }
}

/// The severity at a share of its range.
#[must_use]
pub fn severity_at(range: &Severity, share: f64) -> f64 {
    match range.spread {
        Spread::Linear => range.min + (range.max - range.min) * share,
        Spread::Log => range.min * libm::pow(range.max / range.min, share),
    }
}

/// Surroundings as scenarios have them.
#[must_use]
pub fn draw_conditions(stream: &mut Stream) -> Conditions {
    Conditions {
        ambient_c: libm::round(stream.between(2.0, 26.0)),
        charge: stream.between(0.8, 1.0),
        fuel: stream.between(0.2, 0.9),
    }
}

/// What is in a tank with this trouble.
#[must_use]
pub fn draw_tank(trouble: TankTrouble, conditions: &mut Conditions, stream: &mut Stream) -> Tank {
    let mut tank = Tank::default();
    match trouble {
        TankTrouble::Empty => {
            conditions.fuel = 0.0;
            tank.stuck_float = Some(stream.between(0.2, 0.7));
        }
        TankTrouble::Water => tank.water = stream.between(0.08, 0.4),
    }
    tank
}

/// How bad a fault is at a level.
pub(super) fn draw_severity(range: &Severity, level: u8, stream: &mut Stream) -> f64 {
    let (from, to) = severity_shares(level);
    severity_at(range, stream.between(from, to))
}
