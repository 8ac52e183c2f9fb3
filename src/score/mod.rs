//! Marks with reasons, and the facts of a debrief, made from a bay that is closed.
//!
//! Every mark names the actions it comes from and says why in this attempt's own figures. The weights stand in one
//! table, [`WEIGHTS`]; `docs/scoring.md` says the same in words. Sums are made in whole tenths of a point.

mod calls;
mod card;
mod cost;
mod debrief;
mod evidence;
mod hints;
mod outcome;
pub mod review;
mod safety;
mod severity;
mod sight;
mod technique;
mod trace;
mod weights;

pub use card::{Baseline, BaselineLine, Cap, Danger, Mark, Part, Points, Scorecard, grade_name};
pub use debrief::{Debrief, Hidden, Lost, PointVolts, PumpFigures, debrief};
pub use hints::{Coach, Hint, HintDepth};
pub use review::{Effort, Marks, Misconception, Review, Stated, marks, review};
pub use technique::Misstep;
pub use weights::{VERSION, WEIGHTS, Weights};

use crate::bay::{Action, Closed};
use crate::evidence::Pool;
use crate::rig::RigError;
use crate::units::System;
use review::walk::{Walk, walk};
use sight::Sight;
use trace::Trace;

/// Marks an attempt by the usual weights. `system` sets the units of the sentences, never the points.
///
/// # Errors
/// [`RigError`] if the vehicle cannot be solved with or without its faults.
pub fn scorecard(closed: &Closed, system: System) -> Result<Scorecard, RigError> {
    scorecard_by(closed, system, &WEIGHTS)
}

/// Marks an attempt by weights that an exercise may have changed.
///
/// # Errors
/// As [`scorecard`].
pub fn scorecard_by(
    closed: &Closed,
    system: System,
    weights: &Weights,
) -> Result<Scorecard, RigError> {
    let pool = Pool::shared(&closed.vehicle, &closed.truth.catalogue, closed.level)?;
    marked(
        closed,
        system,
        weights,
        &walk(closed, &pool, Effort::Conclusions),
    )
}

/// What marking many attempts wants of each.
pub struct Judgement {
    /// The marks.
    pub card: Scorecard,
    /// What went wrong in the work.
    pub missteps: Vec<Misstep>,
    /// Wrong ideas that the work gives away, worst first.
    pub misconceptions: Vec<Misconception>,
}

/// Marks an attempt by the usual weights and says what went wrong in it, walking through it once.
///
/// # Errors
/// As [`scorecard`].
pub fn judgement(closed: &Closed, system: System) -> Result<Judgement, RigError> {
    let pool = Pool::shared(&closed.vehicle, &closed.truth.catalogue, closed.level)?;
    let walk = walk(closed, &pool, Effort::Conclusions);
    Ok(Judgement {
        card: marked(closed, system, &WEIGHTS, &walk)?,
        missteps: debrief::facts(closed, system, &walk)?.missteps,
        misconceptions: review::misconceptions(closed, system, &walk),
    })
}

/// Marks of an attempt that has been walked through with its conclusions planned.
fn marked(
    closed: &Closed,
    system: System,
    weights: &Weights,
    walk: &Walk,
) -> Result<Scorecard, RigError> {
    let trace = Trace::of(closed, weights);
    let sight = Sight::of(closed)?;
    let cures = evidence::cures(closed, walk);
    let result = outcome::Result::of(closed);
    let judged = calls::judged(closed, &trace, &sight);
    let groups = safety::grouped(closed);
    let baseline = cost::baseline(closed);
    let mut parts = vec![
        outcome::part(closed, &trace, &cures, &result),
        cost::part(closed, &trace, &cures, &result, &baseline),
        evidence::part(&trace, walk, &result, &judged),
        technique::part(closed, &trace, system),
        calls::part(closed, &trace, &judged),
        safety::part(&trace, &result, &groups),
    ];
    parts.extend(hints_taken(&trace));
    let sum = parts
        .iter()
        .map(|part| part.points)
        .sum::<Points>()
        .max(Points(0));
    let cap = safety::cap(&trace, &groups);
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

/// What hints took, if any were asked for.
fn hints_taken(trace: &Trace) -> Option<Part> {
    let (mut points, mut actions) = (Points(0), Vec::new());
    for entry in trace.ledger {
        let Action::Hint { depth, .. } = &entry.action else {
            continue;
        };
        let depth = match depth {
            0 | 1 => HintDepth::Section,
            2 => HintDepth::Kind,
            _ => HintDepth::Reading,
        };
        points = points + depth.cost(trace.weights);
        actions.push(entry.number);
    }
    let noun = if actions.len() == 1 {
        "hint was"
    } else {
        "hints were"
    };
    (!actions.is_empty()).then(|| {
        let mark = Mark {
            points: Points(-points.0),
            of: Points(0),
            because: format!("{} {noun} asked for.", actions.len()),
            actions,
        };
        Part::new("hints", vec![mark])
    })
}
