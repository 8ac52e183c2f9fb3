//! What the tests of a certificate take: minutes, access, and the state the vehicle has to be in.

use super::probe::Probe;
use super::readings::{CHARGED_S, REST_S};
use crate::bay::TIMES;
use crate::circuit::NodeId;
use crate::instrument::LeadSet;
use crate::vehicle::{Kind, PartId, PlaceId, Vehicle, node_index};

/// Work that several tests share, besides access: its bit lies above those of the accesses.
#[derive(Clone, Copy)]
enum Shared {
    Tool,
    Leads,
    Gauge,
    Protection,
}

const SHARED: [(Shared, f64); 4] = [
    (Shared::Tool, TIMES.tool_first),
    (Shared::Leads, TIMES.leads),
    (Shared::Gauge, TIMES.gauge + TIMES.relieve),
    (Shared::Protection, TIMES.protect),
];

/// State a vehicle has to be in: key off, key on, pump commanded, engine running.
type Mode = u8;

/// What a test takes.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Effort {
    /// Minutes of the test itself.
    pub minutes: f64,
    /// Shared work and access it needs, one bit each.
    pub needs: u128,
    /// State it needs.
    pub mode: Mode,
}

/// What has been done so far, as far as costs go.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Done {
    pub works: u128,
    pub mode: Mode,
}

/// What tests of one vehicle take.
pub(super) struct Efforts {
    works: Vec<f64>,
    all: Vec<Effort>,
}

impl Efforts {
    pub fn new(vehicle: &Vehicle, probes: &[Probe]) -> Efforts {
        let mut works: Vec<f64> = vehicle
            .accesses
            .iter()
            .map(|access| access.seconds / 60.0)
            .collect();
        works.extend(SHARED.map(|(_, seconds)| seconds / 60.0));
        let all = probes.iter().map(|&probe| effort(vehicle, probe)).collect();
        Efforts { works, all }
    }

    /// Minutes a test costs as things stand.
    pub fn minutes(&self, probe: usize, done: &Done) -> f64 {
        let effort = &self.all[probe];
        effort.minutes + self.work(effort.needs & !done.works) + change(done.mode, effort.mode)
    }

    /// Minutes of pieces of work.
    pub fn work(&self, mut bits: u128) -> f64 {
        let mut total = 0.0;
        while bits != 0 {
            total += self.works[bits.trailing_zeros() as usize];
            bits &= bits - 1;
        }
        total
    }

    /// How things stand after a test.
    pub fn after(&self, probe: usize, done: &Done) -> Done {
        Done {
            works: done.works | self.all[probe].needs,
            mode: self.all[probe].mode,
        }
    }
}

/// Minutes from one state to another.
fn change(from: Mode, to: Mode) -> f64 {
    let seconds = match (from, to) {
        (a, b) if a == b => 0.0,
        (0, 2) => TIMES.key + TIMES.tool,
        (1, 2) | (2, 1) => TIMES.tool,
        (_, 3) => TIMES.start,
        _ => TIMES.key,
    };
    seconds / 60.0
}

fn effort(vehicle: &Vehicle, probe: Probe) -> Effort {
    let bit = |work: Shared| 1_u128 << (vehicle.accesses.len() + work as usize);
    let (tool, wet) = (bit(Shared::Tool), bit(Shared::Protection));
    let at = |part: PartId| reach(vehicle, vehicle.parts[part.0].place);
    let kind = |kind: Kind| {
        let found = vehicle.parts.iter().find(|part| part.kind == kind);
        found.map_or(0, |part| reach(vehicle, part.place))
    };
    let place = |node: NodeId| {
        let touch = vehicle.nodes[node_index(node)].touch;
        touch.map_or(vehicle.seat, |touch| touch.place)
    };
    let home = place(vehicle.reference);
    let volts = TIMES.read + TIMES.tip;
    let port = bit(Shared::Gauge) | wet | kind(Kind::Injectors);
    let (seconds, needs, mode) = match probe {
        Probe::Volts { point, pump } => {
            let there = place(point);
            let far = distance_m(vehicle, there, home) > 2.0 * LeadSet::STANDARD_REACH_M;
            let leads = if far { bit(Shared::Leads) } else { 0 };
            let both = reach(vehicle, there) | reach(vehicle, home) | leads;
            let tool = if pump { tool } else { 0 };
            (volts, both | tool, if pump { 2 } else { 1 })
        }
        Probe::Amps(wire) => (TIMES.clamp + TIMES.read, at(wire) | tool, 2),
        Probe::Listen | Probe::ListenLift => (TIMES.listen, tool, 2),
        Probe::LiftPressure(line) => (1.5 * TIMES.tee + TIMES.read, tool | wet | at(line), 2),
        Probe::Pressure => (TIMES.read, tool | port, 2),
        Probe::DeadHead(line) => (TIMES.pinch + TIMES.read, tool | port | at(line), 2),
        Probe::Held => (REST_S + TIMES.read, tool | port, 0),
        Probe::HeldPinched(line) => (REST_S + TIMES.pinch + TIMES.read, tool | port | at(line), 0),
        // Half a minute of catching.
        Probe::Flow => {
            let line = vehicle.flow_part().map_or(0, at);
            (TIMES.flow + 30.0, tool | wet | line, 2)
        }
        // The line is relieved first, and the service tool has to be there for the catch alone.
        Probe::FeedFlow => (
            TIMES.relieve + TIMES.feed + TIMES.tool + 30.0,
            tool | wet | kind(Kind::Injectors),
            1,
        ),
        Probe::Charging => (CHARGED_S + volts, reach(vehicle, home), 3),
        Probe::Cranking => (volts, reach(vehicle, home), 1),
        Probe::Joints(part) => (2.0 * TIMES.plug + TIMES.open.0, at(part), 0),
        Probe::Heated(part) => (TIMES.open.1 + TIMES.hob, at(part) | wet, 0),
        Probe::Restriction(part) => (TIMES.open.1 + TIMES.relieve, at(part) | wet, 0),
        Probe::Swapped {
            at: point,
            relays: (a, b),
        } => {
            let works = at(a) | at(b) | reach(vehicle, place(point)) | reach(vehicle, home);
            (2.0 * TIMES.swap + volts, works | tool, 2)
        }
        Probe::StillFed { at: point, out } => {
            let works = at(out) | reach(vehicle, place(point)) | reach(vehicle, home);
            (2.0 * TIMES.plug + volts, works, 0)
        }
        Probe::BackUp { at: point, out } => {
            let works = at(out) | reach(vehicle, place(point)) | reach(vehicle, home);
            (2.0 * TIMES.plug + volts, works, 3)
        }
        // Read while somebody turns the key.
        Probe::WhileCranking(point) => (
            volts,
            reach(vehicle, place(point)) | reach(vehicle, home),
            1,
        ),
        Probe::LampFed { point, unplugged } => {
            let works = reach(vehicle, place(point)) | at(unplugged) | reach(vehicle, home);
            (2.0 * TIMES.plug + TIMES.clamp + volts, works, 0)
        }
        Probe::Glass => (TIMES.sample, kind(Kind::Line) | wet, 0),
        Probe::Drive => (TIMES.drive, 0, 0),
    };
    Effort {
        minutes: seconds / 60.0,
        needs,
        mode,
    }
}

fn reach(vehicle: &Vehicle, place: PlaceId) -> u128 {
    let order = vehicle.access_order(&vehicle.places[place.0].needs);
    order.iter().fold(0, |bits, access| bits | 1 << access.0)
}

fn distance_m(vehicle: &Vehicle, a: PlaceId, b: PlaceId) -> f64 {
    let (a, b) = (vehicle.places[a.0].at_m, vehicle.places[b.0].at_m);
    let squares = a.iter().zip(&b).map(|(a, b)| (a - b) * (a - b));
    squares.sum::<f64>().sqrt()
}
