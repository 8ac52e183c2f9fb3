//! One instant of the whole circuit: switches, filaments and the motor brought to agree with the network.

use super::assemble::{Assembled, Scene, Slot, Switching, Winding};
use super::attach::{Attachments, Tap};
use super::chatter::{Beat, Chatter, extremes};
use super::driven::{Driven, Driving, chattering, driven};
use super::pair::{LiftState, Lifting};
use super::stage::Ripple;
use super::{Rig, RigError};
use crate::circuit::{NodeId, Port, Solution};
use crate::pump::{OperatingPoint, Supply};
use crate::vehicle::{ElementId, Key, Law, PartId};

/// The control unit resets below this supply, volts (common practice, no source).
const CONTROL_UNIT_MINIMUM_V: f64 = 6.0;
/// Relative change of a filament's resistance at which it counts as settled.
const FILAMENT_TOLERANCE: f64 = 1e-9;
/// Change of a sensor's output at which it counts as settled, V.
const SIGNAL_TOLERANCE_V: f64 = 1e-9;
/// Rounds of filament iteration; each at least halves the error, so this reaches the tolerance.
const FILAMENT_ROUNDS: usize = 60;

/// The circuit with everything decided.
pub(super) struct Settled {
    /// The network with the winding open.
    pub assembled: Assembled,
    /// How that network looks from the pump's terminals.
    pub port: Port,
    pub switching: Switching,
    /// A relay that can neither hold nor stay out.
    pub chatter: Option<Chatter>,
    /// What the pump's motor sees.
    pub supply: Supply,
    /// The pump's steady point.
    pub point: OperatingPoint,
    /// The network with the pump at that point, averaged over the chatter if there is any.
    pub solution: Solution,
    /// The square wave of a running driver module.
    pub ripple: Option<Ripple>,
    /// What was asked of a driver module, share of the cycle.
    pub duty: f64,
    /// What a pressure sensor puts out at no load, V.
    pub signal_v: f64,
    /// The lift pump of a vehicle with two.
    pub lift: Option<Lifting>,
}

impl Settled {
    /// The pump at its steady point.
    pub fn pump_state(&self) -> PumpState {
        PumpState {
            amps: self.point.amps,
            rad_s: self.point.rad_s,
            rail_pa: self.point.rail_pa,
            outlet_pa: self.point.outlet_pa,
            delivered_m3_s: self.point.delivered_m3_s,
            // Round a closed loop all of it comes back; with the feed in a can a regulator in the tank spills beside it.
            return_m3_s: if self.point.can_m3_s > 0.0 {
                self.point.can_m3_s
            } else {
                self.point.return_m3_s
            },
            starved: self.point.starved,
            lift: self.lift_state(),
        }
    }

    /// What the lift pump does.
    pub fn lift_state(&self) -> Option<LiftState> {
        self.lift.map(|lift| lift.state)
    }

    /// Current through an element from its `from` to its `to`, A.
    pub fn amps(&self, element: ElementId, winding: Option<ElementId>) -> f64 {
        if winding == Some(element) {
            return self.point.amps;
        }
        slot_amps(&self.solution, self.assembled.slots[element.0])
    }
}

/// Current through whatever stands in a slot, A.
pub(super) fn slot_amps(solution: &Solution, slot: Slot) -> f64 {
    match slot {
        Slot::Branch(index) => solution.branch_amps(index),
        Slot::Source(index) => solution.source_amps(index),
        Slot::Absent => 0.0,
    }
}

/// One instant as anything attached to the vehicle meets it.
pub struct Instant {
    solution: Solution,
    ripple: Option<Ripple>,
    slots: Vec<Slot>,
    own_base: u32,
    winding: Option<ElementId>,
    /// What the pump does.
    pub pump: PumpState,
    /// A relay can neither hold nor drop out, or a unit stay on: volts and amps are means over its chatter, as a meter
    /// shows them; a lamp flickers, and a relay is heard.
    pub chattering: Option<Beat>,
}

/// What the pump does at an instant, SI units.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct PumpState {
    /// Motor current, A, from the positive to the negative terminal.
    pub amps: f64,
    /// Speed, rad/s.
    pub rad_s: f64,
    /// Gauge pressure at the rail, Pa.
    pub rail_pa: f64,
    /// Gauge pressure where the fuel leaves the pump for the filter, Pa.
    pub outlet_pa: f64,
    /// Flow through the pump outlet, m3/s.
    pub delivered_m3_s: f64,
    /// Flow that can be timed: back to the tank from the regulator, round a closed loop, or out of a feed that is off the
    /// rail, m3/s.
    pub return_m3_s: f64,
    /// The inlet runs dry or boils.
    pub starved: bool,
    /// The lift pump ahead of it, on a vehicle with two.
    pub lift: Option<LiftState>,
}

impl PumpState {
    /// Current of the pump, or of a lift pump that takes more, A.
    #[must_use]
    pub fn load_amps(&self) -> f64 {
        self.lift.map_or(self.amps, |lift| self.amps.max(lift.amps))
    }

    /// A pump whines for want of fuel.
    #[must_use]
    pub fn whines(&self) -> bool {
        self.starved || self.lift.is_some_and(|lift| lift.starved)
    }
}

impl Instant {
    pub(super) fn new(
        solution: Solution,
        assembled: &Assembled,
        winding: Option<ElementId>,
        pump: PumpState,
        chattering: Option<Beat>,
    ) -> Instant {
        Instant {
            solution,
            ripple: None,
            slots: assembled.slots.clone(),
            own_base: assembled.own_base(),
            winding,
            pump,
            chattering,
        }
    }

    /// The same with the square wave of a driver module behind its means.
    pub(super) fn with_ripple(mut self, ripple: Option<Ripple>) -> Instant {
        self.ripple = ripple;
        self
    }

    /// Volts between two points as a filament feels them: the root mean square behind a driver module that switches,
    /// never negative; nothing if the two do not stand in one connected circuit.
    #[must_use]
    pub fn heating_volts(&self, a: Tap, b: Tap) -> Option<f64> {
        let (first, second) = (self.node(a), self.node(b));
        let mean = self.across(a, b)?;
        Some(match &self.ripple {
            Some(ripple) => ripple.root_mean_square(&self.solution, first, second),
            None => libm::fabs(mean),
        })
    }

    /// Volts of `a` above `b`; nothing if the two do not stand in one connected circuit.
    #[must_use]
    pub fn across(&self, a: Tap, b: Tap) -> Option<f64> {
        let (a, b) = (self.node(a), self.node(b));
        self.solution
            .joined(a, b)
            .then(|| self.solution.volts(a) - self.solution.volts(b))
    }

    /// Current through an element from its `from` to its `to`, A; for a source, what leaves its `to`.
    #[must_use]
    pub fn amps(&self, element: ElementId) -> f64 {
        if self.winding == Some(element) {
            return self.pump.amps;
        }
        slot_amps(&self.solution, self.slots[element.0])
    }

    fn node(&self, tap: Tap) -> NodeId {
        super::assemble::node_of(self.own_base, tap)
    }
}

impl Rig {
    /// Brings the circuit to rest with the pump wanted or not, and a driver module asked for a share of the cycle.
    pub(super) fn settle_at(
        &mut self,
        wanted: bool,
        duty: f64,
        attached: &Attachments,
    ) -> Result<Settled, RigError> {
        let driving = Driving {
            unit: self.unit_now(),
            hydraulics: self.hydraulics_now(),
            demand: self.demand(),
            lift: self.lift_now(),
        };
        let (ohms, emf_v) = (self.ohms_now(), self.emf_v());
        let mut switching = Switching {
            commanded: wanted,
            closed: self.closed_relays.clone(),
            awake: self.vehicle.holds_pa.is_some() && self.controls.key != Key::Off,
            charging: self.controls.key == Key::Run,
            output_held: false,
        };
        let mut signal_v = self.signal_v;
        let mut filaments: Vec<f64> = attached
            .filaments
            .iter()
            .map(|(_, _, lamp)| lamp.ohms(lamp.volts))
            .collect();
        let mut seen: Vec<Switching> = Vec::new();
        let (mut glowed, mut flicker) = (0, None);
        loop {
            let scene = Scene {
                vehicle: &self.vehicle,
                build: &self.build,
                controls: &self.controls,
                ohms: &ohms,
                emf_v,
                oil_pressure: self.oil_pressure(),
                duty,
                frozen_stage: None,
                signal_v,
                switching: &switching,
                lift: Winding::Open,
                attached,
                filament_ohms: &filaments,
            };
            let mut driven = driven(&mut self.solver, &scene, &driving)?;
            let mut chatter = None;
            let next = self.switch(&driven, wanted, &switching);
            if next != switching {
                seen.push(switching.clone());
                // The switched parts follow from the state before alone, so a state that comes again comes for ever.
                let Some(first) = seen.iter().position(|before| *before == next) else {
                    switching = next;
                    continue;
                };
                let (made, broken) = extremes(&seen[first..]);
                let thrown = (&made, &broken);
                let (mean, between) = chattering(&mut self.solver, &scene, thrown, &driving)?;
                (driven, chatter, switching) = (mean, Some(between), made);
            }
            let sensed_v = self.sensed_v(&driven.solution, &driven.point);
            let moved = libm::fabs(sensed_v - signal_v) > SIGNAL_TOLERANCE_V;
            signal_v = sensed_v;
            let fed = (&driven.solution, driven.ripple.as_ref());
            if glow(&driven.assembled, fed, attached, &mut filaments) || moved {
                if glowed < FILAMENT_ROUNDS {
                    glowed += 1;
                    seen.clear();
                    if let Some(between) = chatter {
                        flicker = Some((driven, between, switching.clone()));
                    }
                    continue;
                }
                // A lamp that chatters a relay as it warms and lets it rest as it cools comes to no end: that is chatter.
                if let (None, Some((last, between, made))) = (&chatter, flicker.take()) {
                    (driven, chatter, switching) = (last, Some(between), made);
                }
            }
            if chatter.is_none() {
                self.closed_relays.clone_from(&switching.closed);
            }
            self.signal_v = signal_v;
            let Driven {
                assembled,
                port,
                ripple,
                supply,
                point,
                solution,
                lift,
            } = driven;
            return Ok(Settled {
                assembled,
                port,
                switching,
                chatter,
                supply,
                point,
                solution,
                ripple,
                duty,
                signal_v,
                lift,
            });
        }
    }

    /// What the switched parts do next, given the volts they would get.
    fn switch(&self, driven: &Driven, wanted: bool, now: &Switching) -> Switching {
        let solution = &driven.solution;
        let mut next = now.clone();
        next.output_held = driven.assembled.output_held(solution);
        let awake = self.control_unit_awake(solution);
        next.commanded = wanted && awake;
        next.awake = awake && self.vehicle.holds_pa.is_some();
        next.charging = self.rectifier_conducts(solution);
        for (index, element) in self.vehicle.elements.iter().enumerate() {
            let Law::Coil { .. } = element.law else {
                continue;
            };
            let volts = self.coil_volts(solution, element.from, element.to, element.part, index);
            let warm = self.coil_factor(index);
            if volts >= self.build.operate_v[index] * warm {
                next.closed.insert(element.part);
            } else if volts < self.build.release_v[index] * warm {
                next.closed.remove(&element.part);
            }
        }
        next
    }

    /// Whether the alternator's rectifier lets its current out. One that blocks leaves the rest of the circuit above the
    /// regulated volts, so that it goes on blocking; a millivolt keeps rounding from throwing it.
    fn rectifier_conducts(&self, solution: &Solution) -> bool {
        const DEAD_BAND_V: f64 = 1e-3;
        let alternator = self
            .vehicle
            .elements
            .iter()
            .find(|element| matches!(element.law, Law::Alternator { .. }));
        let blocked = alternator.is_some_and(|element| {
            solution.joined(element.from, element.to)
                && solution.between(element.to, element.from)
                    > self.build.alternator_v + DEAD_BAND_V
        });
        self.controls.key == Key::Run && !blocked
    }

    fn coil_volts(
        &self,
        solution: &Solution,
        from: NodeId,
        to: NodeId,
        part: PartId,
        index: usize,
    ) -> f64 {
        let absent = self.controls.unplugged.contains(&part) || !self.build.ohms[index].is_finite();
        if absent || !solution.joined(from, to) {
            return 0.0;
        }
        libm::fabs(solution.volts(from) - solution.volts(to))
    }

    fn control_unit_awake(&self, solution: &Solution) -> bool {
        let mut supplies = self.vehicle.elements.iter().filter(|element| {
            matches!(element.law, Law::Load { on, .. } if on.contains(self.controls.key))
                && self.vehicle.parts[element.part.0].kind == crate::vehicle::Kind::ControlUnit
        });
        supplies.any(|element| {
            solution.joined(element.from, element.to)
                && solution.volts(element.from) - solution.volts(element.to)
                    >= CONTROL_UNIT_MINIMUM_V
        })
    }
}

/// Moves each filament to the resistance its volts give it; true while any still changes.
fn glow(
    assembled: &Assembled,
    (solution, ripple): (&Solution, Option<&Ripple>),
    attached: &Attachments,
    filaments: &mut [f64],
) -> bool {
    let mut changed = false;
    for (&(a, b, lamp), ohms) in attached.filaments.iter().zip(filaments.iter_mut()) {
        let (a, b) = (assembled.node(a), assembled.node(b));
        let volts = if solution.joined(a, b) {
            ripple.map_or_else(
                || solution.between(a, b),
                |ripple| ripple.root_mean_square(solution, a, b),
            )
        } else {
            0.0
        };
        let next = lamp.ohms(volts);
        changed |= libm::fabs(next - *ohms) > FILAMENT_TOLERANCE * next;
        *ohms = next;
    }
    changed
}
