//! The pumping element: one way to ask for what any construction does.

use super::LIMITS;
use super::hydraulic::quadratic_flow;
use super::impeller::Impeller;

/// How the element moves what it pumps. The first two follow Q = D w - c dP; a turbine's slip is its side channel
/// (published: a near-constant -12 to -15 L/h per 100 kPa at fixed speed), a roller cell's its clearances. The third has
/// no swept volume and a law of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
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
    /// Centrifugal wheel.
    Centrifugal(Impeller),
}

/// The pumping element on the motor's shaft.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Element {
    /// Volume swept per radian, m3; none for a centrifugal one.
    pub displacement_m3_rad: f64,
    /// Internal leakage per Pa of pressure rise (of chamber pressure, for a centrifugal one), m3/s. Wear raises it.
    pub leak_m3_s_pa: f64,
    /// Construction.
    pub kind: ElementKind,
}

/// A wheel's pressure without flow, sound over worn, rises by this for each time as much that it leaks; ours: vanes wear away
/// with the gaps. What that takes off the current is more than what the leak adds.
const HEAD_LOST_WITH_LEAK: f64 = 0.2;

impl Element {
    /// Leakage as the equations use it: never quite zero.
    pub(crate) fn leak(&self) -> f64 {
        self.leak_m3_s_pa.max(LIMITS.leak_m3_s_pa)
    }

    /// There is nothing on the shaft that could move anything.
    pub(crate) fn is_missing(&self) -> bool {
        match &self.kind {
            ElementKind::Centrifugal(wheel) => {
                wheel.head_pa_s2 < LIMITS.head_pa_s2 || wheel.loss_pa_s2_m6 >= LIMITS.closed
            }
            _ => self.displacement_m3_rad < LIMITS.displacement_m3_rad,
        }
    }

    /// The same element with as much more or less of what it moves or builds up.
    pub(crate) fn scale(&mut self, factor: f64) {
        self.displacement_m3_rad *= factor;
        if let ElementKind::Centrifugal(wheel) = &mut self.kind {
            wheel.head_pa_s2 *= factor;
        }
    }

    /// Wears the element until it leaks `times` as much. A wheel, whose vanes and clearances wear together, loses pressure
    /// besides: [`HEAD_LOST_WITH_LEAK`] for each time as much.
    pub(crate) fn wear(&mut self, times: f64) {
        self.leak_m3_s_pa *= times;
        if let ElementKind::Centrifugal(wheel) = &mut self.kind {
            wheel.head_pa_s2 /= 1.0 + HEAD_LOST_WITH_LEAK * (times - 1.0).max(0.0);
        }
    }

    /// Flow back through the clearances, m3/s.
    pub(crate) fn slip(&self, chamber_pa: f64, rise: f64) -> f64 {
        self.leak()
            * match self.kind {
                ElementKind::Centrifugal(_) => chamber_pa,
                _ => rise,
            }
    }

    /// Speed and torque with full chambers at a flow drawn, a chamber pressure and a rise: both rise with all three.
    pub(crate) fn working(&self, drawn: f64, chamber_pa: f64, rise: f64) -> (f64, f64) {
        let through = drawn + self.slip(chamber_pa, rise);
        match &self.kind {
            ElementKind::Centrifugal(wheel) => {
                let rad_s = wheel.speed(through, rise);
                (rad_s, wheel.torque(rad_s, through))
            }
            _ => (
                through / self.displacement_m3_rad,
                self.displacement_m3_rad * rise,
            ),
        }
    }

    /// Chamber pressure at a speed with nothing delivered, Pa.
    pub(crate) fn dead_head(&self, rad_s: f64) -> f64 {
        match &self.kind {
            ElementKind::Centrifugal(wheel) => wheel.shut_off(rad_s, self.leak()),
            _ => self.displacement_m3_rad * rad_s / self.leak(),
        }
    }

    /// Flow drawn through a strainer at a speed, m3/s, against a chamber pressure of `opens` that rises by `slope` with the
    /// flow; none if the dead head is no more than `opens`.
    pub(crate) fn flow(&self, rad_s: f64, opens: f64, slope: f64, strainer: f64) -> f64 {
        let leak = self.leak();
        match &self.kind {
            ElementKind::Centrifugal(wheel) => wheel.flow(rad_s, leak, opens, slope, strainer),
            _ => quadratic_flow(
                leak * strainer,
                1.0 + leak * slope,
                self.displacement_m3_rad * rad_s - leak * opens,
            ),
        }
    }

    /// Torque of a full element that turns, N m.
    pub(crate) fn torque(&self, rad_s: f64, flow: f64, chamber_pa: f64, rise: f64) -> f64 {
        match &self.kind {
            ElementKind::Centrifugal(wheel) => {
                wheel.torque(rad_s, flow + self.slip(chamber_pa, rise))
            }
            _ => self.displacement_m3_rad * rise,
        }
    }

    /// Torque of one that sweeps or would build up more than it gets, N m: no more than that of a full one.
    pub(crate) fn starved_torque(&self, rad_s: f64, flow: f64, chamber_pa: f64, rise: f64) -> f64 {
        let through = flow + self.slip(chamber_pa, rise);
        match &self.kind {
            ElementKind::Centrifugal(wheel) => wheel.starved_torque(rad_s, through, rise),
            _ => (rise * through / rad_s).min(self.displacement_m3_rad * rise),
        }
    }
}
