//! The vehicle's own names as the prompt understands them: points, parts, places, accesses.

use std::collections::{BTreeMap, BTreeSet};

use crate::bay::FILL;
use crate::circuit::NodeId;
use crate::units::System;
use crate::vehicle::{AccessId, Examples, Handling, Medium, PartId, Vehicle, node_at};

use super::forms::BENCH_JUMPER;
use super::near;

/// A part and the legs (pins, coil, contact) that can be named on it.
#[derive(Clone, PartialEq, Eq, Debug)]
struct NamedPart {
    name: String,
    id: PartId,
    legs: BTreeSet<String>,
    /// What can be done with it and not with every part.
    takes: Vec<Handling>,
}

/// Everything on one vehicle that a prompt line may name. Case does not matter anywhere.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub struct Names {
    points: BTreeMap<String, (String, NodeId)>,
    parts: BTreeMap<String, NamedPart>,
    accesses: BTreeMap<String, (String, AccessId)>,
    examples: Examples,
    coolant: bool,
}

impl Names {
    /// The names of a vehicle. Only points a tip can touch are among them: hidden nodes stay hidden.
    #[must_use]
    pub fn of(vehicle: &Vehicle) -> Names {
        let mut names = Names {
            examples: Examples::of(vehicle),
            coolant: vehicle.medium() == Medium::Coolant,
            ..Names::default()
        };
        for (number, node) in vehicle.nodes.iter().enumerate() {
            if node.touch.is_some() {
                names.add_point(&node.name, node_at(number));
            }
        }
        for (number, part) in vehicle.parts.iter().enumerate() {
            let id = PartId(number);
            names.add_part(&part.id, id);
            if let Some(named) = names.parts.get_mut(&key(&part.id)) {
                named.takes = Handling::ALL
                    .into_iter()
                    .filter(|&what| vehicle.takes(id, what))
                    .collect();
            }
        }
        for element in &vehicle.elements {
            let part = &vehicle.parts[element.part.0].id;
            names.add_leg(part, &element.leg);
        }
        for (number, access) in vehicle.accesses.iter().enumerate() {
            names.add_access(&access.id, AccessId(number));
        }
        names.told_in(System::Metric)
    }

    /// Adds a point by the name it is typed with.
    pub fn add_point(&mut self, name: &str, id: NodeId) {
        self.points.insert(key(name), (name.to_owned(), id));
    }

    /// Adds a part by the name it is typed with.
    pub fn add_part(&mut self, name: &str, id: PartId) {
        let part = NamedPart {
            name: name.to_owned(),
            id,
            legs: BTreeSet::new(),
            takes: Vec::new(),
        };
        self.parts.insert(key(name), part);
    }

    /// Adds a leg to a part that is already there; an empty leg or an unknown part changes nothing.
    pub fn add_leg(&mut self, part: &str, leg: &str) {
        if let Some(part) = self.parts.get_mut(&key(part))
            && !leg.is_empty()
        {
            part.legs.insert(leg.to_owned());
        }
    }

    /// Adds an access by the name it is typed with.
    pub fn add_access(&mut self, name: &str, id: AccessId) {
        self.accesses.insert(key(name), (name.to_owned(), id));
    }

    /// The point called `text`.
    #[must_use]
    pub fn point(&self, text: &str) -> Option<NodeId> {
        self.points.get(&key(text)).map(|(_, id)| *id)
    }

    /// The part called `text`.
    #[must_use]
    pub fn part(&self, text: &str) -> Option<PartId> {
        self.parts.get(&key(text)).map(|part| part.id)
    }

    /// The leg of part `part` that `text` means, in its own spelling.
    #[must_use]
    pub fn leg(&self, part: &str, text: &str) -> Option<&str> {
        let legs = &self.parts.get(&key(part))?.legs;
        legs.iter()
            .find(|leg| leg.eq_ignore_ascii_case(text))
            .map(String::as_str)
    }

    /// The legs of a part, in order; empty for a part that is judged as a whole.
    pub fn legs(&self, part: &str) -> impl Iterator<Item = &str> {
        let legs = self.parts.get(&key(part)).map(|part| part.legs.iter());
        legs.into_iter().flatten().map(String::as_str)
    }

    /// The access that `text` begins, unless it begins several.
    #[must_use]
    pub fn access(&self, text: &str) -> Option<AccessId> {
        if let Some((_, id)) = self.accesses.get(&key(text)) {
            return Some(*id);
        }
        let mut fitting = self
            .accesses
            .iter()
            .filter(|(name, _)| name.starts_with(&key(text)));
        match (fitting.next(), fitting.next()) {
            (Some((_, (_, id))), None) => Some(*id),
            _ => None,
        }
    }

    /// The names of all points, as they are typed.
    pub fn points(&self) -> impl Iterator<Item = &str> {
        self.points.values().map(|(name, _)| name.as_str())
    }

    /// The names of all parts, as they are typed.
    pub fn parts(&self) -> impl Iterator<Item = &str> {
        self.parts.values().map(|part| part.name.as_str())
    }

    /// The names of the parts that something can be done with, as they are typed.
    pub fn parts_for(&self, what: Handling) -> impl Iterator<Item = &str> {
        let parts = self.parts.values();
        parts
            .filter(move |part| part.takes.contains(&what))
            .map(|part| part.name.as_str())
    }

    /// Whether the vehicle's pump moves coolant.
    #[must_use]
    pub fn on_coolant(&self) -> bool {
        self.coolant
    }

    /// The same names with examples in a system of units.
    #[must_use]
    pub fn told_in(mut self, system: System) -> Names {
        self.examples.tell_in(system);
        self.examples.say("{bench}", BENCH_JUMPER.show(system));
        self.examples.say("{fill}", FILL.show(system));
        self
    }

    /// The names of all accesses, as they are typed.
    pub fn accesses(&self) -> impl Iterator<Item = &str> {
        self.accesses.values().map(|(name, _)| name.as_str())
    }

    /// The points of one part: `X7.1`, `X7.2`, ... for `X7`.
    #[must_use]
    pub fn points_of(&self, part: &str) -> Vec<&str> {
        let part = key(part);
        let of_part = |name: &str| {
            name.split_once('.')
                .is_some_and(|(owner, _)| key(owner) == part)
        };
        self.points().filter(|name| of_part(name)).collect()
    }

    /// Point names that look like `text`, best first.
    #[must_use]
    pub fn near_points(&self, text: &str) -> Vec<&str> {
        near::closest(text, self.points())
    }

    /// Part names that look like `text`, best first.
    #[must_use]
    pub fn near_parts(&self, text: &str) -> Vec<&str> {
        near::closest(text, self.parts())
    }

    /// Access names that look like `text`, best first.
    #[must_use]
    pub fn near_accesses(&self, text: &str) -> Vec<&str> {
        near::closest(text, self.accesses())
    }

    /// An example of the grammar's table with names this vehicle has, so that it can always be typed as it stands.
    #[must_use]
    pub fn fill(&self, example: &str) -> String {
        self.examples.fill(example)
    }

    /// The same, unless the vehicle has nothing the example could be about.
    #[must_use]
    pub fn example(&self, example: &str) -> Option<String> {
        self.examples.whole(example)
    }
}

/// How names are compared: without regard to case.
fn key(name: &str) -> String {
    name.to_ascii_uppercase()
}
