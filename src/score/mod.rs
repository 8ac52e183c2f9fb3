//! Marks with reasons, and the facts of a debrief, made from a bay that is closed.
//!
//! Every mark names the actions it comes from and says why in this attempt's own figures. The weights stand in one
//! table, [`WEIGHTS`]; `docs/scoring.md` says the same in words. Sums are made in whole tenths of a point.

mod calls;
mod card;
mod cost;
mod debrief;
mod evidence;
mod outcome;
mod safety;
mod severity;
mod sight;
mod technique;
mod trace;
mod weights;

pub use card::{Baseline, BaselineLine, Cap, Danger, Mark, Part, Points, Scorecard, grade_name};
pub use debrief::{Debrief, Hidden, Lost, Misstep, PointVolts, PumpFigures, debrief};
pub use weights::{VERSION, WEIGHTS, Weights};

use crate::bay::Closed;
use crate::rig::RigError;
use crate::units::System;
use sight::Sight;
use trace::Trace;

/// Marks an attempt. `system` sets the units of the sentences, never the points.
///
/// # Errors
/// [`RigError`] if the vehicle cannot be solved with or without its faults.
pub fn scorecard(closed: &Closed, system: System) -> Result<Scorecard, RigError> {
    let trace = Trace::of(closed);
    let sight = Sight::of(closed)?;
    let cures = evidence::cures(closed, &trace, &sight);
    let result = outcome::Result::of(closed);
    let judged = calls::judged(closed, &trace, &sight);
    let groups = safety::grouped(closed);
    let baseline = cost::baseline(closed);
    let parts = vec![
        outcome::part(closed, &trace, &cures, &result),
        cost::part(closed, &trace, &cures, &result, &baseline),
        technique::part(closed, &trace, system),
        calls::part(closed, &trace, &judged),
        safety::part(&trace, &result, &groups),
    ];
    let sum: Points = parts.iter().map(|part| part.points).sum();
    let cap = safety::cap(&groups);
    Ok(Scorecard {
        total: cap.as_ref().map_or(sum, |cap| sum.min(cap.at)),
        of: parts.iter().map(|part| part.of).sum(),
        parts,
        hazards: safety::dangers(&groups),
        baseline,
        cap,
        version: VERSION,
    })
}
