//! What an experienced ear compares with: a pump of this type that is well, in the state the vehicle stands in.
//!
//! The type as its maker meant it, on the supply of a rested battery (or of the alternator) behind sound wiring, with
//! the share of its cycle that a driver module is asked for, against the pressure of the moment. So a module that runs
//! its pump at part of the supply is not taken for a weak one, nor a pump that fills an open can for a quick one.

use super::pair::into_pot;
use super::{Rig, RigError};
use crate::numeric::{RootTolerance, bracketed_root};
use crate::pump::{self, OperatingPoint, PumpError, Supply};
use crate::vehicle::{Duty, Key, Law, Vehicle};

/// Volts and ohms of a rested battery behind sound wiring; common practice, no source.
const RESTED: Supply = Supply {
    volts: 12.4,
    ohms: 0.15,
};

impl Rig {
    /// Speed of a pump of this type that is well, in the present state, revolutions a minute.
    #[must_use]
    pub fn usual_rpm(&self) -> f64 {
        self.usual_rpm_at(self.controls.key)
    }

    /// The same with the key elsewhere; before a start, that is what it did at the prime.
    #[must_use]
    pub fn usual_rpm_at(&self, key: Key) -> f64 {
        self.usual(key).rad_s * 60.0 / core::f64::consts::TAU
    }

    /// Current of a pump of this type that is well, run by service tool, A.
    #[must_use]
    pub fn usual_amps(&self) -> f64 {
        self.usual(Key::On).amps
    }

    /// Speed of a lift pump of this type that is well, revolutions a minute; nothing on a vehicle without one.
    #[must_use]
    pub fn usual_lift_rpm(&self) -> Option<f64> {
        let point = lift_point(&self.vehicle)?.unwrap_or_default();
        Some(point.rad_s * 60.0 / core::f64::consts::TAU)
    }

    fn usual(&self, key: Key) -> OperatingPoint {
        let demand = self.demand_at(key, self.controls.load);
        let (module_ohms, duty) = self.module();
        let volts = match key {
            Key::Run => self.regulated_v(),
            _ => RESTED.volts,
        };
        // The averaged switch of a module, seen from the pump: V d behind R0 d^2 and its own resistance.
        let point = |share: f64| {
            let supply = Supply {
                volts: share * volts,
                ohms: share * share * RESTED.ohms + module_ohms,
            };
            let (unit, hydraulics) = (&self.vehicle.pump.unit, &self.vehicle.hydraulics);
            // A vehicle whose pump has no operating point is refused when the rig is made.
            pump::operating_point(unit, hydraulics, &supply, &demand).unwrap_or_default()
        };
        let Some(duty) = duty else { return point(1.0) };
        match (key, self.vehicle.holds_pa) {
            (Key::Off | Key::On, _) => point(duty.prime),
            (Key::Crank, _) => point(duty.crank),
            (Key::Run, None) => point(duty.run),
            (Key::Run, Some(target_pa)) => {
                let above = |share: f64| point(share).rail_pa - target_pa;
                let root = bracketed_root(above, duty.least, 1.0, &RootTolerance::default());
                // Without a sign change the end that comes nearest is what the unit is left with.
                let end = || if above(1.0) < 0.0 { 1.0 } else { duty.least };
                point(root.map_or_else(|_| end(), |root| root.x))
            }
        }
    }

    /// Resistance and duties of the driver module, if there is one.
    fn module(&self) -> (f64, Option<Duty>) {
        let mut elements = self.vehicle.elements.iter();
        let found = elements.find_map(|element| match element.law {
            Law::Chopper { ohms, duty, .. } => Some((ohms, Some(duty))),
            _ => None,
        });
        found.unwrap_or((0.0, None))
    }

    fn regulated_v(&self) -> f64 {
        let mut elements = self.vehicle.elements.iter();
        let found = elements.find_map(|element| match element.law {
            Law::Alternator { volts, .. } => Some(volts),
            _ => None,
        });
        found.unwrap_or(RESTED.volts)
    }
}

/// A lift pump of the type, working into its pot.
fn lift_point(vehicle: &Vehicle) -> Option<Result<OperatingPoint, PumpError>> {
    let lift = vehicle.lift.as_ref()?;
    let (unit, way) = (&lift.pump.unit, &lift.hydraulics);
    Some(pump::operating_point(unit, way, &RESTED, &into_pot()))
}

/// The type's own points at rest on the floor, for whether there are any at all.
pub(super) fn has_point(vehicle: &Vehicle) -> Result<(), RigError> {
    lift_point(vehicle).transpose()?;
    pump::operating_point(
        &vehicle.pump.unit,
        &vehicle.hydraulics,
        &RESTED,
        &pump::Demand::none(),
    )?;
    Ok(())
}
