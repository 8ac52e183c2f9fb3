//! Learners who read under load and repair what the readings point to.

use std::sync::Arc;

use hidden_ohm::bay::{Action, Cited, Tool};
use hidden_ohm::circuit::NodeId;
use hidden_ohm::evidence::{Cure, Depth, Next, Pool, Probe};
use hidden_ohm::fault::Remedy;
use hidden_ohm::instrument::Quantity;
use hidden_ohm::score::{Coach, WEIGHTS};
use hidden_ohm::vehicle::{Key, Kind, PartId, Section, Vehicle};

use super::workbench::Workbench;

/// Volts lost between two points under load that are too many, V.
const TOO_MANY_V: f64 = 0.35;

/// What the reference would do, step by step.
pub fn by_reference(bench: &mut Workbench, pool: &Arc<Pool>, depth: Depth) {
    /// Steps after which anybody hands back.
    const MOST: usize = 60;
    let mut coach = Coach::new(pool, &bench.bay, &WEIGHTS);
    let (mut last, mut driven) = (None, false);
    for _ in 0..MOST {
        let Some(next) = coach.next(&bench.bay, depth) else {
            break;
        };
        let repair = match next {
            Next::Probe(probe) if last != Some(next) => {
                does_probe(bench, &coach, probe);
                None
            }
            // It could not be done, or told nothing the model can use: somebody with hands goes on to what is likeliest.
            Next::Probe(_) => likeliest(&coach),
            Next::Repair(repair) => Some(repair),
        };
        last = Some(next);
        let Some(repair) = repair else { continue };
        let account = coach.account();
        let what = account.repairs().all()[repair].what;
        if what == Cure::HandBack || account.setup().done().any(|done| done == what) {
            // Nobody hands back what he has not driven.
            if bench.drove_clean || driven || bench.drives() {
                return;
            }
            driven = true;
            continue;
        }
        calls(bench, &coach);
        bench.puts_right(what);
        bench.drives();
    }
}

/// The repair that is most probably right.
fn likeliest(coach: &Coach) -> Option<usize> {
    let p = coach.account().repair_probabilities();
    (0..p.len()).reduce(|a, b| if p[b] > p[a] { b } else { a })
}

/// States what belief says of each section, citing the last volts that were read in it.
fn calls(bench: &mut Workbench, coach: &Coach) {
    let doubts = coach.shares(&bench.bay);
    for (section, p) in Section::ALL.into_iter().zip(doubts) {
        let mut read = bench.read.iter().rev();
        let last = read.find(|(point, _)| section_of(&bench.vehicle, *point) == section);
        let cites = last.map(|(_, volts)| *volts);
        if p > 0.7 {
            bench.call(section, true, cites);
        } else if p < 0.02 {
            bench.call(section, false, cites);
        }
    }
}

/// Does a test.
fn does_probe(bench: &mut Workbench, coach: &Coach, probe: Probe) {
    match probe {
        Probe::Volts { point, pump } => {
            bench.pump(pump);
            bench.volts(point);
        }
        Probe::Current(wire) => {
            let needs = bench.vehicle.places[bench.vehicle.parts[wire.0].place.0]
                .needs
                .clone();
            bench.opens(&needs, false);
            bench.does(Action::ClampZero);
            bench.pump(true);
            bench.does(Action::Clamp(wire));
            bench.does(Action::ClampOff);
        }
        Probe::Listen => {
            bench.pump(true);
            bench.does(Action::Listen);
        }
        Probe::Look(part) => {
            let needs = bench.vehicle.places[bench.vehicle.parts[part.0].place.0]
                .needs
                .clone();
            bench.opens(&needs, true);
            let target = hidden_ohm::bay::Target { part, leg: None };
            bench.does(Action::Look(target));
        }
        Probe::Pressure => {
            bench.rests();
            bench.does(Action::Relieve);
            let needs = kind_needs(&bench.vehicle, Kind::Injectors);
            bench.opens(&needs, false);
            bench.does(Action::Gauge(Some(hidden_ohm::bay::Fitting::Port)));
            bench.pump(true);
            bench.does(Action::Wait { seconds: 5.0 });
        }
        Probe::LiftPressure => {
            bench.rests();
            bench.does(Action::Relieve);
            let needs = kind_needs(&bench.vehicle, Kind::LiftLine);
            bench.opens(&needs, false);
            let parts = &bench.vehicle.parts;
            let line = parts.iter().position(|part| part.kind == Kind::LiftLine);
            let tee = line.map(|line| hidden_ohm::bay::Fitting::Tee(PartId(line)));
            bench.does(Action::Gauge(None));
            bench.does(Action::Gauge(tee));
            bench.pump(true);
            bench.does(Action::Wait { seconds: 5.0 });
        }
        Probe::Flow => {
            bench.rests();
            bench.does(Action::Relieve);
            let comes_back = bench.vehicle.flow_part().is_some();
            let opened = if comes_back {
                Kind::ReturnLine
            } else {
                Kind::Injectors
            };
            let needs = kind_needs(&bench.vehicle, opened);
            bench.opens(&needs, false);
            if comes_back {
                bench.pump(true);
            }
            bench.does(Action::Flow {
                seconds: 30.0,
                bridge: None,
            });
        }
        Probe::Sample => {
            bench.rests();
            bench.does(Action::Key(Key::Off));
            bench.does(Action::Relieve);
            let needs = kind_needs(&bench.vehicle, Kind::Line);
            bench.opens(&needs, false);
            bench.does(Action::Sample);
        }
        Probe::Try(repair) => {
            calls(bench, coach);
            let what = coach.account().repairs().all()[repair].what;
            if what != Cure::HandBack {
                bench.puts_right(what);
                bench.drives();
            }
        }
    }
}

fn kind_needs(vehicle: &Vehicle, kind: Kind) -> Vec<hidden_ohm::vehicle::AccessId> {
    let part = vehicle.parts.iter().find(|part| part.kind == kind);
    part.map_or_else(Vec::new, |part| vehicle.places[part.place.0].needs.clone())
}

/// The section that ends at a point of the pump's way.
pub fn section_of(vehicle: &Vehicle, point: NodeId) -> Section {
    let way = vehicle.pump_way();
    let elements = || way.elements.iter().map(|id| &vehicle.elements[id.0]);
    let there = way.there.contains(&point);
    let mut touching = elements().filter(|e| e.from == point || e.to == point);
    let first = touching.next();
    let last = touching.next_back().or(first);
    let found = if there { first } else { last };
    found.map_or(Section::Supply, |element| element.section)
}

/// Everything between two neighbouring points of the loop, cheapest first, each with a road test.
pub fn mends_between(bench: &mut Workbench, a: NodeId, b: NodeId) -> bool {
    let way = bench.vehicle.pump_way();
    let order: Vec<NodeId> = way.there.iter().chain(&way.back).copied().collect();
    let place = |node: NodeId| order.iter().position(|known| *known == node).unwrap_or(0);
    let (from, to) = (place(a).min(place(b)), place(a).max(place(b)));
    let inside = &order[from..=to];
    let mut parts: Vec<PartId> = way
        .elements
        .iter()
        .map(|id| &bench.vehicle.elements[id.0])
        .filter(|e| inside.contains(&e.from) && inside.contains(&e.to))
        .map(|e| e.part)
        .collect();
    parts.sort_unstable();
    parts.dedup();
    let cost = |part: &PartId| {
        let found = &bench.vehicle.parts[part.0];
        let work = found.repair.as_ref().or(found.replace.as_ref());
        work.map_or(i64::MAX, |work| work.price.0)
    };
    parts.sort_by_key(cost);
    for part in parts {
        if bench.mends_somehow(part) && bench.drives() {
            return true;
        }
    }
    false
}

/// The fuel side: the filter, then the pump.
pub fn buys_pump(bench: &mut Workbench) -> bool {
    let pump = bench.vehicle.pump.part;
    bench.mends(pump, Remedy::Replace) && bench.drives()
}

/// The loop's points that can be read with the tank closed.
fn loop_points(vehicle: &Vehicle) -> Vec<NodeId> {
    vehicle.pump_points()
}

/// What a loop reader makes of the volts: the pair of neighbours that loses most beyond what is usual.
fn worst_pair(read: &[(NodeId, f64)], pump_at: usize) -> Option<(NodeId, NodeId, f64)> {
    let mut worst: Option<(NodeId, NodeId, f64)> = None;
    for (index, pair) in read.windows(2).enumerate() {
        // The pump itself takes what is left between the two sides.
        if index + 1 == pump_at {
            continue;
        }
        let lost = pair[0].1 - pair[1].1;
        if lost > TOO_MANY_V && worst.is_none_or(|(_, _, most)| lost > most) {
            worst = Some((pair[0].0, pair[1].0, lost));
        }
    }
    worst
}

/// Control: is the pump not switched on at all?
fn tries_control(bench: &mut Workbench) -> bool {
    let fuse = bench
        .vehicle
        .parts
        .iter()
        .position(|part| part.kind == Kind::Fuse && part.section == Section::Feed);
    let relay = bench
        .vehicle
        .parts
        .iter()
        .position(|part| part.kind == Kind::Relay);
    for part in [fuse, relay].into_iter().flatten().map(PartId) {
        // A fuse shows in its window whether it is open; nobody methodical changes a whole one.
        if bench.vehicle.parts[part.0].kind == Kind::Fuse {
            let target = hidden_ohm::bay::Target { part, leg: None };
            let seen = bench.does(Action::Look(target));
            let open = |line: &String| line.contains("bridge in its window is gone");
            if !seen.is_some_and(|seen| seen.said.iter().any(open)) {
                continue;
            }
        }
        if bench.mends(part, Remedy::Replace) && bench.drives() {
            return true;
        }
    }
    false
}

/// What a lead of 6 m of 1 mm2 is imagined to drop, as it would with the pump's 4 A in it, V.
const IMAGINED_V: f64 = 0.45;

/// Says what the volts say of each section they bear on; the pair of points that loses too much, and the volts at the pump.
fn judges(bench: &mut Workbench, read: &[(NodeId, f64)]) -> (Option<(NodeId, NodeId)>, f64) {
    let way = bench.vehicle.pump_way();
    let pump_at = read
        .iter()
        .filter(|(node, _)| way.there.contains(node))
        .count();
    let mut called: Vec<Section> = Vec::new();
    let worst = worst_pair(read, pump_at);
    if let Some((_, b, _)) = worst {
        let cites = read
            .iter()
            .find(|(node, _)| *node == b)
            .map(|(_, volts)| *volts);
        let section = section_of(&bench.vehicle, b);
        bench.call(section, true, cites);
        called.push(section);
    }
    for &(node, volts) in read {
        let section = section_of(&bench.vehicle, node);
        if called.contains(&section) || called.len() >= 6 {
            continue;
        }
        called.push(section);
        bench.call(section, false, Some(volts));
    }
    let at_pump = read
        .get(pump_at.saturating_sub(1))
        .map_or(0.0, |(_, volts)| *volts);
    (worst.map(|(a, b, _)| (a, b)), at_pump)
}

/// Concludes by rules of thumb from the volts alone.
fn by_rules(bench: &mut Workbench, read: &[(NodeId, f64)]) {
    let (worst, at_pump) = judges(bench, read);
    if let Some((a, b)) = worst {
        // What the volts pointed to was not it: somebody who reads does not go on buying.
        mends_between(bench, a, b);
    } else if at_pump < 2.0 {
        tries_control(bench);
    } else {
        fuel_side(bench);
    }
}

/// The circuit is sound: pressure says whether the pump, what stands in its way, or the regulator is at fault. What
/// pressure does not tell is not bought.
fn fuel_side(bench: &mut Workbench) {
    /// Shares of the regulator's set pressure that are too little and too much.
    const WRONG: (f64, f64) = (0.88, 1.12);
    let set_pa = bench.vehicle.hydraulics.regulator.set_pa;
    bench.rests();
    bench.does(Action::Relieve);
    let needs = kind_needs(&bench.vehicle, Kind::Injectors);
    bench.opens(&needs, false);
    bench.does(Action::Gauge(Some(hidden_ohm::bay::Fitting::Port)));
    let pressure = |bench: &mut Workbench, seconds: f64| {
        bench.does(Action::Wait { seconds });
        let seen = bench.does(Action::Reread(Tool::Gauge))?;
        let gauge = seen
            .readings
            .iter()
            .find(|reading| reading.quantity == Quantity::Pressure);
        gauge?.value
    };
    bench.pump(true);
    let Some(running) = pressure(bench, 5.0) else {
        return;
    };
    let part = |bench: &Workbench, kind: Kind| {
        let mut parts = bench.vehicle.parts.iter();
        parts.position(|part| part.kind == kind).map(PartId)
    };
    let mut suspects = Vec::new();
    if running > WRONG.1 * set_pa {
        suspects.push(Kind::Regulator);
    } else if running < WRONG.0 * set_pa {
        // With the return shut the pump shows what it can.
        let mut least = running;
        if let Some(line) = part(bench, Kind::ReturnLine) {
            let needs = kind_needs(&bench.vehicle, Kind::ReturnLine);
            bench.opens(&needs, false);
            bench.does(Action::Pinch { line, shut: true });
            bench.pump(true);
            least = pressure(bench, 3.0).unwrap_or(running);
            bench.does(Action::Pinch { line, shut: false });
        }
        if least > 1.3 * running {
            suspects.push(Kind::Regulator);
        } else {
            suspects.extend([Kind::Filter, Kind::Pump]);
        }
    } else {
        bench.rests();
        let held = pressure(bench, 120.0).unwrap_or(running);
        if held < 0.4 * running {
            suspects.push(Kind::Pump);
        }
    }
    bench.call_si(
        Section::Hydraulic,
        !suspects.is_empty(),
        Cited {
            value: running,
            quantity: Quantity::Pressure,
            written: format!("{:.0} kPa", running / 1e3),
        },
    );
    bench.rests();
    bench.does(Action::Relieve);
    bench.does(Action::Gauge(None));
    for kind in suspects {
        if part(bench, kind).is_some_and(|part| bench.mends(part, Remedy::Replace))
            && bench.drives()
        {
            return;
        }
    }
}

/// Every point of the loop in turn under load.
fn reads_all(bench: &mut Workbench) -> Vec<(NodeId, f64)> {
    bench.pump(true);
    let mut read = Vec::new();
    for point in loop_points(&bench.vehicle) {
        if point == bench.vehicle.reference {
            read.push((point, 0.0));
        } else if let Some(volts) = bench.volts(point) {
            read.push((point, volts));
        }
    }
    read
}

/// Reads the whole loop, says what that says, and goes on with the test that tells most for its cost.
pub fn textbook(bench: &mut Workbench, pool: &Arc<Pool>) {
    let read = reads_all(bench);
    judges(bench, &read);
    by_reference(bench, pool, Depth::Greedy);
}

/// Reads the whole loop, takes off every reading what the lead would drop if it carried the pump's current, and believes
/// what is left.
pub fn lead_subtractor(bench: &mut Workbench) {
    let mut read = reads_all(bench);
    for (_, volts) in &mut read {
        *volts = (*volts - IMAGINED_V).max(0.0);
    }
    by_rules(bench, &read);
}

/// The loop halved under load: first around the pump, then the half that loses too much. Says what that says, and goes on
/// with the test that tells most for its cost.
pub fn half_splitter(bench: &mut Workbench, pool: &Arc<Pool>) {
    bench.pump(true);
    let points = loop_points(&bench.vehicle);
    let way = bench.vehicle.pump_way();
    let pump_at = points
        .iter()
        .filter(|node| way.there.contains(node))
        .count();
    let mut known: Vec<Option<f64>> = vec![None; points.len()];
    let reference = bench.vehicle.reference;
    let mut read = |bench: &mut Workbench, index: usize| {
        if known[index].is_none() {
            known[index] = if points[index] == reference {
                Some(0.0)
            } else {
                bench.volts(points[index])
            };
        }
        known[index]
    };
    for (from, to) in [
        (0, pump_at.saturating_sub(1)),
        (pump_at.min(points.len() - 1), points.len() - 1),
    ] {
        let (mut low, mut high) = (from, to);
        // The points at the pump itself lie in the tank: as near to it as the floor allows.
        if from == 0 {
            while high > low && read(bench, high).is_none() {
                high -= 1;
            }
        } else {
            while low < high && read(bench, low).is_none() {
                low += 1;
            }
        }
        let (Some(mut a), Some(mut b)) = (read(bench, low), read(bench, high)) else {
            continue;
        };
        while high > low + 1 && a - b > TOO_MANY_V {
            let middle = usize::midpoint(low, high);
            let Some(volts) = read(bench, middle) else {
                break;
            };
            if a - volts > volts - b {
                (high, b) = (middle, volts);
            } else {
                (low, a) = (middle, volts);
            }
        }
    }
    let read: Vec<(NodeId, f64)> = points
        .iter()
        .zip(&known)
        .filter_map(|(node, volts)| Some((*node, (*volts)?)))
        .collect();
    judges(bench, &read);
    by_reference(bench, pool, Depth::Greedy);
}
