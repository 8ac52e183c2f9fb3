//! Current over a fifth of a second: the ripple of the pump's commutator, and the pulses of a relay that chatters.

use super::attach::Attachments;
use super::chatter::{CHATTER, MADE_SHARE};
use super::settle::{Instant, PumpState, Settled, slot_amps};
use super::{Rig, RigError};
use crate::pump;
use crate::vehicle::ElementId;

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
            let amps = motor_amps
                .iter()
                .map(|amps| at_mean + share * (amps - mean))
                .collect();
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

    /// Current through an element while the motor takes `amps`.
    fn through(&self, settled: &Settled, element: ElementId, amps: f64) -> f64 {
        let state = PumpState {
            amps,
            ..PumpState::default()
        };
        let solution = settled.port.loaded(amps);
        Instant::new(solution, &settled.assembled, self.winding(), state, false).amps(element)
    }
}
