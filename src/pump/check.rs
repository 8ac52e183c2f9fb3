//! What parameters are allowed, and what can go wrong.

use thiserror::Error;

use crate::numeric::RootError;

use super::{Demand, ElementKind, Hydraulics, PumpUnit, RegulatorStuck, Supply};

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PumpError {
    /// A parameter is negative, not a number, or infinite where that means nothing.
    #[error("{name} is {value}: give a number of 0 or more, at most 1e15{}", if *.may_be_infinite { ", or infinity" } else { "" })]
    Parameter {
        /// Field name.
        name: &'static str,
        /// What it was.
        value: f64,
        /// Infinity would be accepted.
        may_be_infinite: bool,
    },
    /// Signed quantity that is not finite or beyond 1e15.
    #[error("{name} is {value}: give a finite number within 1e15 of zero")]
    Signed {
        /// Field name.
        name: &'static str,
        /// What it was.
        value: f64,
    },
    /// Rated figures that no pump of this kind has.
    #[error("rated figures contradict each other: {what} comes out as {value}")]
    Rated {
        /// The derived quantity that came out impossible.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// The root finder gave up.
    #[error("no operating point: {0}")]
    NoOperatingPoint(#[from] RootError),
    /// The time-stepper gave up.
    #[error("the transient stopped at {t_s} s after {steps} steps: {reason}")]
    NoTransient {
        /// Time reached, s.
        t_s: f64,
        /// Steps spent.
        steps: u32,
        /// What happened.
        reason: String,
    },
}

/// Largest finite parameter: products of four of them stay finite.
const LARGEST: f64 = 1e15;

fn size(name: &'static str, value: f64) -> Result<(), PumpError> {
    if (0.0..=LARGEST).contains(&value) {
        Ok(())
    } else {
        Err(PumpError::Parameter {
            name,
            value,
            may_be_infinite: false,
        })
    }
}

fn resistance(name: &'static str, value: f64) -> Result<(), PumpError> {
    // Hydraulic resistances in SI are large numbers: 1e24 is already a blocked path.
    if value >= 0.0 {
        Ok(())
    } else {
        Err(PumpError::Parameter {
            name,
            value,
            may_be_infinite: true,
        })
    }
}

pub(crate) fn signed(name: &'static str, value: f64) -> Result<(), PumpError> {
    if value.abs() <= LARGEST {
        Ok(())
    } else {
        Err(PumpError::Signed { name, value })
    }
}

/// Refuses parameters without meaning, naming the field.
pub(crate) fn check(
    unit: &PumpUnit,
    hydraulics: &Hydraulics,
    supply: &Supply,
    demand: &Demand,
) -> Result<(), PumpError> {
    let motor = &unit.motor;
    signed("supply.volts", supply.volts)?;
    resistance("supply.ohms", supply.ohms)?;
    resistance("winding_ohms", motor.winding_ohms)?;
    resistance("brush_ohms", motor.brush_ohms)?;
    let sizes = [
        ("brush_volts", motor.brush_volts),
        ("ke", motor.ke),
        ("inductance_h", motor.inductance_h),
        ("inertia_kg_m2", motor.inertia_kg_m2),
        ("dry_nm", motor.dry_nm),
        ("viscous_nm_s", motor.viscous_nm_s),
        ("displacement_m3_rad", unit.element.displacement_m3_rad),
        ("leak_m3_s_pa", unit.element.leak_m3_s_pa),
        ("density", hydraulics.density),
        ("discharge", hydraulics.discharge),
        ("crack_pa", hydraulics.check_valve.crack_pa),
        ("check_valve.leak_m2", hydraulics.check_valve.leak_m2),
        ("in_tank_leak_m2", hydraulics.in_tank_leak_m2),
        ("regulator.set_pa", hydraulics.regulator.set_pa),
        ("regulator.full_area_m2", hydraulics.regulator.full_area_m2),
        ("injector_leak_m2", hydraulics.injector_leak_m2),
        ("injector_rated_pa", hydraulics.injector_rated_pa),
        ("hose_compliance_m3_pa", hydraulics.hose_compliance_m3_pa),
        ("compliance_m3_pa", hydraulics.compliance_m3_pa),
        ("injectors_m3_s", demand.injectors_m3_s),
        ("manifold vacuum", -demand.manifold_pa),
    ];
    for (name, value) in sizes {
        size(name, value)?;
    }
    if let ElementKind::Centrifugal(wheel) = &unit.element.kind {
        size("head_pa_s2", wheel.head_pa_s2)?;
        size("fall_pa_s2_m3", wheel.fall_pa_s2_m3)?;
        size("disc_nm_s2", wheel.disc_nm_s2)?;
        size("mixing_pa_s2", wheel.mixing_pa_s2)?;
        resistance("loss_pa_s2_m6", wheel.loss_pa_s2_m6)?;
    }
    if let Some(RegulatorStuck::Open { area_m2 }) = hydraulics.regulator.stuck {
        size("regulator.stuck.area_m2", area_m2)?;
    }
    if hydraulics.density == 0.0 {
        return Err(PumpError::Parameter {
            name: "density",
            value: 0.0,
            may_be_infinite: false,
        });
    }
    for (name, value) in [
        ("strainer_pa_s2_m6", hydraulics.strainer_pa_s2_m6),
        ("vapour_limit_pa", hydraulics.vapour_limit_pa),
        ("brought_m3_s", hydraulics.brought_m3_s),
        ("relief_pa", hydraulics.relief_pa),
        ("relief_slope_pa_s_m3", hydraulics.relief_slope_pa_s_m3),
        ("filter_pa_s_m3", hydraulics.filter_pa_s_m3),
        ("line_pa_s2_m6", hydraulics.line_pa_s2_m6),
        (
            "regulator.slope_pa_s_m3",
            hydraulics.regulator.slope_pa_s_m3,
        ),
        ("return_pa_s2_m6", hydraulics.return_pa_s2_m6),
    ] {
        resistance(name, value)?;
    }
    Ok(())
}
