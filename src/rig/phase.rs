//! A stretch of time with the pump driven: a prime, cranking, a start looked at on a screen.

use std::collections::BTreeSet;

use super::assemble::{Assembled, Switching};
use super::attach::Attachments;
use super::chatter::{Beat, Chatter};
use super::control::Controls;
use super::pair::{LiftState, into_pot};
use super::settle::{Instant, PumpState, Settled};
use super::stage::Ripple;
use super::{Jumper, Rig, RigError};
use crate::circuit::{Port, Solver};
use crate::pump::{self, Motion, Rest};
use crate::vehicle::{ElementId, Key};

/// Time between samples of a phase, s: fine enough for the start surge of a small motor.
const SAMPLE_S: f64 = 0.005;

/// One moment of a phase.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sample {
    /// Since the phase began, s.
    pub t_s: f64,
    /// The pump at that moment.
    pub pump: PumpState,
}

/// A stretch of time in which the pump was driven and nobody touched anything. A fuse may open on the way.
pub struct Phase {
    /// Moments in order; the last is the end of the phase.
    pub samples: Vec<Sample>,
    stretches: Vec<Stretch>,
    winding: Option<ElementId>,
    controls: Controls,
}

/// A timed catch of what the pump brings.
pub struct Catch {
    /// The pump through it, from rest.
    pub phase: Phase,
    /// What was caught, m3.
    pub volume_m3: f64,
    /// Speed of a pump of this type that is well with its feed in a can, revolutions a minute.
    pub usual_rpm: f64,
}

/// The circuit from one opening of a fuse to the next.
struct Stretch {
    /// When it ended, s from the beginning of the phase.
    until_s: f64,
    /// Fuses that were open.
    blown: BTreeSet<ElementId>,
    assembled: Assembled,
    port: Port,
    chatter: Option<Chatter>,
    ripple: Option<Ripple>,
    switching: Switching,
}

impl Stretch {
    fn new(settled: Settled, until_s: f64, blown: BTreeSet<ElementId>) -> Stretch {
        Stretch {
            until_s,
            blown,
            assembled: settled.assembled,
            port: settled.port,
            chatter: settled.chatter,
            ripple: settled.ripple,
            switching: settled.switching,
        }
    }

    fn instant(&self, pump: PumpState, winding: Option<ElementId>) -> Instant {
        // Both states of a chatter were solved when the phase was made, so they can be solved again.
        let chattered = self
            .chatter
            .as_ref()
            .and_then(|c| c.mean(&mut Solver::new(), pump.amps).ok());
        let solution = chattered.unwrap_or_else(|| self.port.loaded(pump.amps));
        let chattering = self.chatter.as_ref().map(|chatter| chatter.beat);
        Instant::new(solution, &self.assembled, winding, pump, chattering)
            .with_ripple(self.ripple.clone())
    }
}

impl Phase {
    /// The circuit at a sample, as anything attached met it.
    #[must_use]
    pub fn instant(&self, sample: &Sample) -> Instant {
        // There is at least one stretch, and the last ends with the phase.
        let last = self.stretches.len() - 1;
        let mut ends = self.stretches[..last].iter();
        let at = ends
            .position(|stretch| sample.t_s <= stretch.until_s)
            .unwrap_or(last);
        self.stretches[at].instant(sample.pump, self.winding)
    }

    /// Pump at the end of the phase.
    #[must_use]
    pub fn end(&self) -> PumpState {
        self.samples
            .last()
            .map(|sample| sample.pump)
            .unwrap_or_default()
    }
}

impl Rig {
    /// Runs the pump for a while with the control unit wanting it, from rest unless it is `turning` already; fuses may
    /// open on the way.
    pub(super) fn drive_pump(
        &mut self,
        seconds: f64,
        turning: bool,
        attached: &Attachments,
    ) -> Result<(Phase, Option<Beat>), RigError> {
        // With the key on and the engine at rest the unit primes, whatever else it makes of the engine; a feed comes off
        // only when that is over.
        let primes = self.controls.key == Key::On && !self.handwork.feed_off;
        let wanted = primes || self.pump_wanted();
        let mut phase = self.phase();
        let mut motion = (!turning).then(|| self.at_rest());
        let (mut left_s, mut chattered) = (seconds, None);
        loop {
            let blown = self.build.fuse_blown.clone();
            let elapsed = self.elapse_to_fuse(wanted, left_s, attached)?;
            left_s = elapsed.left_s;
            let settled = match elapsed.blew {
                Some(before) => before,
                None => self.settle(wanted, attached)?,
            };
            chattered = chattered.or(settled.chatter.as_ref().map(|chatter| chatter.beat));
            let until_s = seconds - left_s;
            motion = Some(match motion {
                None => Self::steadily(&mut phase, &settled, until_s),
                Some(motion) => self.moving(&mut phase, &settled, motion, until_s)?,
            });
            phase.stretches.push(Stretch::new(settled, until_s, blown));
            if left_s <= 0.0 {
                break;
            }
        }
        self.rail_pa = phase.end().rail_pa;
        Ok((phase, chattered))
    }

    /// Takes the feed off the rail, has a jumper or else the service tool run the pump into a can for a while, and puts the
    /// line back. What the can gets follows the pump as it warms; filling hose and line takes millilitres of it and is left
    /// out.
    pub fn catch(
        &mut self,
        seconds: f64,
        jumper: Option<Jumper>,
        attached: &Attachments,
    ) -> Result<Catch, RigError> {
        let run = |rig: &mut Rig, on: bool| match jumper {
            Some(_) => rig.set_jumper(jumper.filter(|_| on)),
            None => rig.command_pump(on),
        };
        self.set_feed_off(true);
        run(self, true);
        let caught = self.catch_running(seconds, attached);
        run(self, false);
        self.set_feed_off(false);
        caught
    }

    fn catch_running(&mut self, seconds: f64, attached: &Attachments) -> Result<Catch, RigError> {
        let first_m3_s = self.now(attached)?.pump.return_m3_s;
        let (phase, _) = self.drive_pump(seconds, false, attached)?;
        let last_m3_s = self.now(attached)?.pump.return_m3_s;
        // A fuse that opens on the way ends the flow there.
        let until_s = phase.stretches.first().map_or(seconds, |s| s.until_s);
        let volume_m3 = if phase.stretches.len() > 1 {
            first_m3_s * until_s + last_m3_s * (seconds - until_s)
        } else {
            0.5 * (first_m3_s + last_m3_s) * seconds
        };
        Ok(Catch {
            phase,
            volume_m3,
            usual_rpm: self.usual_rpm(),
        })
    }

    /// The pump's start from rest as things stand now, for whoever looks on: nothing warms and no time passes.
    pub fn start(&mut self, seconds: f64, attached: &Attachments) -> Result<Phase, RigError> {
        let settled = self.settle(self.pump_wanted(), attached)?;
        let mut phase = self.phase();
        self.moving(&mut phase, &settled, self.at_rest(), seconds)?;
        let blown = self.build.fuse_blown.clone();
        phase.stretches.push(Stretch::new(settled, seconds, blown));
        Ok(phase)
    }

    /// A phase that is over once more, with something else attached that takes no current worth speaking of.
    pub fn again(&mut self, phase: &Phase, attached: &Attachments) -> Result<Phase, RigError> {
        let controls = std::mem::replace(&mut self.controls, phase.controls.clone());
        let closed = self.closed_relays.clone();
        let blown = self.build.fuse_blown.clone();
        let mut again = self.phase();
        again.samples.clone_from(&phase.samples);
        let mut settle = |stretch: &Stretch| {
            self.closed_relays.clone_from(&stretch.switching.closed);
            self.build.fuse_blown.clone_from(&stretch.blown);
            let settled = self.settle(stretch.switching.commanded, attached)?;
            let blown = stretch.blown.clone();
            Ok(Stretch::new(settled, stretch.until_s, blown))
        };
        let stretches: Result<Vec<Stretch>, RigError> =
            phase.stretches.iter().map(&mut settle).collect();
        (self.controls, self.closed_relays) = (controls, closed);
        self.build.fuse_blown = blown;
        again.stretches = stretches?;
        Ok(again)
    }

    /// A pump that has run all along, as when a jumper keeps it going, from the phase's last sample on.
    fn steadily(phase: &mut Phase, settled: &Settled, until_s: f64) -> Motion {
        let pump = settled.pump_state();
        let mut t_s = 0.0;
        while t_s < until_s {
            phase.samples.push(Sample { t_s, pump });
            t_s += SAMPLE_S;
        }
        phase.samples.push(Sample { t_s: until_s, pump });
        Motion {
            amps: pump.amps,
            rad_s: pump.rad_s,
            outlet_pa: pump.outlet_pa,
            rail_pa: pump.rail_pa,
        }
    }

    /// The pump at rest with what pressure the rail holds.
    fn at_rest(&self) -> Motion {
        Motion::from(Rest {
            rail_pa: self.rail_pa,
        })
    }

    /// A pump that is stepped from a motion, from the phase's last sample on.
    fn moving(
        &self,
        phase: &mut Phase,
        settled: &Settled,
        motion: Motion,
        until_s: f64,
    ) -> Result<Motion, RigError> {
        let begins_s = phase.samples.last().map(|sample| sample.t_s);
        let from_s = begins_s.unwrap_or(0.0);
        let lift = settled.lift_state();
        let trace = pump::transient(
            &self.unit_now(),
            &LiftState::feeds(lift.as_ref(), self.hydraulics_now()),
            &settled.supply,
            &self.demand(),
            motion,
            until_s - from_s,
            SAMPLE_S,
        )?;
        let lifts = self.lift_moving(settled, motion, until_s - from_s)?;
        // What a stretch begins with is what the one before it ended with.
        let known = usize::from(begins_s.is_some());
        let samples = trace.samples.iter().enumerate().skip(known);
        let samples = samples.map(|(index, sample)| Sample {
            t_s: from_s + sample.t_s,
            pump: PumpState {
                amps: sample.amps,
                rad_s: sample.rad_s,
                rail_pa: sample.rail_pa,
                outlet_pa: sample.outlet_pa,
                delivered_m3_s: sample.delivered_m3_s,
                return_m3_s: 0.0,
                starved: settled.point.starved,
                lift: lifts.get(index).copied().or(lift),
            },
        });
        phase.samples.extend(samples);
        Ok(trace.end)
    }

    /// A lift pump that starts beside the main one, a state for each sample; one that runs already goes on as it is. The
    /// circuit holds it at its steady EMF, so that its start is not seen in the volts.
    fn lift_moving(
        &self,
        settled: &Settled,
        main: Motion,
        seconds: f64,
    ) -> Result<Vec<LiftState>, RigError> {
        let (Some(lift), Some(found)) = (self.lift_now(), &settled.lift) else {
            return Ok(Vec::new());
        };
        if main.rad_s != 0.0 || found.point.rad_s == 0.0 {
            return Ok(Vec::new());
        }
        let unit = &lift.pump.unit;
        let (way, demand) = (&lift.hydraulics, into_pot());
        let (supply, rest) = (&found.supply, Rest::default());
        let trace = pump::prime(unit, way, supply, &demand, rest, seconds, SAMPLE_S)?;
        let state = |sample: &pump::Sample| LiftState {
            amps: sample.amps,
            rad_s: sample.rad_s,
            outlet_pa: sample.outlet_pa,
            ..found.state
        };
        Ok(trace.samples.iter().map(state).collect())
    }

    /// A phase that has not begun.
    fn phase(&self) -> Phase {
        Phase {
            samples: Vec::new(),
            stretches: Vec::new(),
            winding: self.winding(),
            controls: self.controls.clone(),
        }
    }
}
