//! The validated description of one vehicle.
//!
//! Everything is held in flat lists and referred to by index, so that a network, a fault or a
//! price can be kept beside the description in vectors of the same length. Quantities are in SI
//! units; the unit stands in the name of the field.

use crate::units::Money;

use super::cooling::Cooling;
use super::kinds::{Kind, Medium, Section};
use super::law::Law;

use crate::circuit::NodeId;
use crate::pump::{Hydraulics, PumpUnit};

macro_rules! index {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub usize);
    };
}

index!(
    /// Index into [`Vehicle::places`].
    PlaceId
);
index!(
    /// Index into [`Vehicle::accesses`].
    AccessId
);
index!(
    /// Index into [`Vehicle::parts`].
    PartId
);
index!(
    /// Index into [`Vehicle::elements`].
    ElementId
);

/// The node with this index into [`Vehicle::nodes`].
#[must_use]
pub fn node_at(index: usize) -> NodeId {
    // No file that fits into memory names four thousand million nodes.
    NodeId(u32::try_from(index).unwrap_or(u32::MAX))
}

/// Index of a node into [`Vehicle::nodes`].
#[must_use]
pub fn node_index(node: NodeId) -> usize {
    node.0 as usize
}

/// A complete, validated vehicle.
#[derive(Clone, Debug, PartialEq)]
pub struct Vehicle {
    /// Short name used on command lines and in scenarios, such as `harbour-van`.
    pub id: String,
    /// Name as printed on a work order.
    pub name: String,
    /// One line of description.
    pub about: String,
    /// Names of the vehicles of this type in the fleet; a scenario picks one.
    pub fleet: Vec<String>,
    /// Mark of the currency of all prices.
    pub currency: String,
    /// Price of one hour of labour.
    pub labour_per_hour: Money,
    /// Where things are.
    pub places: Vec<Place>,
    /// Work that opens the way to a place.
    pub accesses: Vec<Access>,
    /// Every electrical node; the index is the node's [`NodeId`].
    pub nodes: Vec<Node>,
    /// The node all true voltages are stated against: the battery's negative post.
    pub reference: NodeId,
    /// Nodes of bare body metal, which a chafed wire can touch.
    pub body: Vec<NodeId>,
    /// Every part that can be looked at, judged, repaired or replaced.
    pub parts: Vec<Part>,
    /// The electrical elements the parts are made of.
    pub elements: Vec<Element>,
    /// The pump with its two terminals; of two, the one that makes the pressure.
    pub pump: PumpPart,
    /// The lift pump ahead of it, on a vehicle with two.
    pub lift: Option<LiftPump>,
    /// Nominal hydraulic circuit around the pump.
    pub hydraulics: Hydraulics,
    /// The heat the circuit carries, if what it moves is coolant.
    pub cooling: Option<Cooling>,
    /// What its drivers say where it depends on the circuit.
    pub customer: CustomerWords,
    /// What it is used for, as far as its past tells.
    pub service: Service,
    /// The code a control unit stores when its pump output does not follow, as a service tool shows it.
    pub pump_code: String,
    /// What the engine asks of the fuel system.
    pub engine: Engine,
    /// Gauge pressure that the control unit holds by a driver module's duty, in pascals.
    pub holds_pa: Option<f64>,
    /// What the tank holds, in cubic metres.
    pub tank_m3: f64,
    /// How long the control unit runs the pump after the key is turned on, in seconds.
    pub prime_seconds: f64,
    /// Service figures; a scenario may withhold any of them.
    pub figures: Vec<Figure>,
    /// The wiring in plain text, at most 78 ASCII columns wide.
    pub diagram: String,
    /// Cautions printed on every work order.
    pub cautions: Vec<String>,
    /// Where the driver sits and the key is.
    pub seat: PlaceId,
}

/// A place on the vehicle where a hand or a meter tip can go.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Short name within the file.
    pub id: String,
    /// Name as printed.
    pub name: String,
    /// Metres back from the front bumper, left of the centre line, up from the road.
    pub at_m: [f64; 3],
    /// Access work that must be done first (direct needs only).
    pub needs: Vec<AccessId>,
    /// How much warmer its air is with a hot engine, in kelvin.
    pub warms_k: f64,
}

/// A piece of work that gives access to places.
#[derive(Clone, Debug, PartialEq)]
pub struct Access {
    /// The word typed after `access`.
    pub id: String,
    /// Name as printed.
    pub name: String,
    /// Sentence printed when the work is done.
    pub done: String,
    /// Duration in seconds.
    pub seconds: f64,
    /// Access work that must be done before this.
    pub needs: Vec<AccessId>,
    /// What makes the work dangerous.
    pub hazard: AccessHazard,
}

/// The danger that comes with an access.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AccessHazard {
    /// Nothing beyond ordinary care.
    None,
    /// The vehicle stands on a jack alone until stands are placed under it.
    RaisesVehicle,
    /// Fuel vapour: battery negative off, pressure relieved, ventilated.
    OpensTank,
}

/// An electrical node.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Name, such as `X7.2`.
    pub name: String,
    /// The name spelt out, such as "connector 7, pin 2".
    pub spoken: String,
    /// How a meter tip gets at it; `None` for a hidden node.
    pub touch: Option<Touch>,
}

/// How a test point is touched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Touch {
    /// Where the point is.
    pub place: PlaceId,
    /// What kind of tip holds on it.
    pub tip: Tip,
    /// The connector that must be unplugged before this terminal is bare.
    pub only_unplugged: Option<PartId>,
}

/// How a meter tip is held on a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tip {
    /// A crocodile clip stays on by itself.
    Clip,
    /// A probe is pressed on by hand.
    Probe,
    /// A probe meets paint: it touches metal only once the spot has been scraped bright.
    Painted,
    /// A thin pin slides in beside the wire at the back of a connector.
    BackProbe,
}

/// A part: the unit of looking, judging, repairing and buying.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Short name on the diagram, such as `X7`.
    pub id: String,
    /// Name as printed.
    pub title: String,
    /// What sort of thing it is.
    pub kind: Kind,
    /// The section it belongs to. A connector's pins may differ: see [`Element::section`].
    pub section: Section,
    /// Where it is.
    pub place: PlaceId,
    /// What there is to see at first sight, in one sentence that fits a healthy one and most faults.
    pub looks: String,
    /// Price of a new one; `None` if it is never bought.
    pub price: Option<Money>,
    /// How it is repaired in place.
    pub repair: Option<Work>,
    /// How it is replaced.
    pub replace: Option<Work>,
    /// Wire colour after IEC 60757.
    pub colour: Option<String>,
    /// Relays of one type can be swapped for a test.
    pub relay_type: Option<String>,
}

/// A repair or a replacement.
#[derive(Clone, Debug, PartialEq)]
pub struct Work {
    /// Duration in seconds, without access work.
    pub seconds: f64,
    /// Access work that must be done first (that of the part's place included).
    pub needs: Vec<AccessId>,
    /// What is done, in one sentence.
    pub does: String,
    /// Whether a line or the tank is opened, so that fuel or coolant runs out.
    pub opens_line: bool,
    /// Material of a repair, or the part's price for a replacement.
    pub price: Money,
}

/// One electrical element of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// The part it belongs to.
    pub part: PartId,
    /// Which of the part's elements: a pin such as `2`, `coil`, `contact`; empty if there is only one.
    pub leg: String,
    /// Section this element belongs to; differs from the part's on shared connectors.
    pub section: Section,
    /// Node the current enters by.
    pub from: NodeId,
    /// Node the current leaves by.
    pub to: NodeId,
    /// How it behaves.
    pub law: Law,
}

/// The pump as a part of the circuit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpPart {
    /// The part.
    pub part: PartId,
    /// Positive terminal.
    pub plus: NodeId,
    /// Negative terminal.
    pub minus: NodeId,
    /// Hidden node between winding and back-EMF.
    pub inner: NodeId,
    /// Nominal motor and pumping element.
    pub unit: PumpUnit,
}

/// A pump in the tank that keeps a pot full, from which the main pump draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiftPump {
    /// The pump.
    pub pump: PumpPart,
    /// Its way: strainer, relief, split hose, and the line to the pot, where there is no pressure. Filter, regulator and
    /// injectors stand outside of it.
    pub hydraulics: Hydraulics,
    /// What the main pump has to draw past it while it stands: its by-pass valve, Pa s2/m6.
    pub past_pa_s2_m6: f64,
}

/// What the engine asks of the fuel system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Engine {
    /// Injected fuel at idle, in cubic metres a second.
    pub idle_m3_s: f64,
    /// Injected fuel at a steady cruise, in cubic metres a second.
    pub cruise_m3_s: f64,
    /// Injected fuel under full load up a hill, in cubic metres a second.
    pub hill_m3_s: f64,
    /// Manifold gauge pressure at idle, in pascals (negative: vacuum).
    pub idle_manifold_pa: f64,
    /// Manifold gauge pressure at a steady cruise, in pascals.
    pub cruise_manifold_pa: f64,
    /// Manifold gauge pressure under full load, in pascals.
    pub hill_manifold_pa: f64,
    /// Rail gauge pressure needed to start, in pascals.
    pub start_pa: f64,
    /// The engine fades under full load below this fraction of the regulator's set pressure.
    pub fade_fraction: f64,
    /// Seconds of cranking until a healthy engine starts.
    pub crank_seconds: f64,
    /// Seconds of cranking after which a driver gives up; no more than [`Engine::crank_seconds`] if
    /// nobody goes on.
    pub longest_crank_s: f64,
    /// Seconds of cranking until the oil pressure closes its switch.
    pub oil_pressure_s: f64,
    /// Engine speed at warm idle, at a steady cruise and under full load, revolutions a minute.
    pub rpm: [f64; 3],
}

/// How a type of vehicle is used.
#[derive(Clone, Debug, PartialEq)]
pub struct Service {
    /// Kilometres it is usually driven in a year.
    pub km_a_year: f64,
    /// Sentences of a past that such use leaves.
    pub past: Vec<String>,
}

impl Service {
    /// Kilometres a year of a vehicle that is driven every day; ours, no source.
    pub const USUAL_KM: f64 = 12_400.0;
}

impl Default for Service {
    fn default() -> Service {
        Service {
            km_a_year: Service::USUAL_KM,
            past: Vec::new(),
        }
    }
}

/// What drivers of a vehicle say where the usual words do not fit its circuit; empty where they do.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CustomerWords {
    /// Of a pump that whines.
    pub whines: Vec<String>,
    /// Of a pump that goes on with the key out.
    pub runs_on: Vec<String>,
    /// Of a sound vehicle, misread.
    pub misread: Vec<String>,
}

/// One line of service data.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Short name by which a scenario withholds it.
    pub id: String,
    /// The line as printed.
    pub text: String,
}

impl Vehicle {
    /// What its pump moves.
    #[must_use]
    pub fn medium(&self) -> Medium {
        if self.cooling.is_some() {
            Medium::Coolant
        } else {
            Medium::Fuel
        }
    }

    /// Where the flow is measured: the return line, or the line of a closed loop.
    #[must_use]
    pub fn flow_part(&self) -> Option<PartId> {
        let kind = if self.hydraulics.closed_loop {
            Kind::Line
        } else {
            Kind::ReturnLine
        };
        let found = self.parts.iter().position(|part| part.kind == kind);
        found.map(PartId)
    }

    /// Every pump, the main one first.
    pub fn pumps(&self) -> impl Iterator<Item = &PumpPart> {
        core::iter::once(&self.pump).chain(self.lift.iter().map(|lift| &lift.pump))
    }

    /// Whether a part is the lift pump.
    #[must_use]
    pub fn is_lift(&self, part: PartId) -> bool {
        self.lift.is_some_and(|lift| lift.pump.part == part)
    }

    /// The winding of a pump.
    #[must_use]
    pub fn winding(&self, pump: &PumpPart) -> Option<ElementId> {
        let mut elements = self.elements.iter();
        let found = elements.position(|e| matches!(e.law, Law::Winding) && e.part == pump.part);
        found.map(ElementId)
    }

    /// The pump that hangs in the tank.
    #[must_use]
    pub fn tank_pump(&self) -> &PumpPart {
        self.lift.as_ref().map_or(&self.pump, |lift| &lift.pump)
    }

    /// The node with this name; case is ignored.
    #[must_use]
    pub fn node(&self, name: &str) -> Option<NodeId> {
        self.nodes
            .iter()
            .position(|node| node.name.eq_ignore_ascii_case(name))
            .map(node_at)
    }

    /// The part with this identifier; case is ignored.
    #[must_use]
    pub fn part(&self, id: &str) -> Option<PartId> {
        self.parts
            .iter()
            .position(|part| part.id.eq_ignore_ascii_case(id))
            .map(PartId)
    }

    /// The place with this identifier.
    #[must_use]
    pub fn place(&self, id: &str) -> Option<PlaceId> {
        self.places
            .iter()
            .position(|place| place.id == id)
            .map(PlaceId)
    }

    /// The access work with this identifier; case is ignored.
    #[must_use]
    pub fn access(&self, id: &str) -> Option<AccessId> {
        self.accesses
            .iter()
            .position(|access| access.id.eq_ignore_ascii_case(id))
            .map(AccessId)
    }

    /// One element of a part by its leg.
    #[must_use]
    pub fn element(&self, part: PartId, leg: &str) -> Option<ElementId> {
        self.elements
            .iter()
            .position(|element| element.part == part && element.leg.eq_ignore_ascii_case(leg))
            .map(ElementId)
    }

    /// All elements of a part.
    pub fn elements_of(&self, part: PartId) -> impl Iterator<Item = (ElementId, &Element)> {
        self.elements
            .iter()
            .enumerate()
            .filter(move |(_, element)| element.part == part)
            .map(|(index, element)| (ElementId(index), element))
    }

    /// Every point a meter tip can touch.
    pub fn points(&self) -> impl Iterator<Item = (NodeId, &Node, &Touch)> {
        self.nodes
            .iter()
            .enumerate()
            .filter_map(|(index, node)| Some((node_at(index), node, node.touch.as_ref()?)))
    }

    /// The parts that alone can break the pump's current, in file order.
    #[must_use]
    pub fn pump_loop(&self) -> Vec<PartId> {
        self.loop_of(&self.pump)
    }

    /// The same of any of its pumps.
    #[must_use]
    pub fn loop_of(&self, pump: &PumpPart) -> Vec<PartId> {
        super::validate::loop_of(self, pump)
    }
}
