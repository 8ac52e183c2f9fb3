//! How the pressure rises during the prime: the vehicle as it came beside the same vehicle without its faults.

use serde::Serialize;

use crate::bay::Closed;
use crate::fault::Fault;
use crate::rig::{Attachments, RigError};
use crate::vehicle::Key;

/// Moments kept of a rise: as many as a chart can show.
const MOMENTS: usize = 80;

/// One moment.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Moment {
    /// Since the key was turned, s.
    pub t_s: f64,
    /// Gauge pressure, kPa.
    pub kpa: f64,
}

/// Two rises to be held against each other. Either is empty if the vehicle does not prime.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Rise {
    /// Where the pressure is told of: a closed loop has no rail.
    pub at: &'static str,
    /// Without the hidden faults.
    pub healthy: Vec<Moment>,
    /// As it came.
    pub came: Vec<Moment>,
}

impl Rise {
    /// The first prime of a vehicle that has stood.
    ///
    /// # Errors
    /// [`RigError`] if the vehicle cannot be solved with or without its faults.
    pub fn of(closed: &Closed) -> Result<Rise, RigError> {
        let closed_loop = closed.vehicle.hydraulics.closed_loop;
        Ok(Rise {
            at: if closed_loop {
                "behind the pump"
            } else {
                "at the rail"
            },
            healthy: prime(closed, Vec::new())?,
            came: prime(closed, closed.truth.came_with.clone())?,
        })
    }

    /// The pressures at the end, kPa: as it came and without the faults.
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        let end = |moments: &[Moment]| moments.last().map_or(0.0, |moment| moment.kpa);
        (end(&self.came), end(&self.healthy))
    }
}

fn prime(closed: &Closed, faults: Vec<Fault>) -> Result<Vec<Moment>, RigError> {
    let mut rig = closed.truth.rig(&closed.vehicle, faults)?;
    let turn = rig.turn_key(Key::On, &Attachments::none())?;
    let samples = turn.prime.map(|phase| phase.samples).unwrap_or_default();
    let closed_loop = closed.vehicle.hydraulics.closed_loop;
    let every = samples.len().div_ceil(MOMENTS).max(1);
    let last = samples.len().saturating_sub(1);
    let kept = samples
        .iter()
        .enumerate()
        .filter(|(index, _)| index % every == 0 || *index == last);
    Ok(kept
        .map(|(_, sample)| Moment {
            t_s: sample.t_s,
            kpa: if closed_loop {
                sample.pump.outlet_pa
            } else {
                sample.pump.rail_pa
            } / 1e3,
        })
        .collect())
}
