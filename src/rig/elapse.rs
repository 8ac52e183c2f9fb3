//! Time passing over the whole circuit: parts warm, fuses use up their time, the battery sags and recovers.
//!
//! Over a step the currents are held at the mean of those at its beginning and those that stand at its end, so that what
//! is left out goes with the square of the step (an Adams method that predicts, evaluates and corrects: one solution of
//! the circuit for each step). At held currents every part is solved exactly, however long the step. A step is as long
//! as keeps every temperature and the battery's voltage near enough to where they were; it ends where a fuse opens and
//! is cut short where a switch is thrown or a fault shows. When nothing will change any more the rest is one step.

use super::assemble::Slot;
use super::attach::Attachments;
use super::battery::{Cell, Charging, Drawn};
use super::chatter::MADE_SHARE;
use super::fuse::Wear;
use super::settle::{Settled, slot_amps};
use super::surroundings::Surroundings;
use super::thermal::{Thermal, WINDING};
use super::{Rig, RigError};
use crate::pump::OperatingPoint;
use crate::vehicle::{ElementId, Law, open_circuit_v};

/// How finely time is cut.
struct Fineness {
    /// Largest change of a temperature in one step, K: below half a percent of a contact's resistance.
    kelvin: f64,
    /// The same in proportion to the largest rise, so that what glows does not take forever.
    share: f64,
    /// Share of a change of the coolant's temperature that counts like another's.
    coolant: f64,
    /// Largest change of the battery's voltage in one step, V.
    volts: f64,
    /// Shortest step that is cut for these, s.
    shortest_s: f64,
    /// Changes, K and V, below which the currents do not move by anything a meter would show.
    still: (f64, f64),
    /// How far the correction may move temperatures, K, and the battery's voltage, V; what is left out is a fraction of it.
    moves: (f64, f64),
    /// Most steps of one stretch of time; what is left then is one step.
    steps: usize,
}

const FINENESS: Fineness = Fineness {
    kelvin: 4.0,
    share: 0.25,
    coolant: 0.2,
    volts: 0.1,
    shortest_s: 0.05,
    still: (0.02, 1e-4),
    moves: (0.04, 1.5e-4),
    steps: 400,
};

/// What is held over a step.
#[derive(Clone)]
struct Held {
    /// Current of each element, A.
    amps: Vec<f64>,
    /// What warms each element: its current, or the root mean square of one that chatters, A.
    heating: Vec<f64>,
    /// The pump.
    point: OperatingPoint,
    /// A lift pump, if there is one.
    lift: Option<OperatingPoint>,
    /// The battery's polarisation at which this was so, V.
    at_v: f64,
    /// Resistance of the loop that charges it, ohm.
    loop_ohms: f64,
}

impl Held {
    /// The middle between the beginning and the end of a step; what warms goes by the square.
    fn middle(&self, end: &Held) -> Held {
        let mean = |a: f64, b: f64| 0.5 * (a + b);
        let square = |a: f64, b: f64| mean(a * a, b * b).sqrt();
        let all = |a: &[f64], b: &[f64], one: fn(f64, f64) -> f64| {
            a.iter().zip(b).map(|(&a, &b)| one(a, b)).collect()
        };
        let of_points = |a: &OperatingPoint, b: &OperatingPoint| OperatingPoint {
            amps: square(a.amps, b.amps),
            terminal_volts: mean(a.terminal_volts, b.terminal_volts),
            return_m3_s: mean(a.return_m3_s, b.return_m3_s),
            can_m3_s: mean(a.can_m3_s, b.can_m3_s),
            ..*a
        };
        Held {
            amps: all(&self.amps, &end.amps, |a, b| 0.5 * (a + b)),
            heating: all(&self.heating, &end.heating, |a, b| {
                (0.5 * (a * a + b * b)).sqrt()
            }),
            point: of_points(&self.point, &end.point),
            lift: self
                .lift
                .as_ref()
                .zip(end.lift.as_ref())
                .map(|(a, b)| of_points(a, b)),
            at_v: mean(self.at_v, end.at_v),
            loop_ohms: mean(self.loop_ohms, end.loop_ohms),
        }
    }
}

/// What time changes.
struct State {
    cell: Cell,
    thermal: Thermal,
    surroundings: Surroundings,
    wear: Wear,
}

/// How far a stretch of time came.
pub(super) struct Elapsed {
    /// What is left of it, s.
    pub left_s: f64,
    /// A fuse opened, which ended it: the circuit as it was until then.
    pub blew: Option<Settled>,
}

impl Rig {
    /// Lets `seconds` pass in the present state, the pump wanted or not. Tells how many fuses opened.
    pub(super) fn elapse(
        &mut self,
        wanted: bool,
        seconds: f64,
        attached: &Attachments,
    ) -> Result<usize, RigError> {
        let (mut left, mut opened) = (seconds, 0);
        while left > 0.0 {
            let stretch = self.elapse_to_fuse(wanted, left, attached)?;
            left = stretch.left_s;
            if let Some(before) = stretch.blew {
                opened += 1;
                if before.point.rad_s > 0.0 {
                    self.rail_pa = before.point.rail_pa;
                }
            }
        }
        Ok(opened)
    }

    /// The same until a fuse opens.
    pub(super) fn elapse_to_fuse(
        &mut self,
        wanted: bool,
        seconds: f64,
        attached: &Attachments,
    ) -> Result<Elapsed, RigError> {
        let (mut left, mut steps) = (seconds, 0);
        let mut start = None;
        // What the last step's error allows for the next, s.
        let mut allowed_s = f64::INFINITY;
        while left > 0.0 {
            let (settled, held) = match start.take() {
                Some(known) => known,
                None => self.held(wanted, attached)?,
            };
            if self.activate(&held.amps, 0.0) {
                // What follows the current does so at once.
                steps += 1;
                if steps < FINENESS.steps {
                    continue;
                }
            }
            let (opens_s, fuse) = self.next_fuse(&held.heating);
            let turns = settled.point.rad_s > 0.0;
            let loose_s = if turns {
                self.loose_for()
            } else {
                f64::INFINITY
            };
            let longest = left.min(opens_s).min(loose_s).min(self.dries_in());
            let coarse = steps >= FINENESS.steps;
            let mut h = if coarse {
                left
            } else {
                self.step_length(&held, longest.min(allowed_s))
            };
            let (relays, signal_v) = (self.closed_relays.clone(), self.signal_v);
            loop {
                let before = self.state();
                let (end, error) = self.pass_evenly(&held, h, wanted, attached)?;
                // A switch that is thrown or a fault that shows on the way ends a step of its own.
                let event = end.as_ref().is_some_and(|(end, held)| {
                    end.switching != settled.switching || self.would_activate(&held.amps)
                });
                // What the correction moves goes with the square of the step.
                let factor = 0.9 / error.sqrt();
                if !(event || error > 1.0) || coarse || h <= FINENESS.shortest_s {
                    start = end;
                    allowed_s = h * factor.clamp(1.0, 4.0);
                    break;
                }
                self.restore(before);
                (self.closed_relays, self.signal_v) = (relays.clone(), signal_v);
                let shorter = if event { 0.25 } else { factor.clamp(0.2, 0.8) };
                h = (shorter * h).max(FINENESS.shortest_s);
            }
            if turns {
                self.run_loose(h);
            }
            if self.activate(&held.amps, h) || opens_s <= h || loose_s <= h {
                start = None;
            }
            left -= h;
            steps += 1;
            if let Some(fuse) = fuse.filter(|_| opens_s <= h) {
                self.blown.insert(fuse);
                self.build.fuse_blown.insert(fuse);
                return Ok(Elapsed {
                    left_s: left,
                    blew: Some(settled),
                });
            }
        }
        Ok(Elapsed {
            left_s: 0.0,
            blew: None,
        })
    }

    /// Current of each element at a settled state, A.
    fn element_amps(&self, settled: &Settled) -> Vec<f64> {
        let winding = self.winding();
        (0..self.vehicle.elements.len())
            .map(|index| settled.amps(ElementId(index), winding))
            .collect()
    }

    /// What warms each element: its current, or the root mean square of a current that chatters, A.
    fn heating_amps(&mut self, settled: &Settled, amps: &[f64]) -> Result<Vec<f64>, RigError> {
        let Some(chatter) = &settled.chatter else {
            return Ok(amps.to_vec());
        };
        let (made, broken) = chatter.states(&mut self.solver, settled.point.amps)?;
        let square = |slot| {
            let (made, broken) = (slot_amps(&made, slot), slot_amps(&broken, slot));
            (MADE_SHARE * made * made + (1.0 - MADE_SHARE) * broken * broken).sqrt()
        };
        Ok(settled
            .assembled
            .slots
            .iter()
            .map(|&slot| square(slot))
            .collect())
    }

    /// The fuse that opens first at these currents, and when.
    fn next_fuse(&self, amps: &[f64]) -> (f64, Option<ElementId>) {
        let mut first = (f64::INFINITY, None);
        for (index, element) in self.vehicle.elements.iter().enumerate() {
            let Law::Fuse { rated_a, .. } = element.law else {
                continue;
            };
            let after = self
                .wear
                .opens_in(ElementId(index), libm::fabs(amps[index]) / rated_a);
            if after < first.0 {
                first = (after, Some(ElementId(index)));
            }
        }
        first
    }

    fn step_length(&self, held: &Held, longest: f64) -> f64 {
        let mut h = longest;
        loop {
            let next = self.after(held, h);
            let (change_k, change_v) = self.change(&next);
            let allowed_k = FINENESS
                .kelvin
                .max(FINENESS.share * next.thermal.hottest_k());
            if h <= FINENESS.shortest_s || (change_k <= allowed_k && change_v <= FINENESS.volts) {
                return h;
            }
            // Two thirds, so that the search does not throw away more than a third of a good step.
            h = (h * 0.65).max(FINENESS.shortest_s.min(longest));
        }
    }

    /// Largest change of a temperature, K, and of the battery's voltage, V, from now to a state.
    fn change(&self, next: &State) -> (f64, f64) {
        // Coolant warms by the degree each few seconds and moves the winding's resistance alone.
        let share = if self.vehicle.cooling.is_some() {
            FINENESS.coolant
        } else {
            1.0
        };
        let medium_k = next.surroundings.medium_k - self.surroundings.medium_k;
        let change_k = self.thermal.change(&next.thermal);
        let polarised_v = next.cell.polarised_v - self.cell.polarised_v;
        let rest_v = open_circuit_v(self.charge_with(&next.cell)) - self.rest_v();
        let change_v = libm::fabs(polarised_v) + libm::fabs(rest_v);
        (change_k.max(share * libm::fabs(medium_k)), change_v)
    }

    /// The circuit now, and what of it is held over a step.
    fn held(&mut self, wanted: bool, attached: &Attachments) -> Result<(Settled, Held), RigError> {
        let settled = self.settle(wanted, attached)?;
        let amps = self.element_amps(&settled);
        let heating = self.heating_amps(&settled, &amps)?;
        let held = Held {
            amps,
            heating,
            point: settled.point,
            lift: settled.lift.as_ref().map(|lift| lift.point),
            at_v: self.cell.polarised_v,
            loop_ohms: self.charging_ohms(&settled)?,
        };
        Ok((settled, held))
    }

    /// Lets a step pass; unless next to nothing changes in it, with the currents corrected by those at its end, which are
    /// handed on to the next one; and how far the correction went, as a share of what is allowed.
    fn pass_evenly(
        &mut self,
        held: &Held,
        h: f64,
        wanted: bool,
        attached: &Attachments,
    ) -> Result<(Option<(Settled, Held)>, f64), RigError> {
        let predicted = self.after(held, h);
        let (change_k, change_v) = self.change(&predicted);
        if change_k <= FINENESS.still.0 && change_v <= FINENESS.still.1 {
            self.restore(predicted);
            return Ok((None, 0.0));
        }
        let before = self.state();
        self.restore(predicted);
        let end = self.held(wanted, attached)?;
        let predicted = self.state();
        self.restore(before);
        let corrected = self.after(&held.middle(&end.1), h);
        self.restore(corrected);
        let (moved_k, moved_v) = self.change(&predicted);
        let error = (moved_k / FINENESS.moves.0).max(moved_v / FINENESS.moves.1);
        Ok((Some(end), error))
    }

    fn state(&self) -> State {
        State {
            cell: self.cell,
            thermal: self.thermal.clone(),
            surroundings: self.surroundings,
            wear: self.wear.clone(),
        }
    }

    fn restore(&mut self, state: State) {
        self.cell = state.cell;
        self.thermal = state.thermal;
        self.surroundings = state.surroundings;
        self.wear = state.wear;
    }

    /// The state `h` seconds later with everything held.
    fn after(&self, held: &Held, h: f64) -> State {
        let mut wear = self.wear.clone();
        for (index, element) in self.vehicle.elements.iter().enumerate() {
            if let Law::Fuse { rated_a, .. } = element.law {
                let ratio = libm::fabs(held.heating[index]) / rated_a;
                wear.pass(ElementId(index), ratio, h);
            }
        }
        let (own, heating) = (&self.build.ohms, &held.heating);
        let mut thermal = self.thermal.after(&self.vehicle, own, heating, h);
        let cold = self.build.unit.motor.winding_ohms;
        thermal.winding_k = WINDING.step(self.thermal.winding_k, held.point.amps, cold, h);
        if let Some((lift, point)) = self.build.lift.as_ref().zip(held.lift.as_ref()) {
            let cold = lift.pump.unit.motor.winding_ohms;
            thermal.lift_winding_k = WINDING.step(self.thermal.lift_winding_k, point.amps, cold, h);
        }
        State {
            cell: self.cell_after(held, h),
            thermal,
            surroundings: self.surroundings_after((&held.point, held.lift.as_ref()), h),
            wear,
        }
    }

    fn cell_after(&self, held: &Held, h: f64) -> Cell {
        let drawn = Drawn {
            // The loader refuses a vehicle without a battery.
            amps: self.battery().map_or(0.0, |battery| held.amps[battery.0]),
            at_v: held.at_v,
        };
        let charging = Charging::new(self.capacity_ah(), self.charge_now(), held.loop_ohms);
        self.cell.after(&drawn, &charging, h)
    }

    fn battery(&self) -> Option<ElementId> {
        let mut elements = self.vehicle.elements.iter();
        let found = elements.position(|e| matches!(e.law, Law::Battery { .. }));
        found.map(ElementId)
    }

    /// Resistance of the whole loop that charges the battery, ohm: its own and what its posts see of the rest.
    fn charging_ohms(&mut self, settled: &Settled) -> Result<f64, RigError> {
        let battery = self.battery().map(|id| settled.assembled.slots[id.0]);
        let Some(Slot::Source(index)) = battery else {
            return Ok(0.0);
        };
        let net = &settled.assembled.net;
        let source = net.sources()[index];
        if !settled.switching.charging {
            return Ok(source.ohms);
        }
        let port = self.solver.port(net, source.to, source.from)?;
        // The posts see the battery itself as well, beside the rest.
        let whole = source.ohms * source.ohms / (source.ohms - port.thevenin().ohms);
        Ok(if whole > 0.0 && whole.is_finite() {
            whole
        } else {
            source.ohms
        })
    }

    /// Rested voltage at the present state of charge, V.
    pub(super) fn rest_v(&self) -> f64 {
        open_circuit_v(self.charge_now())
    }
}
