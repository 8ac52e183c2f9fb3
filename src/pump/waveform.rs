//! The pump's current through a few turns, with the ripple of its commutator.
//!
//! At constant speed w the armature's EMF is that of the coils between the brushes: with S segments it runs through the
//! top of a cosine S times a turn,
//!
//! ```text
//! e(angle) = Ke w cos(x) / mean,   x from -pi/S to pi/S,   mean = sin(pi/S) / (pi/S)
//! L di/dt = V - brush - R i - e(angle)
//! ```
//!
//! (textbook commutator machine: the deeper the ripple the fewer the segments). So f = S rpm / 60, and rpm = 60 f / S.
//! While a brush stands on a dead segment the circuit is open and the current is zero, arcing left out: a gap once a
//! turn for each dead segment. Inertia keeps the speed constant within a turn; the mean is the operating point's.

use core::f64::consts::{PI, TAU};

use super::{LIMITS, OperatingPoint, PumpUnit, Supply};

/// Turns run before the first sample, so that the current has forgotten where it began.
const TURNS_BEFORE: f64 = 4.0;
/// Steps within one segment.
const STEPS: f64 = 48.0;

/// Current at every `sample_s` for `seconds`, A, the first sample at the beginning. A motor at rest has its steady
/// current; the armature's angle at the beginning is always the same.
#[must_use]
pub fn current_waveform(
    unit: &PumpUnit,
    supply: &Supply,
    point: &OperatingPoint,
    seconds: f64,
    sample_s: f64,
) -> Vec<f64> {
    /// Longest record, samples.
    const MOST: f64 = 1e6;
    let count = if sample_s > 0.0 && seconds >= 0.0 { (seconds / sample_s).min(MOST) } else { 0.0 };
    // Bounded above, and not negative.
    let count = libm::floor(count + 1e-9) as usize + 1;
    let motor = &unit.motor;
    let live = motor.segments > 0 && motor.dead_segments < motor.segments;
    if point.rad_s <= 0.0 || !live || supply.ohms >= LIMITS.closed {
        return vec![point.amps; count];
    }
    let segments = f64::from(motor.segments);
    let ohms = (supply.ohms + motor.ohms()).max(LIMITS.ohms);
    let decay_s = motor.inductance_h.max(LIMITS.electrical_s * ohms) / ohms;
    let half = PI / segments;
    let mean = libm::sin(half) / half;
    let segment_s = TAU / (segments * point.rad_s);
    // A current shorter than its own decay would need finer steps than the ripple does.
    let step_s = (segment_s / STEPS).min(sample_s.max(1e-9));
    let driven = supply.volts - motor.brush_volts;
    let mut out = Vec::with_capacity(count);
    let lead_s = TURNS_BEFORE * segments * segment_s;
    let (mut t, mut amps) = (-lead_s, point.amps);
    for number in 0..count {
        let until = number as f64 * sample_s;
        while t < until - 1e-12 {
            let h = step_s.min(until - t);
            let turns = (t + 0.5 * h + lead_s) / segment_s;
            let passed = libm::floor(turns);
            // Which segment is under the brush: the first ones of the ring are the dead ones.
            let under = passed - segments * libm::floor(passed / segments);
            if under < f64::from(motor.dead_segments) {
                amps = 0.0;
            } else {
                let x = (turns - passed - 0.5) * 2.0 * half;
                let emf = motor.ke * point.rad_s * libm::cos(x) / mean;
                let wanted = (driven - emf) / ohms;
                amps = (wanted + (amps - wanted) * libm::exp(-h / decay_s)).max(0.0);
            }
            t += h;
        }
        out.push(amps);
    }
    out
}

/// Speed counted from a record of the current, revolutions a minute: rising passages through the middle of the swing,
/// over the time between the first and the last, divided by the segments. Nothing if fewer than three are seen.
///
/// With a dead segment the record passes through its middle once a turn for the gap as well; the gap is then the
/// larger swing, and what is counted are turns: pass 1 for `ripples_per_turn`.
#[must_use]
pub fn counted_rpm(record: &[f64], sample_s: f64, ripples_per_turn: u32) -> Option<f64> {
    let (low, high) = record.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &amps| {
        (low.min(amps), high.max(amps))
    });
    let middle = 0.5 * (low + high);
    let passes: Vec<f64> = record
        .windows(2)
        .enumerate()
        .filter(|(_, pair)| pair[0] < middle && pair[1] >= middle)
        .map(|(at, pair)| at as f64 + (middle - pair[0]) / (pair[1] - pair[0]))
        .collect();
    let (first, last) = (passes.first()?, passes.last()?);
    if passes.len() < 3 || ripples_per_turn == 0 {
        return None;
    }
    let hertz = (passes.len() - 1) as f64 / ((last - first) * sample_s);
    Some(60.0 * hertz / f64::from(ripples_per_turn))
}
