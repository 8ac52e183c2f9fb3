//! One instant of the whole circuit: switches, filaments and the motor brought to agree with the network.

use super::assemble::{Assembled, Scene, Slot, Switching, Winding, assemble};
use super::attach::{Attachments, Tap};
use super::chatter::{Chatter, in_order, made_network};
use super::{Rig, RigError};
use crate::circuit::{NodeId, Port, Solution};
use crate::pump::{self, OperatingPoint, Supply};
use crate::vehicle::{ElementId, Law, PartId};

/// The control unit resets below this supply, volts (common practice, no source).
const CONTROL_UNIT_MINIMUM_V: f64 = 6.0;
/// Relative change of a filament's resistance at which it counts as settled.
const FILAMENT_TOLERANCE: f64 = 1e-9;
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
}

impl Settled {
    /// Current through an element from its `from` to its `to`, A.
    pub fn amps(&self, element: ElementId, winding: Option<ElementId>) -> f64 {
        if winding == Some(element) {
            return self.point.amps;
        }
        slot_amps(&self.solution, self.assembled.slots[element.0])
    }
}

fn slot_amps(solution: &Solution, slot: Slot) -> f64 {
    match slot {
        Slot::Branch(index) => solution.branch_amps(index),
        Slot::Source(index) => solution.source_amps(index),
        Slot::Absent => 0.0,
    }
}

/// One instant as anything attached to the vehicle meets it.
pub struct Instant {
    solution: Solution,
    slots: Vec<Slot>,
    own_base: u32,
    winding: Option<ElementId>,
    /// What the pump does.
    pub pump: PumpState,
    /// A relay can neither hold nor drop out: volts and amps are means over its chatter, as a meter shows them; a lamp
    /// flickers, and the relay is heard.
    pub chattering: bool,
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
    /// Flow through the pump outlet, m3/s.
    pub delivered_m3_s: f64,
    /// Flow back to the tank from the regulator, m3/s.
    pub return_m3_s: f64,
    /// The inlet runs dry or boils.
    pub starved: bool,
}

impl Instant {
    pub(super) fn new(
        solution: Solution,
        assembled: &Assembled,
        winding: Option<ElementId>,
        pump: PumpState,
        chattering: bool,
    ) -> Instant {
        Instant {
            solution,
            slots: assembled.slots.clone(),
            own_base: assembled.own_base(),
            winding,
            pump,
            chattering,
        }
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
    /// Brings the circuit to rest with the pump wanted or not.
    pub(super) fn settle(
        &mut self,
        wanted: bool,
        attached: &Attachments,
    ) -> Result<Settled, RigError> {
        let demand = self.demand();
        let (unit, hydraulics) = (self.unit_now(), self.build.hydraulics);
        let (ohms, emf_v) = (self.ohms_now(), self.emf_v());
        let mut switching = Switching {
            commanded: wanted,
            closed: self.closed_relays.clone(),
        };
        let mut filaments: Vec<f64> = attached
            .filaments
            .iter()
            .map(|(_, _, lamp)| lamp.ohms(lamp.volts))
            .collect();
        let mut seen: Vec<Switching> = Vec::new();
        let mut glowed = 0;
        loop {
            let scene = Scene {
                vehicle: &self.vehicle,
                build: &self.build,
                controls: &self.controls,
                ohms: &ohms,
                emf_v,
                switching: &switching,
                attached,
                filament_ohms: &filaments,
            };
            let assembled = assemble(&scene, Winding::Open);
            let pump = &self.vehicle.pump;
            let port = self.solver.port(&assembled.net, pump.plus, pump.minus)?;
            let thevenin = port.thevenin();
            let supply = Supply {
                volts: thevenin.volts,
                ohms: thevenin.ohms,
            };
            let point = pump::operating_point(&unit, &hydraulics, &supply, &demand)?;
            let solution = if point.rad_s == 0.0 {
                // A motor at rest is a plain resistance, which ties both terminals together even in a dead circuit.
                let frozen = Winding::Frozen {
                    ohms: unit.motor.ohms(),
                    emf_v: 0.0,
                };
                self.solver.operate(&assemble(&scene, frozen).net)?
            } else {
                port.loaded(point.amps)
            };
            let next = self.switch(&solution, wanted, &switching);
            if next != switching {
                seen.push(switching.clone());
                // The switched parts follow from the state before alone, so a state that comes again comes for ever.
                let Some(again) = seen.iter().find(|before| **before == next) else {
                    switching = next;
                    continue;
                };
                let (made, broken) = in_order(switching.clone(), again.clone());
                let assembled = made_network(&scene, &made);
                let port = self.solver.port(&assembled.net, pump.plus, pump.minus)?;
                let chatter =
                    Chatter::new(&scene, (&made, &broken), port.thevenin(), unit.motor.ohms());
                let supply = chatter.supply();
                let point = pump::operating_point(&unit, &hydraulics, &supply, &demand)?;
                let solution = chatter.mean(&mut self.solver, point.amps)?;
                if glowed < FILAMENT_ROUNDS && glow(&assembled, &solution, attached, &mut filaments)
                {
                    glowed += 1;
                    seen.clear();
                    continue;
                }
                let chatter = Some(chatter);
                return Ok(Settled {
                    assembled,
                    port,
                    switching: made,
                    chatter,
                    supply,
                    point,
                    solution,
                });
            }
            if glowed < FILAMENT_ROUNDS && glow(&assembled, &solution, attached, &mut filaments) {
                glowed += 1;
                seen.clear();
                continue;
            }
            self.closed_relays.clone_from(&switching.closed);
            return Ok(Settled {
                assembled,
                port,
                switching,
                chatter: None,
                supply,
                point,
                solution,
            });
        }
    }

    /// What the switched parts do next, given the volts they would get.
    fn switch(&self, solution: &Solution, wanted: bool, now: &Switching) -> Switching {
        let mut next = now.clone();
        next.commanded = wanted && self.control_unit_awake(solution);
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
    solution: &Solution,
    attached: &Attachments,
    filaments: &mut [f64],
) -> bool {
    let mut changed = false;
    for (&(a, b, lamp), ohms) in attached.filaments.iter().zip(filaments.iter_mut()) {
        let (a, b) = (assembled.node(a), assembled.node(b));
        let volts = if solution.joined(a, b) {
            solution.volts(a) - solution.volts(b)
        } else {
            0.0
        };
        let next = lamp.ohms(volts);
        changed |= libm::fabs(next - *ohms) > FILAMENT_TOLERANCE * next;
        *ohms = next;
    }
    changed
}
