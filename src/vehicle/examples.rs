//! Examples of what to type, with names that this vehicle has.

use crate::circuit::NodeId;
use crate::units::System;

use super::handling::Handling;
use super::kinds::{Kind, Section};
use super::model::{PartId, Tip, Vehicle, node_index};

/// What an example may leave open, each with the vehicle's own name for it.
///
/// All of it follows from the vehicle alone and tells nothing of what is wrong with it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Examples(Vec<(&'static str, String)>);

impl Examples {
    /// The examples of a vehicle, taken from the pump's own loop where that has one.
    #[must_use]
    pub fn of(vehicle: &Vehicle) -> Examples {
        let series = vehicle.pump_loop();
        let parts = || (0..vehicle.parts.len()).map(PartId);
        let kind = |id: PartId| vehicle.parts[id.0].kind;
        let one = |wanted: Kind, section: Section| {
            let fits = |id: &PartId| kind(*id) == wanted && vehicle.parts[id.0].section == section;
            let in_loop = series.iter().copied().rfind(fits);
            in_loop.or_else(|| parts().find(|&id| kind(id) == wanted))
        };
        let plug = one(Kind::Connector, Section::Feed);
        let relay = one(Kind::Relay, Section::Feed);
        let point = first(vehicle, plug, "").unwrap_or(vehicle.reference);
        let place = vehicle.nodes[node_index(point)].touch.map(|at| at.place);
        let body = place.map(|place| vehicle.body_near(place));
        let painted = vehicle.points().find(|(_, _, at)| at.tip == Tip::Painted);
        let fuse = points_of(vehicle, one(Kind::Fuse, Section::Feed));

        let spoken = |node: Option<NodeId>| {
            vehicle.nodes[node_index(node.unwrap_or(vehicle.reference))]
                .name
                .clone()
        };
        let id = |part: Option<PartId>| {
            let part = part.and_then(|part| vehicle.parts.get(part.0));
            part.map_or_else(|| "PART".to_owned(), |part| part.id.clone())
        };
        let access = vehicle.accesses.first().map(|access| access.id.clone());
        let mut examples = vec![
            ("{point}", spoken(Some(point))),
            ("{ref}", spoken(None)),
            ("{body}", spoken(body)),
            ("{fuse-in}", spoken(fuse.first().copied())),
            ("{fuse-out}", spoken(fuse.get(1).copied())),
            ("{relay-in}", spoken(first(vehicle, relay, ".30"))),
            ("{relay-out}", spoken(first(vehicle, relay, ".87"))),
            ("{plug}", id(plug)),
            ("{part}", id(one(Kind::Ground, Section::GroundSide))),
            ("{wire}", id(one(Kind::Wire, Section::Feed))),
            ("{relay}", id(relay)),
            (
                "{line}",
                id(parts()
                    .find(|&id| kind(id) == Kind::ReturnLine)
                    .or_else(|| one(Kind::Line, Section::Hydraulic))),
            ),
            (
                "{filter}",
                id(parts()
                    .find(|&id| kind(id) == Kind::Filter)
                    .or_else(|| parts().find(|&id| kind(id).is_blown_through()))),
            ),
            ("{access}", access.unwrap_or_else(|| "WORK".to_owned())),
        ];
        examples.extend(wires(System::Metric));
        if let Some((node, _, _)) = painted {
            examples.push(("{painted}", spoken(Some(node))));
        }
        if let Some(relay) = with_twin(vehicle) {
            examples.push(("{twin}", id(Some(relay))));
        }
        Examples(examples)
    }

    /// Gives lengths and sizes in a system of units from now on.
    pub fn tell_in(&mut self, system: System) {
        for (open, wire) in wires(system) {
            self.say(open, wire);
        }
    }

    /// Says from now on what stands for something that is left open.
    pub fn say(&mut self, open: &'static str, words: String) {
        self.0.retain(|(other, _)| *other != open);
        self.0.push((open, words));
    }

    /// The example with this vehicle's names, unless it leaves open what this vehicle does not have: painted metal, a
    /// relay with another of its type.
    #[must_use]
    pub fn whole(&self, example: &str) -> Option<String> {
        let filled = self.fill(example);
        (!filled.contains('{')).then_some(filled)
    }

    /// Replaces what an example leaves open by names this vehicle has, so that it can always be typed as it stands.
    #[must_use]
    pub fn fill(&self, example: &str) -> String {
        self.0
            .iter()
            .fold(example.to_owned(), |text, (open, name)| {
                text.replace(open, name)
            })
    }
}

/// Wires as somebody used to a system of units types them.
fn wires(system: System) -> [(&'static str, String); 2] {
    let [lead, jumper] = match system {
        System::Metric => ["5 m 1.0 mm2", "2 m 1.5 mm2"],
        System::Us => ["17 ft 18 AWG", "7 ft 16 AWG"],
    };
    [("{lead}", lead.into()), ("{wire-to-lay}", jumper.into())]
}

/// The points named after a part, such as `X7.1` of `X7`, that a tip touches without anything being unplugged, in the
/// vehicle's order.
fn points_of(vehicle: &Vehicle, part: Option<PartId>) -> Vec<NodeId> {
    let Some(part) = part else {
        return Vec::new();
    };
    let id = &vehicle.parts[part.0].id;
    let of_part = |name: &str| {
        name.split_once('.')
            .is_some_and(|(owner, _)| owner == id.as_str())
    };
    vehicle
        .points()
        .filter(|(_, node, touch)| touch.only_unplugged.is_none() && of_part(&node.name))
        .map(|(node, _, _)| node)
        .collect()
}

/// The first of them whose name ends like this.
fn first(vehicle: &Vehicle, part: Option<PartId>, end: &str) -> Option<NodeId> {
    let ends = |node: &NodeId| vehicle.nodes[node_index(*node)].name.ends_with(end);
    points_of(vehicle, part).into_iter().find(ends)
}

/// The first relay that another of its type could take the place of.
fn with_twin(vehicle: &Vehicle) -> Option<PartId> {
    let mut parts = (0..vehicle.parts.len()).map(PartId);
    parts.find(|&part| vehicle.takes(part, Handling::Swap))
}
