//! The pump module against published figures, conservation laws and an outside integrator.
mod anything;
mod balance;
mod centrifugal;
mod deck;
mod faults;
mod fluids;
mod hold;
mod motor;
mod published;
mod scipy;
mod stiff;
mod sweep;
mod van;
mod van_figures;
mod waveform;

use hidden_ohm::pump::{ElementKind, OperatingPoint, PumpUnit};

/// What a wheel turns into heat beside its work: disc friction, mixing, and what its pressure falls short of that without flow.
/// A starved one does so on a mixture that is as much lighter as its pressure is less than a full one's.
pub fn wasted_w(unit: &PumpUnit, point: &OperatingPoint) -> f64 {
    let ElementKind::Centrifugal(wheel) = &unit.element.kind else {
        return 0.0;
    };
    if point.rise_pa == 0.0 {
        return 0.0;
    }
    let moved = point.delivered_m3_s + point.relief_m3_s + point.slip_m3_s;
    let w = point.rad_s;
    let fall = wheel.fall_pa_s2_m3 * w * moved + wheel.loss_pa_s2_m6 * moved * moved;
    let wasted = wheel.disc_nm_s2 * w * w * w + (wheel.mixing_pa_s2 * w * w + fall) * moved;
    let liquid = point.rise_pa / (wheel.head_pa_s2 * w * w - fall);
    wasted * if point.starved { liquid } else { 1.0 }
}
