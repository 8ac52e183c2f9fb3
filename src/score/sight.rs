//! What a pair of points can tell: the circuit solved with and without each fault, no instrument connected.

use crate::bay::Closed;
use crate::circuit::NodeId;
use crate::fault::{self, Effect, Fault, KindId};
use crate::rig::{Ladder, Moment, RigError};
use crate::vehicle::{Key, Section, Vehicle};

/// Two points can tell when a fault moves the volts between them by more than this, V: well above what a meter's
/// error and the tolerance of sound parts amount to.
const TELLING_V: f64 = 0.1;
/// And by more than this share of the healthy volts.
const TELLING_SHARE: f64 = 0.02;
/// Resistance put into every joint of a section to see which points notice, ohm.
const TRIAL_OHMS: f64 = 0.3;

/// Volts of every node against the reference in one state; nothing for a node that floats.
type Volts = Vec<Option<f64>>;

pub(super) struct Sight {
    healthy: Volts,
    /// Sections with trouble put into them.
    trials: Vec<(Section, Volts)>,
}

impl Sight {
    pub fn of(closed: &Closed) -> Result<Sight, RigError> {
        let mut trials = Vec::new();
        for section in Section::ALL {
            for trial in trial_faults(closed, section) {
                trials.push((section, solve(closed, trial, Key::On, true)?));
            }
        }
        Ok(Sight {
            healthy: solve(closed, Vec::new(), Key::On, true)?,
            trials,
        })
    }

    /// The volts between two points give away trouble in a section of the pump's way.
    pub fn covers(&self, section: Section, red: NodeId, black: NodeId) -> bool {
        let trials = self.trials.iter().filter(|(of, _)| *of == section);
        trials
            .into_iter()
            .any(|(_, trial)| differ(trial, &self.healthy, red, black))
    }
}

fn differ(a: &Volts, b: &Volts, red: NodeId, black: NodeId) -> bool {
    // A tip on a floating node shows nothing: the meter itself pulls both together.
    let across = |volts: &Volts| match (volts[red.0 as usize], volts[black.0 as usize]) {
        (Some(red), Some(black)) => red - black,
        _ => 0.0,
    };
    let (a, b) = (across(a), across(b));
    libm::fabs(a - b) > TELLING_V + TELLING_SHARE * libm::fabs(b)
}

fn solve(closed: &Closed, faults: Vec<Fault>, key: Key, pump_on: bool) -> Result<Volts, RigError> {
    let ladder =
        closed
            .truth
            .rig(&closed.vehicle, faults)?
            .ladder(key, pump_on, Moment::Settled)?;
    Ok(volts_of(&closed.vehicle, &ladder))
}

/// The volts of a ladder in the order of the vehicle's nodes.
pub(super) fn volts_of(vehicle: &Vehicle, ladder: &Ladder) -> Volts {
    let mut volts = vec![None; vehicle.nodes.len()];
    for (name, value) in &ladder.nodes {
        if let Some(node) = vehicle.node(name) {
            volts[node.0 as usize] = Some(*value);
        }
    }
    volts
}

/// Trouble for a section: resistance in each of its joints on the pump's way; for the supply also an empty battery.
fn trial_faults(closed: &Closed, section: Section) -> Vec<Vec<Fault>> {
    let (vehicle, catalogue) = (&closed.vehicle, &closed.truth.catalogue);
    let ways: Vec<_> = vehicle
        .pumps()
        .map(|pump| vehicle.way_of(pump).elements)
        .collect();
    // Trouble on the way of each pump by itself.
    let mut ohms = vec![Vec::new(); ways.len()];
    let (mut seen, mut battery) = (Vec::new(), Vec::new());
    for (index, sites) in fault::sites(vehicle, catalogue).iter().enumerate() {
        let kind = &catalogue.kinds[index];
        for &site in sites {
            let Some(element) = site.element else {
                continue;
            };
            if vehicle.elements[element.0].section != section {
                continue;
            }
            let fault = |severity| Fault {
                kind: KindId(index),
                site,
                severity,
            };
            match kind.effect {
                Effect::AddOhms if !seen.contains(&element) => {
                    seen.push(element);
                    for (ohms, way) in ohms.iter_mut().zip(&ways) {
                        if way.contains(&element) {
                            ohms.push(fault(TRIAL_OHMS));
                        }
                    }
                }
                Effect::LowCharge if battery.is_empty() => battery.push(fault(kind.severity.max)),
                _ => {}
            }
        }
    }
    ohms.into_iter()
        .chain([battery])
        .filter(|faults| !faults.is_empty())
        .collect()
}
