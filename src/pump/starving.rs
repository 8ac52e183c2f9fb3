//! The settled point of a pump that gets less fuel than it sweeps.
//!
//! The strainer passes its limit Q and no more, so the hydraulic pressure x is where the circuit draws Q,
//! and the chambers are partly vapour. The work on the fuel, K = dP (Q + c dP), no longer depends on
//! speed, and the torque is K/w. Power in against power out, w (V' - a w) Ke/R = K with V' the volts
//! left by brush and dry friction and a those that back-EMF and drag take per rad/s, is a quadratic: two
//! speeds or none. The larger is the stable one.
//!
//! The torque of a starved centrifugal element falls with speed and bends upwards (see `impeller`), so what is left of the
//! supply bends downwards everywhere above the speed w0 of a full one: one speed if something is left at w0, two or
//! none if not, and again the larger is the stable one. Its top is where the slope, which only falls, is zero; the root lies
//! between that and the speed without load.

use crate::numeric::{RootError, RootTolerance, bracketed_root};

use super::hydraulic::{Demand, Hydraulics};
use super::impeller::Impeller;
use super::load::Load;
use super::{ElementKind, LIMITS, PumpError, PumpUnit};

/// The motor reduced to what the balance needs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Drive {
    pub ke: f64,
    pub ohms: f64,
    pub dry_nm: f64,
    pub viscous_nm_s: f64,
    /// Volts left after brush drop and the current that dry friction takes.
    pub volts: f64,
}

impl Drive {
    /// Volts per rad/s that back-EMF and viscous drag take.
    pub fn volts_per_speed(&self) -> f64 {
        self.ke + self.ohms * self.viscous_nm_s / self.ke
    }
}

/// What the element does at a settled point.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Working {
    pub load: Load,
    pub rise_pa: f64,
    pub rad_s: f64,
    pub hydraulic_nm: f64,
    pub starved: bool,
}

/// The search for a settled point at which the strainer's limit flows.
pub(crate) struct Starving<'a> {
    pub unit: &'a PumpUnit,
    pub hydraulics: &'a Hydraulics,
    pub demand: &'a Demand,
    pub drive: &'a Drive,
    /// What the strainer passes at the vapour limit, m3/s.
    pub limit: f64,
}

impl Starving<'_> {
    /// The starved point that takes the place of one at pressure `x` with full chambers, if there is one.
    ///
    /// It does if `x` would draw more than the limit. An overloaded motor, slower than half its free speed,
    /// may besides have both: slow with full chambers, fast with half-empty ones. Coming from rest with
    /// little pressure it is the fast one; while pressure rises towards the starved point the work asked
    /// for only grows, so if the motor can do it there it never fell back before.
    pub fn instead_of(
        &self,
        x: f64,
        filled: &Working,
        evaluations: &mut u32,
    ) -> Result<Option<Working>, PumpError> {
        let free_speed = self.drive.volts / self.drive.volts_per_speed();
        let crack = self.hydraulics.check_valve.crack_pa;
        let (lo, hi) = if filled.load.drawn > self.limit {
            (-crack, x)
        } else if self.limit.is_finite()
            && (self.wheel().is_some() || filled.rad_s < 0.5 * free_speed)
        {
            // Beyond this pressure the limit alone takes more than the motor's greatest power. A wheel whose torque is not that
            // of constant work may have a fast point above half its free speed as well.
            let most_power = 0.25 * free_speed * self.drive.volts * self.drive.ke / self.drive.ohms;
            (x, most_power / self.limit)
        } else {
            return Ok(None);
        };
        let mut missing = |x: f64| {
            *evaluations += 1;
            Load::at(self.hydraulics, self.demand, x).drawn - self.limit
        };
        if hi <= lo || missing(hi) < 0.0 {
            return Ok(None);
        }
        let x = root(missing, lo, hi)?;
        self.at(x, evaluations)
    }

    fn wheel(&self) -> Option<&Impeller> {
        match &self.unit.element.kind {
            ElementKind::Centrifugal(wheel) => Some(wheel),
            _ => None,
        }
    }

    /// The motor against the load at pressure `x`, at the larger of two speeds, if there is one that leaves the chambers
    /// partly empty.
    fn at(&self, x: f64, evaluations: &mut u32) -> Result<Option<Working>, PumpError> {
        let load = Load::at(self.hydraulics, self.demand, x);
        let rise_pa = load.chamber_pa + self.hydraulics.depression_at_limit();
        let moved = self.limit + self.unit.element.slip(load.chamber_pa, rise_pa);
        let turning = match self.wheel() {
            Some(wheel) => self.wheel_turns(wheel, moved, rise_pa, evaluations)?,
            None => self.work_turns(moved, rise_pa),
        };
        Ok(turning.map(|(rad_s, hydraulic_nm)| Working {
            load,
            rise_pa,
            rad_s,
            hydraulic_nm,
            starved: true,
        }))
    }

    /// Speed and torque against a given work: the larger root of the quadratic, if it is real and fast enough.
    fn work_turns(&self, moved: f64, rise_pa: f64) -> Option<(f64, f64)> {
        let work = rise_pa * moved;
        let a = self.drive.volts_per_speed();
        let volts = self.drive.volts;
        let under_root = volts * volts - 4.0 * a * self.drive.ohms * work / self.drive.ke;
        // At a point on the border rounding may leave a little less than nothing.
        if under_root < -1e-9 * volts * volts {
            return None;
        }
        let rad_s = (volts + under_root.max(0.0).sqrt()) / (2.0 * a);
        let fast = self.unit.element.displacement_m3_rad * rad_s >= moved * (1.0 - 1e-9);
        fast.then(|| (rad_s, work / rad_s))
    }

    /// Speed and torque of a starved wheel.
    fn wheel_turns(
        &self,
        wheel: &Impeller,
        moved: f64,
        rise_pa: f64,
        evaluations: &mut u32,
    ) -> Result<Option<(f64, f64)>, PumpError> {
        let volts_per_speed = self.drive.volts_per_speed();
        let volts_per_nm = self.drive.ohms / self.drive.ke;
        let volts = self.drive.volts;
        let left = |rad_s: f64| {
            let torque = wheel.starved_torque(rad_s, moved, rise_pa);
            (volts - volts_per_speed * rad_s - volts_per_nm * torque).max(-LIMITS.closed)
        };
        let slope = |rad_s: f64| {
            let slope = wheel.starved_slope(rad_s, moved, rise_pa);
            (-volts_per_speed - volts_per_nm * slope).min(LIMITS.closed)
        };
        let (full, free) = (wheel.speed(moved, rise_pa), volts / volts_per_speed);
        if full >= free {
            return Ok(None);
        }
        let mut counted = |f: &dyn Fn(f64) -> f64, lo: f64| {
            root(
                |rad_s| {
                    *evaluations += 1;
                    f(rad_s)
                },
                lo,
                free,
            )
        };
        let top = if left(full) >= 0.0 || slope(full) <= 0.0 {
            full
        } else if slope(free) >= 0.0 {
            free
        } else {
            counted(&slope, full)?
        };
        // At a point on the border rounding may leave a little less than nothing.
        if left(top) < -1e-9 * volts {
            return Ok(None);
        }
        let rad_s = if left(top) <= 0.0 {
            top
        } else {
            counted(&left, top)?
        };
        Ok(Some((rad_s, wheel.starved_torque(rad_s, moved, rise_pa))))
    }
}

/// Root of a monotone function between two points; the upper one if rounding hides the change of sign.
pub(crate) fn root(f: impl FnMut(f64) -> f64, lo: f64, hi: f64) -> Result<f64, PumpError> {
    // Thirteen evaluations are usual. Parameters forty powers of ten apart can need hundreds.
    let tolerance = RootTolerance {
        max_evaluations: 2_000,
        ..RootTolerance::default()
    };
    match bracketed_root(f, lo, hi, &tolerance) {
        Ok(root) => Ok(root.x),
        Err(RootError::NotBracketed { f_lo, f_hi, .. }) if f_hi.abs() <= f_lo.abs() => Ok(hi),
        Err(error) => Err(PumpError::NoOperatingPoint(error)),
    }
}
