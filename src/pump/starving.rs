//! The settled point of a pump that gets less fuel than it sweeps.
//!
//! The strainer passes its limit Q and no more, so the hydraulic pressure x is where the circuit draws Q,
//! and the chambers are partly vapour. The work on the fuel, K = dP (Q + c dP), no longer depends on
//! speed, and the torque is K/w. Power in against power out, w (V' - a w) Ke/R = K with V' the volts
//! left by brush and dry friction and a those that back-EMF and drag take per rad/s, is a quadratic: two
//! speeds or none. The larger is the stable one.

use crate::numeric::{RootError, RootTolerance, bracketed_root};

use super::hydraulic::{Demand, Hydraulics};
use super::load::Load;
use super::{PumpError, PumpUnit};

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
        } else if filled.rad_s < 0.5 * free_speed && self.limit.is_finite() {
            // Beyond this pressure the limit alone takes more than the motor's greatest power.
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
        Ok(self.at(x))
    }

    /// The motor against the work at pressure `x`: the larger root of the quadratic, if it is real and fast
    /// enough to leave the chambers partly empty.
    fn at(&self, x: f64) -> Option<Working> {
        let load = Load::at(self.hydraulics, self.demand, x);
        let rise_pa = load.chamber_pa + self.hydraulics.depression_at_limit();
        let moved = self.limit + self.unit.element.leak() * rise_pa;
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
        fast.then(|| Working {
            load,
            rise_pa,
            rad_s,
            hydraulic_nm: work / rad_s,
            starved: true,
        })
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
