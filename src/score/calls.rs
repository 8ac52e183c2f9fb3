//! Marks for judgements of sections.

use super::card::{Mark, Part, Points, count};
use super::evidence::{fuel_reading, fuel_side, touches};
use super::sight::Sight;
use super::technique::between;
use super::trace::Trace;
use crate::bay::{Call, Closed, Verdict};
use crate::fault;
use crate::instrument::Quantity;
use crate::vehicle::Section;

/// An ohms reading counts as open from this on, ohm; between points of one section nothing sound comes near it.
const OPEN_OHMS: f64 = 10.0;

/// What a right call rests on.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Ground {
    Nothing,
    Blind,
    Telling,
}

/// A call that was not `unsure`, judged.
pub(super) struct Judged<'a> {
    pub number: u32,
    pub call: &'a Call,
    pub right: bool,
    /// A later call judged the section the other way.
    pub taken_back: bool,
    pub ground: Ground,
}

pub(super) fn judged<'a>(closed: &Closed, trace: &Trace<'a>, sight: &Sight) -> Vec<Judged<'a>> {
    let is_right = |call: &Call| (call.verdict == Verdict::Bad) == call.was_bad;
    let calls: Vec<(u32, &Call)> = trace
        .calls()
        .filter(|(_, call)| call.verdict != Verdict::Unsure)
        .collect();
    calls
        .iter()
        .enumerate()
        .map(|(index, &(number, call))| {
            let later = calls[index + 1..]
                .iter()
                .filter(|(_, other)| other.section == call.section);
            let same_state = later.rev().find(|(_, other)| other.was_bad == call.was_bad);
            Judged {
                number,
                call,
                right: is_right(call),
                taken_back: same_state.is_some_and(|(_, other)| other.verdict != call.verdict),
                ground: ground(closed, trace, sight, number, call),
            }
        })
        .collect()
}

fn ground(closed: &Closed, trace: &Trace, sight: &Sight, number: u32, call: &Call) -> Ground {
    let Some(reading) = trace.relied(call) else {
        return Ground::Nothing;
    };
    let telling = match call.section {
        section if fuel_side(section) => {
            fuel_reading(reading.quantity)
                || trace.relied_meter(call).is_some_and(|taken| {
                    section == Section::Pump
                        && taken.under_load()
                        && at_pump(closed, [taken.measured.red.0, taken.measured.black.0])
                })
        }
        section => trace.relied_meter(call).is_some_and(|taken| {
            let measured = taken.measured;
            let (red, black) = (measured.red, measured.black);
            let inside = touches(closed, section, [red.0, black.0]);
            if reading.quantity == Quantity::Resistance {
                let open = measured.value.is_none_or(|ohms| ohms > OPEN_OHMS);
                return !measured.live && inside && (section == Section::Control || open);
            }
            let touched = |node: u32| touches(closed, section, [node, node]);
            if section == Section::Control {
                return touched(red.0) || touched(black.0);
            }
            let standing = measured.value.is_some_and(|volts| libm::fabs(volts) >= 1.0);
            let loaded = taken.under_load() || call.verdict == Verdict::Bad && standing;
            loaded && sight.covers(section, red, black) && !is_unproved(trace, call, number)
        }),
    };
    if telling {
        Ground::Telling
    } else {
        Ground::Blind
    }
}

/// Points between which only the pump lies, its leads in the tank included.
fn at_pump(closed: &Closed, nodes: [u32; 2]) -> bool {
    closed.vehicle.pumps().any(|pump| {
        let way = closed.vehicle.way_of(pump);
        let [there, back] = [&way.there, &way.back].map(|nodes_of| {
            nodes
                .iter()
                .any(|node| nodes_of.iter().any(|n| n.0 == *node))
        });
        there && back
    })
}

/// Volts below this could as well come from a tip that touches nothing, V.
const NEAR_ZERO_V: f64 = 0.1;

/// The call relies on next to no volts through a tip that nothing had proved.
pub(super) fn is_unproved(trace: &Trace, call: &Call, number: u32) -> bool {
    trace
        .relied_meter(call)
        .is_some_and(|taken| is_near_zero(taken.measured) && !trace.proved(taken, number))
}

pub(super) fn is_near_zero(measured: &crate::bay::Measurement) -> bool {
    let volts = measured
        .value
        .filter(|_| measured.function.quantity() == Quantity::Voltage);
    volts.is_some_and(|volts| libm::fabs(volts) < NEAR_ZERO_V)
}

pub(super) fn part(closed: &Closed, trace: &Trace, judged: &[Judged]) -> Part {
    let mut bad: Vec<Section> = closed
        .truth
        .came_with
        .iter()
        .map(|fault| fault::section(&closed.vehicle, fault))
        .chain(closed.truth.trouble().map(|_| Section::Hydraulic))
        .collect();
    bad.sort_unstable();
    bad.dedup();
    let half = Points(trace.weights.calls.0 / 2);
    let mut marks = Vec::new();
    for (index, section) in bad.iter().enumerate() {
        // Tenths that do not divide go to the first sections.
        let sections = count(bad.len());
        let of = Points(half.0 / sections + i64::from(count(index) < half.0 % sections));
        marks.push(faulty(closed, *section, of, trace, judged));
    }
    let of = if bad.is_empty() {
        trace.weights.calls
    } else {
        half
    };
    marks.push(sound(closed, of, trace, judged));
    let wrong = wrong_calls(closed, trace, judged);
    // Wrong calls can take what right ones earned, and no more.
    let earned: i64 = marks.iter().map(|mark| mark.points.0).sum();
    if let Some(mut mark) = wrong {
        if mark.points.0 > earned {
            mark.because
                .push_str(" Wrong calls take no more than right ones earned.");
        }
        mark.points = Points((-mark.points.0).max(-earned));
        marks.push(mark);
    }
    Part::new("calls", marks)
}

fn worth(trace: &Trace, of: Points, ground: Ground) -> Points {
    match ground {
        Ground::Telling => of,
        Ground::Blind => Points(of.0 * trace.weights.blind_reading / 100),
        Ground::Nothing => Points(of.0 * trace.weights.no_reading / 100),
    }
}

fn ground_words(closed: &Closed, trace: &Trace, judged: &Judged) -> String {
    let Some(reading) = trace.relied(judged.call) else {
        let cited = judged.call.cites.is_some();
        return if cited {
            "citing a figure that no reading showed"
        } else {
            "citing no reading"
        }
        .to_owned();
    };
    let how = match trace.relied_meter(judged.call) {
        Some(taken) => format!("{} from {}", reading.shown, between(closed, taken)),
        None => format!("{}, {}", reading.shown, reading.how),
    };
    let blind = if judged.ground == Ground::Blind {
        ", which cannot tell"
    } else {
        ""
    };
    format!("relying on {how}{blind}")
}

/// What a right call earns of what it could have; nothing to say where it is all of it.
fn worth_words(trace: &Trace, ground: Ground) -> String {
    let (share, why) = match ground {
        Ground::Telling => return String::new(),
        Ground::Blind => (trace.weights.blind_reading, "on a reading that cannot tell"),
        Ground::Nothing => (trace.weights.no_reading, "without a reading from the log"),
    };
    format!(" A right call {why} earns {share} of 100.")
}

fn actions_of(judged: &Judged) -> Vec<u32> {
    judged
        .call
        .relies_on
        .into_iter()
        .chain([judged.number])
        .collect()
}

fn faulty(closed: &Closed, section: Section, of: Points, trace: &Trace, judged: &[Judged]) -> Mark {
    let here = judged
        .iter()
        .filter(|call| call.call.section == section && call.call.was_bad);
    let best = here
        .filter(|call| call.right && !call.taken_back)
        .max_by_key(|call| call.ground);
    match best {
        Some(best) => Mark {
            points: worth(trace, of, best.ground),
            of,
            because: format!(
                "The {section} was rightly called bad, {}.{}",
                ground_words(closed, trace, best),
                worth_words(trace, best.ground),
                section = section.spoken()
            ),
            actions: actions_of(best),
        },
        None => Mark {
            points: Points(0),
            of,
            because: format!(
                "Trouble lay in the {}; no call said so, or none that was not taken back.",
                section.spoken()
            ),
            actions: vec![trace.end],
        },
    }
}

fn sound(closed: &Closed, of: Points, trace: &Trace, judged: &[Judged]) -> Mark {
    let mut points = Points(0);
    let (mut words, mut actions) = (Vec::new(), Vec::new());
    for section in Section::ALL {
        let here = judged
            .iter()
            .filter(|call| call.call.section == section && !call.call.was_bad);
        let best = here
            .filter(|call| call.right && !call.taken_back)
            .max_by_key(|call| call.ground);
        let Some(best) = best else { continue };
        let whole = of.share(1, trace.weights.sound_calls);
        let earned = worth(trace, whole, best.ground);
        points = points + earned;
        words.push(format!(
            "the {section}, {} ({} of {})",
            ground_words(closed, trace, best),
            earned.show(),
            whole.show(),
            section = section.spoken()
        ));
        actions.extend(actions_of(best));
    }
    actions.sort_unstable();
    actions.dedup();
    if words.is_empty() {
        let because = "No section was rightly called good.".to_owned();
        return Mark {
            points,
            of,
            because,
            actions: vec![trace.end],
        };
    }
    let because = format!("Rightly called good: {}.", words.join("; "));
    Mark {
        points: points.min(of),
        of,
        because,
        actions,
    }
}

/// What wrong calls take, as positive points.
fn wrong_calls(closed: &Closed, trace: &Trace, judged: &[Judged]) -> Option<Mark> {
    let mut points = Points(0);
    let (mut words, mut actions) = (Vec::new(), Vec::new());
    let mut counted: Vec<(Section, bool)> = Vec::new();
    for wrong in judged.iter().filter(|call| !call.right) {
        let key = (wrong.call.section, wrong.call.was_bad);
        actions.push(wrong.number);
        if counted.contains(&key) {
            continue;
        }
        counted.push(key);
        let taken = if wrong.taken_back {
            trace.weights.wrong_call_mended
        } else {
            trace.weights.wrong_call
        };
        points = points + taken;
        let (said, was) = if wrong.call.was_bad {
            ("good", "bad")
        } else {
            ("bad", "good")
        };
        let mended = if wrong.taken_back {
            ", put right later"
        } else {
            ""
        };
        words.push(format!(
            "the {} was called {said} and was {was}, {}{mended} (-{})",
            wrong.call.section.spoken(),
            ground_words(closed, trace, wrong),
            taken.show()
        ));
    }
    (!words.is_empty()).then(|| Mark {
        points,
        of: Points(0),
        because: format!("Wrong: {}.", words.join("; ")),
        actions,
    })
}
