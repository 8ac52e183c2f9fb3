//! Work that is done once and then there for all that follows, as bits with their cost; and what tests need of it.

use super::problem::Test;
use super::reference::Probe;
use super::repairs::{Cure, Repairs};
use super::track::Standing;
use crate::bay::{Mode, PUTTING_BACK_SHARE, TIMES};
use crate::instrument::LeadSet;
use crate::vehicle::{AccessHazard, Kind, Vehicle};

/// Shared work of one problem. The bits: access, then what is fitted once, then repairs.
pub(super) struct Works {
    accesses: usize,
    /// Repairs that have a bit, by their place in [`Repairs::all`].
    repairs: Vec<usize>,
    /// Minutes of each.
    pub minutes: Vec<f64>,
}

impl Works {
    const TOOL: usize = 0;
    const LEADS: usize = 1;
    const GAUGE: usize = 2;
    const PROTECTION: usize = 3;
    const FITTED: usize = 4;

    pub fn of(vehicle: &Vehicle, all: &Repairs, repairs: Vec<usize>) -> Works {
        let mut minutes: Vec<f64> = vehicle
            .accesses
            .iter()
            .map(|access| {
                let safety = match access.hazard {
                    AccessHazard::None => 0.0,
                    AccessHazard::RaisesVehicle => TIMES.stands,
                    AccessHazard::OpensTank => TIMES.relieve + 2.0 * TIMES.isolate,
                };
                (access.seconds * (1.0 + PUTTING_BACK_SHARE) + safety) / 60.0
            })
            .collect();
        let fitted = [
            TIMES.tool_first,
            TIMES.leads,
            TIMES.gauge * 1.5 + TIMES.relieve,
            TIMES.protect,
        ];
        minutes.extend(fitted.map(|seconds| seconds / 60.0));
        minutes.extend(repairs.iter().map(|&repair| all.all()[repair].minutes));
        Works {
            accesses: vehicle.accesses.len(),
            repairs,
            minutes,
        }
    }

    fn fitted(&self, work: usize) -> u128 {
        1 << (self.accesses + work)
    }

    /// What a repair needs: access, and the work itself.
    pub fn of_repair(&self, all: &Repairs, repair: usize) -> u128 {
        let access = all.all()[repair]
            .needs
            .iter()
            .fold(0, |bits, access| bits | 1 << access.0);
        let place = self.repairs.iter().position(|&known| known == repair);
        access | place.map_or(0, |place| 1 << (self.accesses + Self::FITTED + place))
    }

    /// What is done already.
    pub fn done(&self, all: &Repairs, standing: &Standing) -> u128 {
        let mut bits = standing
            .accesses
            .iter()
            .fold(0, |bits, access| bits | 1 << access.0);
        let ready = standing.ready;
        for (work, there) in [
            (Self::TOOL, ready.tool),
            (Self::LEADS, ready.leads),
            (Self::GAUGE, ready.gauge),
            (Self::PROTECTION, ready.protection),
        ] {
            if there {
                bits |= self.fitted(work);
            }
        }
        for &done in &standing.done {
            bits |= self.of_cure(all, done);
        }
        bits
    }

    fn of_cure(&self, all: &Repairs, done: Cure) -> u128 {
        let place = all
            .position(done)
            .and_then(|repair| self.repairs.iter().position(|&known| known == repair));
        place.map_or(0, |place| 1 << (self.accesses + Self::FITTED + place))
    }

    /// Minutes of work that is needed and not done.
    pub fn missing(&self, needs: u128, done: u128) -> f64 {
        let left = |bit: &usize| needs >> bit & 1 == 1 && done >> bit & 1 == 0;
        (0..self.minutes.len())
            .filter(left)
            .map(|bit| self.minutes[bit])
            .sum()
    }

    /// A probe as a test with its outcomes.
    pub fn test(&self, vehicle: &Vehicle, all: &Repairs, probe: Probe, outcomes: Vec<u8>) -> Test {
        let tool = self.fitted(Self::TOOL);
        let commanded = |pump: bool| {
            if pump {
                (tool, Mode::Pumping)
            } else {
                (0, Mode::KeyOn)
            }
        };
        let (seconds, needs, mode) = match probe {
            Probe::Volts { point, pump } => {
                let place = vehicle.place_of(point);
                let home = vehicle.place_of(vehicle.reference);
                let far = vehicle.distance_m(place, home) > 2.0 * LeadSet::STANDARD_REACH_M;
                let leads = if far { self.fitted(Self::LEADS) } else { 0 };
                let (tool, mode) = commanded(pump);
                let both = vehicle.access_bits(place) | vehicle.access_bits(home) | leads;
                // A tip that shows next to nothing is placed anew about every other time.
                (TIMES.read + 1.5 * TIMES.tip, both | tool, Some(mode))
            }
            Probe::Current(part) => {
                let needs = tool | vehicle.access_bits(vehicle.parts[part.0].place);
                (
                    TIMES.clamp + TIMES.read + TIMES.zero,
                    needs,
                    Some(Mode::Pumping),
                )
            }
            Probe::Listen => (TIMES.listen, tool, Some(Mode::Pumping)),
            Probe::Look(part) => (
                TIMES.look,
                vehicle.access_bits(vehicle.parts[part.0].place),
                None,
            ),
            Probe::Pressure => {
                let gauge = self.fitted(Self::GAUGE) | self.fitted(Self::PROTECTION);
                (
                    TIMES.read,
                    tool | gauge | reach_kind(vehicle, Kind::Injectors),
                    Some(Mode::Pumping),
                )
            }
            Probe::LiftPressure => {
                let needs = self.fitted(Self::PROTECTION) | reach_kind(vehicle, Kind::LiftLine);
                (
                    1.5 * TIMES.tee + TIMES.read,
                    tool | needs,
                    Some(Mode::Pumping),
                )
            }
            Probe::Flow => {
                let wet = tool | self.fitted(Self::PROTECTION);
                if let Some(line) = vehicle.flow_part() {
                    let needs = wet | vehicle.access_bits(vehicle.parts[line.0].place);
                    (TIMES.flow + TIMES.catch, needs, Some(Mode::Pumping))
                } else {
                    // The feed comes off the rail with the pump at rest and nothing in the line.
                    let seconds = TIMES.relieve + TIMES.tool + TIMES.feed + TIMES.catch;
                    (
                        seconds,
                        wet | reach_kind(vehicle, Kind::Injectors),
                        Some(Mode::KeyOn),
                    )
                }
            }
            Probe::Sample => {
                let needs = self.fitted(Self::PROTECTION) | reach_kind(vehicle, Kind::Line);
                (TIMES.sample + TIMES.relieve, needs, Some(Mode::KeyOff))
            }
            Probe::Try(repair) => {
                // Driving closes what was opened; what has to be opened again for the next step is not foreseen.
                (
                    TIMES.clamp + TIMES.drive,
                    self.of_repair(all, repair),
                    Some(Mode::KeyOff),
                )
            }
        };
        Test {
            cost: seconds / 60.0,
            needs,
            mode: mode.map(|mode| mode as u8),
            outcomes,
        }
    }
}

fn reach_kind(vehicle: &Vehicle, kind: Kind) -> u128 {
    let part = vehicle.parts.iter().find(|part| part.kind == kind);
    part.map_or(0, |part| vehicle.access_bits(part.place))
}

/// Minutes from one state of key and pump to another.
pub(super) fn modes() -> Vec<Vec<f64>> {
    let from = |from: Mode| {
        let to = Mode::ALL.into_iter();
        to.map(|to| from.switching(to) / 60.0).collect()
    };
    Mode::ALL.into_iter().map(from).collect()
}
