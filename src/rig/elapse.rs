//! Time passing over the whole circuit: parts warm, fuses use up their time, the battery sags and recovers.
//!
//! Within a step the currents are held; the step is as long as keeps every temperature and the battery's voltage near
//! enough to where they were, and ends where a fuse opens. When nothing will change any more the rest is one step.

use super::attach::Attachments;
use super::battery::Charging;
use super::chatter::MADE_SHARE;
use super::settle::{Settled, slot_amps};
use super::{Rig, RigError};
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
    /// Most steps of one stretch of time; what is left then is one step.
    steps: usize,
}

const FINENESS: Fineness = Fineness {
    kelvin: 2.0,
    share: 0.25,
    coolant: 0.2,
    volts: 0.05,
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
        while left > 0.0 {
            let settled = self.settle(wanted, attached)?;
            let amps = self.element_amps(&settled);
            let heating = self.heating_amps(&settled, &amps)?;
            let (opens_s, fuse) = self.next_fuse(&heating);
            let turns = settled.point.rad_s > 0.0;
            let loose_s = if turns {
                self.loose_for()
            } else {
                f64::INFINITY
            };
            let h = if steps < FINENESS.steps {
                let longest = left.min(opens_s).min(loose_s);
                self.step_length(&amps, &heating, &settled, longest)
            } else {
                left
            };
            self.pass(&amps, &heating, &settled, h);
            if turns {
                self.run_loose(h);
            }
            self.activate(&amps, h);
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

    fn step_length(&self, amps: &[f64], heating: &[f64], settled: &Settled, longest: f64) -> f64 {
        let mut h = longest;
        loop {
            let (next, change_k) = self
                .thermal
                .after(&self.vehicle, &self.build.ohms, heating, h);
            let (cell, _) = self.cell_after(amps, h);
            let change_v = libm::fabs(cell.polarised_v - self.cell.polarised_v);
            let winding_k = self.winding_after(settled, h);
            let lift_winding_k = self.lift_winding_after(settled, h);
            let medium_k =
                self.surroundings_after(settled, h).medium_k - self.surroundings.medium_k;
            // Coolant warms by the degree each few seconds and moves the winding's resistance alone.
            let share = if self.vehicle.cooling.is_some() {
                FINENESS.coolant
            } else {
                1.0
            };
            let change_k = change_k
                .max(libm::fabs(winding_k - self.thermal.winding_k))
                .max(libm::fabs(lift_winding_k - self.thermal.lift_winding_k))
                .max(share * libm::fabs(medium_k));
            let allowed_k = FINENESS.kelvin.max(FINENESS.share * next.hottest_k());
            if h <= FINENESS.shortest_s || (change_k <= allowed_k && change_v <= FINENESS.volts) {
                return h;
            }
            // Two thirds, so that the search does not throw away more than a third of a good step.
            h = (h * 0.65).max(FINENESS.shortest_s.min(longest));
        }
    }

    fn pass(&mut self, amps: &[f64], heating: &[f64], settled: &Settled, h: f64) {
        for (index, element) in self.vehicle.elements.iter().enumerate() {
            if let Law::Fuse { rated_a, .. } = element.law {
                self.wear
                    .pass(ElementId(index), libm::fabs(heating[index]) / rated_a, h);
            }
        }
        let winding_k = self.winding_after(settled, h);
        let lift_winding_k = self.lift_winding_after(settled, h);
        let surroundings = self.surroundings_after(settled, h);
        let (thermal, _) = self
            .thermal
            .after(&self.vehicle, &self.build.ohms, heating, h);
        self.cell = self.cell_after(amps, h).0;
        self.thermal = thermal;
        self.thermal.winding_k = winding_k;
        self.thermal.lift_winding_k = lift_winding_k;
        self.surroundings = surroundings;
    }

    fn winding_after(&self, settled: &Settled, h: f64) -> f64 {
        let cold = self.build.unit.motor.winding_ohms;
        super::thermal::WINDING.step(self.thermal.winding_k, settled.point.amps, cold, h)
    }

    fn lift_winding_after(&self, settled: &Settled, h: f64) -> f64 {
        let (Some(build), Some(lift)) = (&self.build.lift, settled.lift_state()) else {
            return self.thermal.lift_winding_k;
        };
        let cold = build.pump.unit.motor.winding_ohms;
        super::thermal::WINDING.step(self.thermal.lift_winding_k, lift.amps, cold, h)
    }

    /// The battery's state after a step, and the current drawn from it.
    fn cell_after(&self, amps: &[f64], h: f64) -> (super::battery::Cell, f64) {
        let battery = self
            .vehicle
            .elements
            .iter()
            .position(|e| matches!(e.law, Law::Battery { .. }));
        // The loader refuses a vehicle without a battery.
        let drawn = battery.map_or(0.0, |index| amps[index]);
        let loop_ohms = self
            .vehicle
            .elements
            .iter()
            .zip(&self.build.ohms)
            .filter(|(e, _)| matches!(e.law, Law::Battery { .. } | Law::Alternator { .. }))
            .map(|(_, ohms)| ohms)
            .filter(|ohms| ohms.is_finite())
            .sum();
        let charging = Charging::new(self.capacity_ah(), self.charge_now(), loop_ohms);
        (self.cell.after(drawn, &charging, h), drawn)
    }

    /// Rested voltage at the present state of charge, V.
    pub(super) fn rest_v(&self) -> f64 {
        open_circuit_v(self.charge_now())
    }
}
