//! From a vehicle as it stands to the network that is solved.

use std::collections::BTreeSet;

use super::attach::{Attachments, Tap};
use super::control::Controls;
use super::stage::{FrozenStage, Module, Ripple, place_stage};
use crate::circuit::{Branch, CircuitError, Network, NodeId, Port, Solution, Solver, Source};
use crate::vehicle::{Build, Element, ElementId, Key, Kind, Law, PartId, PumpPart, Vehicle};

/// Tag of branches and sources that belong to no part: instruments and their leads.
pub const TAG_ATTACHED: u32 = u32::MAX;
/// Tag of a jumper wire.
pub const TAG_JUMPER: u32 = u32::MAX - 1;

/// What the switched parts are doing; found by solving, not set by anybody.
#[derive(Clone, PartialEq, Debug, Default)]
#[expect(clippy::struct_excessive_bools, reason = "each is a switch of its own")]
pub struct Switching {
    /// The control unit pulls the relay coil down.
    pub commanded: bool,
    /// Relays whose contact is closed, and driver modules that run.
    pub closed: BTreeSet<PartId>,
    /// The control unit is awake and feeds its sensors; looked at only where it has any.
    pub awake: bool,
    /// The alternator's rectifier conducts: it never takes current, however low its regulator is set.
    pub charging: bool,
    /// Something else holds a running driver module's output above its own mean, so that its freewheeling path blocks.
    pub output_held: bool,
}

/// Where an element went in the network.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Slot {
    /// The branch of this index.
    Branch(usize),
    /// The source of this index.
    Source(usize),
    /// Left out: open, or (the winding) solved against the rest.
    Absent,
}

/// A network with the way back from elements to branches.
#[derive(Clone)]
pub struct Assembled {
    pub net: Network,
    pub slots: Vec<Slot>,
    pub module: Module,
    own_base: u32,
}

impl Assembled {
    /// The whole network's solution, a running stage included.
    pub fn solve(&self, solver: &mut Solver) -> Result<Solution, CircuitError> {
        let Module::Averaged(stage) = &self.module else {
            return solver.operate(&self.net);
        };
        let ends = self.net.branches()[stage.freewheel];
        let seen = solver.port_through(&self.net, (ends.to, ends.from), stage)?;
        Ok(seen.port.unloaded().clone())
    }

    /// What two nodes see of the network, and by how much a volt at a running stage's output moves each node.
    pub fn port(
        &self,
        solver: &mut Solver,
        a: NodeId,
        b: NodeId,
    ) -> Result<(Port, Option<Ripple>), CircuitError> {
        let Module::Averaged(stage) = &self.module else {
            return Ok((solver.port(&self.net, a, b)?, None));
        };
        let seen = solver.port_through(&self.net, (a, b), stage)?;
        Ok((seen.port, Some(self.ripple(stage, seen.ripple))))
    }

    /// First network node that belongs to the attachments.
    pub fn own_base(&self) -> u32 {
        self.own_base
    }

    /// The network node of a terminal.
    pub fn node(&self, tap: Tap) -> NodeId {
        node_of(self.own_base, tap)
    }
}

pub(super) fn node_of(own_base: u32, tap: Tap) -> NodeId {
    match tap {
        Tap::Node(node) => node,
        // Attachments hold a handful of nodes, so the number fits.
        Tap::Own(number) => NodeId(own_base + u32::try_from(number).unwrap_or(u32::MAX - own_base)),
    }
}

/// How a pump's winding stands in the network.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Winding {
    /// Left open: the motor is solved against the rest.
    Open,
    /// A resistance followed by the back-EMF, both held.
    Frozen {
        /// Winding and brushes, ohm.
        ohms: f64,
        /// Back-EMF, V.
        emf_v: f64,
    },
}

/// Everything the network is made from.
#[derive(Clone, Copy)]
pub struct Scene<'a> {
    pub vehicle: &'a Vehicle,
    pub build: &'a Build,
    pub controls: &'a Controls,
    /// Resistance of each element at its present temperature, ohm.
    pub ohms: &'a [f64],
    /// What the battery offers at no load, V.
    pub emf_v: f64,
    /// The engine's oil pressure is up.
    pub oil_pressure: bool,
    /// Share of the cycle that a driver module is asked for.
    pub duty: f64,
    /// A driver module held as it stands, instead of averaged.
    pub frozen_stage: Option<FrozenStage>,
    /// Volts a pressure sensor puts out at no load.
    pub signal_v: f64,
    pub switching: &'a Switching,
    /// How a lift pump's winding stands.
    pub lift: Winding,
    pub attached: &'a Attachments,
    pub filament_ohms: &'a [f64],
}

/// Builds the network.
pub fn assemble(scene: &Scene<'_>, winding: Winding) -> Assembled {
    let Scene {
        vehicle,
        build,
        controls,
        attached,
        ..
    } = *scene;
    let mut net = Network::new(vehicle.reference);
    while net.node_count() < vehicle.nodes.len() {
        net.add_node();
    }
    // Vehicles have some dozens of nodes; node ids are u32 throughout.
    let own_base = u32::try_from(net.node_count()).unwrap_or(u32::MAX);
    for _ in 0..attached.own_nodes {
        net.add_node();
    }
    let mut slots = Vec::with_capacity(vehicle.elements.len());
    let mut module = Module::Idle;
    for (index, element) in vehicle.elements.iter().enumerate() {
        let id = ElementId(index);
        slots.push(
            if controls.unplugged.contains(&element.part) && !stays(vehicle, element) {
                Slot::Absent
            } else {
                place(&mut net, scene, id, element, &mut module)
            },
        );
    }
    for short in &build.shorts {
        let (from, to) = (short.node, short.to_body_node);
        net.add_branch(Branch {
            from,
            to,
            ohms: short.ohms,
            tag: tag(short.part),
        });
    }
    if let Some(jumper) = controls.jumper {
        net.add_branch(Branch {
            from: jumper.a,
            to: jumper.b,
            ohms: jumper.ohms,
            tag: TAG_JUMPER,
        });
    }
    for &(a, b, ohms) in &attached.resistors {
        let (from, to) = (node_of(own_base, a), node_of(own_base, b));
        net.add_branch(Branch {
            from,
            to,
            ohms,
            tag: TAG_ATTACHED,
        });
    }
    for &(minus, plus, volts, ohms) in &attached.sources {
        let (from, to) = (node_of(own_base, minus), node_of(own_base, plus));
        net.add_source(Source {
            from,
            to,
            volts,
            ohms,
            tag: TAG_ATTACHED,
        });
    }
    for (&(a, b, _), &ohms) in attached.filaments.iter().zip(scene.filament_ohms) {
        let (from, to) = (node_of(own_base, a), node_of(own_base, b));
        net.add_branch(Branch {
            from,
            to,
            ohms,
            tag: TAG_ATTACHED,
        });
    }
    // The winding comes last, so that every other branch has the same index with and without it.
    let lift = vehicle.lift.as_ref().map(|lift| &lift.pump);
    for (pump, winding) in lift
        .map(|pump| (pump, scene.lift))
        .into_iter()
        .chain([(&vehicle.pump, winding)])
    {
        if let Winding::Frozen { ohms, emf_v } = winding {
            add_winding(&mut net, vehicle, pump, (ohms, emf_v), &mut slots);
        }
    }
    Assembled {
        net,
        slots,
        module,
        own_base,
    }
}

/// What stays in the vehicle when a part is taken out: the terminals of a fuse's place.
fn stays(vehicle: &Vehicle, element: &Element) -> bool {
    vehicle.parts[element.part.0].kind == Kind::Fuse && matches!(element.law, Law::Contact { .. })
}

fn add_winding(
    net: &mut Network,
    vehicle: &Vehicle,
    pump: &PumpPart,
    (ohms, emf_v): (f64, f64),
    slots: &mut [Slot],
) {
    let tag = tag(pump.part);
    let branch = net.add_branch(Branch {
        from: pump.plus,
        to: pump.inner,
        ohms,
        tag,
    });
    net.add_source(Source {
        from: pump.minus,
        to: pump.inner,
        volts: emf_v,
        ohms: 0.0,
        tag,
    });
    if let Some(element) = vehicle.winding(pump) {
        slots[element.0] = Slot::Branch(branch);
    }
}

/// The tag by which a part is found again in a solved network.
pub fn tag(part: PartId) -> u32 {
    u32::try_from(part.0).unwrap_or(TAG_JUMPER - 1)
}

fn place(
    net: &mut Network,
    scene: &Scene<'_>,
    id: ElementId,
    element: &Element,
    module: &mut Module,
) -> Slot {
    let Scene {
        build,
        controls,
        switching,
        ..
    } = *scene;
    let own = scene.ohms[id.0];
    let when = |closed: bool| if closed { own } else { f64::INFINITY };
    let tag = tag(element.part);
    let branch = |net: &mut Network, ohms| {
        Slot::Branch(net.add_branch(Branch {
            from: element.from,
            to: element.to,
            ohms,
            tag,
        }))
    };
    let source = |volts| Source {
        from: element.from,
        to: element.to,
        volts,
        ohms: own,
        tag,
    };
    let ohms = match element.law {
        Law::Contact { .. } | Law::Metal { .. } | Law::Copper { .. } | Law::Coil { .. } => own,
        Law::Fuse { .. } => when(!build.fuse_blown.contains(&id)),
        Law::Switch { closed, .. } => when(closed.contains(controls.key)),
        Law::OilSwitch { .. } => when(scene.oil_pressure || build.stuck_closed.contains(&id)),
        Law::Load { on, .. } => when(on.contains(controls.key)),
        Law::Starter { .. } => when(controls.key == Key::Crank),
        // These switch within one state of the circuit, so they keep their place in the network when open.
        Law::RelayContact { .. } => {
            let closed = switching.closed.contains(&element.part);
            return branch(net, when(closed || build.stuck_closed.contains(&id)));
        }
        Law::Driver { .. } => return branch(net, when(switching.commanded && !build.driver_dead)),
        Law::Battery { .. } => return Slot::Source(net.add_source(source(scene.emf_v))),
        Law::Alternator { .. } => {
            if controls.key != Key::Run {
                return Slot::Absent;
            }
            // Its place in the network is kept while the rectifier blocks.
            return Slot::Source(net.add_source(Source {
                ohms: when(switching.charging),
                ..source(build.alternator_v)
            }));
        }
        Law::Chopper { common, .. } => {
            return place_stage(net, scene, element, own, common, module);
        }
        Law::Signal { .. } => {
            if own.is_finite() {
                return Slot::Source(net.add_source(source(scene.signal_v)));
            }
            return Slot::Absent;
        }
        Law::Reference { volts, .. } => {
            if !switching.awake {
                return Slot::Absent;
            }
            return Slot::Source(net.add_source(source(volts)));
        }
        Law::Winding => return Slot::Absent,
    };
    if ohms.is_finite() {
        branch(net, ohms)
    } else {
        Slot::Absent
    }
}
