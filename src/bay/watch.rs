//! Ranges, the meter's fuse, needles and scraped paint; the screen, the thermometer; watching while moving.

use super::ledger::{Fact, Grade};
use super::outcome::{Glance, Refusal, Step, Switch};
use super::tools::CLAMP_WAY;
use super::{Bay, METER_FUSE_PRICE, TIMES, unsolved};
use crate::circuit::NodeId;
use crate::instrument::{Display, Function, Inputs, Meter, Quantity, Screen};
use crate::rig::Phase;
use crate::vehicle::{Law, PartId, Tip, node_index};

/// Amperes from which the meter's fuse goes with a spark: no load of these circuits takes them.
const SPARK_A: f64 = 15.0;

impl Bay {
    pub(super) fn choose_range(
        &mut self,
        wanted: Option<(Quantity, f64)>,
    ) -> Result<Step, Refusal> {
        const ALL: [Function; 6] = [
            Function::Volts,
            Function::LowVolts,
            Function::Millivolts,
            Function::Ohms,
            Function::Continuity,
            Function::Amps,
        ];
        if let Some((quantity, full)) = wanted
            && !ALL
                .iter()
                .any(|function| function.has_range(quantity, full))
        {
            return Err(Refusal::new(
                format!("The meter has no range of {}.", full_scale(quantity, full)),
                "There are 6 V, 60 V and 600 V; 600 mV for millivolts; 600 ohm, 6, 60 and 600 kohm, 6 and 60 Mohm; 6 A and 20 A. `range auto` lets the meter choose.",
            ));
        }
        self.meter.fixed_range = wanted;
        let mut step = Step::taking(TIMES.record);
        step.say(match wanted {
            Some((quantity, full)) => format!(
                "The meter stays on its range of {}, on functions that have one.",
                full_scale(quantity, full)
            ),
            None => "The meter chooses its range.".to_owned(),
        });
        if let Some(connected) = &mut self.connected {
            connected.range = self.meter.usable_ranges(connected.function).0;
            self.read_into(&mut step, Glance::Meter)?;
        }
        Ok(step)
    }

    pub(super) fn renew_meter_fuse(&mut self) -> Result<Step, Refusal> {
        if let Some(connected) = self.connected {
            return Err(Refusal::new(
                "Not with its leads on the vehicle.",
                format!("`{} off` takes the meter off.", connected.function.name()),
            ));
        }
        let mut step = Step::taking(TIMES.meter_fuse);
        step.goods += if self.meter.fuse_blown {
            METER_FUSE_PRICE
        } else {
            0
        };
        step.say(if self.meter.fuse_blown {
            "The meter's 10 A fuse had gone; a new one is in."
        } else {
            "The meter's 10 A fuse is whole; it goes back in."
        });
        self.meter.fuse_blown = false;
        Ok(step)
    }

    pub(super) fn take_needles(&mut self, on: bool) -> Result<Step, Refusal> {
        let needles = Switch {
            what: "Needles",
            on: ("are on the leads already", "leads needle"),
            off: ("are not on", "leads probe"),
        };
        needles.turn(self.needles, on)?;
        self.needles = on;
        let mut step = Step::taking(TIMES.leads);
        self.take_meter_off(
            "The meter came off the vehicle while its tips were changed.",
            &mut step,
        )?;
        step.say(if on {
            "Needles on the leads: they go through insulation and seals, touch nearly always and leave a hole."
        } else {
            "Probes on the leads again."
        });
        Ok(step)
    }

    /// A needle went through the insulation of the wire at this point.
    pub(super) fn note_hole(&mut self, node: NodeId, step: &mut Step) {
        let wire = self
            .vehicle
            .elements
            .iter()
            .find(|e| matches!(e.law, Law::Copper { .. }) && (e.from == node || e.to == node));
        if let Some(wire) = wire {
            let id = &self.vehicle.parts[wire.part.0].id;
            let what = format!(
                "the insulation of {id} was pierced at {}: water will find the hole",
                self.name(node)
            );
            let part = wire.part;
            self.marked.insert(part);
            step.facts.push(Fact::Comeback { part, what });
        }
    }

    /// Sets whatever tips were on a point on it again, now that it has changed; whether there were any.
    fn set_anew(&mut self, node: NodeId, tip: Tip) -> bool {
        let (mut meter, mut lamp, mut load) = (self.connected, self.lit, self.load);
        let meter_tips = meter.iter_mut().flat_map(|c| [&mut c.red, &mut c.black]);
        let lamp_tips = lamp.iter_mut().flat_map(|(a, b)| [a, b]);
        let load_tips = load.iter_mut().flat_map(|(a, b, _)| [a, b]);
        let mut found = false;
        for placed in meter_tips.chain(lamp_tips).chain(load_tips) {
            if placed.node == node {
                *placed = self.put_clip(node, tip);
                found = true;
            }
        }
        if meter != self.connected {
            self.restart_recorder();
        }
        (self.connected, self.lit, self.load) = (meter, lamp, load);
        found
    }

    pub(super) fn scrape(&mut self, node: NodeId) -> Result<Step, Refusal> {
        let name = self.name(node);
        let tip = self.vehicle.nodes[node_index(node)].touch.map(|at| at.tip);
        if tip != Some(Tip::Painted) {
            return Err(Refusal::new(
                format!("{name} is not painted."),
                "A tip touches it as it is.",
            ));
        }
        let touch = self.reach_point(node)?;
        if !self.scraped.insert(node) {
            return Err(Refusal::new(
                format!("{name} is bright already."),
                "`tip black` places the tip anew.",
            ));
        }
        let mut step = Step::taking(TIMES.scrape);
        self.go_to(touch.place, &mut step);
        let seam = self
            .vehicle
            .elements
            .iter()
            .find(|e| e.from == node || e.to == node);
        if let Some(seam) = seam {
            let what = format!("the paint at {name} was scraped off: rust will start there");
            let part = seam.part;
            self.marked.insert(part);
            step.facts.push(Fact::Comeback { part, what });
        }
        step.say(format!(
            "A spot as big as a fingernail is bright at {name}."
        ));
        if self.set_anew(node, touch.tip) {
            step.say("What was held there is set on it again.");
            self.read_into(&mut step, Glance::All)?;
        }
        Ok(step)
    }

    /// The current in the meter now, on amps with a whole fuse.
    fn meter_amps(&mut self) -> Result<Option<f64>, Refusal> {
        let Some(connected) = self.connected else {
            return Ok(None);
        };
        if !connected.function.carries_current() || self.meter.fuse_blown {
            return Ok(None);
        }
        let (attachments, hooked) = self.attachments(0)?;
        let Some(inputs) = hooked.meter else {
            return Ok(None);
        };
        let instant = self.rig.now(&attachments).map_err(unsolved)?;
        Ok(self.meter.sees(connected.function, 0, inputs, &instant))
    }

    /// Lets the meter's fuse stand what flows for some seconds; it may not.
    pub(super) fn try_meter_fuse(&mut self, seconds: f64, step: &mut Step) -> Result<(), Refusal> {
        if let Some(amps) = self.meter_amps()?
            && Meter::fuse_wear(amps, seconds) >= 1.0
        {
            self.blow_meter_fuse(amps, step);
        }
        Ok(())
    }

    /// The same over the whole action.
    pub(super) fn wear_meter_fuse(&mut self, step: &mut Step) -> Result<(), Refusal> {
        self.try_meter_fuse(step.outcome.seconds, step)
    }

    /// The same while the pump is driven.
    pub(super) fn wear_through(&mut self, phase: &Phase, inputs: Inputs, step: &mut Step) {
        let Some(connected) = self.connected else {
            return;
        };
        if !connected.function.carries_current() || self.meter.fuse_blown {
            return;
        }
        let (mut wear, mut before_s, mut most) = (0.0, 0.0, 0.0_f64);
        for sample in &phase.samples {
            let amps = self
                .meter
                .sees(connected.function, 0, inputs, &phase.instant(sample))
                .unwrap_or(0.0);
            wear += Meter::fuse_wear(amps, sample.t_s - before_s);
            before_s = sample.t_s;
            most = most.max(libm::fabs(amps));
        }
        if wear >= 1.0 {
            self.blow_meter_fuse(most, step);
        }
    }

    fn blow_meter_fuse(&mut self, amps: f64, step: &mut Step) {
        self.meter.fuse_blown = true;
        if libm::fabs(amps) >= SPARK_A {
            step.say("A spark jumps at the tip, and something ticks.");
            step.hazard(
                Grade::Serious,
                "the meter on amps across a source: only its fuse prevented a burn",
            );
        } else {
            step.say("Something ticks.");
        }
    }

    pub(super) fn show_waveform(&mut self) -> Result<Step, Refusal> {
        let Some(part) = self.clamped else {
            return Err(Refusal::new(
                "The screen shows what the current clamp sees, and the clamp is on no wire.",
                self.example(CLAMP_WAY),
            ));
        };
        let Some((element, _)) = self.wire_of(part) else {
            return Err(Refusal::new(
                "The clamp is on no wire.",
                self.example(CLAMP_WAY),
            ));
        };
        let mut step = Step::taking(TIMES.read);
        let attachments = self.attachments(0)?.0;
        let waveform = self
            .rig
            .waveform(element, &attachments, Screen::SECONDS, Screen::STEP_S)
            .map_err(unsolved)?;
        let trace = Screen::trace(&self.clamp, &waveform);
        let how = format!(
            "screen, clamp on {}, {:.0} ms",
            self.vehicle.parts[part.0].id,
            Screen::SECONDS * 1e3
        );
        step.outcome.readings = trace.readings(&how);
        step.say(self.segments_in_words());
        step.outcome.trace = Some(trace);
        Ok(step)
    }

    /// What turns humps a second into revolutions: the maker's number of commutator segments.
    fn segments_in_words(&self) -> String {
        let vehicle = &self.vehicle;
        let id = |part: PartId| &vehicle.parts[part.0].id;
        let main = &vehicle.pump;
        let lift = vehicle.lift.as_ref().map_or_else(String::new, |lift| {
            let segments = lift.pump.unit.motor.segments;
            format!(", {} {segments}", id(lift.pump.part))
        });
        let counted = format!("{} has {}{lift}", id(main.part), main.unit.motor.segments);
        format!("A sound commutator makes one hump a segment, rpm = 60 x Hz / segments; {counted}.")
    }

    pub(super) fn take_temperature(&mut self, part: PartId) -> Result<Step, Refusal> {
        self.reach_part(part)?;
        let mut step = Step::taking(TIMES.feel);
        self.go_to(self.vehicle.parts[part.0].place, &mut step);
        let celsius = self.rig.surface_celsius(part);
        let how = format!("bead on {}", self.vehicle.parts[part.0].id);
        step.outcome
            .readings
            .push(self.thermometer.read(celsius, self.system, how));
        Ok(step)
    }

    /// Moves a part to and fro while the meter is watched: its lowest and highest reading on the way.
    pub(super) fn move_and_watch(&mut self, part: PartId, step: &mut Step) -> Result<(), Refusal> {
        /// Moves of one wiggle.
        const MOVES: u32 = 3;
        let moved = &self.vehicle.parts[part.0];
        let (id, place) = (moved.id.clone(), moved.place);
        let near = self.connected.is_some_and(|c| {
            self.ends(&c)
                .iter()
                .any(|&(at, reach_m)| self.vehicle.distance_m(place, at) <= reach_m + 1.0)
        });
        let watched = near || self.helper || self.recorder.is_some();
        let mut shown: Vec<Display> = Vec::new();
        for _ in 0..MOVES {
            self.rig.handle(part);
            let Some(connected) = self.connected.filter(|_| watched) else {
                continue;
            };
            let noise = self.next_noise(&connected);
            let Some(glimpse) = self.glimpse(&connected, noise)? else {
                continue;
            };
            let connected = self.connected.unwrap_or(connected);
            self.keep_steady(&connected, glimpse.seen, TIMES.feel / f64::from(MOVES));
            shown.push(glimpse.display);
        }
        if self.connected.is_some() && !watched {
            step.say(
                "The meter lies out of sight from there: `record on`, `helper on` or longer leads.",
            );
        }
        let Some(connected) = self.connected else {
            return Ok(());
        };
        let buzzed = shown
            .iter()
            .filter(|display| Meter::buzzes(connected.function, display.value))
            .count();
        if 0 < buzzed && buzzed < shown.len() {
            step.say("The buzzer breaks off and comes back as you move it.");
        }
        // An overload lies above every figure.
        let height = |display: &Display| display.value.unwrap_or(f64::INFINITY);
        shown.sort_by(|a, b| height(a).total_cmp(&height(b)));
        if let [least, .., most] = shown.as_slice() {
            for (display, word) in [(least, "lowest"), (most, "highest")] {
                let how = format!("{word} while moving {id}, {}", self.how(&connected));
                step.outcome
                    .readings
                    .push(display.clone().reading(connected.function.quantity(), how));
            }
        }
        Ok(())
    }
}

/// A full scale as it stands on the meter's dial: whole numbers of V, mV, ohm, kohm, Mohm or A.
pub(super) fn full_scale(quantity: Quantity, full: f64) -> String {
    let (divisor, unit) = match quantity {
        Quantity::Voltage if full < 1.0 => (1e-3, "mV"),
        Quantity::Voltage => (1.0, "V"),
        Quantity::Resistance if full >= 1e6 => (1e6, "Mohm"),
        Quantity::Resistance if full >= 1e3 => (1e3, "kohm"),
        other => (1.0, other.unit()),
    };
    // Rounded to what nobody reads off a dial, so that 600 mV is not 600.0000001.
    let number = libm::round(full / divisor * 1e3) / 1e3;
    format!("{number} {unit}")
}
