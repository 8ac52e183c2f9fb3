//! The tests a certificate counts with: what each measures, and how well.

use crate::circuit::NodeId;
use crate::vehicle::{Element, Kind, Law, PartId, PumpPart, Section, Vehicle, node_index};

/// One test.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) enum Probe {
    /// Volts of a point against the reference, key on, the pump commanded or not.
    Volts { point: NodeId, pump: bool },
    /// Current in a wire by clamp, pump commanded.
    Amps(PartId),
    /// Pitch of the pump as a share of a usual one's, pump commanded.
    Listen,
    /// The same of a lift pump.
    ListenLift,
    /// Pressure by a tee in a lift pump's line, pump commanded.
    LiftPressure(PartId),
    /// Pressure at the service port, pump commanded.
    Pressure,
    /// Flow through the return line, pump commanded.
    Flow,
    /// Flow out of the feed, taken off the rail, where nothing comes back.
    FeedFlow,
    /// Pressure at the port with the return line pinched shut, pump commanded.
    DeadHead(PartId),
    /// Pressure at the port when it has stood after the pump was switched off.
    Held,
    /// The same with the line to the engine pinched shut.
    HeldPinched(PartId),
    /// Volts of the battery with the engine running.
    Charging,
    /// Volts of the battery while the starter turns.
    Cranking,
    /// Terminals of a part, unplugged and opened: dull ones or none.
    Joints(PartId),
    /// A filter or strainer taken off and blown through: the logarithm of its resistance over a new one's.
    Restriction(PartId),
    /// A thermostat taken out and heated in water: it works 0, stays shut 1, stands open -1.
    Heated(PartId),
    /// Volts behind the pump's relay with two relays in each other's sockets, pump commanded.
    Swapped {
        /// Where the volts are read.
        at: NodeId,
        /// The relays.
        relays: (PartId, PartId),
    },
    /// Volts of a point while the starter turns, nothing commanded by tool: behind the pump's relay, and of the engine's metal.
    WhileCranking(NodeId),
    /// Volts behind the pump's relay with the relay out and the key off.
    StillFed {
        /// Where the volts are read.
        at: NodeId,
        /// The relay.
        out: PartId,
    },
    /// Volts of a point of a back-up feed with the relay out and the engine running: what it keeps up.
    BackUp {
        /// Where the volts are read.
        at: NodeId,
        /// The relay.
        out: PartId,
    },
    /// Volts of a point with a lamp to it from the battery's positive post and a part unplugged, key off: low if there is
    /// a way to ground from it. Finds where a wire touches the body.
    LampFed { point: NodeId, unplugged: PartId },
    /// A glass of fuel: clear 0, with water 1, nothing comes -1.
    Glass,
    /// Road test: whether a driver notices anything.
    Drive,
}

/// Logarithm of the resistance over a new one's below which what is blown through is as good as new; ours, no source.
const FREE: f64 = 0.2;

/// What can be wrong with a value as read.
///
/// Limits of the instruments the bay offers as standard uncertainties (half-width over root three); what eyes and ears
/// leave open is ours, no source.
pub(super) fn sigma(probe: Probe, value: f64, figures: bool) -> f64 {
    let size = libm::fabs(value);
    // Without the maker's figures only the type is known: what it should be is a guess (ours, no source).
    let guess = |share: f64| if figures { 0.0 } else { share * size };
    match probe {
        Probe::Volts { .. }
        | Probe::Swapped { .. }
        | Probe::WhileCranking(_)
        | Probe::StillFed { .. }
        | Probe::BackUp { .. }
        | Probe::Charging
        | Probe::Cranking => 0.02 + 0.003 * size,
        // Glows or does not.
        Probe::LampFed { .. } => 1.0,
        Probe::Amps(_) => 0.06 + 0.015 * size,
        Probe::Listen | Probe::ListenLift => 0.06,
        Probe::LiftPressure(_)
        | Probe::Pressure
        | Probe::DeadHead(_)
        | Probe::Held
        | Probe::HeldPinched(_) => 4.5 + guess(0.06),
        Probe::Flow | Probe::FeedFlow => 1.0 + 0.015 * size + guess(0.1),
        Probe::Joints(_) => 0.2,
        Probe::Restriction(_) => 0.5,
        Probe::Glass | Probe::Heated(_) => 0.15,
        Probe::Drive => 0.3,
    }
}

impl Probe {
    /// Unit of the value.
    pub fn unit(self) -> &'static str {
        match self {
            Probe::Volts { .. }
            | Probe::LampFed { .. }
            | Probe::Swapped { .. }
            | Probe::WhileCranking(_)
            | Probe::StillFed { .. }
            | Probe::BackUp { .. }
            | Probe::Charging
            | Probe::Cranking => "V",
            Probe::Amps(_) => "A",
            Probe::Pressure
            | Probe::LiftPressure(_)
            | Probe::DeadHead(_)
            | Probe::Held
            | Probe::HeldPinched(_) => "kPa",
            Probe::Flow | Probe::FeedFlow => "L/h",
            Probe::Listen
            | Probe::ListenLift
            | Probe::Joints(_)
            | Probe::Restriction(_)
            | Probe::Heated(_)
            | Probe::Glass
            | Probe::Drive => "",
        }
    }

    /// The test in words.
    pub fn words(self, vehicle: &Vehicle) -> String {
        let node = |node: NodeId| vehicle.nodes[node_index(node)].name.clone();
        let part = |part: PartId| vehicle.parts[part.0].id.clone();
        let reference = node(vehicle.reference);
        match self {
            Probe::Volts { point, pump } => {
                let state = if pump {
                    "pump commanded"
                } else {
                    "key on, pump not commanded"
                };
                format!("volts {} to {reference}, {state}", node(point))
            }
            Probe::Amps(wire) => format!("current in {} by clamp, pump commanded", part(wire)),
            Probe::Listen => "pitch of the pump, pump commanded".into(),
            Probe::ListenLift => "pitch of the lift pump, pumps commanded".into(),
            Probe::LiftPressure(line) => {
                format!("pressure at a tee in {}, pumps commanded", part(line))
            }
            Probe::Pressure => "pressure at the port, pump commanded".into(),
            Probe::Flow => {
                let line = vehicle
                    .flow_part()
                    .map_or("line", |id| &vehicle.parts[id.0].id);
                format!("flow through {line}, pump commanded")
            }
            Probe::FeedFlow => "flow out of the feed, off the rail, pump by service tool".into(),
            Probe::DeadHead(line) => {
                format!("pressure with {} pinched, pump commanded", part(line))
            }
            Probe::Held => "pressure ten minutes after switching off".into(),
            Probe::HeldPinched(line) => {
                format!(
                    "pressure ten minutes after switching off, {} pinched",
                    part(line)
                )
            }
            Probe::Charging => "volts of the battery, engine started a minute ago".into(),
            Probe::Cranking => "volts of the battery, cranking".into(),
            Probe::Joints(id) => format!("{} opened", part(id)),
            Probe::Restriction(id) => format!("{} blown through", part(id)),
            Probe::Heated(id) => format!("{} heated in water", part(id)),
            Probe::Swapped { at, relays } => format!(
                "volts {} to {reference}, {} and {} swapped, pump commanded",
                node(at),
                part(relays.0),
                part(relays.1)
            ),
            Probe::WhileCranking(at) => format!("volts {} to {reference}, cranking", node(at)),
            Probe::StillFed { at, out } => format!(
                "volts {} to {reference}, {} unplugged, key off",
                node(at),
                part(out)
            ),
            Probe::BackUp { at, out } => format!(
                "volts {} to {reference}, {} unplugged, engine running",
                node(at),
                part(out)
            ),
            Probe::LampFed { point, unplugged } => format!(
                "volts {} with a lamp to it from the positive post, {} unplugged, key off",
                node(point),
                part(unplugged)
            ),
            Probe::Glass => "a glass of fuel".into(),
            Probe::Drive => "road test".into(),
        }
    }

    /// A value in the unit of the test.
    pub fn figure(self, value: f64) -> f64 {
        match self {
            Probe::Restriction(_) => libm::exp(value),
            _ => value,
        }
    }

    /// What a value says, in words or with its unit.
    pub fn found(self, value: f64) -> String {
        let either = |yes: &str, no: &str| if value > 0.5 { yes } else { no }.to_owned();
        match self {
            Probe::Listen | Probe::ListenLift => format!("{value:.2} of a usual one's"),
            Probe::Restriction(_) if value < FREE => "as free as a new one".into(),
            Probe::Restriction(_) => format!("{:.1} times as stiff as new", libm::exp(value)),
            Probe::Joints(_) => either("a dull terminal", "no dull terminal"),
            Probe::Drive => either("something is noticed", "nothing is noticed"),
            Probe::Heated(_) if value < -0.5 => "stands open".into(),
            Probe::Heated(_) => either("stays shut", "opens as it should"),
            Probe::Glass if value < -0.5 => "nothing comes".into(),
            Probe::Glass => either("water in it", "clear"),
            _ => match self.unit() {
                "V" => format!("{value:.3} V"),
                "A" => format!("{value:.2} A"),
                unit => format!("{value:.0} {unit}"),
            },
        }
    }

    /// A point or part a written scenario would have to allow for this test; nothing for one that is always allowed.
    pub fn place_name(self, vehicle: &Vehicle) -> Option<String> {
        match self {
            Probe::Volts { point, .. }
            | Probe::LampFed { point, .. }
            | Probe::WhileCranking(point)
            | Probe::BackUp { at: point, .. }
            | Probe::StillFed { at: point, .. } => {
                Some(vehicle.nodes[node_index(point)].name.clone())
            }
            Probe::Joints(part)
            | Probe::LiftPressure(part)
            | Probe::Restriction(part)
            | Probe::Heated(part)
            | Probe::Swapped {
                relays: (part, _), ..
            } => Some(vehicle.parts[part.0].id.clone()),
            _ => None,
        }
    }
}

/// The tests of a vehicle. The pump's own loop comes first: of two that tell as much, the earlier is taken.
pub(super) fn probes(vehicle: &Vehicle) -> Vec<Probe> {
    let mut points = vehicle.pump_points();
    let others = vehicle.plugged_points();
    let fresh: Vec<NodeId> = others
        .iter()
        .copied()
        .filter(|node| !points.contains(node))
        .collect();
    points.extend(fresh);
    let mut all = Vec::new();
    for pump in [true, false] {
        let volts = points.iter().filter(|&&point| point != vehicle.reference);
        all.extend(volts.map(|&point| Probe::Volts { point, pump }));
    }
    let of = |kind: Kind| {
        let parts = vehicle.parts.iter().enumerate();
        parts
            .filter(move |(_, part)| part.kind == kind)
            .map(|(index, _)| PartId(index))
    };
    all.extend(clamped_wires(vehicle).into_iter().map(Probe::Amps));
    all.extend([
        Probe::Listen,
        Probe::Drive,
        Probe::Cranking,
        Probe::Charging,
    ]);
    all.extend(vehicle.lift.map(|_| Probe::ListenLift));
    all.extend(of(Kind::LiftLine).map(Probe::LiftPressure));
    if of(Kind::Injectors).next().is_some() {
        all.extend([Probe::Pressure, Probe::Held, Probe::Glass]);
        all.extend(of(Kind::Line).map(Probe::HeldPinched));
    }
    match vehicle.flow_part() {
        Some(_) => all.push(Probe::Flow),
        None => all.extend(of(Kind::Injectors).map(|_| Probe::FeedFlow)),
    }
    all.extend(of(Kind::ReturnLine).map(Probe::DeadHead));
    for kind in [Kind::Connector, Kind::Relay, Kind::Fuse] {
        all.extend(of(kind).map(Probe::Joints));
    }
    for kind in [Kind::Filter, Kind::Strainer, Kind::Radiator] {
        all.extend(of(kind).map(Probe::Restriction));
    }
    all.extend(of(Kind::Thermostat).map(Probe::Heated));
    let way = any_loop(vehicle);
    let on_way = |part: &PartId, kinds: &[Kind]| kinds.contains(&vehicle.parts[part.0].kind);
    let ends = |&part: &PartId| {
        let elements = vehicle.elements_of(part);
        elements.flat_map(|(_, element)| [element.from, element.to])
    };
    let mut fed: Vec<NodeId> = Vec::new();
    for part in way
        .iter()
        .filter(|part| on_way(part, &[Kind::Fuse, Kind::Relay]))
    {
        fed.extend(ends(part).filter(|node| points.contains(node)));
    }
    fed.dedup();
    for &part in way
        .iter()
        .filter(|part| on_way(part, &[Kind::Connector, Kind::Relay]))
    {
        all.extend(fed.iter().map(|&point| Probe::LampFed {
            point,
            unplugged: part,
        }));
    }
    let engine = vehicle.elements.iter().find_map(|element| {
        let touched = others.contains(&element.to);
        (matches!(element.law, Law::Starter { .. }) && touched).then_some(element.to)
    });
    all.extend(engine.map(Probe::WhileCranking));
    let Some((relay, behind)) = behind_relay(vehicle) else {
        return all;
    };
    all.extend([
        Probe::WhileCranking(behind),
        Probe::StillFed {
            at: behind,
            out: relay,
        },
    ]);
    for switch in of(Kind::PressureSwitch) {
        let mut along = vec![behind];
        along.extend(ends(&switch).filter(|node| points.contains(node)));
        all.extend(along.into_iter().map(|at| Probe::BackUp { at, out: relay }));
    }
    let relays: Vec<PartId> = of(Kind::Relay).collect();
    for (place, &a) in relays.iter().enumerate() {
        for &b in &relays[place + 1..] {
            let kind = |part: PartId| vehicle.parts[part.0].relay_type.as_deref();
            if kind(a).is_some() && kind(a) == kind(b) {
                all.push(Probe::Swapped {
                    at: behind,
                    relays: (a, b),
                });
            }
        }
    }
    all
}

/// The parts that alone can break the current of one pump or the other, the main pump's first.
fn any_loop(vehicle: &Vehicle) -> Vec<PartId> {
    let mut way: Vec<PartId> = Vec::new();
    for pump in vehicle.pumps() {
        let fresh = vehicle.loop_of(pump);
        way.extend(
            fresh
                .into_iter()
                .filter(|part| !way.contains(part))
                .collect::<Vec<_>>(),
        );
    }
    way
}

/// The wire of each pump's own circuit that a clamp gets round with least work.
fn clamped_wires(vehicle: &Vehicle) -> Vec<PartId> {
    let main = vehicle.pump_loop();
    let own = |pump: &PumpPart| {
        let parts = vehicle.loop_of(pump);
        // Of a lift pump only what is its own.
        let shared = |part: &PartId| pump.part != vehicle.pump.part && main.contains(part);
        clamped_wire(
            vehicle,
            parts.into_iter().filter(|part| !shared(part)).collect(),
        )
    };
    vehicle.pumps().filter_map(own).collect()
}

fn clamped_wire(vehicle: &Vehicle, way: Vec<PartId>) -> Option<PartId> {
    let seconds = |part: &PartId| {
        let order = vehicle.access_to(vehicle.parts[part.0].place);
        let all = order.iter().map(|id| vehicle.accesses[id.0].seconds);
        all.sum::<f64>()
    };
    way.into_iter()
        .filter(|part| {
            let part = &vehicle.parts[part.0];
            part.kind == Kind::Wire && matches!(part.section, Section::Feed | Section::GroundSide)
        })
        .min_by(|a, b| seconds(a).total_cmp(&seconds(b)))
}

/// The relay that feeds the pump and where current leaves it, if a tip can touch that.
fn behind_relay(vehicle: &Vehicle) -> Option<(PartId, NodeId)> {
    let feeds = |element: &&Element| {
        vehicle.parts[element.part.0].kind == Kind::Relay && element.section == Section::Feed
    };
    let plugged = vehicle.plugged_points();
    let mut feeds = vehicle.elements.iter().filter(feeds);
    feeds
        .find(|element| element.leg == "87" && plugged.contains(&element.to))
        .map(|element| (element.part, element.to))
}
