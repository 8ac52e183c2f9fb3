//! What is known of a vehicle's past: true, and mostly beside the point.
//!
//! From level 3 on the past may mislead: work was done somewhere, or a cheap part was fitted. The part is drawn without a
//! look at what is wrong, so that its being named says neither that it is at fault nor that it is not.

use super::{Revealed, Usage};
use crate::seed::Stream;
use crate::vehicle::{Kind, Part, PartId, Vehicle};

/// What may be said of any vehicle; what only some use leaves stands in the vehicles' own files.
const PAST: [&str; 6] = [
    "Serviced by the book until last year.",
    "Towed once, from the ford.",
    "Out in all weathers.",
    "Lives outside, nose to the sea.",
    "Washed underneath every autumn.",
    "Ran through the flood at the fish market.",
];

/// Sentences about work on a part; `{}` is the part.
const WORK: [&str; 6] = [
    "The {} is from a breaker's yard, fitted at home.",
    "New {} last month, the cheapest that could be had.",
    "Somebody worked on the {} in spring; nobody knows who.",
    "{} renewed in the autumn. It ran well after that, for a while.",
    "The last workshop renewed the {} \"to be on the safe side\".",
    "{} renewed under an older complaint, which may have been this one.",
];

/// Lowest level whose past may mislead.
const MISLEADING_FROM: u8 = 3;

/// Lines for the work order.
pub(super) fn drawn(
    vehicle: &Vehicle,
    usage: Usage,
    level: u8,
    stream: &mut Stream,
) -> Vec<String> {
    let mut known = vec![usage.words()];
    let own = vehicle.service.past.iter().map(String::as_str);
    let mut past: Vec<&str> = PAST.into_iter().chain(own).collect();
    stream.shuffle(&mut past);
    let worked_on = (level >= MISLEADING_FROM && stream.chance(0.75))
        .then(|| work(vehicle, stream))
        .flatten();
    let lines = if worked_on.is_some() { 1 } else { 2 };
    known.extend(past.iter().take(lines).map(|&line| line.to_owned()));
    known.extend(worked_on);
    known
}

/// The part that the past of a work order says was worked on.
#[must_use]
pub fn named_part(revealed: &Revealed) -> Option<PartId> {
    let parts = &revealed.vehicle.parts;
    let lines = &revealed.order.known;
    let named = |part: &Part| {
        let title = part.title.to_lowercase();
        let says = |line: &String| line.to_lowercase().contains(&title);
        lines.iter().skip(1).any(says)
    };
    // Of two titles one of which contains the other, the longer is meant.
    let found = (0..parts.len()).filter(|&index| named(&parts[index]));
    found
        .max_by_key(|&index| parts[index].title.len())
        .map(PartId)
}

/// A sentence about a part that people renew.
fn work(vehicle: &Vehicle, stream: &mut Stream) -> Option<String> {
    let renewed = |part: &&Part| {
        let usual = matches!(
            part.kind,
            Kind::Battery
                | Kind::Fuse
                | Kind::Relay
                | Kind::Pump
                | Kind::Filter
                | Kind::Regulator
                | Kind::Alternator
                | Kind::IgnitionSwitch
                | Kind::Starter
        );
        usual && part.replace.is_some()
    };
    let parts: Vec<&Part> = vehicle.parts.iter().filter(renewed).collect();
    let part = stream.pick(&parts)?;
    // Nobody gets what is bought new for little from a breaker's yard.
    let cheap = matches!(part.kind, Kind::Battery | Kind::Fuse | Kind::Filter);
    let sentences = if cheap { &WORK[1..] } else { &WORK };
    let sentence = stream.pick(sentences)?.replace("{}", &part.title);
    let mut letters = sentence.chars();
    let first = letters.next()?.to_uppercase();
    Some(first.chain(letters).collect())
}
