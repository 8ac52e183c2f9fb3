//! Current over a fifth of a second: the ripple of the pump's commutator, and the pulses of a relay that chatters.

use super::attach::Attachments;
use super::chatter::{CHATTER, MADE_SHARE};
use super::settle::{Instant, PumpState, Settled, slot_amps};
use super::{Rig, RigError};
use crate::pump;
use crate::vehicle::ElementId;

use super::pair::Lifting;

/// A stretch of current over time.
#[derive(Clone, PartialEq, Debug)]
pub struct Waveform {
    /// Time between samples, s.
    pub step_s: f64,
    /// Samples, A.
    pub amps: Vec<f64>,
}

impl Rig {
    /// Current through an element over a stretch of time, commutation ripple included; behind a relay that chatters, its
    /// pulses.
    pub fn waveform(
        &mut self,
        element: ElementId,
        attached: &Attachments,
        seconds: f64,
        step_s: f64,
    ) -> Result<Waveform, RigError> {
        let settled = self.settle(self.pump_wanted(), attached)?;
        let (mean, rad_s) = (settled.point.amps, settled.point.rad_s);
        let motor = &self.unit_now().motor;
        let supply_ohms = settled.port.thevenin().ohms;
        // The network around the motor is linear, so every other current follows the motor's in proportion.
        let share =
            self.through(&settled, element, mean + 1.0) - self.through(&settled, element, mean);
        let Some(chatter) = &settled.chatter else {
            let at_mean = settled.amps(element, self.winding());
            let motor_amps =
                pump::current_waveform(motor, supply_ohms, mean, rad_s, seconds, step_s);
            let mut amps: Vec<f64> = motor_amps
                .iter()
                .map(|amps| at_mean + share * (amps - mean))
                .collect();
            if let Some(lift) = settled.lift.filter(|lift| lift.point.rad_s > 0.0) {
                let share = self.lift_share(&settled, element)?;
                let ripple = self.lift_ripple(&lift, seconds, step_s);
                for (amps, ripple) in amps.iter_mut().zip(ripple) {
                    *amps += share * ripple;
                }
            }
            return Ok(Waveform { step_s, amps });
        };
        let (made, broken) = chatter.states(&mut self.solver, mean)?;
        let pulse = mean / MADE_SHARE;
        let (made, broken, share) = if self.winding() == Some(element) {
            (pulse, 0.0, 1.0)
        } else {
            let slot = settled.assembled.slots[element.0];
            let at = |state| slot_amps(state, slot);
            (at(&made), at(&broken), share)
        };
        let motor_amps = pump::interrupted_waveform(
            motor,
            supply_ohms,
            (mean, rad_s),
            seconds,
            step_s,
            &CHATTER,
        );
        let amps = motor_amps.iter().enumerate().map(|(index, amps)| {
            if CHATTER.is_made(index as f64 * step_s) {
                made + share * (amps - pulse)
            } else {
                broken
            }
        });
        Ok(Waveform {
            step_s,
            amps: amps.collect(),
        })
    }

    /// What a lift pump's commutator adds to its mean current, A.
    fn lift_ripple(&self, lift: &Lifting, seconds: f64, step_s: f64) -> Vec<f64> {
        let (mean, rad_s) = (lift.state.amps, lift.state.rad_s);
        let motor = self.lift_now().map(|lift| lift.pump.unit.motor);
        let waveform = motor.map_or_else(Vec::new, |motor| {
            pump::current_waveform(&motor, lift.supply.ohms, mean, rad_s, seconds, step_s)
        });
        waveform.into_iter().map(|amps| amps - mean).collect()
    }

    /// By how much the current of an element follows that of a lift pump, the main motor's standing still: its
    /// inductance holds it through a ripple.
    fn lift_share(&mut self, settled: &Settled, element: ElementId) -> Result<f64, RigError> {
        let (Some(_), Some(winding)) = (&settled.lift, self.lift_winding()) else {
            return Ok(0.0);
        };
        let assembled = &settled.assembled;
        let slots = [element, winding].map(|id| assembled.slots[id.0]);
        let amps = |solution| slots.map(|slot| slot_amps(&solution, slot));
        let before = amps(self.solver.operate(&assembled.net)?);
        let mut moved = assembled.net.clone();
        // With the main winding open a lift pump's EMF comes last.
        let last = moved.sources().len() - 1;
        moved.source_mut(last).volts -= 1.0;
        let after = amps(self.solver.operate(&moved)?);
        let own = after[1] - before[1];
        Ok(if own > 0.0 {
            (after[0] - before[0]) / own
        } else {
            0.0
        })
    }

    /// Current through an element while the motor takes `amps`.
    fn through(&self, settled: &Settled, element: ElementId, amps: f64) -> f64 {
        let state = PumpState {
            amps,
            ..PumpState::default()
        };
        let solution = settled.port.loaded(amps);
        Instant::new(solution, &settled.assembled, self.winding(), state, None).amps(element)
    }
}
