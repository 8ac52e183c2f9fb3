//! What a fixed list of tests can tell apart on one vehicle.
//!
//! The hidden truth is held against every other single fault the catalogue allows on the vehicle, at three severities
//! each (and at the truth's own, where the effect is the same), and against nothing wrong. Each is solved with the same physics and the same tolerances. A test separates two
//! when its true values differ by more than the [`MARGINS`]. What this does not prove: that a learner finds the way in
//! reasonable time, that a wrong repair is improbable over other draws of tolerance, anything about pairs of faults
//! other than the hidden pair, or anything about faults that only show when warm or moved, which are taken as showing.

mod figures;
mod hypothesis;

use serde::Serialize;

pub use figures::{MARGINS, Margins};
pub use hypothesis::Hypothesis;

use crate::fault::Fault;
use crate::rig::{Conditions, DriveReport, Rig, RigError};
use crate::scenario::Revealed;
use figures::{Figure, electrical, separated, under_way};
use hypothesis::{cures, hypotheses};

/// What the certificate says.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Certificate {
    /// The road test without and with the hidden faults.
    pub complaint: Complaint,
    /// Draws thrown away before this scenario.
    pub redraws: u32,
    /// Hypotheses held against the truth.
    pub hypotheses: usize,
    /// How many of them the same repair would cure: they need not be told apart.
    pub same_repair: usize,
    /// A short list of tests that separates all that can be separated, the one that separates most first.
    pub separating: Vec<Separating>,
    /// Hypotheses of a different repair that no test of the list separates from the truth.
    pub indistinguishable: Vec<Hypothesis>,
}

/// Road test figures without and with the hidden faults.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Complaint {
    /// Without them.
    pub healthy: Road,
    /// With them.
    pub faulty: Road,
}

/// Figures of one road test.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Road {
    /// The engine started.
    pub starts: bool,
    /// Starter current as a share of a healthy one's.
    pub crank_share: f64,
    /// Pressure at the end of the prime, kPa.
    pub primed_kpa: f64,
    /// Pressure at idle, kPa.
    pub idle_kpa: f64,
    /// Pressure at steady speed, kPa.
    pub cruise_kpa: f64,
    /// Pressure under full load, kPa.
    pub hill_kpa: f64,
    /// Pressure after an hour's rest, kPa.
    pub held_kpa: f64,
}

/// A test and what it does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Separating {
    /// The test in words.
    pub test: String,
    /// Unit of the value.
    pub unit: &'static str,
    /// What it truly is on this vehicle.
    pub value: f64,
    /// Hypotheses of a different repair that it separates and no test before it did.
    pub separates: usize,
}

impl Road {
    fn of(report: &DriveReport) -> Road {
        Road {
            starts: report.starts,
            crank_share: report.crank_share,
            primed_kpa: report.primed_pa / 1e3,
            idle_kpa: report.idle_pa / 1e3,
            cruise_kpa: report.cruise_pa / 1e3,
            hill_kpa: report.hill_pa / 1e3,
            held_kpa: report.held_pa / 1e3,
        }
    }
}

/// The certificate of a scenario that has been revealed, with the seed and conditions it was made of.
///
/// # Errors
/// [`RigError`] if the vehicle cannot be solved with its hidden faults or without any; a hypothesis that cannot be
/// solved counts as indistinguishable.
pub fn certificate(
    revealed: &Revealed,
    seed: u64,
    conditions: Conditions,
) -> Result<Certificate, RigError> {
    let rig = |faults: Vec<Fault>| {
        Rig::new(
            revealed.vehicle.clone(),
            revealed.catalogue.clone(),
            seed,
            conditions,
            faults,
        )
    };
    let complaint = Complaint {
        healthy: Road::of(&rig(Vec::new())?.drive()?),
        faulty: Road::of(&rig(revealed.faults.clone())?.drive()?),
    };
    let all = hypotheses(&revealed.vehicle, &revealed.catalogue, &revealed.faults);
    let wanted = cures(revealed, &revealed.faults);
    let (same, mut open): (Vec<_>, Vec<_>) = all.into_iter().partition(|fault| {
        let cured = cures(revealed, fault.as_slice());
        cured == wanted
            || !cured.is_empty()
                && wanted
                    .iter()
                    .all(|of| of.iter().any(|cure| cured[0].contains(cure)))
    });
    let (same_repair, hypotheses) = (same.len(), same.len() + open.len());
    let mut separating = Vec::new();
    // Readings that need no engine come first: most hypotheses fall to them, and they are quick to solve.
    for tests in [electrical, under_way] {
        let truth = tests(rig, &revealed.vehicle, &revealed.faults)?;
        let mut readings: Vec<(Option<Fault>, Option<Vec<Figure>>)> = Vec::new();
        for fault in open {
            let solved = tests(rig, &revealed.vehicle, fault.as_slice()).ok();
            readings.push((fault, solved));
        }
        open = cover(&truth, readings, &mut separating);
    }
    Ok(Certificate {
        complaint,
        redraws: revealed.redraws,
        hypotheses,
        same_repair,
        separating,
        indistinguishable: open
            .iter()
            .map(|fault| Hypothesis::of(revealed, fault.as_ref()))
            .collect(),
    })
}

/// Takes the test that separates most, again and again, until none separates any more; gives back what is left.
fn cover(
    truth: &[Figure],
    mut readings: Vec<(Option<Fault>, Option<Vec<Figure>>)>,
    separating: &mut Vec<Separating>,
) -> Vec<Option<Fault>> {
    loop {
        let splits = |index: usize, solved: &Option<Vec<Figure>>| {
            solved
                .as_ref()
                .is_some_and(|other| separated(&truth[index], &other[index]))
        };
        let count = |index: usize| {
            readings
                .iter()
                .filter(|(_, solved)| splits(index, solved))
                .count()
        };
        // The first of equals, so that the order of the tests decides.
        let best = (0..truth.len())
            .map(|index| (count(index), index))
            .rev()
            .max_by_key(|&(count, _)| count);
        let Some((separates, index)) = best.filter(|&(count, _)| count > 0) else {
            break;
        };
        readings.retain(|(_, solved)| !splits(index, solved));
        let figure = &truth[index];
        separating.push(Separating {
            test: figure.test.clone(),
            unit: figure.unit,
            value: figure.value,
            separates,
        });
    }
    readings.into_iter().map(|(fault, _)| fault).collect()
}
