//! Actions, tests and repairs in plain words.

use crate::bay::{Action, Entry, Fitting, Verdict};
use crate::circuit::NodeId;
use crate::evidence::{Cure, Next, Probe, Repair};
use crate::fault::Remedy;
use crate::instrument::{Function, Side};
use crate::vehicle::{Key, PartId, Vehicle, node_index};

fn point(vehicle: &Vehicle, node: NodeId) -> &str {
    &vehicle.nodes[node_index(node)].name
}

fn part(vehicle: &Vehicle, part: PartId) -> &str {
    &vehicle.parts[part.0].id
}

/// `repair G4 (ground point at the tank)`.
pub(in crate::score) fn repair(vehicle: &Vehicle, repair: &Repair) -> String {
    let (id, remedy) = match repair.what {
        Cure::HandBack => return "hand the vehicle back without a repair".to_owned(),
        Cure::Fill => return "fill fuel in".to_owned(),
        Cure::Drain => return "drain the tank and fill clean fuel in".to_owned(),
        Cure::Part(id, remedy) => (id, remedy),
    };
    let found = &vehicle.parts[id.0];
    let word = match remedy {
        Remedy::Repair => "repair",
        Remedy::Replace => "replace",
    };
    if found.title.is_empty() {
        format!("{word} {}", found.id)
    } else {
        format!("{word} {} ({})", found.id, found.title)
    }
}

/// A test as one would tell somebody to do it.
pub(in crate::score) fn probe(vehicle: &Vehicle, repairs: &[Repair], probe: Probe) -> String {
    match probe {
        Probe::Volts { point: node, pump } => {
            let state = if pump {
                "the pump running by service tool"
            } else {
                "the key on and the pump at rest"
            };
            format!(
                "read volts at {} against {}, with {state}",
                point(vehicle, node),
                point(vehicle, vehicle.reference)
            )
        }
        Probe::Current(wire) => format!(
            "close the clamp around {} and read the pump's current",
            part(vehicle, wire)
        ),
        Probe::Look(at) => format!("look closely at {}", part(vehicle, at)),
        Probe::Try(index) => format!(
            "{}, and see by a road test whether that was it",
            repair(vehicle, &repairs[index])
        ),
        Probe::Listen => "listen to the pump, commanded by service tool".to_owned(),
        Probe::Pressure => {
            "read the pressure gauge with the pump running by service tool".to_owned()
        }
        Probe::LiftPressure => {
            "tee the pressure gauge into the lift pump's line and read it with both pumps running by service tool".to_owned()
        }
        Probe::Sample => "draw a glass of fuel and look at it against the light".to_owned(),
        Probe::Flow => "time the flow with the pump running by service tool".to_owned(),
    }
}

/// The next step in words.
pub(in crate::score) fn next(vehicle: &Vehicle, repairs: &[Repair], step: &Next) -> String {
    match step {
        Next::Probe(found) => probe(vehicle, repairs, *found),
        Next::Repair(index) => repair(vehicle, &repairs[*index]),
    }
}

fn function(function: Function) -> &'static str {
    match function {
        Function::Volts => "volts",
        Function::LowVolts => "volts on the low-impedance function",
        Function::Millivolts => "millivolts",
        Function::Ohms => "ohms",
        Function::Continuity => "continuity",
        Function::Amps => "amps in line",
    }
}

/// What an action was.
#[expect(
    clippy::too_many_lines,
    reason = "one line for each action there is; splitting it would hide that none is missing"
)]
pub(in crate::score) fn action(vehicle: &Vehicle, entry: &Entry) -> String {
    let node = |node: &NodeId| point(vehicle, *node);
    let name = |id: &PartId| part(vehicle, *id);
    match &entry.action {
        Action::Order => "read the work order".into(),
        Action::Diagram => "looked at the wiring diagram".into(),
        Action::Points(_) => "listed test points".into(),
        Action::Data => "read the service figures".into(),
        Action::Prices(_) => "read prices and times".into(),
        Action::Log | Action::Clock | Action::Aside { .. } => "looked something up".into(),
        Action::Hint { depth: 1, .. } => "asked for a hint: which section".into(),
        Action::Hint { depth: 2, .. } => "asked for a hint: which kind of test".into(),
        Action::Hint { .. } => "asked for a hint: which reading".into(),
        Action::Key(Key::Off) => "turned the key off".into(),
        Action::Key(Key::On) => "turned the key on".into(),
        Action::Key(Key::Crank) => "cranked the engine".into(),
        Action::Key(Key::Run) => "started the engine".into(),
        Action::PumpTool(true) => "commanded the pump on by service tool".into(),
        Action::PumpTool(false) => "stopped the pump by service tool".into(),
        Action::Drive => "drove a road test".into(),
        Action::Unplug(id) => format!("unplugged {}", name(id)),
        Action::Plug(id) => format!("plugged {} in", name(id)),
        Action::Look(target) => format!("looked at {}", name(&target.part)),
        Action::Listen => "listened for the pump".into(),
        Action::Feel(id) => format!("felt {}", name(id)),
        Action::Wiggle(id) => format!("moved {} by hand", name(id)),
        Action::Refit(id) => format!("put back: {}", vehicle.accesses[id.0].name),
        Action::Access(id) => format!("access: {}", vehicle.accesses[id.0].name),
        Action::Warm => "warmed the engine through".into(),
        Action::Tap(id) => format!("knocked on {}", name(id)),
        Action::Swap { relay, .. } => format!("swapped relay {} with another", name(relay)),
        Action::Pinch { line, shut: true } => format!("squeezed {} shut", name(line)),
        Action::Pinch { line, shut: false } => format!("let {} go", name(line)),
        Action::Open(id) => format!("opened {} for inspection", name(id)),
        Action::Sample => "drew a glass from the line".into(),
        Action::Fill { drained: false } => "filled fuel in".into(),
        Action::Fill { drained: true } => "drained the tank and filled fuel in".into(),
        Action::Charge { .. } => "charged the battery".into(),
        Action::Scan => "read codes and live data".into(),
        Action::Wait { seconds } => format!("waited {seconds:.0} s"),
        Action::Meter {
            function: of,
            red,
            black,
        } => {
            format!(
                "read {} from {} to {}",
                function(*of),
                node(red),
                node(black)
            )
        }
        Action::ReadMeter => "read the meter again".into(),
        Action::MeterOff => "took the meter off".into(),
        Action::Range(_) => "chose the meter's range".into(),
        Action::MeterFuse => "renewed the meter's fuse".into(),
        Action::Needles(true) => "took needles for the tips".into(),
        Action::Needles(false) => "took plain probes for the tips".into(),
        Action::Scrape(at) => format!("scraped {} bright", node(at)),
        Action::Record(Some(_)) => "switched the recorder on".into(),
        Action::Record(None) => "switched the recorder off".into(),
        Action::Leads(None) => "took standard leads".into(),
        Action::Leads(Some((Side::Red, _))) => "made the red lead longer".into(),
        Action::Leads(Some((Side::Black, _))) => "made the black lead longer".into(),
        Action::Tip(Side::Red) => "placed the red tip anew".into(),
        Action::Tip(Side::Black) => "placed the black tip anew".into(),
        Action::Zero => "zeroed the ohms function".into(),
        Action::Clamp(id) => format!("closed the clamp around {}", name(id)),
        Action::ClampZero => "zeroed the clamp".into(),
        Action::ClampOff => "took the clamp off".into(),
        Action::Lamp { a, b } => format!("put the test lamp on {} and {}", node(a), node(b)),
        Action::LampOff => "took the lamp off".into(),
        Action::Load { a, b, .. } => {
            format!("put a bulb on {} and {} as a load", node(a), node(b))
        }
        Action::LoadOff => "took the bulb off".into(),
        Action::Waveform => "watched the current on the screen".into(),
        Action::Temperature(id) => format!("took the temperature of {}", name(id)),
        Action::Gauge(Some(Fitting::Port)) => "fitted the pressure gauge".into(),
        Action::Gauge(Some(Fitting::Tee(id))) => {
            format!("teed the pressure gauge in at {}", name(id))
        }
        Action::Reread(_) => "looked at an instrument again".into(),
        Action::Gauge(None) => "took the pressure gauge off".into(),
        Action::Flow { .. } => "timed the flow".into(),
        Action::Jumper(bridge) => format!("bridged {} and {}", node(&bridge.a), node(&bridge.b)),
        Action::JumperOff => "took the bridge off".into(),
        Action::Helper(true) => "called a colleague to watch".into(),
        Action::Helper(false) => "sent the colleague back".into(),
        Action::Call {
            section, verdict, ..
        } => {
            let word = match verdict {
                Verdict::Good => "good",
                Verdict::Bad => "bad",
                Verdict::Unsure => "not to be judged yet",
            };
            format!("called the {} {word}", section.spoken())
        }
        Action::Protect => "took protective measures".into(),
        Action::Relieve => "let the pressure down".into(),
        Action::Isolate(true) => "took the battery's negative clamp off".into(),
        Action::Isolate(false) => "put the battery's negative clamp back".into(),
        Action::Stands => "set the vehicle on stands".into(),
        Action::Repair(target) => format!("repaired {}", name(&target.part)),
        Action::Replace(id) => format!("replaced {}", name(id)),
        Action::Handover => "handed the vehicle back".into(),
    }
}
