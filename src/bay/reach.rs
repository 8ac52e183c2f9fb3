//! What can be got at as things stand: places, access work, distances.

use super::Bay;
use super::outcome::Refusal;
use crate::circuit::NodeId;
use crate::vehicle::{AccessHazard, AccessId, Examples, PartId, PlaceId, Touch};

/// How far from the seat a display can be read, m; ours, no source.
const SIGHT_M: f64 = 1.0;

impl Bay {
    /// Access work still missing for a list of needs, in the order it must be done.
    pub(super) fn missing(&self, needs: &[AccessId]) -> Vec<AccessId> {
        let order = self.vehicle.access_order(needs);
        order
            .into_iter()
            .filter(|access| !self.accesses.contains(access))
            .collect()
    }

    /// Refuses if a place cannot be got at, naming what would open the way.
    pub(super) fn reach_place(&self, what: &str, place: PlaceId) -> Result<(), Refusal> {
        let place = &self.vehicle.places[place.0];
        self.done(
            &format!("{what} is out of reach: {}", place.name),
            &place.needs,
        )
    }

    /// Refuses if access work is missing.
    pub(super) fn done(&self, error: &str, needs: &[AccessId]) -> Result<(), Refusal> {
        let missing = self.missing(needs);
        if missing.is_empty() {
            return Ok(());
        }
        let steps: Vec<String> = missing
            .iter()
            .map(|&id| {
                let access = &self.vehicle.accesses[id.0];
                format!("`access {}` ({:.0} min)", access.id, access.seconds / 60.0)
            })
            .collect();
        Err(Refusal::new(
            format!("{error}."),
            format!("{} would open the way.", steps.join(", then ")),
        ))
    }

    /// A hint that names what this vehicle has: see [`Examples`].
    pub(super) fn example(&self, hint: &str) -> String {
        Examples::of(&self.vehicle).fill(hint)
    }

    /// Refuses if a point cannot be touched; otherwise how it is.
    pub(super) fn reach_point(&self, node: NodeId) -> Result<Touch, Refusal> {
        let point = &self.vehicle.nodes[node.0 as usize];
        let Some(touch) = point.touch else {
            return Err(Refusal::new(
                format!("{} cannot be touched from outside.", point.name),
                "`points` lists what a tip can reach.",
            ));
        };
        self.reach_place(&point.name, touch.place)?;
        if let Some(connector) = touch.only_unplugged
            && !self.rig.controls().unplugged.contains(&connector)
        {
            let id = &self.vehicle.parts[connector.0].id;
            return Err(Refusal::new(
                format!("{} is inside {id} while it is plugged.", point.name),
                format!("`unplug {id}` bares it."),
            ));
        }
        Ok(touch)
    }

    /// Refuses if a part cannot be got at.
    pub(super) fn reach_part(&self, part: PartId) -> Result<(), Refusal> {
        let part = &self.vehicle.parts[part.0];
        self.reach_place(&part.id, part.place)
    }

    /// Whether a display on leads of given reach can lie where it is read from the seat.
    pub(super) fn seen_from_seat(&self, ends: &[(PlaceId, f64)]) -> bool {
        ends.iter().all(|&(place, reach_m)| {
            self.vehicle.distance_m(place, self.vehicle.seat) <= reach_m + SIGHT_M
        })
    }

    /// Whether a piece of access work opens the tank or lays it down.
    pub(super) fn tank_is_open(&self) -> bool {
        self.accesses
            .iter()
            .any(|id| self.vehicle.accesses[id.0].hazard == AccessHazard::OpensTank)
    }

    /// Whether the pump has been lifted out of its tank: its place needed that, and is open.
    pub(super) fn pump_is_out(&self) -> bool {
        self.vehicle.pump_is_out(&self.accesses)
    }

    /// What puts the tank back, for a refusal.
    pub(super) fn put_tank_back(&self) -> String {
        let open = self
            .accesses
            .iter()
            .find(|id| self.vehicle.accesses[id.0].hazard == AccessHazard::OpensTank);
        open.map_or_else(String::new, |id| {
            format!("`refit {}` puts it back.", self.vehicle.accesses[id.0].id)
        })
    }

    /// Whether a place lies under the raised vehicle.
    pub(super) fn is_underneath(&self, place: PlaceId) -> bool {
        let order = self.vehicle.access_to(place);
        order
            .iter()
            .any(|access| self.vehicle.accesses[access.0].hazard == AccessHazard::RaisesVehicle)
    }
}
