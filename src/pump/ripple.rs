//! The commutation ripple on the current of a turning motor: what a current clamp and a screen make visible.
//!
//! In a two-pole armature with `n` commutator segments the coils between the brushes add up to one vector that turns
//! by `2 pi / n` from one commutation to the next, so the back-EMF follows `cos(d)` for `d` from `-pi/n` to `pi/n`
//! and jumps back (eight segments: 7.6 % peak to peak). The current follows through the circuit's inductance:
//! `L di/dt = R (i0 - i) - e(t)`, stepped exactly between samples. A brush on a dead segment opens the circuit.

use core::f64::consts::{PI, TAU};

use super::{LIMITS, Motor};

/// Steps between two samples; the back-EMF counts as constant within one.
const STEPS: u32 = 4;

/// A count of steps; whatever does not fit is none.
fn whole(steps: f64) -> usize {
    // Some thousands: inside what both types hold exactly.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let count = steps.max(0.0) as usize;
    count
}

/// A contact before the motor that is made for the first part of each cycle and open for the rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interrupted {
    /// One cycle, s.
    pub cycle_s: f64,
    /// Share of it for which the contact is made.
    pub made: f64,
}

impl Interrupted {
    /// Whether the contact is made `t_s` after a cycle began.
    #[must_use]
    pub fn is_made(&self, t_s: f64) -> bool {
        // A millionth of a cycle, so that a sample on the edge does not fall by rounding.
        let cycles = t_s / self.cycle_s + 1e-6;
        cycles - libm::floor(cycles) < self.made
    }
}

/// Motor current as [`current_waveform`], behind a contact that is made and broken all the time: each time it closes the
/// current comes up through the inductance, and it is gone at once as it opens. The record begins as it closes, and its
/// mean over whole cycles is `mean_amps`.
#[must_use]
pub fn interrupted_waveform(
    motor: &Motor,
    supply_ohms: f64,
    (mean_amps, rad_s): (f64, f64),
    seconds: f64,
    step_s: f64,
    contact: &Interrupted,
) -> Vec<f64> {
    let count = whole(libm::floor(seconds / step_s));
    let live = motor.live_fraction() * contact.made;
    if mean_amps == 0.0 || live == 0.0 {
        return vec![mean_amps; count];
    }
    let mut armature = Armature {
        contact: Some(contact),
        ..Armature::new(motor, supply_ohms, mean_amps / live, rad_s, step_s)
    };
    let amps: Vec<f64> = (0..count)
        .map(|index| armature.sample(index, step_s))
        .collect();
    let cycle = whole(libm::round(contact.cycle_s / step_s)).max(1);
    let cycles = (count / cycle * cycle).max(1).min(count);
    let mean = amps[..cycles].iter().sum::<f64>() / cycles as f64;
    let scale = if mean == 0.0 { 0.0 } else { mean_amps / mean };
    amps.into_iter().map(|amps| scale * amps).collect()
}

/// Motor current at `step_s` intervals for `seconds`, A, for a motor that turns at `rad_s` with a mean of `mean_amps`
/// through `supply_ohms` outside it. A motor at rest has no ripple.
#[must_use]
pub fn current_waveform(
    motor: &Motor,
    supply_ohms: f64,
    mean_amps: f64,
    rad_s: f64,
    seconds: f64,
    step_s: f64,
) -> Vec<f64> {
    let count = whole(libm::floor(seconds / step_s));
    let live = motor.live_fraction();
    if rad_s == 0.0 || mean_amps == 0.0 || motor.segments == 0 || live == 0.0 {
        return vec![mean_amps; count];
    }
    let mut armature = Armature {
        amps: mean_amps,
        ..Armature::new(motor, supply_ohms, mean_amps / live, rad_s, step_s)
    };
    // One turn is let go by, the next is averaged: inductance rounds the gaps of dead segments and takes a little off.
    let turn = whole(libm::ceil(TAU / libm::fabs(rad_s) / step_s));
    let mut sum = 0.0;
    for index in 0..2 * turn {
        let amps = armature.sample(index, step_s);
        if index >= turn {
            sum += amps;
        }
    }
    let scale = mean_amps * turn as f64 / sum;
    (2 * turn..2 * turn + count)
        .map(|index| scale * armature.sample(index, step_s))
        .collect()
}

struct Armature<'a> {
    motor: &'a Motor,
    rad_s: f64,
    ohms: f64,
    pulled_amps: f64,
    decay: f64,
    amps: f64,
    contact: Option<&'a Interrupted>,
}

impl<'a> Armature<'a> {
    fn new(
        motor: &'a Motor,
        supply_ohms: f64,
        pulled_amps: f64,
        rad_s: f64,
        step_s: f64,
    ) -> Armature<'a> {
        let ohms = (supply_ohms + motor.ohms()).max(LIMITS.ohms);
        let tau_s = (motor.inductance_h / ohms).max(LIMITS.electrical_s);
        Armature {
            motor,
            rad_s,
            ohms,
            pulled_amps,
            decay: libm::exp(-step_s / f64::from(STEPS) / tau_s),
            amps: 0.0,
            contact: None,
        }
    }

    fn sample(&mut self, index: usize, step_s: f64) -> f64 {
        let segments = f64::from(self.motor.segments);
        for step in 0..STEPS {
            let t_s = (index as f64 + f64::from(step) / f64::from(STEPS)) * step_s;
            let turns = libm::fabs(self.rad_s) * t_s / TAU;
            let passed = (turns - libm::floor(turns)) * segments;
            let open = self.contact.is_some_and(|contact| !contact.is_made(t_s));
            if open || passed < f64::from(self.motor.dead_segments) {
                self.amps = 0.0;
                continue;
            }
            let within = passed - libm::floor(passed) - 0.5;
            let half = PI / segments;
            let uneven = libm::cos(2.0 * half * within) / (libm::sin(half) / half) - 1.0;
            let aim = self.pulled_amps - self.motor.ke * self.rad_s * uneven / self.ohms;
            self.amps = aim + (self.amps - aim) * self.decay;
        }
        self.amps
    }
}

/// Speed counted from a record of the current, revolutions a minute: rising passages through the middle of the swing,
/// over the time between the first and the last, divided by the segments. Nothing if fewer than three are seen.
///
/// With a dead segment the record passes through its middle once a turn for the gap as well; the gap is then the
/// larger swing, and what is counted are turns: pass 1 for `ripples_per_turn`.
#[must_use]
pub fn counted_rpm(record: &[f64], sample_s: f64, ripples_per_turn: u32) -> Option<f64> {
    let (low, high) = record
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &amps| {
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
