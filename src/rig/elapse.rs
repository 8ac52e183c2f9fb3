//! Time passing over the whole circuit: parts warm, fuses use up their time, the battery sags and recovers.
//!
//! One step holds the currents and takes every lump of heat and the battery to its end exactly. Then the circuit is solved
//! as it stands there, and the step is taken again with those currents; the middle of both ends is right to second order
//! (Heun's rule on an exponential step), and half of their difference says how far the currents' change was felt. A step
//! that felt too much is cut. It ends where a fuse opens.

use super::assemble::Slot;
use super::attach::Attachments;
use super::battery::{Cell, Charging, accepted_a};
use super::chatter::MADE_SHARE;
use super::settle::{Settled, slot_amps};
use super::surroundings::Surroundings;
use super::thermal::Thermal;
use super::{Rig, RigError};
use crate::vehicle::{ElementId, Law, open_circuit_v};

/// How finely time is cut.
struct Fineness {
    /// What a step may feel of the change of currents within it, K: a thousandth of a contact's resistance.
    kelvin: f64,
    /// The same in proportion to the largest rise, so that what glows does not take forever.
    share: f64,
    /// Share of a change of the coolant's temperature that counts like another's.
    coolant: f64,
    /// What a step may feel of the change of currents in the battery's voltage, V.
    volts: f64,
    /// How many times as much may change in a step before it is cut without solving for its end.
    most: f64,
    /// Below this much change, in the same measure, the currents are as good as constant.
    least: f64,
    /// Shortest step that is cut for these, s.
    shortest_s: f64,
    /// Most steps of one stretch of time; what is left then is one step.
    steps: usize,
}

const FINENESS: Fineness = Fineness {
    kelvin: 0.3,
    share: 0.01,
    coolant: 0.2,
    volts: 2e-3,
    most: 300.0,
    least: 0.3,
    shortest_s: 0.05,
    steps: 400,
};

/// How far a stretch of time came.
pub(super) struct Elapsed {
    /// What is left of it, s.
    pub left_s: f64,
    /// A fuse opened, which ended it: the circuit as it was until then.
    pub blew: Option<Settled>,
}

/// The circuit solved at one instant, with what drives time from there.
struct Flow {
    settled: Settled,
    /// Current of each element, A.
    amps: Vec<f64>,
    /// The battery's polarisation then, V.
    polarised_v: f64,
    /// What warms each element: the same, or the root mean square of a current that chatters, A.
    heating: Vec<f64>,
}

/// What time moves.
#[derive(Clone)]
struct Moved {
    thermal: Thermal,
    cell: Cell,
    surroundings: Surroundings,
}

impl Moved {
    fn middle(&self, other: &Moved) -> Moved {
        let between = |a: f64, b: f64| 0.5 * (a + b);
        let (here, there) = (self.surroundings, other.surroundings);
        Moved {
            thermal: self.thermal.middle(&other.thermal),
            cell: Cell {
                drawn_c: between(self.cell.drawn_c, other.cell.drawn_c),
                polarised_v: between(self.cell.polarised_v, other.cell.polarised_v),
            },
            surroundings: Surroundings {
                engine: here.engine,
                medium_k: between(here.medium_k, there.medium_k),
            },
        }
    }
}

/// One step.
struct Step {
    /// Its length, s.
    h: f64,
    end: Moved,
    /// The circuit at its end, if that had to be solved.
    flow: Option<Flow>,
    /// What it felt of the change of currents, as a multiple of what it may.
    felt: f64,
}

/// What to make a step longer or shorter by after one that felt so much: what is felt goes with the square of its length.
fn step_factor(felt: f64) -> f64 {
    (0.9 / felt.max(1e-3).sqrt()).clamp(0.2, 5.0)
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
        let mut flow = self.flow(wanted, attached)?;
        self.charging_ohms = self.find_charging_ohms(&flow.settled)?;
        let mut tried = f64::INFINITY;
        while left > 0.0 {
            let (opens_s, fuse) = self.next_fuse(&flow.heating);
            let turns = flow.settled.point.rad_s > 0.0;
            let loose_s = if turns {
                self.loose_for()
            } else {
                f64::INFINITY
            };
            let longest = left.min(opens_s).min(loose_s);
            let step = if steps < FINENESS.steps {
                self.step(&flow, longest, tried, (wanted, attached))?
            } else {
                Step {
                    h: left,
                    end: self.later(&flow, left),
                    flow: None,
                    felt: 0.0,
                }
            };
            let h = step.h;
            for now in [&flow, step.flow.as_ref().unwrap_or(&flow)] {
                self.wear_fuses(&now.heating, 0.5 * h);
            }
            self.stand_at(step.end);
            let mut changed = turns && self.run_loose(h);
            changed |= self.activate(&flow.amps, h);
            left -= h;
            steps += 1;
            if let Some(fuse) = fuse.filter(|_| opens_s <= h) {
                self.blown.insert(fuse);
                self.build.fuse_blown.insert(fuse);
                return Ok(Elapsed {
                    left_s: left,
                    blew: Some(flow.settled),
                });
            }
            tried = h * step_factor(step.felt);
            if left > 0.0 {
                flow = match step.flow {
                    Some(flow) if !changed => flow,
                    _ => self.flow(wanted, attached)?,
                };
            }
        }
        Ok(Elapsed {
            left_s: 0.0,
            blew: None,
        })
    }

    /// One step of at most `longest`, first tried with `tried` seconds.
    fn step(
        &mut self,
        flow: &Flow,
        longest: f64,
        tried: f64,
        (wanted, attached): (bool, &Attachments),
    ) -> Result<Step, RigError> {
        let begin = self.stands();
        let shortest = FINENESS.shortest_s.min(longest);
        let mut h = longest.min(tried).max(shortest);
        loop {
            let ahead = self.later(flow, h);
            let change = self.apart(&begin, &ahead);
            if change > FINENESS.most && h > shortest {
                h = (h * 0.5).max(shortest);
                continue;
            }
            if change <= FINENESS.least {
                return Ok(Step {
                    h,
                    end: ahead,
                    flow: None,
                    felt: 0.0,
                });
            }
            let (closed, signal_v) = (self.closed_relays.clone(), self.signal_v);
            self.stand_at(ahead.clone());
            let then = self.flow(wanted, attached);
            self.stand_at(begin.clone());
            let then = then?;
            let end = ahead.middle(&self.later(&then, h));
            let felt = self.apart(&ahead, &end);
            if felt <= 1.0 || h <= shortest {
                return Ok(Step {
                    h,
                    end,
                    flow: Some(then),
                    felt,
                });
            }
            // Only looked at: nothing has switched.
            (self.closed_relays, self.signal_v) = (closed, signal_v);
            h = (h * step_factor(felt)).max(shortest);
        }
    }

    /// The circuit as it stands now.
    fn flow(&mut self, wanted: bool, attached: &Attachments) -> Result<Flow, RigError> {
        let settled = self.settle(wanted, attached)?;
        let amps = self.element_amps(&settled);
        let heating = self.heating_amps(&settled, &amps)?;
        Ok(Flow {
            settled,
            amps,
            polarised_v: self.cell.polarised_v,
            heating,
        })
    }

    /// What time moves, as it is now.
    fn stands(&self) -> Moved {
        Moved {
            thermal: self.thermal.clone(),
            cell: self.cell,
            surroundings: self.surroundings,
        }
    }

    fn stand_at(&mut self, moved: Moved) {
        self.thermal = moved.thermal;
        self.cell = moved.cell;
        self.surroundings = moved.surroundings;
    }

    /// The same after `h` seconds of these currents.
    fn later(&self, flow: &Flow, h: f64) -> Moved {
        let (vehicle, build) = (&self.vehicle, &self.build);
        let mut thermal = self.thermal.after(vehicle, &build.ohms, &flow.heating, h);
        let cold = build.unit.motor.winding_ohms;
        let winding_a = flow.settled.point.amps;
        thermal.winding_k =
            super::thermal::WINDING.step(self.thermal.winding_k, winding_a, cold, h);
        Moved {
            thermal,
            cell: self.cell_after(flow, h),
            surroundings: self.surroundings_after(&flow.settled, h),
        }
    }

    /// How far two are apart, as a multiple of what a step may feel.
    fn apart(&self, a: &Moved, b: &Moved) -> f64 {
        // Coolant warms by the degree each few seconds and moves the winding's resistance alone.
        let share = if self.vehicle.cooling.is_some() {
            FINENESS.coolant
        } else {
            1.0
        };
        let medium_k = libm::fabs(a.surroundings.medium_k - b.surroundings.medium_k);
        let kelvin = a.thermal.apart(&b.thermal).max(share * medium_k);
        let allowed_k = FINENESS.kelvin.max(FINENESS.share * b.thermal.hottest_k());
        let volts = libm::fabs(a.cell.polarised_v - b.cell.polarised_v);
        (kelvin / allowed_k).max(volts / FINENESS.volts)
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

    fn wear_fuses(&mut self, heating: &[f64], h: f64) {
        for (index, element) in self.vehicle.elements.iter().enumerate() {
            if let Law::Fuse { rated_a, .. } = element.law {
                self.wear
                    .pass(ElementId(index), libm::fabs(heating[index]) / rated_a, h);
            }
        }
    }

    /// The battery's state after a step.
    fn cell_after(&self, flow: &Flow, h: f64) -> Cell {
        // The loader refuses a vehicle without a battery.
        let drawn = self.battery().map_or(0.0, |battery| flow.amps[battery.0]);
        let charging = Charging {
            accepted_a: accepted_a(self.capacity_ah(), self.charge_now()),
            loop_ohms: self.charging_ohms,
            at_v: flow.polarised_v,
        };
        self.cell.after(drawn, &charging, h)
    }

    fn battery(&self) -> Option<ElementId> {
        let mut elements = self.vehicle.elements.iter();
        let found = elements.position(|e| matches!(e.law, Law::Battery { .. }));
        found.map(ElementId)
    }

    /// Resistance of the whole loop that charges the battery, ohm: its own and what its posts see of the rest.
    fn find_charging_ohms(&mut self, settled: &Settled) -> Result<f64, RigError> {
        let battery = self.battery().map(|id| settled.assembled.slots[id.0]);
        let Some(Slot::Source(index)) = battery.filter(|_| settled.switching.charging) else {
            return Ok(0.0);
        };
        let source = settled.assembled.net.sources()[index];
        let own = source.ohms;
        let port = self
            .solver
            .port(&settled.assembled.net, source.to, source.from)?;
        // The posts see the battery itself as well, beside the rest.
        let whole = own * own / (own - port.thevenin().ohms);
        Ok(if whole.is_finite() && whole > 0.0 {
            whole
        } else {
            own
        })
    }

    /// Rested voltage at the present state of charge, V.
    pub(super) fn rest_v(&self) -> f64 {
        open_circuit_v(self.charge_now())
    }
}
