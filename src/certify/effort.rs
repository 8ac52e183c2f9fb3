//! What the tests of a certificate take: minutes, access, and the state the vehicle has to be in.

use super::probe::Probe;
use super::readings::{CHARGED_S, REST_S};
use crate::bay::{Mode, TIMES};
use crate::circuit::NodeId;
use crate::instrument::LeadSet;
use crate::vehicle::{Kind, PartId, Vehicle};

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

/// What a test takes.
struct Effort {
    /// Minutes of the test itself.
    minutes: f64,
    /// Shared work and access it needs, one bit each.
    needs: u128,
    /// State it needs.
    mode: Mode,
}

/// What has been done so far, as far as costs go.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub(super) struct Done {
    pub works: u128,
    mode: Mode,
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
        let switching = done.mode.switching(effort.mode) / 60.0;
        effort.minutes + self.work(effort.needs & !done.works) + switching
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

fn effort(vehicle: &Vehicle, probe: Probe) -> Effort {
    let bit = |work: Shared| 1_u128 << (vehicle.accesses.len() + work as usize);
    let (tool, wet) = (bit(Shared::Tool), bit(Shared::Protection));
    let at = |part: PartId| vehicle.access_bits(vehicle.parts[part.0].place);
    let kind = |kind: Kind| {
        let found = vehicle.parts.iter().find(|part| part.kind == kind);
        found.map_or(0, |part| vehicle.access_bits(part.place))
    };
    let home = vehicle.place_of(vehicle.reference);
    let at_home = vehicle.access_bits(home);
    let from_home = |node: NodeId| vehicle.access_bits(vehicle.place_of(node)) | at_home;
    let volts = TIMES.read + TIMES.tip;
    let port = bit(Shared::Gauge) | wet | kind(Kind::Injectors);
    let (seconds, needs, mode) = match probe {
        Probe::Volts { point, pump } => {
            let far =
                vehicle.distance_m(vehicle.place_of(point), home) > 2.0 * LeadSet::STANDARD_REACH_M;
            let leads = if far { bit(Shared::Leads) } else { 0 };
            let both = from_home(point) | leads;
            let (tool, mode) = if pump {
                (tool, Mode::Pumping)
            } else {
                (0, Mode::KeyOn)
            };
            (volts, both | tool, mode)
        }
        Probe::Amps(wire) => (TIMES.clamp + TIMES.read, at(wire) | tool, Mode::Pumping),
        Probe::Listen | Probe::ListenLift => (TIMES.listen, tool, Mode::Pumping),
        Probe::LiftPressure(line) => (
            1.5 * TIMES.tee + TIMES.read,
            tool | wet | at(line),
            Mode::Pumping,
        ),
        Probe::Pressure => (TIMES.read, tool | port, Mode::Pumping),
        Probe::DeadHead(line) => (
            TIMES.pinch + TIMES.read,
            tool | port | at(line),
            Mode::Pumping,
        ),
        Probe::Held => (REST_S + TIMES.read, tool | port, Mode::KeyOff),
        Probe::HeldPinched(line) => (
            REST_S + TIMES.pinch + TIMES.read,
            tool | port | at(line),
            Mode::KeyOff,
        ),
        Probe::Flow => {
            let line = vehicle.flow_part().map_or(0, at);
            (TIMES.flow + TIMES.catch, tool | wet | line, Mode::Pumping)
        }
        // The line is relieved first, and the service tool has to be there for the catch alone.
        Probe::FeedFlow => (
            TIMES.relieve + TIMES.feed + TIMES.tool + TIMES.catch,
            tool | wet | kind(Kind::Injectors),
            Mode::KeyOn,
        ),
        Probe::Charging => (CHARGED_S + volts, at_home, Mode::Running),
        Probe::Cranking => (volts, at_home, Mode::KeyOn),
        Probe::Joints(part) => (2.0 * TIMES.plug + TIMES.open.0, at(part), Mode::KeyOff),
        Probe::Heated(part) => (TIMES.open.1 + TIMES.hob, at(part) | wet, Mode::KeyOff),
        Probe::Restriction(part) => (TIMES.open.1 + TIMES.relieve, at(part) | wet, Mode::KeyOff),
        Probe::Swapped {
            at: point,
            relays: (a, b),
        } => {
            let works = at(a) | at(b) | from_home(point);
            (2.0 * TIMES.swap + volts, works | tool, Mode::Pumping)
        }
        Probe::StillFed { at: point, out } => {
            let works = at(out) | from_home(point);
            (2.0 * TIMES.plug + volts, works, Mode::KeyOff)
        }
        Probe::BackUp { at: point, out } => {
            let works = at(out) | from_home(point);
            (2.0 * TIMES.plug + volts, works, Mode::Running)
        }
        // Read while somebody turns the key.
        Probe::WhileCranking(point) => (volts, from_home(point), Mode::KeyOn),
        Probe::LampFed { point, unplugged } => {
            let works = at(unplugged) | from_home(point);
            (2.0 * TIMES.plug + TIMES.clamp + volts, works, Mode::KeyOff)
        }
        Probe::Glass => (TIMES.sample, kind(Kind::Line) | wet, Mode::KeyOff),
        Probe::Drive => (TIMES.drive, 0, Mode::KeyOff),
    };
    Effort {
        minutes: seconds / 60.0,
        needs,
        mode,
    }
}
