//! The true voltages and currents along the loop with no instrument connected.

use super::assemble::{Assembled, Scene, Slot, Winding, assemble};
use super::attach::Attachments;
use super::settle::PumpState;
use super::{LiftState, Pair, Rig, RigError};
use crate::circuit::{self, Network, NodeId, Solution};
use crate::pump::{Demand, Hydraulics, OperatingPoint, PumpUnit, Supply};
use crate::units::Flow;
use crate::vehicle::{Key, Law, LiftPump, PartId, Vehicle};

/// Which moment of a state is shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Moment {
    /// The end of the prime (or of cranking), from rest.
    Prime,
    /// Everything has come to rest or to a steady run.
    Settled,
}

/// A branch that stands in the connected circuit.
#[derive(Clone, PartialEq, Debug)]
pub struct Branch {
    /// Part it belongs to.
    pub part: String,
    /// Kind of part, as in the vehicle file.
    pub kind: &'static str,
    /// Node the current is counted from.
    pub from: String,
    /// Node the current is counted to.
    pub to: String,
    /// Resistance, ohm.
    pub ohms: f64,
    /// Current from `from` to `to`, A.
    pub amps: f64,
}

/// A source in the connected circuit.
#[derive(Clone, PartialEq, Debug)]
pub struct LadderSource {
    /// Part it belongs to.
    pub part: String,
    /// Negative node.
    pub from: String,
    /// Positive node.
    pub to: String,
    /// `to` minus `from` at no load, V.
    pub volts: f64,
    /// Series resistance, ohm.
    pub ohms: f64,
    /// Current leaving `to`, A.
    pub amps: f64,
}

/// A pump in the circuit.
#[derive(Clone, PartialEq, Debug)]
pub struct LadderPump {
    /// Part.
    pub part: String,
    /// Motor current, A.
    pub amps: f64,
    /// Speed, revolutions a minute.
    pub rpm: f64,
    /// Gauge pressure at the rail, or at the pump's outlet where there is none or it is a lift pump's, kPa.
    pub kpa: f64,
    /// Flow through the pump's outlet, L/h.
    pub lph: f64,
}

/// What a pump's steady point was solved from, so that another program can solve it again.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SolvedPump {
    /// Motor and element as warm as they are.
    pub unit: PumpUnit,
    /// The fuel's way.
    pub hydraulics: Hydraulics,
    /// What the terminals see of the circuit.
    pub supply: Supply,
    /// What the engine takes.
    pub demand: Demand,
}

/// What the steady points of a pair of pumps were solved from, and the lift pump's own.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SolvedLift {
    /// The lift pump as warm as it is, and its way.
    pub lift: LiftPump,
    /// Its steady point.
    pub point: OperatingPoint,
    /// What reaches the main pump by it or past it, m3/s.
    pub brought_m3_s: f64,
    /// The network as both windings saw it.
    pub pair: Pair,
}

/// The frozen linear network of one moment and its solution.
pub struct Ladder {
    /// Every node of the connected circuit with its volts against the reference, in the vehicle's order.
    pub nodes: Vec<(String, f64)>,
    /// Every closed branch between such nodes.
    pub branches: Vec<Branch>,
    /// Every source between such nodes.
    pub sources: Vec<LadderSource>,
    /// Every pump.
    pub pumps: Vec<LadderPump>,
    /// Nodes with no conducting path to the reference.
    pub floating: Vec<String>,
    /// The reference node.
    pub reference: String,
    /// The steady point the pump tends to or stands at, all of its flows and pressures.
    pub point: OperatingPoint,
    /// What that point was solved from.
    pub solved: SolvedPump,
    /// The lift pump of a vehicle with two.
    pub lift: Option<SolvedLift>,
    /// A relay chatters; the network is then the made state with the mean current in it.
    pub chattering: bool,
    net: Network,
    names: Vec<String>,
}

impl Ladder {
    /// The same frozen network as a deck any SPICE reads.
    #[must_use]
    pub fn spice(&self, title: &str) -> String {
        // Every node of the network is a node of the vehicle, so that its name exists.
        circuit::spice_deck(&self.net, title, &|node: NodeId| {
            self.names[node.0 as usize].clone()
        })
    }

    /// The frozen network itself.
    #[must_use]
    pub fn network(&self) -> &Network {
        &self.net
    }
}

impl Rig {
    /// Puts the vehicle, fresh from the yard, into a state and tells the truth about it.
    pub fn ladder(mut self, key: Key, pump_on: bool, moment: Moment) -> Result<Ladder, RigError> {
        let none = Attachments::none();
        self.controls.key = key;
        self.controls.tool_commands_pump = pump_on && key == Key::On;
        let wanted = self.pump_wanted();
        let (pump, delivered) = if let (Key::On | Key::Crank, Moment::Prime) = (key, moment) {
            let engine = &self.vehicle.engine;
            let seconds = if key == Key::On {
                self.vehicle.prime_seconds
            } else {
                engine.crank_seconds
            };
            let (phase, _) = self.drive_pump(seconds, false, &none)?;
            (phase.end(), phase.end().delivered_m3_s)
        } else {
            self.wait(60.0, &none)?;
            let settled = self.settle(wanted, &none)?;
            let state = PumpState {
                amps: settled.point.amps,
                rad_s: settled.point.rad_s,
                rail_pa: if settled.point.rad_s == 0.0 {
                    self.rail_pa
                } else {
                    settled.point.rail_pa
                },
                outlet_pa: settled.point.outlet_pa,
                ..PumpState::default()
            };
            (state, settled.point.delivered_m3_s)
        };
        let driven = wanted || moment == Moment::Prime && key == Key::On;
        self.freeze(driven, &pump, delivered)
    }

    fn freeze(
        &mut self,
        driven: bool,
        pump: &PumpState,
        delivered_m3_s: f64,
    ) -> Result<Ladder, RigError> {
        let none = Attachments::none();
        let settled = self.settle(driven, &none)?;
        let solved = SolvedPump {
            unit: self.unit_now(),
            hydraulics: LiftState::feeds(settled.lift_state().as_ref(), self.hydraulics_now()),
            supply: settled.supply,
            demand: self.demand(),
        };
        let now = self.lift_now();
        let motor = &solved.unit.motor;
        let (present_ohms, battery_v) = (self.ohms_now(), self.emf_v());
        // Thrown to and fro, it carries the mean of its pulses.
        let stands = pump.rad_s == 0.0 && settled.point.rad_s == 0.0 && settled.chatter.is_none();
        let amps = if stands {
            settled.point.amps
        } else {
            pump.amps
        };
        let loaded = settled.port.loaded(amps);
        let (ohms, emf_v) = if stands {
            motor.at_rest(&settled.supply, amps)
        } else {
            let (plus, minus) = (self.vehicle.pump.plus, self.vehicle.pump.minus);
            let terminals_v = loaded.volts(plus) - loaded.volts(minus);
            (motor.ohms(), terminals_v - amps * motor.ohms())
        };
        let scene = Scene {
            vehicle: &self.vehicle,
            build: &self.build,
            controls: &self.controls,
            ohms: &present_ohms,
            emf_v: battery_v,
            oil_pressure: self.oil_pressure(),
            duty: settled.duty,
            frozen_stage: settled.assembled.frozen_stage(&loaded),
            signal_v: settled.signal_v,
            switching: &settled.switching,
            lift: settled.lift.map_or(Winding::Open, |lift| lift.winding),
            attached: &none,
            filament_ohms: &[],
        };
        let frozen = assemble(&scene, Winding::Frozen { ohms, emf_v });
        let solution = self.solver.operate(&frozen.net)?;
        let vehicle = &self.vehicle;
        let names: Vec<String> = vehicle.nodes.iter().map(|node| node.name.clone()).collect();
        let name = |node: NodeId| names[node.0 as usize].clone();
        let part = |id: PartId| vehicle.parts[id.0].id.clone();
        let lifting = vehicle.lift.as_ref().zip(settled.lift.as_ref());
        let lifted = lifting.map(|(lift, found)| LadderPump {
            part: part(lift.pump.part),
            // As the network told of carries it: while a relay chatters, that of its made state.
            amps: vehicle.winding(&lift.pump).map_or(0.0, |winding| {
                super::settle::slot_amps(&solution, frozen.slots[winding.0]) + 0.0
            }),
            rpm: found.state.rad_s * 60.0 / core::f64::consts::TAU,
            kpa: found.state.outlet_pa / 1000.0,
            lph: Flow(found.point.delivered_m3_s).litres_an_hour() + 0.0,
        });
        let lift = settled.lift.zip(now).map(|(found, lift)| SolvedLift {
            lift,
            point: found.point,
            brought_m3_s: found.state.brought_m3_s,
            pair: found.pair,
        });
        let (branches, sources) = listed(vehicle, &frozen, &solution, &names);
        let (floating, grounded): (Vec<usize>, Vec<usize>) =
            (0..names.len()).partition(|&index| solution.floating(node_id(index)));
        Ok(Ladder {
            nodes: grounded
                .into_iter()
                .map(|index| (names[index].clone(), solution.volts(node_id(index))))
                .collect(),
            branches,
            sources,
            pumps: vec![LadderPump {
                part: part(vehicle.pump.part),
                amps,
                rpm: pump.rad_s * 60.0 / core::f64::consts::TAU,
                // A closed loop has no rail: what its pump works against.
                kpa: if vehicle.hydraulics.closed_loop {
                    pump.outlet_pa
                } else {
                    pump.rail_pa
                } / 1000.0,
                // Adding zero takes the sign off a negative zero.
                lph: Flow(delivered_m3_s).litres_an_hour() + 0.0,
            }]
            .into_iter()
            .chain(lifted)
            .collect(),
            floating: floating
                .into_iter()
                .map(|index| names[index].clone())
                .collect(),
            reference: name(vehicle.reference),
            point: settled.point,
            solved,
            lift,
            chattering: settled.chatter.is_some(),
            net: frozen.net,
            names,
        })
    }
}

/// Everything that carries current, and everything that drives it.
fn listed(
    vehicle: &Vehicle,
    frozen: &Assembled,
    solution: &Solution,
    names: &[String],
) -> (Vec<Branch>, Vec<LadderSource>) {
    let name = |node: NodeId| names[node.0 as usize].clone();
    let kinds = BranchKinds { vehicle };
    let connected = |a: NodeId, b: NodeId| !solution.floating(a) && !solution.floating(b);
    let branches = frozen
        .net
        .branches()
        .iter()
        .enumerate()
        .filter(|(_, branch)| branch.ohms.is_finite() && connected(branch.from, branch.to))
        .map(|(index, branch)| Branch {
            part: kinds.part(branch.tag),
            kind: kinds.kind(branch.tag, &frozen.slots, index),
            from: name(branch.from),
            to: name(branch.to),
            ohms: branch.ohms,
            amps: solution.branch_amps(index),
        })
        .collect();
    let sources = frozen
        .net
        .sources()
        .iter()
        .enumerate()
        .filter(|(_, source)| source.ohms.is_finite() && connected(source.from, source.to))
        .map(|(index, source)| LadderSource {
            part: kinds.part(source.tag),
            from: name(source.from),
            to: name(source.to),
            volts: source.volts,
            ohms: source.ohms,
            amps: solution.source_amps(index),
        })
        .collect();
    (branches, sources)
}

fn node_id(index: usize) -> NodeId {
    // Vehicles hold some dozens of nodes; the loader refuses more than u32 can number.
    NodeId(u32::try_from(index).unwrap_or(u32::MAX))
}

struct BranchKinds<'a> {
    vehicle: &'a Vehicle,
}

impl BranchKinds<'_> {
    fn part(&self, tag: u32) -> String {
        self.vehicle
            .parts
            .get(tag as usize)
            .map_or_else(|| "jumper".to_owned(), |part| part.id.clone())
    }

    fn kind(&self, tag: u32, slots: &[Slot], branch: usize) -> &'static str {
        let element = slots.iter().position(|slot| *slot == Slot::Branch(branch));
        match element.map(|index| self.vehicle.elements[index].law) {
            Some(Law::Winding) => "winding",
            Some(Law::Coil { .. }) => "coil",
            Some(Law::RelayContact { .. }) => "relay-contact",
            Some(Law::Driver { .. } | Law::Chopper { .. }) => "driver",
            Some(Law::Contact { .. }) => "contact",
            None if self.vehicle.parts.get(tag as usize).is_some() => "short",
            _ => self
                .vehicle
                .parts
                .get(tag as usize)
                .map_or("jumper", |part| part.kind.name()),
        }
    }
}
