//! The way of the pump's current through the vehicle, joint by joint.

use super::law::Law;
use super::model::{ElementId, PumpPart, Vehicle, node_at, node_index};
use super::validate::is_not_conductor;
use crate::circuit::NodeId;

/// The pump's current from the battery's positive post to its negative post.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Way {
    /// Nodes from the positive post to the pump's positive terminal.
    pub there: Vec<NodeId>,
    /// Nodes from the pump's negative terminal to the negative post.
    pub back: Vec<NodeId>,
    /// The elements passed, the pump and the battery left out.
    pub elements: Vec<ElementId>,
}

impl Vehicle {
    /// The shortest way of the pump's current, in number of elements; where paths run side by side, one of them.
    #[must_use]
    pub fn pump_way(&self) -> Way {
        self.way_of(&self.pump)
    }

    /// The same of any of its pumps.
    #[must_use]
    pub fn way_of(&self, pump: &PumpPart) -> Way {
        let battery = self
            .elements
            .iter()
            .find(|element| matches!(element.law, Law::Battery { .. }));
        let Some(battery) = battery else {
            // The loader refuses a vehicle without a battery.
            return Way {
                there: Vec::new(),
                back: Vec::new(),
                elements: Vec::new(),
            };
        };
        let (there, mut elements) = self.shortest(battery.to, pump.plus);
        let (back, more) = self.shortest(pump.minus, battery.from);
        elements.extend(more);
        Way {
            there,
            back,
            elements,
        }
    }

    fn shortest(&self, from: NodeId, to: NodeId) -> (Vec<NodeId>, Vec<ElementId>) {
        let mut came_by: Vec<Option<ElementId>> = vec![None; self.nodes.len()];
        let mut front = vec![from];
        while came_by[node_index(to)].is_none() && !front.is_empty() {
            let mut next = Vec::new();
            for &node in &front {
                for (index, element) in self.elements.iter().enumerate() {
                    if is_not_conductor(&element.law) {
                        continue;
                    }
                    let Some(other) = other_end(element.from, element.to, node) else {
                        continue;
                    };
                    if other != from && came_by[node_index(other)].is_none() {
                        came_by[node_index(other)] = Some(ElementId(index));
                        next.push(other);
                    }
                }
            }
            front = next;
        }
        let (mut nodes, mut elements) = (vec![to], Vec::new());
        let mut at = to;
        while let Some(id) = came_by[node_index(at)] {
            let element = &self.elements[id.0];
            let Some(other) = other_end(element.from, element.to, at) else {
                break;
            };
            at = other;
            nodes.push(at);
            elements.push(id);
        }
        nodes.reverse();
        elements.reverse();
        (nodes, elements)
    }

    /// The points of the pump's way that a tip can touch with everything plugged in, from post to post.
    #[must_use]
    pub fn pump_points(&self) -> Vec<NodeId> {
        self.points_of_way(&self.pump)
    }

    /// The same of any of its pumps.
    #[must_use]
    pub fn points_of_way(&self, pump: &PumpPart) -> Vec<NodeId> {
        let way = self.way_of(pump);
        let touchable = |node: &NodeId| {
            let touch = self.nodes[node_index(*node)].touch;
            touch.is_some_and(|touch| touch.only_unplugged.is_none())
        };
        way.there
            .into_iter()
            .chain(way.back)
            .filter(touchable)
            .collect()
    }

    /// Every point a tip can touch with everything plugged in.
    #[must_use]
    pub fn plugged_points(&self) -> Vec<NodeId> {
        let nodes = self.nodes.iter().enumerate();
        nodes
            .filter(|(_, node)| {
                node.touch
                    .is_some_and(|touch| touch.only_unplugged.is_none())
            })
            .map(|(index, _)| node_at(index))
            .collect()
    }
}

fn other_end(from: NodeId, to: NodeId, node: NodeId) -> Option<NodeId> {
    match node {
        _ if node == from => Some(to),
        _ if node == to => Some(from),
        _ => None,
    }
}
