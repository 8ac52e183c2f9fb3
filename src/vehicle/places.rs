//! Where things are on a vehicle: what has to be opened to reach them, and how far apart they lie.

use std::collections::BTreeSet;

use crate::circuit::NodeId;

use super::model::{AccessHazard, AccessId, PlaceId, Vehicle, node_index};

impl Vehicle {
    /// The access work behind `needs`, its own needs included, in the order it has to be done.
    #[must_use]
    pub fn access_order(&self, needs: &[AccessId]) -> Vec<AccessId> {
        let mut order = Vec::new();
        for &access in needs {
            self.push_access(access, &mut order);
        }
        order
    }

    /// The access work that opens up a place, in the order it has to be done.
    #[must_use]
    pub fn access_to(&self, place: PlaceId) -> Vec<AccessId> {
        self.access_order(&self.places[place.0].needs)
    }

    /// The same as bits, by number of the access.
    #[must_use]
    pub fn access_bits(&self, place: PlaceId) -> u128 {
        let order = self.access_to(place);
        order.iter().fold(0, |bits, access| bits | 1 << access.0)
    }

    /// Whether a place is reached only with the fuel tank opened.
    #[must_use]
    pub fn is_in_tank(&self, place: PlaceId) -> bool {
        let order = self.access_to(place);
        let opens = |id: &AccessId| self.accesses[id.0].hazard == AccessHazard::OpensTank;
        order.iter().any(opens)
    }

    /// Whether the pump has been lifted out of its tank once this work is done: its place needs the tank opened, and
    /// all that it needs is done.
    #[must_use]
    pub fn pump_is_out(&self, done: &BTreeSet<AccessId>) -> bool {
        let place = self.parts[self.tank_pump().part.0].place;
        let order = self.access_to(place);
        self.is_in_tank(place) && order.iter().all(|id| done.contains(id))
    }

    /// Where a node is touched; the seat for one that is not.
    #[must_use]
    pub fn place_of(&self, node: NodeId) -> PlaceId {
        let touch = self.nodes[node_index(node)].touch.as_ref();
        touch.map_or(self.seat, |touch| touch.place)
    }

    /// How far apart two places are, m.
    #[must_use]
    pub fn distance_m(&self, a: PlaceId, b: PlaceId) -> f64 {
        let (a, b) = (self.places[a.0].at_m, self.places[b.0].at_m);
        let squares = a.iter().zip(&b).map(|(a, b)| (a - b) * (a - b));
        squares.sum::<f64>().sqrt()
    }

    /// The bare body metal nearest to a place.
    #[must_use]
    pub fn body_near(&self, place: PlaceId) -> NodeId {
        let here = self.places[place.0].at_m;
        let distance = |node: NodeId| {
            let at = self.nodes[node_index(node)]
                .touch
                .map_or(here, |touch| self.places[touch.place.0].at_m);
            let [x, y, z] = [at[0] - here[0], at[1] - here[1], at[2] - here[2]];
            x * x + y * y + z * z
        };
        self.body
            .iter()
            .copied()
            .min_by(|&a, &b| distance(a).total_cmp(&distance(b)))
            .unwrap_or(self.reference)
    }

    // The loader refuses circles, so the recursion ends.
    fn push_access(&self, access: AccessId, order: &mut Vec<AccessId>) {
        if order.contains(&access) {
            return;
        }
        for &before in &self.accesses[access.0].needs {
            self.push_access(before, order);
        }
        order.push(access);
    }
}
