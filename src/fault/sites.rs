//! Where faults can sit, what they show and what cures them.

use crate::seed::Stream;
use crate::vehicle::{Element, ElementId, Kind, Law, PartId, Section, Vehicle};

use super::model::{Catalogue, Effect, Fault, FaultKind, Remedy, Sense, Site};

/// All sites of each kind, in the order of the catalogue; within a kind in the order of the vehicle.
#[must_use]
pub fn sites(vehicle: &Vehicle, catalogue: &Catalogue) -> Vec<Vec<Site>> {
    catalogue
        .kinds
        .iter()
        .map(|kind| sites_of(vehicle, kind))
        .collect()
}

fn sites_of(vehicle: &Vehicle, kind: &FaultKind) -> Vec<Site> {
    let in_section =
        |section: Section| kind.sections.is_empty() || kind.sections.contains(&section);
    let mut sites = Vec::new();
    if kind.medium.is_some_and(|only| only != vehicle.medium()) {
        return sites;
    }
    for (index, part) in vehicle.parts.iter().enumerate() {
        if !kind.on.contains(&part.kind) {
            continue;
        }
        let part_id = PartId(index);
        if is_electrical(kind.effect) {
            let fits = |element: &Element| {
                in_section(element.section)
                    && (kind.legs.is_empty() || kind.legs.contains(&element.leg))
                    && can_change(kind.effect, &element.law)
            };
            let elements = vehicle
                .elements_of(part_id)
                .filter(|(_, element)| fits(element));
            sites.extend(elements.map(|(id, _)| Site {
                part: part_id,
                element: Some(id),
            }));
        } else if in_section(part.section) {
            sites.push(Site {
                part: part_id,
                element: None,
            });
        }
    }
    sites
}

/// Whether the effect changes one electrical element rather than the pump or the fuel's way.
fn is_electrical(effect: Effect) -> bool {
    matches!(
        effect,
        Effect::AddOhms
            | Effect::Open
            | Effect::StrandsLost
            | Effect::ChafedShort
            | Effect::FuseBlown
            | Effect::LowCharge
            | Effect::InternalOhms
            | Effect::LowCharging
            | Effect::CoilOpen
            | Effect::DriverDead
            | Effect::StuckClosed
    )
}

/// Whether the effect makes sense on an element of this law.
fn can_change(effect: Effect, law: &Law) -> bool {
    match effect {
        Effect::AddOhms => matches!(
            law,
            Law::Contact { .. }
                | Law::Copper { .. }
                | Law::Fuse { .. }
                | Law::RelayContact { .. }
                | Law::Chopper { .. }
                | Law::Switch { .. }
                | Law::OilSwitch { .. }
                | Law::Metal { .. }
        ),
        Effect::Open => matches!(
            law,
            Law::Contact { .. }
                | Law::Copper { .. }
                | Law::Switch { .. }
                | Law::OilSwitch { .. }
                | Law::Chopper { .. }
                | Law::Signal { .. }
        ),
        Effect::StuckClosed => matches!(law, Law::RelayContact { .. } | Law::OilSwitch { .. }),
        Effect::StrandsLost | Effect::ChafedShort => matches!(law, Law::Copper { .. }),
        Effect::FuseBlown => matches!(law, Law::Fuse { .. }),
        Effect::LowCharge | Effect::InternalOhms => matches!(law, Law::Battery { .. }),
        Effect::LowCharging => matches!(law, Law::Alternator { .. }),
        Effect::CoilOpen => matches!(law, Law::Coil { .. }),
        Effect::DriverDead => matches!(law, Law::Driver { .. }),
        _ => false,
    }
}

/// The section a fault belongs to.
#[must_use]
pub fn section(vehicle: &Vehicle, fault: &Fault) -> Section {
    match fault.site.element {
        Some(element) => vehicle.elements[element.0].section,
        None => vehicle.parts[fault.site.part.0].section,
    }
}

/// Whether handling may wipe the fault for a while: a film or a slack fit between two halves that
/// are pushed or bolted together. Crimps, wires and the relay's own contacts are not reached by hand.
#[must_use]
pub fn is_contact(kind: &FaultKind) -> bool {
    let joins = [
        Kind::Clamp,
        Kind::Connector,
        Kind::Ground,
        Kind::Fuse,
        Kind::Relay,
    ];
    kind.effect == Effect::AddOhms
        && kind.on.iter().all(|on| joins.contains(on))
        && !kind.legs.iter().any(|leg| leg == "contact")
}

/// What a sense tells about a fault: the words of the worst band its severity reaches.
#[must_use]
pub fn clue<'c>(catalogue: &'c Catalogue, fault: &Fault, sense: Sense) -> Option<&'c str> {
    let kind = &catalogue.kinds[fault.kind.0];
    let range = &kind.severity;
    kind.clues
        .iter()
        .filter(|clue| clue.sense == sense && range.reaches(fault.severity, clue.from))
        .reduce(|worst, clue| {
            if range.reaches(clue.from, worst.from) {
                clue
            } else {
                worst
            }
        })
        .map(|clue| clue.text.as_str())
}

/// Harmless signs of age a part shows whether or not it has a fault, fixed by the seed. A part
/// that has just been renewed has none, which the caller knows.
#[must_use]
pub fn signs<'c>(
    vehicle: &Vehicle,
    catalogue: &'c Catalogue,
    part: PartId,
    sense: Sense,
    seed: u64,
) -> Vec<&'c str> {
    let Some(part) = vehicle.parts.get(part.0) else {
        return Vec::new();
    };
    catalogue
        .signs
        .iter()
        .filter(|sign| sign.sense == sense && sign.on.contains(&part.kind))
        .filter(|sign| Stream::keyed(seed, "signs", &[&part.id, &sign.id]).chance(sign.share))
        .map(|sign| sign.text.as_str())
        .collect()
}

/// Whether doing `remedy` to `part` cures the fault. `element` narrows a repair to one leg, such
/// as one pin of a connector; `None` means the whole part.
#[must_use]
pub fn cured_by(
    vehicle: &Vehicle,
    catalogue: &Catalogue,
    fault: &Fault,
    part: PartId,
    element: Option<ElementId>,
    remedy: Remedy,
) -> bool {
    let reaches =
        element.is_none() || fault.site.element.is_none() || element == fault.site.element;
    catalogue.kinds[fault.kind.0].cures.iter().any(|cure| {
        cure.remedy == remedy
            && match &cure.part {
                None => part == fault.site.part && reaches,
                Some(id) => vehicle.part(id) == Some(part),
            }
    })
}
