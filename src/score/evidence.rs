//! Which actions, before a repair, pointed to the fault it cured.

use super::sight::Sight;
use super::trace::Trace;
use crate::bay::{Action, Closed, Fact};
use crate::fault::{self, Fault, Remedy, Sense};
use crate::instrument::{Quantity, Reading};
use crate::vehicle::{ElementId, Kind, Section};

/// A cure in the ledger.
pub(super) struct Cure {
    /// Index of the fault among those the vehicle came with.
    pub fault: usize,
    /// Number of the repair.
    pub action: u32,
    /// Numbers of earlier actions that pointed there.
    pub evidence: Vec<u32>,
}

/// Every fault that was cured, with the evidence for it.
pub(super) fn cures(closed: &Closed, trace: &Trace, sight: &Sight) -> Vec<Cure> {
    let (vehicle, catalogue) = (&closed.vehicle, &closed.truth.catalogue);
    let mut open: Vec<usize> = (0..closed.truth.came_with.len()).collect();
    let mut cures = Vec::new();
    for entry in &closed.ledger {
        for fact in &entry.facts {
            let Fact::Remedied {
                target,
                remedy,
                cured: true,
                ..
            } = fact
            else {
                continue;
            };
            let leg = target.leg.as_deref();
            let element = leg.and_then(|leg| vehicle.element(target.part, leg));
            let hit = |index: &usize| {
                let fault = &closed.truth.came_with[*index];
                fault::cured_by(vehicle, catalogue, fault, target.part, element, *remedy)
            };
            let (now, still): (Vec<usize>, Vec<usize>) = open.into_iter().partition(hit);
            open = still;
            cures.extend(now.into_iter().map(|fault| Cure {
                fault,
                action: entry.number,
                evidence: pointing(closed, trace, sight, fault, entry.number),
            }));
        }
    }
    cures
}

/// Numbers of the actions before `before` that pointed to a fault.
fn pointing(closed: &Closed, trace: &Trace, sight: &Sight, index: usize, before: u32) -> Vec<u32> {
    let fault = closed.truth.came_with[index];
    let section = fault::section(&closed.vehicle, &fault);
    let mut numbers: Vec<u32> = closed
        .ledger
        .iter()
        .filter(|entry| entry.number < before)
        .filter(|entry| match &entry.action {
            Action::Look(target) => {
                target.part == fault.site.part
                    && (shows(closed, &fault, Sense::Look) || shows(closed, &fault, Sense::Smell) || is_open_fuse(closed, &fault))
            }
            Action::Feel(part) => *part == fault.site.part && shows(closed, &fault, Sense::Feel),
            Action::Listen => closed.vehicle.pump.part == fault.site.part && shows(closed, &fault, Sense::Listen),
            Action::Wiggle(part) => *part == fault.site.part && !entry.readings.is_empty(),
            Action::Open(part) => *part == fault.site.part,
            Action::Swap { relay, with } => [Some(*relay), *with].contains(&Some(fault.site.part)),
            Action::Lamp { a, b } | Action::Load { a, b, .. } | Action::Jumper { a, b, .. } => sight.shows_fault(index, *a, *b),
            _ => false,
        } || fuel_side(section) && entry.readings.iter().any(tells_of_fuel))
        .map(|entry| entry.number)
        .collect();
    let meter = trace
        .taken
        .iter()
        .filter(|taken| taken.number < before)
        .filter(|taken| {
            let measured = taken.measured;
            if measured.function.carries_current() {
                // Amps in line say how much, not where; the fuel side is told above.
                return false;
            }
            if measured.function.sends_current() {
                return !measured.live
                    && touches(closed, section, [measured.red.0, measured.black.0]);
            }
            let any_state = matches!(section, Section::Supply | Section::Control);
            (any_state || trace.under_load(taken))
                && sight.shows_fault(index, measured.red, measured.black)
        });
    numbers.extend(meter.map(|taken| taken.number));
    numbers.sort_unstable();
    numbers.dedup();
    numbers
}

/// The fault shows something there that sound parts never show; a mere trace of age points nowhere.
fn shows(closed: &Closed, fault: &Fault, sense: Sense) -> bool {
    let catalogue = &closed.truth.catalogue;
    let clue = fault::clue(catalogue, fault, sense);
    clue.is_some_and(|clue| catalogue.signs.iter().all(|sign| sign.text != clue))
}

fn is_open_fuse(closed: &Closed, fault: &Fault) -> bool {
    let kind = &closed.truth.catalogue.kinds[fault.kind.0];
    closed.vehicle.parts[fault.site.part.0].kind == Kind::Fuse
        && kind.effect == fault::Effect::FuseBlown
}

/// The pump and the fuel side are told by pressure, flow and current.
pub(super) fn fuel_side(section: Section) -> bool {
    matches!(section, Section::Pump | Section::Hydraulic)
}

/// A reading of the fuel side with the pump at work: at rest no pressure, flow or current tells anything about it.
fn tells_of_fuel(reading: &Reading) -> bool {
    let least = match reading.quantity {
        Quantity::Current => 1.0,
        Quantity::Pressure => 20e3,
        _ => 0.0,
    };
    fuel_reading(reading.quantity) && reading.value.is_some_and(|value| libm::fabs(value) > least)
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
