//! The wiring spelt out, one joint or wire a line, for a narrow window and for whoever does not see the drawing.
//!
//! It says what the diagram shows and nothing more: the description of the vehicle, never what is wrong with it.

use crate::circuit::NodeId;
use crate::units::{Area, System};
use crate::vehicle::{Element, Law, PartId, Section, Vehicle, node_index};

/// The parts between points, section by section in the order of the current.
pub(super) fn rows(vehicle: &Vehicle, system: System) -> Vec<String> {
    let mut rows = Vec::new();
    for section in Section::ALL {
        let mut own: Vec<String> = Vec::new();
        for stretch in stretches(vehicle, section) {
            own.push(stretch.row(vehicle, system));
        }
        if !own.is_empty() {
            rows.push(format!("{section}:"));
            rows.append(&mut own);
        }
    }
    rows
}

/// What the sizes in the drawing are in the reader's own: wires bear square millimetres wherever they are sold.
pub(super) fn sizes(vehicle: &Vehicle, system: System) -> Vec<String> {
    if system == System::Metric {
        return Vec::new();
    }
    let mut areas: Vec<f64> = vehicle
        .elements
        .iter()
        .filter_map(|element| match element.law {
            Law::Copper { area_m2, .. } => Some(area_m2),
            _ => None,
        })
        .collect();
    areas.sort_by(f64::total_cmp);
    areas.dedup();
    let told: Vec<String> = areas
        .into_iter()
        .map(|area| {
            format!(
                "{} mm2 is {}",
                square_millimetres(area),
                Area(area).show(system)
            )
        })
        .collect();
    vec![format!("Wires: {}.", told.join(", "))]
}

fn square_millimetres(area_m2: f64) -> f64 {
    libm::round(area_m2 * 1e8) / 100.0
}

/// Elements of one part that follow each other: a fuse is two tabs and a strip, and is told as one thing.
struct Stretch {
    part: PartId,
    leg: String,
    square_metres: Option<f64>,
    from: NodeId,
    to: NodeId,
    /// Points a tip can touch between the two ends.
    between: Vec<NodeId>,
}

fn stretches(vehicle: &Vehicle, section: Section) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    for element in vehicle.elements.iter().filter(|e| e.section == section) {
        let mut new = Stretch::of(vehicle, element);
        // A connector's pins end at each other's wires, so that only what truly follows is joined.
        while let Some(index) = all
            .iter()
            .position(|old| old.part == new.part && (old.to == new.from || new.to == old.from))
        {
            let old = all.remove(index);
            new = if old.to == new.from {
                old.then(new, vehicle)
            } else {
                new.then(old, vehicle)
            };
        }
        all.push(new);
    }
    all
}

impl Stretch {
    fn of(vehicle: &Vehicle, element: &Element) -> Stretch {
        let (square_metres, to) = match element.law {
            Law::Copper { area_m2, .. } => (Some(area_m2), element.to),
            Law::Winding => {
                let pump = vehicle.pumps().find(|pump| pump.part == element.part);
                (None, pump.map_or(element.to, |pump| pump.minus))
            }
            _ => (None, element.to),
        };
        Stretch {
            part: element.part,
            leg: element.leg.clone(),
            square_metres,
            from: element.from,
            to,
            between: Vec::new(),
        }
    }

    /// This stretch and the one that follows it. The working part of a relay gives the whole its name.
    fn then(mut self, next: Stretch, vehicle: &Vehicle) -> Stretch {
        if vehicle.nodes[node_index(self.to)].touch.is_some() {
            self.between.push(self.to);
        }
        self.between.extend(next.between);
        let named = [self.leg, next.leg]
            .into_iter()
            .find(|leg| leg == "coil" || leg == "contact");
        Stretch {
            leg: named.unwrap_or_default(),
            to: next.to,
            ..self
        }
    }

    /// `X7.2 to X7.2t: tank connector X7, 2`.
    fn row(&self, vehicle: &Vehicle, system: System) -> String {
        let part = &vehicle.parts[self.part.0];
        let name = |node: &NodeId| vehicle.nodes[node_index(*node)].name.as_str();
        let (from, to) = (name(&self.from), name(&self.to));
        let mut row = format!("{from} to {to}: {}", part.title);
        let mut add = |text: &str| {
            row.push_str(", ");
            row.push_str(text);
        };
        if !self.leg.is_empty() {
            add(&self.leg);
        }
        if let Some(colour) = &part.colour {
            add(colour);
        }
        if let Some(area) = self.square_metres {
            add(&match system {
                System::Metric => format!("{} mm2", square_millimetres(area)),
                System::Us => Area(area).show(system),
            });
        }
        if !self.between.is_empty() {
            let points: Vec<&str> = self.between.iter().map(name).collect();
            add(&format!("to be touched at {}", points.join(" and ")));
        }
        row
    }
}
