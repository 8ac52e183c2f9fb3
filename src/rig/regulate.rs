//! The share of its cycle that a driver module is asked for, and the sensor by which the control unit asks.
//!
//! With the engine running the unit moves the duty until its sensor shows the pressure it wants to hold. Rail pressure
//! rises with the duty, so the duty is a root in a bracket; where even the whole cycle is too little or the least too
//! much, that end stands. A sensor line that reads outside a tenth to nine tenths of its supply counts as broken, and
//! the unit falls back on a fixed duty.

use super::attach::Attachments;
use super::settle::Settled;
use super::{Rig, RigError};
use crate::circuit::Solution;
use crate::numeric::{RootTolerance, bracketed_root};
use crate::pump::OperatingPoint;
use crate::vehicle::{Duty, Element, Key, Law};

/// What a sensor puts out at no pressure and at full scale, as shares of its supply (usual for sensors of this kind;
/// common practice, no source).
const ZERO: f64 = 0.1;
const FULL: f64 = 0.9;
/// How far outside these a line may read before the unit takes it for broken, share of the supply; ours.
const PLAUSIBLE: f64 = 0.04;
/// Nominal supply of the sensor, V.
const SUPPLY_V: f64 = 5.0;
/// How finely the duty is found: a hundredth of a per cent moves pressure by less than a gauge shows.
const DUTY_TOLERANCE: f64 = 1e-5;

/// What the control unit of a driver module reads and asks.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Asked {
    /// Share of the cycle it asks of the module, 0 to 1.
    pub duty: f64,
    /// The sensor's line, if it has one.
    pub line: Option<SensorLine>,
}

/// A pressure sensor's line as the control unit sees it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SensorLine {
    /// Volts at the unit's input.
    pub volts: f64,
    /// Pressure these stand for, Pa; nothing if no whole sensor puts them out.
    pub pa: Option<f64>,
}

impl SensorLine {
    /// The line reads below what a whole sensor can put out, not above it.
    #[must_use]
    pub fn is_low(&self) -> bool {
        self.volts < SUPPLY_V / 2.0
    }
}

impl Rig {
    /// What the control unit reads of its sensor and asks of a driver module as things stand; nothing on a vehicle
    /// without such a module.
    ///
    /// # Errors
    /// The circuit cannot be solved.
    pub fn asked(&mut self, attached: &Attachments) -> Result<Option<Asked>, RigError> {
        if self.duties().is_none() {
            return Ok(None);
        }
        let wanted = self.pump_wanted();
        let settled = self.settle(wanted, attached)?;
        Ok(Some(Asked {
            duty: if wanted { settled.duty } else { 0.0 },
            line: self.line_v(&settled.solution).map(|volts| SensorLine {
                volts,
                pa: self.measured_pa(&settled.solution),
            }),
        }))
    }

    /// Brings the circuit to rest with the pump wanted or not.
    pub(super) fn settle(
        &mut self,
        wanted: bool,
        attached: &Attachments,
    ) -> Result<Settled, RigError> {
        let Some(duty) = self.duties() else {
            return self.settle_at(wanted, 1.0, attached);
        };
        let table = match self.controls.key {
            Key::Off | Key::On => duty.prime,
            Key::Crank => duty.crank,
            Key::Run => duty.run,
        };
        let settled = self.settle_at(wanted, table, attached)?;
        match (self.controls.key, self.vehicle.holds_pa) {
            (Key::Run, Some(target_pa)) if wanted && settled.chatter.is_none() => {
                self.regulate(settled, target_pa, duty.least, attached)
            }
            _ => Ok(settled),
        }
    }

    fn regulate(
        &mut self,
        fallback: Settled,
        target_pa: f64,
        least: f64,
        attached: &Attachments,
    ) -> Result<Settled, RigError> {
        let Some(here_pa) = self.measured_pa(&fallback.solution) else {
            return Ok(fallback);
        };
        // The table's duty is one end of the bracket.
        let (far, nearer) = if here_pa < target_pa {
            (1.0, fallback.duty)
        } else {
            (least, fallback.duty)
        };
        let end = self.settle_at(true, far, attached)?;
        let beyond = |pa: f64| (pa < target_pa) == (here_pa < target_pa);
        if self.measured_pa(&end.solution).is_none_or(beyond) {
            return Ok(end);
        }
        let mut failed = None;
        let tolerance = RootTolerance {
            absolute: DUTY_TOLERANCE,
            ..RootTolerance::default()
        };
        let root = bracketed_root(
            |duty| match self.settle_at(true, duty, attached) {
                Ok(settled) => self.measured_pa(&settled.solution).unwrap_or(target_pa) - target_pa,
                Err(error) => {
                    failed = Some(error);
                    0.0
                }
            },
            far.min(nearer),
            far.max(nearer),
            &tolerance,
        );
        match (failed, root) {
            (Some(error), _) => Err(error),
            (None, Ok(root)) => self.settle_at(true, root.x, attached),
            // Only where the pressure jumps with the duty, as at a motor that just turns: the nearer end stands.
            (None, Err(_)) => Ok(end),
        }
    }

    fn duties(&self) -> Option<Duty> {
        let mut elements = self.vehicle.elements.iter();
        elements.find_map(|element| match element.law {
            Law::Chopper { duty, .. } => Some(duty),
            _ => None,
        })
    }

    fn sensor(&self) -> Option<&Element> {
        let mut elements = self.vehicle.elements.iter();
        elements.find(|element| matches!(element.law, Law::Signal { .. }))
    }

    /// What the pressure sensor puts out at no load, V: in proportion to its supply.
    pub(super) fn sensed_v(&self, solution: &Solution, point: &OperatingPoint) -> f64 {
        let Some(sensor) = self.sensor() else {
            return 0.0;
        };
        let Law::Signal {
            full_pa, supply, ..
        } = sensor.law
        else {
            return 0.0;
        };
        if !solution.joined(supply, sensor.from) {
            return 0.0;
        }
        let supply_v = solution
            .between(supply, sensor.from)
            .clamp(0.0, 2.0 * SUPPLY_V);
        let pa = if point.rad_s == 0.0 {
            self.rail_pa
        } else {
            point.rail_pa
        };
        let drift = self.build.sensor_factor;
        (ZERO + (FULL - ZERO) * drift * pa / full_pa).min(1.0) * supply_v
    }

    /// Volts at the control unit's input for the sensor; nothing on a vehicle without one.
    fn line_v(&self, solution: &Solution) -> Option<f64> {
        let input = self.vehicle.elements.iter().find(|e| e.leg == "input")?;
        Some(if solution.joined(input.from, input.to) {
            solution.between(input.from, input.to)
        } else {
            0.0
        })
    }

    /// Pressure as the control unit's input shows it, Pa; nothing if the line is broken.
    pub(super) fn measured_pa(&self, solution: &Solution) -> Option<f64> {
        let Law::Signal { full_pa, .. } = self.sensor()?.law else {
            return None;
        };
        let share = self.line_v(solution)? / SUPPLY_V;
        let plausible = (ZERO - PLAUSIBLE..=FULL + PLAUSIBLE).contains(&share);
        plausible.then_some((share - ZERO) / (FULL - ZERO) * full_pa)
    }
}
