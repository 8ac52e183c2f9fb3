//! Marks for how measurements were made.

use std::collections::BTreeSet;

use serde::Serialize;

use super::calls::is_near_zero;
use super::card::{Mark, Part, Points};
use super::evidence::touches;
use super::review::Mistake;
use super::trace::{Taken, Trace};
use crate::bay::{Call, Closed, PROVING_V};
use crate::circuit::NodeId;
use crate::instrument::Quantity;
use crate::units::{Amp, System, Volt};
use crate::vehicle::{Element, Law, Section};

/// An ohms reading below this is spoilt by leads that were not zeroed, ohm: they are some tenths.
const LEADS_MATTER_OHMS: f64 = 10.0;

/// Something that went wrong in the work, explained.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Misstep {
    /// What, and why it matters.
    pub what: String,
    /// Numbers of the actions.
    pub actions: Vec<u32>,
    /// The mistaken idea that the review explains it by, if it is one of those.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub idea: Option<Mistake>,
}

pub(super) fn part(closed: &Closed, trace: &Trace, system: System) -> Part {
    Part::new(
        "technique",
        vec![
            loaded(closed, trace),
            tips(closed, trace),
            instruments(closed, trace),
            leads(closed, trace, system),
        ],
    )
}

fn is_wire(section: Section) -> bool {
    !matches!(
        section,
        Section::Control | Section::Pump | Section::Hydraulic
    )
}

/// Points of a reading as a person says them.
pub(super) fn between(closed: &Closed, taken: &Taken) -> String {
    let name = |node: crate::circuit::NodeId| &closed.vehicle.nodes[node.0 as usize].name;
    format!(
        "{} to {}",
        name(taken.measured.red),
        name(taken.measured.black)
    )
}

/// Of each pair of points between which volts were read one reading, a loaded one if there is any: tips are often
/// placed before the pump is switched on.
pub(super) fn pairs<'t, 'a>(trace: &'t Trace<'a>) -> Vec<&'t Taken<'a>> {
    let ends = |taken: &Taken| {
        let (red, black) = (taken.measured.red.0, taken.measured.black.0);
        (red.min(black), red.max(black))
    };
    let mut best: Vec<&Taken> = Vec::new();
    for (taken, _) in trace.volts() {
        match best.iter_mut().find(|other| ends(other) == ends(taken)) {
            Some(other) if !other.under_load() && taken.under_load() => *other = taken,
            Some(_) => {}
            None => best.push(taken),
        }
    }
    best
}

/// Volts readings that wire sections were judged by; one of each pair of points if no such call cites one.
fn considered<'t, 'a>(closed: &Closed, trace: &'t Trace<'a>) -> (Vec<&'t Taken<'a>>, bool) {
    let cited: Vec<&Taken> = trace
        .calls()
        .filter(|(_, call)| is_wire(call.section))
        .filter_map(|(_, call)| trace.relied_meter(call))
        .filter(|taken| taken.measured.function.quantity() == Quantity::Voltage)
        .collect();
    if cited.is_empty() {
        let pairs = pairs(trace);
        let judging = pairs.iter().filter(|taken| {
            !of_control(closed, taken)
                && !proves_a_tip(closed, taken, trace)
                && !rests_on_supply(closed, taken)
        });
        (judging.copied().collect(), false)
    } else {
        (cited, true)
    }
}

/// Whether volts were read in a control circuit and nowhere on a pump's way: what a coil gets wants no pump running.
pub(super) fn of_control(closed: &Closed, taken: &Taken) -> bool {
    let vehicle = &closed.vehicle;
    let on_a_way = |node| {
        vehicle.pumps().any(|pump| {
            let way = vehicle.way_of(pump);
            way.there.contains(&node) || way.back.contains(&node)
        })
    };
    [taken.measured.red, taken.measured.black]
        .into_iter()
        .any(|node| touches(closed, Section::Control, [node.0, node.0]) && !on_a_way(node))
}

/// Whether a reading at rest lies within the supply: what the battery has at rest is worth knowing and wants no load.
fn rests_on_supply(closed: &Closed, taken: &Taken) -> bool {
    let (red, black) = (taken.measured.red.0, taken.measured.black.0);
    !taken.under_load() && touches(closed, Section::Supply, [red, black])
}

/// Volts enough to leave no doubt of a contact.
fn shows(taken: &Taken) -> bool {
    let volts = taken.measured.value;
    volts.is_some_and(|volts| libm::fabs(volts) >= PROVING_V)
}

/// Whether a reading at rest only showed that a tip touches, which is what one does before trusting next to no volts:
/// it shows full volts, and next to no volts were read at the same point.
fn proves_a_tip(closed: &Closed, taken: &Taken, trace: &Trace) -> bool {
    let ends = |taken: &Taken| [taken.measured.red, taken.measured.black];
    let proved = |other: &Taken| {
        let shared = ends(other)
            .into_iter()
            .find(|end| ends(taken).contains(end));
        !shows(other) && shared.is_some_and(|point| point != closed.vehicle.reference)
    };
    !taken.under_load() && shows(taken) && trace.volts().any(|(other, _)| proved(other))
}

/// Actions that only prove the meter, once each: the first volts across the battery's posts, and the first volt or more
/// through a tip that in the same placement, with the other tip elsewhere, showed next to none.
pub(super) fn proofs(closed: &Closed, trace: &Trace) -> BTreeSet<u32> {
    let vehicle = &closed.vehicle;
    let is_battery = |element: &&Element| matches!(element.law, Law::Battery { .. });
    let posts = vehicle.elements.iter().find(is_battery);
    let posts = posts.map(|battery| [battery.from, battery.to]);
    let ends = |taken: &Taken| [taken.measured.red, taken.measured.black];
    let at_posts =
        |taken: &Taken| posts.is_some_and(|posts| ends(taken).iter().all(|at| posts.contains(at)));
    let battery = trace.volts().find(|(taken, _)| at_posts(taken));
    let placed = |taken: &Taken| {
        let tips = ends(taken).into_iter().zip(taken.tips);
        tips.filter(|(at, _)| *at != vehicle.reference)
            .map(|(_, placement)| placement)
            .collect::<Vec<u32>>()
    };
    let (showing, doubtful): (Vec<_>, Vec<_>) = trace
        .volts()
        .map(|(taken, _)| taken)
        .partition(|taken| shows(taken));
    let doubts_of = |taken| placed(taken).into_iter().map(|tip| (tip, ends(taken)));
    let mut doubts: Vec<(u32, [NodeId; 2])> = doubtful.into_iter().flat_map(doubts_of).collect();
    let mut proofs: BTreeSet<u32> = battery.map(|(taken, _)| taken.number).into_iter().collect();
    for taken in showing {
        let here = placed(taken);
        let proves = |(tip, between): &(u32, _)| here.contains(tip) && *between != ends(taken);
        if doubts.iter().any(proves) {
            doubts.retain(|(tip, _)| !here.contains(tip));
            proofs.insert(taken.number);
        }
    }
    proofs
}

fn loaded(closed: &Closed, trace: &Trace) -> Mark {
    let of = trace.weights.loaded;
    let (readings, cited) = considered(closed, trace);
    if readings.is_empty() {
        let volts = trace.volts().map(|(taken, _)| taken);
        let control: Vec<&Taken> = volts.filter(|taken| of_control(closed, taken)).collect();
        if control.is_empty() {
            return nothing(
                of,
                trace,
                "No volts were read that wiring could be judged by.",
            );
        }
        return Mark {
            points: of,
            of,
            because: "Volts were read in the control circuit alone, which the pump's own current does not load.".to_owned(),
            actions: numbers(&control),
        };
    }
    let (yes, no): (Vec<&Taken>, Vec<&Taken>) =
        readings.iter().partition(|taken| taken.under_load());
    let (one, many) = if cited {
        (
            "volts reading that wiring was judged by",
            "volts readings that wiring was judged by",
        )
    } else {
        (
            "pair of points between which volts were read",
            "pairs of points between which volts were read",
        )
    };
    let mut because = format!(
        "Of {} {}, {} {} read with the pump switched on and loading the circuit.",
        readings.len(),
        if readings.len() == 1 { one } else { many },
        if yes.is_empty() {
            "none".to_owned()
        } else {
            yes.len().to_string()
        },
        if yes.len() == 1 || yes.is_empty() {
            "was"
        } else {
            "were"
        }
    );
    if let Some(first) = no.first() {
        let more = format!(
            " Without current nothing is lost in a bad joint: {} in action {} could not show one.",
            between(closed, first),
            first.number
        );
        because.push_str(&more);
    } else if let Some(first) = yes.first() {
        let more = format!(
            " In action {} the pump drew {:.1} A.",
            first.number, first.measured.pump_amps
        );
        because.push_str(&more);
    }
    Mark {
        points: of.share(yes.len(), readings.len()),
        of,
        because,
        actions: numbers(&readings),
    }
}

fn numbers(readings: &[&Taken]) -> Vec<u32> {
    let mut numbers: Vec<u32> = readings.iter().map(|taken| taken.number).collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}

fn nothing(of: Points, trace: &Trace, because: &str) -> Mark {
    Mark {
        points: Points(0),
        of,
        because: because.to_owned(),
        actions: vec![trace.end],
    }
}

/// Calls that rest on next to no volts, with the reading and whether its tips had been proved by then.
pub(super) fn near_zero<'t, 'a>(trace: &'t Trace<'a>) -> Vec<(u32, &'t Taken<'a>, bool)> {
    trace
        .calls()
        .filter_map(|(number, call)| Some((number, trace.relied_meter(call)?)))
        .filter(|(_, taken)| is_near_zero(taken.measured))
        .map(|(number, taken)| (number, taken, trace.proved(taken, number)))
        .collect()
}

fn tips(closed: &Closed, trace: &Trace) -> Mark {
    let of = trace.weights.tips;
    let volts: Vec<&Taken> = trace.volts().map(|(taken, _)| taken).collect();
    if volts.is_empty() {
        return nothing(of, trace, "No volts were read.");
    }
    let relied = near_zero(trace);
    if relied.is_empty() {
        let because = "No judgement rested on next to no volts, so no tip was in doubt.".to_owned();
        return Mark {
            points: of,
            of,
            because,
            actions: numbers(&volts),
        };
    }
    let proved = relied.iter().filter(|(_, _, proved)| *proved).count();
    let mut actions: Vec<u32> = relied
        .iter()
        .flat_map(|(call, taken, _)| [taken.number, *call])
        .collect();
    actions.sort_unstable();
    actions.dedup();
    let mut because = format!(
        "{proved} of {} {} on next to no volts rested on tips that had been proved to touch.",
        relied.len(),
        if relied.len() == 1 {
            "judgement"
        } else {
            "judgements"
        }
    );
    if let Some((call, taken, _)) = relied.iter().find(|(_, _, proved)| !proved) {
        let more = format!(
            " {:.3} V from {} (action {}) is also what a tip shows that touches nothing. By action {call} nothing had ruled that out: no volt or more had been read through the two tips, nor had they been placed again with the same result.",
            taken.measured.value.unwrap_or(0.0),
            between(closed, taken),
            taken.number
        );
        because.push_str(&more);
    }
    Mark {
        points: of.share(proved, relied.len()),
        of,
        because,
        actions,
    }
}

/// Ohms on live circuits, ohms and clamp relied on before they were zeroed.
pub(super) fn misuses(closed: &Closed, trace: &Trace) -> Vec<Misstep> {
    let mut found: Vec<Misstep> = Vec::new();
    for taken in trace.taken.iter().filter(|taken| taken.measured.live) {
        let what = format!(
            "Ohms from {} were read while volts of the vehicle's own stood there: the figure means nothing, and a meter can suffer.",
            between(closed, taken)
        );
        match found.iter_mut().find(|misstep| misstep.what == what) {
            Some(misstep) => misstep.actions.push(taken.number),
            None => found.push(Misstep {
                what,
                actions: vec![taken.number],
                idea: Some(Mistake::OhmsUnderPower),
            }),
        }
    }
    for (number, call) in trace.calls() {
        found.extend(unzeroed(closed, trace, number, call));
    }
    found
}

/// The current of an action was read through the meter, not by the clamp.
fn in_line(trace: &Trace, number: u32) -> bool {
    let here = trace.taken.iter().filter(|taken| taken.number == number);
    here.into_iter()
        .any(|taken| taken.measured.function.carries_current())
}

fn unzeroed(closed: &Closed, trace: &Trace, number: u32, call: &Call) -> Option<Misstep> {
    let reading = trace.relied(call)?;
    let relied = call.relies_on?;
    match reading.quantity {
        Quantity::Current
            if !in_line(trace, relied)
                && trace.clamp_zeroed().is_none_or(|zeroed| zeroed > relied) =>
        {
            Some(Misstep {
                what: format!(
                    "{} from the clamp was relied on before the clamp had been zeroed; out of its box it can be half an ampere off.",
                    reading.shown
                ),
                actions: vec![relied, number],
                idea: None,
            })
        }
        Quantity::Resistance => {
            let taken = trace.relied_meter(call)?;
            let small = taken
                .measured
                .value
                .is_some_and(|ohms| ohms < LEADS_MATTER_OHMS);
            (small && !taken.measured.zeroed).then(|| Misstep {
                what: format!(
                    "{} from {} holds {:.2} ohm of the leads themselves: the ohms function had not been zeroed with them.",
                    reading.shown,
                    between(closed, taken),
                    taken.measured.lead_ohms
                ),
                actions: vec![relied, number],
                idea: None,
            })
        }
        _ => None,
    }
}

fn instruments(closed: &Closed, trace: &Trace) -> Mark {
    let of = trace.weights.instruments;
    let read: Vec<u32> = trace
        .ledger
        .iter()
        .filter(|entry| !entry.readings.is_empty())
        .map(|entry| entry.number)
        .collect();
    if read.is_empty() {
        return nothing(of, trace, "No instrument was read.");
    }
    let found = misuses(closed, trace);
    if found.is_empty() {
        let because = "No ohms on a live circuit, and nothing relied on that wanted zeroing first."
            .to_owned();
        return Mark {
            points: of,
            of,
            because,
            actions: read,
        };
    }
    let mut actions: Vec<u32> = found
        .iter()
        .flat_map(|misstep| misstep.actions.iter().copied())
        .collect();
    actions.sort_unstable();
    actions.dedup();
    let because = found
        .iter()
        .map(|misstep| misstep.what.as_str())
        .collect::<Vec<_>>()
        .join(" ");
    Mark {
        points: of.less(trace.weights.each_misuse, found.len()),
        of,
        because,
        actions,
    }
}

/// Calls that cite a volts reading less what the lead would drop at pump current, each explained.
pub(super) fn subtractions(closed: &Closed, trace: &Trace, system: System) -> Vec<Misstep> {
    trace
        .calls()
        .filter_map(|(number, call)| {
            let short = call.imagined_drop_v?;
            let relied = call.relies_on?;
            let left = libm::fabs(call.cites.as_ref()?.value);
            // More may have been taken off than was shown.
            let off = |taken: &&Taken| {
                let shown = libm::fabs(taken.measured.value.unwrap_or(f64::INFINITY));
                libm::fmin(libm::fabs(shown - (short + left)), libm::fabs(shown - (short - left)))
            };
            let here = trace.taken.iter().filter(|taken| taken.number == relied && taken.measured.function.quantity() == Quantity::Voltage);
            let taken = here.min_by(|a, b| off(a).total_cmp(&off(b)))?;
            let volts = libm::fabs(taken.measured.value?);
            let amps = volts / taken.measured.function.input_ohms();
            let lead = match taken.extension {
                Some(extension) => format!("{} lead", crate::units::Metre(extension.length_m).show(system)),
                None => "pair of leads".to_owned(),
            };
            let [red, black] = [taken.measured.red, taken.measured.black].map(|node| closed.vehicle.nodes[node.0 as usize].name.as_str());
            Some(Misstep {
                what: format!(
                    "The {lead} carried {} and dropped {}. There was nothing to subtract: {volts:.3} V was lost between {red} and {black}.",
                    Amp(amps).show(system),
                    Volt(amps * taken.measured.lead_ohms).show(system),
                ),
                actions: vec![relied, number],
                idea: Some(Mistake::LeadDrop),
            })
        })
        .collect()
}

fn leads(closed: &Closed, trace: &Trace, system: System) -> Mark {
    let of = trace.weights.leads;
    let volts: Vec<&Taken> = trace.volts().map(|(taken, _)| taken).collect();
    if volts.is_empty() {
        return nothing(of, trace, "No volts were read.");
    }
    let found = subtractions(closed, trace, system);
    if found.is_empty() {
        let because = "Nothing was subtracted from volts for the leads.".to_owned();
        return Mark {
            points: of,
            of,
            because,
            actions: numbers(&volts),
        };
    }
    let scored = found.len() - 1;
    let mut because = found
        .iter()
        .map(|misstep| misstep.what.as_str())
        .collect::<Vec<_>>()
        .join(" ");
    because.push_str(if scored == 0 {
        " This first time it is explained and costs nothing."
    } else {
        " The first time was explained; each one after it costs points."
    });
    let actions = found
        .iter()
        .flat_map(|misstep| misstep.actions.iter().copied())
        .collect();
    Mark {
        points: of.less(trace.weights.each_subtraction, scored),
        of,
        because,
        actions,
    }
}
