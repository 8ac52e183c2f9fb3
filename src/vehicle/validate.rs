//! Checks on a vehicle as a whole: what no single table can tell.

use std::ops::Range;

use super::kinds::{Kind, Medium};
use super::law::Law;
use super::model::{AccessId, Element, ElementId, PartId, PumpPart, Vehicle, node_index};
use super::names::Names;
use super::reader::Reader;
use crate::circuit::NodeId;
use crate::pump::RegulatorPlace;

/// Where things were described, for messages.
pub(super) struct Spans<'a> {
    pub reference: Range<usize>,
    pub accesses: &'a Names,
    pub points: &'a Names,
    pub parts: &'a Names,
    pub elements: &'a [Range<usize>],
}

/// Reports everything that makes the vehicle impossible to work on or to solve.
///
/// The circuit is looked at only when every table was read without a mistake: a wire that failed
/// would otherwise be reported again at every point it leaves dangling.
pub(super) fn check(reader: &mut Reader, vehicle: &Vehicle, spans: &Spans) {
    let tables_are_clean = reader.is_clean();
    check_access_circles(reader, vehicle, spans);
    check_body(reader, vehicle, spans);
    check_hydraulic_side(reader, vehicle);
    if tables_are_clean {
        check_battery(reader, vehicle, spans);
        check_ends(reader, vehicle, spans);
        check_unplugged(reader, vehicle, spans);
        check_paths(reader, vehicle, spans);
        check_pump_loop(reader, vehicle, spans);
    }
}

/// A terminal that is bare only when a connector is unplugged must be one of its pins.
fn check_unplugged(reader: &mut Reader, vehicle: &Vehicle, spans: &Spans) {
    for (node, point, touch) in vehicle.points() {
        let Some(part) = touch.only_unplugged else {
            continue;
        };
        if !vehicle
            .elements_of(part)
            .any(|(_, element)| element.from == node || element.to == node)
        {
            let message = format!(
                "`{}` has no pin at the point `{}`",
                vehicle.parts[part.0].id, point.name
            );
            let hint = Some("name the connector the terminal belongs to".to_owned());
            reader.report(spans.points.span(node_index(node)), message, hint);
        }
    }
}

/// Access work that waits for itself can never be done.
fn check_access_circles(reader: &mut Reader, vehicle: &Vehicle, spans: &Spans) {
    for start in 0..vehicle.accesses.len() {
        let mut reached = vec![false; vehicle.accesses.len()];
        let mut open: Vec<AccessId> = vehicle.accesses[start].needs.clone();
        while let Some(access) = open.pop() {
            if !std::mem::replace(&mut reached[access.0], true) {
                open.extend(&vehicle.accesses[access.0].needs);
            }
        }
        if reached[start] {
            let message = format!(
                "access `{}` needs itself, by way of its `needs`",
                vehicle.accesses[start].id
            );
            let hint = Some("take one of the needs in the circle away".to_owned());
            reader.report(spans.accesses.span(start), message, hint);
        }
    }
}

fn check_battery(reader: &mut Reader, vehicle: &Vehicle, spans: &Spans) {
    let mut batteries = vehicle
        .elements
        .iter()
        .filter(|element| matches!(element.law, Law::Battery { .. }));
    let Some(battery) = batteries.next() else {
        let hint = Some("describe it under `[[battery]]`".to_owned());
        reader.report(0..0, "the vehicle has no battery".to_owned(), hint);
        return;
    };
    if let Some(second) = batteries.next() {
        reader.report(
            spans.parts.span(second.part.0),
            "the vehicle has a second battery".to_owned(),
            None,
        );
    }
    if battery.from != vehicle.reference {
        let name = &vehicle.nodes[node_index(battery.from)].name;
        let message = "`reference` must be the battery's negative post".to_owned();
        reader.report(
            spans.reference.clone(),
            message,
            Some(format!("write `reference = \"{name}\"`")),
        );
    }
}

/// A node that ends at nothing is a forgotten wire or a slip in a name.
fn check_ends(reader: &mut Reader, vehicle: &Vehicle, spans: &Spans) {
    let mut uses = vec![0_usize; vehicle.nodes.len()];
    for element in &vehicle.elements {
        uses[node_index(element.from)] += 1;
        uses[node_index(element.to)] += 1;
    }
    // The back-EMF source stands between these two without an element of its own.
    for pump in vehicle.pumps() {
        uses[node_index(pump.inner)] += 1;
        uses[node_index(pump.minus)] += 1;
    }
    for (index, node) in vehicle.nodes.iter().enumerate() {
        let hint = "every point joins two elements at least";
        let message = match uses[index] {
            0 => format!("no part is at the point `{}`", node.name),
            1 => format!("only one part ends at the point `{}`", node.name),
            _ => continue,
        };
        reader.report(spans.points.span(index), message, Some(hint.to_owned()));
    }
}

/// Numbers of the islands the nodes belong to when everything is closed, leaving out the elements
/// `without` says.
fn islands(vehicle: &Vehicle, without: impl Fn(ElementId, &Law) -> bool) -> Vec<usize> {
    let mut island: Vec<usize> = (0..vehicle.nodes.len()).collect();
    let mut join = |a: NodeId, b: NodeId| {
        let (a, b) = (island[node_index(a)], island[node_index(b)]);
        if a != b {
            for number in &mut island {
                if *number == b {
                    *number = a;
                }
            }
        }
    };
    for (index, element) in vehicle.elements.iter().enumerate() {
        if !without(ElementId(index), &element.law) {
            join(element.from, element.to);
            if element.law == Law::Winding {
                for pump in vehicle.pumps().filter(|pump| pump.part == element.part) {
                    join(pump.inner, pump.minus);
                }
            }
        }
    }
    island
}

/// Every electrical part must hang together with the battery when everything is closed.
fn check_paths(reader: &mut Reader, vehicle: &Vehicle, spans: &Spans) {
    let island = islands(vehicle, |_, _| false);
    let home = island[node_index(vehicle.reference)];
    for (element, span) in vehicle.elements.iter().zip(spans.elements) {
        if island[node_index(element.from)] != home {
            let message = format!(
                "part `{}` has no path to the battery",
                vehicle.parts[element.part.0].id
            );
            reader.report(
                span.clone(),
                message,
                Some("check the points its wires end at".to_owned()),
            );
        }
    }
}

/// The pump's two terminals must lead to the two posts without passing through the pump itself,
/// a load or a source.
fn check_pump_loop(reader: &mut Reader, vehicle: &Vehicle, spans: &Spans) {
    let battery = vehicle
        .elements
        .iter()
        .find(|element| matches!(element.law, Law::Battery { .. }));
    let Some(battery) = battery else { return };
    let island = islands(vehicle, |_, law| is_not_conductor(law));
    for pump in vehicle.pumps() {
        let span = spans.parts.span(pump.part.0);
        for (terminal, post, words) in [
            (
                pump.plus,
                battery.to,
                "feed from the battery's positive post",
            ),
            (
                pump.minus,
                battery.from,
                "way back to the battery's negative post",
            ),
        ] {
            if island[node_index(terminal)] != island[node_index(post)] {
                let name = &vehicle.nodes[node_index(terminal)].name;
                reader.report(
                    span.clone(),
                    format!("the pump terminal `{name}` has no {words}"),
                    None,
                );
            }
        }
    }
    if island[node_index(battery.from)] == island[node_index(battery.to)] {
        let message = "the battery is short-circuited when every switch is closed".to_owned();
        let (span, hint) = match short_of(vehicle, battery) {
            Some(at) => {
                let part = &vehicle.parts[vehicle.elements[at].part.0].id;
                let hint = format!("without `{part}` it is not: look at the points it joins");
                (spans.elements[at].clone(), hint)
            }
            None => (
                spans.parts.span(battery.part.0),
                "more than one way leads from one post to the other".to_owned(),
            ),
        };
        reader.report(span, message, Some(hint));
    }
}

/// The element that most likely shorts the battery: the short is gone without it, and most consumers keep their feed and
/// their ground. Of several as likely a wire comes first, as that is where a slip in a name is made most easily.
fn short_of(vehicle: &Vehicle, battery: &Element) -> Option<usize> {
    let kept = |at: usize| {
        let island = islands(vehicle, |other, law| other.0 == at || is_not_conductor(law));
        let of = |node: NodeId| island[node_index(node)];
        let posts = [of(battery.from), of(battery.to)];
        let fed = |element: &&Element| {
            let ends = [of(element.from), of(element.to)];
            is_not_conductor(&element.law) && (ends == posts || ends == [posts[1], posts[0]])
        };
        (posts[0] != posts[1]).then(|| vehicle.elements.iter().filter(fed).count())
    };
    let candidates = (0..vehicle.elements.len()).filter_map(|at| {
        let wire = vehicle.parts[vehicle.elements[at].part.0].kind == Kind::Wire;
        Some(((kept(at)?, wire), at))
    });
    candidates
        .reduce(|best, next| if next.0 > best.0 { next } else { best })
        .map(|(_, at)| at)
}

fn check_body(reader: &mut Reader, vehicle: &Vehicle, spans: &Spans) {
    if vehicle.body.is_empty() {
        let hint = Some(
            "write `body_metal = [\"BODY\"]`: a chafed wire needs something to touch".to_owned(),
        );
        reader.report(0..0, "the vehicle names no `body_metal`".to_owned(), hint);
    }
    for &node in &vehicle.body {
        if vehicle.nodes[node_index(node)].touch.is_none() {
            let message = "`body_metal` must be points a tip can touch".to_owned();
            reader.report(spans.points.span(node_index(node)), message, None);
        }
    }
}

/// What a fuel circuit and a cooling circuit always have, so that the file must say where it is and what it costs.
const FUEL_SIDE: [Kind; 9] = [
    Kind::Strainer,
    Kind::Hose,
    Kind::CheckValve,
    Kind::Filter,
    Kind::Line,
    Kind::Regulator,
    Kind::ReturnLine,
    Kind::Injectors,
    Kind::Tank,
];
const COOLANT_SIDE: [Kind; 5] = [
    Kind::Strainer,
    Kind::Line,
    Kind::Radiator,
    Kind::Thermostat,
    Kind::ExpansionTank,
];

/// A circuit has one of each part of its own kind, and none of the other's.
fn check_hydraulic_side(reader: &mut Reader, vehicle: &Vehicle) {
    let (own, other): (&[Kind], &[Kind]) = match vehicle.medium() {
        Medium::Fuel => (&FUEL_SIDE, &COOLANT_SIDE),
        Medium::Coolant => (&COOLANT_SIDE, &FUEL_SIDE),
    };
    let count = |kind: Kind| {
        let parts = vehicle.parts.iter();
        parts.filter(|part| part.kind == kind).count()
    };
    for &kind in own {
        let count = count(kind);
        // A regulator in the tank spills where it sits, without a line.
        if kind == Kind::ReturnLine && vehicle.hydraulics.regulator.place == RegulatorPlace::Tank {
            if count > 0 {
                let message = "with the regulator in the tank there is no return line".to_owned();
                let hint = "take `[[return-line]]` away, or write `regulator_place = \"rail\"`";
                reader.report(0..0, message, Some(hint.to_owned()));
            }
            continue;
        }
        if count != 1 {
            let message = format!("the vehicle has {count} parts of kind `{kind}` instead of one");
            reader.report(
                0..0,
                message,
                Some(format!("describe one under `[[{kind}]]`")),
            );
        }
    }
    let lines = count(Kind::LiftLine);
    if lines != usize::from(vehicle.lift.is_some()) {
        let message = format!(
            "the vehicle has {lines} parts of kind `lift-line` where it needs {}",
            usize::from(vehicle.lift.is_some())
        );
        let hint = "a table `[lift]` and one `[[lift-line]]` belong together".to_owned();
        reader.report(0..0, message, Some(hint));
    }
    let switched = vehicle
        .parts
        .iter()
        .any(|part| part.kind == Kind::DriverModule);
    if vehicle.lift.is_some() && (switched || vehicle.medium() == Medium::Coolant) {
        let message = "a lift pump goes with a fuel circuit that a relay switches".to_owned();
        let hint = "take `[lift]` away, or the driver module or `[cooling]`".to_owned();
        reader.report(0..0, message, Some(hint));
    }
    let medium = vehicle.medium().name();
    for &kind in other.iter().filter(|kind| !own.contains(kind)) {
        if count(kind) > 0 {
            let message = format!("a circuit that carries {medium} has no part of kind `{kind}`");
            let hint = "a table `[cooling]` makes it a cooling circuit".to_owned();
            reader.report(0..0, message, Some(hint));
        }
    }
}

/// The parts whose elements carry the pump's current when the relay is closed.
///
/// A part is in the loop when taking it out parts the pump from the battery.
pub(super) fn loop_of(vehicle: &Vehicle, pump: &PumpPart) -> Vec<PartId> {
    let mut parts = Vec::new();
    let Some(battery) = vehicle
        .elements
        .iter()
        .find(|element| matches!(element.law, Law::Battery { .. }))
    else {
        return parts;
    };
    for part in (0..vehicle.parts.len()).map(PartId) {
        let carries = vehicle.elements_of(part).any(|(id, element)| {
            let island = islands(vehicle, |other, law| other == id || is_not_conductor(law));
            let own = matches!(element.law, Law::Winding) && element.part == pump.part;
            matches!(element.law, Law::Battery { .. })
                || own
                || island[node_index(pump.plus)] != island[node_index(battery.to)]
                || island[node_index(pump.minus)] != island[node_index(battery.from)]
        });
        if carries {
            parts.push(part);
        }
    }
    parts
}

/// Sources and consumers: whatever current does not simply pass through.
pub(super) fn is_not_conductor(law: &Law) -> bool {
    matches!(
        law,
        Law::Winding
            | Law::Battery { .. }
            | Law::Load { .. }
            | Law::Coil { .. }
            | Law::Driver { .. }
            | Law::Starter { .. }
            | Law::Alternator { .. }
            | Law::Signal { .. }
            | Law::Reference { .. }
    )
}
