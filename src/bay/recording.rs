//! What the meter shows while the pump is driven, and what its recorder keeps from one action to the next.

use super::meter::UNSTEADY;
use super::outcome::{Refusal, Step};
use super::{Bay, Connected, TIMES, unsolved};
use crate::instrument::{CONVERSION_S, Display, Inputs, Interval, Recorder, conversions};
use crate::rig::{Instant, Phase};

/// What was going on while the pump was to be driven.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum During {
    /// The control unit builds up pressure after the key was turned on.
    Prime,
    /// The starter turns the engine.
    Cranking,
    /// The key is at crank and the starter does nothing.
    CrankInVain,
    /// Fuel runs into a can.
    Catch,
}

impl During {
    /// As it stands beside a reading: what was done, and whether the pump took part.
    pub(super) fn words(self, turned: bool) -> String {
        let what = match self {
            During::Prime => "during the prime",
            During::Cranking => "while cranking",
            During::CrankInVain => "with the key held at crank",
            During::Catch => "during the catch",
        };
        if turned {
            what.to_owned()
        } else {
            format!("{what}, the pump at rest")
        }
    }
}

/// The end of pumping that a recording gives the mean of, s.
const LATE_S: f64 = 0.5;
/// Values that a recording of a steady state is taken to hold at most: more would only repeat its noise.
const STEADY_VALUES: u32 = 50;
/// How long a start is followed that nobody turned the key for, s: surge, pressure and all are over by then.
const START_S: f64 = 2.0;

impl Bay {
    pub(super) fn record(&mut self, interval: Option<Interval>) -> Result<Step, Refusal> {
        let Some(interval) = interval else {
            if self.recorder.is_none() {
                return Err(Refusal::new(
                    "The meter is not recording.",
                    "`record on` starts a recording.",
                ));
            }
            let mut step = Step::taking(TIMES.record);
            self.tell_extremes(&mut step);
            self.recorder = None;
            step.say("The meter no longer records.");
            return Ok(step);
        };
        if let Some(recorder) = self.recorder
            && recorder.interval == interval
        {
            return Err(Refusal::new(
                format!("The meter records every {} already.", interval.name()),
                "`record off` ends it and tells what was kept; `record on 1 s` takes another interval.",
            ));
        }
        self.recorder = Some(Recorder::new(interval));
        let mut step = Step::taking(TIMES.record);
        step.say(format!(
            "The meter records one value every {} from now on: lowest, highest, and the mean of the last {} of a prime, of cranking or of a catch.",
            interval.name(),
            late_words(interval)
        ));
        if self.connected.is_none() {
            step.say("Its tips are on nothing yet.");
        }
        Ok(step)
    }

    /// Begins a recording anew: tips have moved, or the meter measures something else.
    pub(super) fn restart_recorder(&mut self) {
        self.recorder = self.recorder.map(|kept| Recorder::new(kept.interval));
    }

    /// What a person saw, or the recorder kept, of stretches of time in which the pump was driven: the last is the one
    /// that is told.
    pub(super) fn read_phases(
        &mut self,
        phases: &[&Phase],
        during: During,
        inputs: Option<Inputs>,
        step: &mut Step,
    ) -> Result<(), Refusal> {
        let (Some(connected), Some(inputs), Some(&last)) = (self.connected, inputs, phases.last())
        else {
            return Ok(());
        };
        for phase in phases {
            self.wear_through(phase, inputs, step);
        }
        if self.recorder.is_some() {
            return self.record_phases(phases, during, &connected, inputs, step);
        }
        let visible = self.helper || self.seen_from_seat(&self.ends(&connected));
        if !visible {
            step.say("The meter lies out of sight of the seat: `record on`, `helper on` or longer leads.");
            return Ok(());
        }
        let noise = self.next_noise(&connected);
        let display = if connected.function.sends_current() {
            self.hunt_ohms(last, &connected, inputs, noise)?
        } else {
            let seen = conversions(&self.seen_in(last, &connected, inputs), CONVERSION_S);
            let (range, display) =
                self.meter
                    .follow(connected.function, connected.range, &seen, noise);
            self.connected = Some(Connected { range, ..connected });
            display
        };
        let Some(display) = display else {
            step.say("It is over before the meter has found its range: nothing was to be read.");
            return Ok(());
        };
        if chatters(last) {
            step.say_once(UNSTEADY);
        }
        let how = format!("{}, {}", self.how(&connected), during.words(turned(last)));
        let reading = display.reading(connected.function.quantity(), how);
        self.note_measurement(&reading, last.end().load_amps(), step)?;
        step.outcome.readings.push(reading);
        Ok(())
    }

    /// What the meter's input sees through a phase, on the range it was attached with.
    fn seen_in(
        &self,
        phase: &Phase,
        connected: &Connected,
        inputs: Inputs,
    ) -> Vec<(f64, Option<f64>)> {
        let seen = |instant: &Instant| {
            self.meter
                .sees(connected.function, connected.range, inputs, instant)
        };
        let samples = phase.samples.iter();
        samples
            .map(|sample| (sample.t_s, seen(&phase.instant(sample))))
            .collect()
    }

    /// The ohms functions put another source into the circuit on each range, so each range it hunts through is solved
    /// anew; nothing if there was no time for it.
    fn hunt_ohms(
        &mut self,
        phase: &Phase,
        connected: &Connected,
        inputs: Inputs,
        noise: f64,
    ) -> Result<Option<Display>, Refusal> {
        let function = connected.function;
        let last = self.meter.usable_ranges(function).1;
        let seen = conversions(&self.seen_in(phase, connected, inputs), CONVERSION_S);
        let mut now = seen.last().copied().flatten();
        for (spent, range) in (connected.range..=last).enumerate() {
            if spent + 1 > seen.len() {
                return Ok(None);
            }
            if spent > 0 {
                let (attachments, hooked) = self.attachments(range)?;
                let again = self.rig.again(phase, &attachments).map_err(unsolved)?;
                let Some(inputs) = hooked.meter else {
                    return Ok(None);
                };
                let there = Connected {
                    range,
                    ..*connected
                };
                now = conversions(&self.seen_in(&again, &there, inputs), CONVERSION_S)
                    .last()
                    .copied()
                    .flatten();
            }
            let display = self.meter.display(function, range, now, noise);
            if display.value.is_some() || range == last {
                self.connected = Some(Connected {
                    range,
                    ..*connected
                });
                return Ok(Some(display));
            }
        }
        Ok(None)
    }

    fn record_phases(
        &mut self,
        phases: &[&Phase],
        during: During,
        connected: &Connected,
        inputs: Inputs,
        step: &mut Step,
    ) -> Result<(), Refusal> {
        let Some(interval) = self.recorder.map(|recorder| recorder.interval) else {
            return Ok(());
        };
        let mut kept = Vec::new();
        for phase in phases {
            kept = self.keep_phase(phase, connected, inputs);
        }
        // At most some hundreds of intervals make half a second.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let wanted = libm::fmax(libm::round(LATE_S / interval.seconds()), 1.0) as usize;
        let late: Vec<f64> = kept.iter().rev().take(wanted).flatten().copied().collect();
        if late.is_empty() {
            step.say("The recorder kept nothing but overload.");
            return Ok(());
        }
        let mean = late.iter().sum::<f64>() / late.len() as f64;
        let how = format!(
            "mean of the last {} {}, {}",
            late_words(interval),
            during.words(phases.last().is_some_and(|phase| turned(phase))),
            self.how(connected)
        );
        let reading = self
            .meter
            .display_recorded(connected.function, mean)
            .reading(connected.function.quantity(), how);
        let amps = phases.last().map_or(0.0, |phase| phase.end().load_amps());
        self.note_measurement(&reading, amps, step)?;
        step.outcome.readings.push(reading);
        self.tell_extremes(step);
        Ok(())
    }

    /// Keeps the intervals of a phase: each as it was kept, nothing for an overload.
    fn keep_phase(
        &mut self,
        phase: &Phase,
        connected: &Connected,
        inputs: Inputs,
    ) -> Vec<Option<f64>> {
        let Some(mut recorder) = self.recorder else {
            return Vec::new();
        };
        let seen = conversions(
            &self.seen_in(phase, connected, inputs),
            recorder.interval.seconds(),
        );
        let mut noise = self.noise_of_recording(connected);
        let kept = seen
            .into_iter()
            .map(|seen| {
                recorder.keep(
                    &self.meter,
                    connected.function,
                    connected.range,
                    seen,
                    noise(),
                )
            })
            .collect();
        self.recorder = Some(recorder);
        kept
    }

    fn noise_of_recording(&mut self, connected: &Connected) -> impl FnMut() -> f64 + use<> {
        let (red, black) = (
            self.name(connected.red.node),
            self.name(connected.black.node),
        );
        let repeat = self.repeat(&format!(
            "record {} {red} {black}",
            connected.function.name()
        ));
        self.meter
            .noise_of_recording(connected.function, &red, &black, repeat)
    }

    /// The pump at rest, asked only while something would record its start.
    pub(super) fn rests_while_recording(&mut self) -> Result<bool, Refusal> {
        if self.recorder.is_none() || self.connected.is_none() {
            return Ok(false);
        }
        Ok(self.now_attached()?.pump.rad_s == 0.0)
    }

    /// The circuit with everything that hangs on it.
    pub(super) fn now_attached(&mut self) -> Result<Instant, Refusal> {
        let attached = self.attachments(0)?.0;
        self.rig.now(&attached).map_err(unsolved)
    }

    /// What the recorder keeps of an action: the state it led to, and the start of the pump if the action brought that
    /// about. `rested`: the pump rested before it.
    pub(super) fn keep_recording(&mut self, rested: bool, step: &mut Step) -> Result<(), Refusal> {
        let Some(connected) = self.connected.filter(|_| self.recorder.is_some()) else {
            return Ok(());
        };
        let (attachments, hooked) = self.attachments(connected.range)?;
        let Some(inputs) = hooked.meter else {
            return Ok(());
        };
        let instant = self.rig.now(&attachments).map_err(unsolved)?;
        if rested && instant.pump.rad_s > 0.0 && !step.pumped {
            let phase = self.rig.start(START_S, &attachments).map_err(unsolved)?;
            self.keep_phase(&phase, &connected, inputs);
        }
        let seen = self
            .meter
            .sees(connected.function, connected.range, inputs, &instant);
        self.keep_steady(&connected, seen, step.outcome.seconds);
        Ok(())
    }

    /// Keeps a state that stood for some seconds.
    pub(super) fn keep_steady(&mut self, connected: &Connected, seen: Option<f64>, seconds: f64) {
        let Some(mut recorder) = self.recorder else {
            return;
        };
        let mut noise = self.noise_of_recording(connected);
        // Below STEADY_VALUES, so exact.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let values =
            (seconds / recorder.interval.seconds()).clamp(1.0, f64::from(STEADY_VALUES)) as u32;
        for _ in 0..values {
            recorder.keep(
                &self.meter,
                connected.function,
                connected.range,
                seen,
                noise(),
            );
        }
        self.recorder = Some(recorder);
    }

    /// Lowest and highest since the recording began.
    pub(super) fn tell_extremes(&mut self, step: &mut Step) {
        let (Some(recorder), Some(connected)) = (self.recorder, self.connected) else {
            return;
        };
        let Some(extremes) = recorder.extremes(&self.meter, connected.function) else {
            return;
        };
        for (display, word) in extremes.into_iter().zip(["lowest", "highest"]) {
            let how = format!(
                "{word} recorded, one value every {}",
                recorder.interval.name()
            );
            step.outcome
                .readings
                .push(display.reading(connected.function.quantity(), how));
        }
    }
}

/// The pump turned at some moment of a phase.
pub(super) fn turned(phase: &Phase) -> bool {
    phase.samples.iter().any(|sample| sample.pump.rad_s > 0.0)
}

/// A relay chatters at the end of a phase.
fn chatters(phase: &Phase) -> bool {
    let last = phase.samples.last();
    last.is_some_and(|sample| phase.instant(sample).chattering.is_some())
}

/// The stretch at the end of pumping that the mean is taken over.
fn late_words(interval: Interval) -> &'static str {
    match interval {
        Interval::Peaks | Interval::Tenth => "half second",
        Interval::Second => "whole second",
    }
}
