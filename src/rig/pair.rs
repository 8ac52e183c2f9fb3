//! A lift pump and the main pump on one network.
//!
//! Seen from its two windings the network is linear. With `E` the EMF of each motor (what is left of its terminals' volts
//! behind its own ohms), the currents are
//!
//! ```text
//! I = j - G E        so that each motor sees a source of (j - G' E') / G behind 1/G less its own ohms,
//! ```
//!
//! `G'` and `E'` being those of the other. Fuel couples them one way: what the lift pump brings bounds what the main pump
//! gets, and the pot between them stands open, so that the lift pump works against its own line alone. So a guess of
//! the main motor's EMF gives the lift pump's point, that gives the main motor's supply and fuel, and its point gives
//! an EMF: `f(E)`. A passive network holds every EMF within `B = max |V| / (1 - product of the couplings)`, and `f` maps
//! `[-B, B]` into itself: `f(E) - E` has a root there. The coupling runs through shared wires alone, a
//! hundredth of a volt a volt, so that a few steps of Aitken's find it; where they do not, the bracket does.

use super::RigError;
use super::assemble::{Scene, Slot, Winding, assemble};
use super::chatter::MADE_SHARE;
use super::driven::Driving;
use crate::circuit::{CircuitError, Solver};
use crate::numeric::{RootTolerance, bracketed_root};
use crate::pump::{self, Demand, Hydraulics, OperatingPoint, Outlet, PumpError, Supply};
use crate::vehicle::LiftPump;

/// Conductance below which two terminals count as not joined, S.
const OPEN_S: f64 = 1e-15;
/// Change of the main motor's EMF at which the pair counts as settled, V.
const SETTLED_V: f64 = 1e-11;
/// Steps before the bracket is used.
const STEPS: usize = 6;

/// What a lift pump does at an instant, SI units.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct LiftState {
    /// Motor current, A, from the positive to the negative terminal.
    pub amps: f64,
    /// Speed, rad/s.
    pub rad_s: f64,
    /// Gauge pressure at its outlet, Pa.
    pub outlet_pa: f64,
    /// Flow that reaches the main pump's pot, by the pump or past it, m3/s.
    pub brought_m3_s: f64,
    /// Its inlet runs dry or boils.
    pub starved: bool,
}

impl LiftState {
    /// The main pump's way with what a lift pump brings, if there is one.
    pub(super) fn feeds(lift: Option<&LiftState>, hydraulics: Hydraulics) -> Hydraulics {
        match lift {
            Some(lift) => Hydraulics {
                brought_m3_s: lift.brought_m3_s,
                ..hydraulics
            },
            None => hydraulics,
        }
    }
}

/// What a lift pump works against: a line that ends in a vented pot.
pub(super) fn into_pot() -> Demand {
    Demand {
        outlet: Outlet::LineIntoCan,
        ..Demand::none()
    }
}

/// The lift pump of a settled pair.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lifting {
    pub state: LiftState,
    /// Its steady point.
    pub point: OperatingPoint,
    /// What drives it.
    pub supply: Supply,
    /// What stands in the network in its place.
    pub winding: Winding,
    /// What drives the main motor beside it.
    pub main_supply: Supply,
    /// The network as both saw it.
    pub pair: Pair,
}

/// A network as two windings see it, the main pump's first.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Pair {
    /// Currents without any EMF, A.
    pub amps: [f64; 2],
    /// By how much each falls with each EMF, S.
    pub siemens: [[f64; 2]; 2],
    /// Winding and brushes of each, ohm.
    pub ohms: [f64; 2],
}

impl Pair {
    /// The network of a scene.
    pub(super) fn seen(
        solver: &mut Solver,
        scene: &Scene<'_>,
        driving: &Driving,
        lift: &LiftPump,
    ) -> Result<Pair, CircuitError> {
        let ohms = [driving.unit.motor.ohms(), lift.pump.unit.motor.ohms()];
        let held = |ohms| Winding::Frozen { ohms, emf_v: 0.0 };
        let scene = Scene {
            lift: held(ohms[1]),
            ..*scene
        };
        let mut assembled = assemble(&scene, held(ohms[0]));
        let vehicle = scene.vehicle;
        let slots = [&vehicle.pump, &lift.pump].map(|pump| {
            let winding = vehicle.winding(pump);
            winding.map_or(Slot::Absent, |id| assembled.slots[id.0])
        });
        // The main winding's EMF is the last source, the lift pump's the one before.
        let last = assembled.net.sources().len() - 1;
        let mut currents = |emf: [f64; 2]| {
            assembled.net.source_mut(last).volts = emf[0];
            assembled.net.source_mut(last - 1).volts = emf[1];
            let solution = solver.operate(&assembled.net)?;
            Ok::<_, CircuitError>(slots.map(|slot| super::settle::slot_amps(&solution, slot)))
        };
        let amps = currents([0.0, 0.0])?;
        let (main, other) = (currents([1.0, 0.0])?, currents([0.0, 1.0])?);
        let falls = |of: usize| [amps[of] - main[of], amps[of] - other[of]];
        Ok(Pair {
            amps,
            siemens: [falls(0), falls(1)],
            ohms,
        })
    }

    /// The mean of a chattering relay's made state, which this is, and its broken one.
    pub(super) fn mean(&self, broken: &Pair) -> Pair {
        let mean = |made: f64, broken: f64| MADE_SHARE * made + (1.0 - MADE_SHARE) * broken;
        Pair {
            amps: core::array::from_fn(|n| mean(self.amps[n], broken.amps[n])),
            siemens: core::array::from_fn(|n| {
                core::array::from_fn(|k| mean(self.siemens[n][k], broken.siemens[n][k]))
            }),
            ohms: self.ohms,
        }
    }

    /// What drives one motor while the other has an EMF.
    #[must_use]
    pub fn supply(&self, of: usize, other_emf_v: f64) -> Supply {
        let own = self.siemens[of][of];
        if own < OPEN_S {
            return Supply {
                volts: 0.0,
                ohms: f64::INFINITY,
            };
        }
        Supply {
            volts: (self.amps[of] - self.siemens[of][1 - of] * other_emf_v) / own,
            ohms: (1.0 / own - self.ohms[of]).max(0.0),
        }
    }

    /// Behind its own ohms, what a motor at a point offers.
    fn emf_v(&self, of: usize, supply: &Supply, point: &OperatingPoint) -> f64 {
        if supply.ohms.is_finite() {
            supply.volts - point.amps * (supply.ohms + self.ohms[of])
        } else {
            0.0
        }
    }

    /// No EMF of the main motor is larger, V.
    fn bound_v(&self) -> f64 {
        let share = |of: usize| {
            let own = self.siemens[of][of];
            if own < OPEN_S {
                return (0.0, 0.0);
            }
            let volts = libm::fabs(self.amps[of] / own);
            (volts, libm::fabs(self.siemens[of][1 - of] / own))
        };
        let ((main_v, a), (lift_v, b)) = (share(0), share(1));
        // Rounding may leave the product of the couplings at one where the windings have hardly any ohms.
        (main_v + a * lift_v) / (1.0 - a * b).max(1e-9)
    }

    /// Lets it drive both pumps.
    pub(super) fn settle(self, driving: &Driving, lift: &LiftPump) -> Result<Lifting, RigError> {
        let mut failed = None;
        let mut step = |emf_v: f64| match self.step(driving, lift, emf_v) {
            Ok((next_v, lifting)) => (next_v, Some(lifting)),
            Err(error) => {
                failed = Some(error);
                (emf_v, None)
            }
        };
        let mut at_v = 0.0;
        for _ in 0..STEPS {
            let (first_v, found) = step(at_v);
            let moved_v = first_v - at_v;
            if let Some(found) = found.filter(|_| libm::fabs(moved_v) <= SETTLED_V) {
                return Ok(found);
            }
            let (second_v, found) = step(first_v);
            let again_v = second_v - first_v;
            if let Some(found) = found.filter(|_| libm::fabs(again_v) <= SETTLED_V) {
                return Ok(found);
            }
            let bend_v = again_v - moved_v;
            at_v = if bend_v == 0.0 {
                second_v
            } else {
                second_v - again_v * again_v / bend_v
            };
        }
        // A volt beyond, so that rounding never takes the bracket's ends for roots.
        let bound_v = self.bound_v() + 1.0;
        let tolerance = RootTolerance {
            absolute: SETTLED_V,
            ..RootTolerance::default()
        };
        let root = bracketed_root(|emf_v| step(emf_v).0 - emf_v, -bound_v, bound_v, &tolerance);
        if let Some(error) = failed {
            return Err(error);
        }
        let at_v = root.map_err(PumpError::NoOperatingPoint)?.x;
        Ok(self.step(driving, lift, at_v)?.1)
    }

    /// From a guess of the main motor's EMF to the one it brings about.
    fn step(
        &self,
        driving: &Driving,
        lift: &LiftPump,
        main_emf_v: f64,
    ) -> Result<(f64, Lifting), RigError> {
        let unit = &lift.pump.unit;
        let supply = self.supply(1, main_emf_v);
        let point = pump::operating_point(unit, &lift.hydraulics, &supply, &into_pot())?;
        let past = lift
            .hydraulics
            .drawn_past(lift.past_pa_s2_m6, driving.hydraulics.vapour_limit_pa);
        let state = LiftState {
            // Adding zero takes the sign off a negative zero.
            amps: point.amps + 0.0,
            rad_s: point.rad_s,
            outlet_pa: point.outlet_pa,
            brought_m3_s: point.can_m3_s.max(past),
            starved: point.starved,
        };
        let main_supply = self.supply(0, self.emf_v(1, &supply, &point));
        let main = Driving {
            hydraulics: LiftState::feeds(Some(&state), driving.hydraulics),
            ..*driving
        };
        let main = main.point(&main_supply)?;
        let winding = if point.rad_s == 0.0 {
            let (ohms, emf_v) = unit.motor.at_rest(&supply, point.amps);
            Winding::Frozen { ohms, emf_v }
        } else {
            Winding::Frozen {
                ohms: self.ohms[1],
                emf_v: self.emf_v(1, &supply, &point),
            }
        };
        let next_v = self.emf_v(0, &main_supply, &main);
        let lifting = Lifting {
            state,
            point,
            supply,
            winding,
            main_supply,
            pair: *self,
        };
        Ok((next_v, lifting))
    }
}
