//! What spoke for each repair when it was decided on, by the belief of that moment.

use super::calls::{Ground, Judged};
use super::card::{Mark, Part, Points, count};
use super::outcome::Result;
use super::review::Verdict;
use super::review::walk::Walk;
use super::trace::Trace;
use crate::bay::{Closed, Fact, Verdict as Judgement};
use crate::fault::{self, Fault, Remedy};
use crate::instrument::Quantity;
use crate::vehicle::{ElementId, Section};

/// A cure in the ledger.
pub(super) struct Cure {
    /// Index of the fault among those the vehicle came with; their number for what was in the tank.
    pub fault: usize,
    /// Number of the repair.
    pub action: u32,
    /// The evidence of the moment spoke for it.
    pub justified: bool,
    /// Numbers of earlier actions that had told towards it.
    pub evidence: Vec<u32>,
}

/// Bits towards the right repair from which an action counts as having pointed there.
const POINTING_BITS: f64 = 0.15;

/// Every fault that was cured, with the evidence for it.
pub(super) fn cures(closed: &Closed, walk: &Walk) -> Vec<Cure> {
    let (vehicle, catalogue) = (&closed.vehicle, &closed.truth.catalogue);
    let mut open: Vec<usize> = (0..closed.truth.came_with.len()).collect();
    let mut cures = Vec::new();
    for entry in &closed.ledger {
        for fact in &entry.facts {
            let now: Vec<usize> = match fact {
                Fact::Filled { cured: true } => vec![closed.truth.came_with.len()],
                Fact::Remedied {
                    target,
                    remedy,
                    cured: true,
                    ..
                } => {
                    let leg = target.leg.as_deref();
                    let element = leg.and_then(|leg| vehicle.element(target.part, leg));
                    let hit = |index: &usize| {
                        let fault = &closed.truth.came_with[*index];
                        fault::cured_by(vehicle, catalogue, fault, target.part, element, *remedy)
                    };
                    let (now, still) = open.into_iter().partition(hit);
                    open = still;
                    now
                }
                _ => continue,
            };
            let decided = walk
                .conclusions
                .iter()
                .find(|made| made.action == entry.number);
            let told = walk.actions.iter().filter(|step| {
                step.action < entry.number
                    && step.told_bits.is_some_and(|bits| bits > POINTING_BITS)
            });
            let evidence: Vec<u32> = told.map(|step| step.action).collect();
            cures.extend(now.into_iter().map(|fault| Cure {
                fault,
                action: entry.number,
                justified: decided.is_some_and(|made| made.justified),
                evidence: evidence.clone(),
            }));
        }
    }
    cures
}

/// Marks for deciding on evidence and for tests that could tell something.
pub(super) fn part(trace: &Trace, walk: &Walk, result: &Result, judged: &[Judged]) -> Part {
    Part::new(
        "evidence",
        vec![
            justified(trace, walk, result, judged),
            telling(trace, walk, result),
        ],
    )
}

fn justified(trace: &Trace, walk: &Walk, result: &Result, judged: &[Judged]) -> Mark {
    let of = trace.weights.justified;
    let mark = |points, because: String, actions| Mark {
        points,
        of,
        because,
        actions,
    };
    if !result.worked {
        return mark(
            Points(0),
            "Nothing was done that evidence could have come from.".into(),
            vec![trace.end],
        );
    }
    let made = &walk.conclusions;
    // Work that ran out of time decided nothing wrongly; what it had found stands in its calls.
    let found = judged.iter().find(|call| {
        call.call.verdict == Judgement::Bad
            && call.right
            && !call.taken_back
            && call.ground == Ground::Telling
    });
    if let Some(found) = found
        && made.iter().all(|made| !made.repair)
    {
        return mark(
            of.share(1, 2),
            "Trouble was called on a reading that told it, and the vehicle went back before a repair: half of what deciding on it would have earned.".into(),
            vec![found.number, trace.end],
        );
    }
    let sound = made.iter().filter(|made| made.justified).count();
    let actions = made.iter().map(|made| made.action).collect();
    let worst = made
        .iter()
        .filter(|made| !made.justified)
        .min_by(|a, b| a.probability.total_cmp(&b.probability));
    let because = match worst {
        None => "Each repair, and the handing back, was decided on readings that spoke for it."
            .to_owned(),
        Some(worst) => {
            let percent = libm::round(worst.probability * 100.0);
            let what = if worst.repair {
                "the repair"
            } else {
                "the handing back"
            };
            format!(
                "Of {} ({}), {} on evidence or cheap enough to try. In action {} {what} would have served about {percent:.0} of \
100 vehicles with these readings, and a test would have cost less than being wrong.",
                if made.len() == 1 {
                    "1 decision".to_owned()
                } else {
                    format!("{} decisions", made.len())
                },
                "repairs and the handing back",
                match sound {
                    0 => "none was made".to_owned(),
                    1 => "1 was made".to_owned(),
                    many => format!("{many} were made"),
                },
                worst.action
            )
        }
    };
    mark(of.share(sound, made.len()), because, actions)
}

/// Tests are counted while something is still unknown: proving the cure afterwards is no waste.
fn telling(trace: &Trace, walk: &Walk, result: &Result) -> Mark {
    let of = trace.weights.telling;
    let tests: Vec<_> = walk
        .actions
        .iter()
        .filter(|step| step.expected_bits.is_some() && !step.shown.is_empty())
        .collect();
    if !result.worked || tests.is_empty() {
        return Mark {
            points: Points(0),
            of,
            because: "No instrument was read that could have told anything about the right repair."
                .into(),
            actions: vec![trace.end],
        };
    }
    let idle: Vec<u32> = walk
        .actions
        .iter()
        .filter(|step| step.verdicts.contains(&Verdict::Redundant))
        .map(|step| step.action)
        .collect();
    let because = if idle.is_empty() {
        format!(
            "{}, and each could tell something about the right repair.",
            if tests.len() == 1 {
                "1 reading".to_owned()
            } else {
                format!("{} readings", tests.len())
            }
        )
    } else {
        format!(
            "{} of {} {} could tell next to nothing: whatever had been shown, the likely repairs would have stayed as likely.",
            idle.len(),
            tests.len().max(idle.len()),
            if tests.len().max(idle.len()) == 1 {
                "reading"
            } else {
                "readings"
            }
        )
    };
    let whole = count(tests.len().max(idle.len()));
    let points = Points(of.0 * (whole - count(idle.len())) / whole);
    let actions = if idle.is_empty() {
        tests.iter().map(|step| step.action).collect()
    } else {
        idle
    };
    Mark {
        points,
        of,
        because,
        actions,
    }
}

/// The pump and the fuel side are told by pressure, flow and current.
pub(super) fn fuel_side(section: Section) -> bool {
    matches!(section, Section::Pump | Section::Hydraulic)
}

pub(super) fn fuel_reading(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::Pressure | Quantity::Volume | Quantity::Current
    )
}

/// Both nodes are ends of elements of a section.
pub(super) fn touches(closed: &Closed, section: Section, nodes: [u32; 2]) -> bool {
    nodes.iter().all(|&node| {
        let mut here = closed
            .vehicle
            .elements
            .iter()
            .filter(|element| element.section == section);
        here.any(|element| element.from.0 == node || element.to.0 == node)
    })
}

/// Whether a repair or replacement cures a fault, and what it takes.
pub(super) fn cheapest_cure(
    closed: &Closed,
    fault: &Fault,
) -> Option<(crate::vehicle::PartId, Remedy)> {
    let vehicle = &closed.vehicle;
    let kind = &closed.truth.catalogue.kinds[fault.kind.0];
    let options = kind.cures.iter().filter_map(|cure| {
        let part = match &cure.part {
            None => fault.site.part,
            Some(id) => vehicle.part(id)?,
        };
        let work = work_of(closed, part, cure.remedy)?;
        let access: f64 = vehicle
            .access_order(&work.needs)
            .iter()
            .map(|id| vehicle.accesses[id.0].seconds)
            .sum();
        let labour = (work.seconds + 1.5 * access) / 3600.0 * vehicle.labour_per_hour.0 as f64;
        Some((labour + work.price.0 as f64, (part, cure.remedy)))
    });
    options
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, cure)| cure)
}

pub(super) fn work_of(
    closed: &Closed,
    part: crate::vehicle::PartId,
    remedy: Remedy,
) -> Option<&crate::vehicle::Work> {
    let part = &closed.vehicle.parts[part.0];
    match remedy {
        Remedy::Repair => part.repair.as_ref(),
        Remedy::Replace => part.replace.as_ref(),
    }
}

/// The element a fault sits on, spelt for reading: `connector X7, pin 2`.
pub(super) fn element_name(closed: &Closed, element: ElementId) -> String {
    let element = &closed.vehicle.elements[element.0];
    let part = &closed.vehicle.parts[element.part.0];
    if element.leg.is_empty() {
        part.id.clone()
    } else {
        format!("{} {}", part.id, element.leg)
    }
}
