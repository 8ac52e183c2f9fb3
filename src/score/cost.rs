//! The baseline, and the mark for cost against it.

use std::collections::BTreeSet;

use super::card::{Baseline, BaselineLine, Mark, Part, Points};
use super::debrief::told;
use super::evidence::{Cure, cheapest_cure, fuel_side, work_of};
use super::outcome::Result;
use super::trace::Trace;
use crate::bay::{Closed, FUEL_PRICE, PUTTING_BACK_SHARE, TIMES};
use crate::circuit::NodeId;
use crate::fault::{self, Remedy};
use crate::rig::TankTrouble;
use crate::units::Money;
use crate::vehicle::{AccessHazard, AccessId, Medium, PumpPart, Section, Vehicle};

/// The plan, said the same on every card.
const PLAN: &str = "A plain plan, not the cleverest: run the pump by service tool, take one loaded reading in each \
section of the pump's loop that the access for the repair opens up, at its point nearest the pump, from the battery round to the \
battery; judge each; make the cheapest repair that cures each fault, with its access and safety steps; drive once.";

pub(super) fn baseline(closed: &Closed) -> Baseline {
    let vehicle = &closed.vehicle;
    let mut plan = Plan::default();
    let cures: Vec<_> = closed
        .truth
        .came_with
        .iter()
        .filter_map(|fault| cheapest_cure(closed, fault))
        .collect();
    let mut jobs = cures.clone();
    jobs.sort_by_key(|(part, remedy)| (part.0, *remedy));
    jobs.dedup();
    let works: Vec<_> = jobs
        .iter()
        .filter_map(|&(part, remedy)| Some((part, remedy, work_of(closed, part, remedy)?)))
        .collect();
    let mut needs: Vec<AccessId> = works
        .iter()
        .flat_map(|(_, _, work)| work.needs.iter().copied())
        .collect();
    // The battery and the fuse box are read whatever else is opened.
    needs.extend(battery_access(vehicle));
    let access = vehicle.access_order(&needs);
    let has = |hazard| {
        access
            .iter()
            .any(|id| vehicle.accesses[id.0].hazard == hazard)
    };
    let fuel = closed
        .truth
        .came_with
        .iter()
        .any(|fault| fuel_side(fault::section(vehicle, fault)))
        || closed.truth.trouble().is_some();
    let opens = works.iter().any(|(_, _, work)| work.opens_line) || has(AccessHazard::OpensTank);

    plan.add("protective measures", TIMES.protect, 0);
    if has(AccessHazard::RaisesVehicle) {
        plan.add("stands under the raised vehicle", TIMES.stands, 0);
    }
    plan.open_and_read(closed, &access);
    if fuel && vehicle.medium() == Medium::Coolant {
        plan.add("flow meter let into the line", TIMES.flow, 0);
    } else if fuel {
        plan.add(
            "pressure gauge fitted and taken off",
            TIMES.relieve + TIMES.gauge * 1.5,
            0,
        );
    }
    if opens {
        plan.add(
            "pressure relieved, battery's negative clamp off and on",
            TIMES.relieve + 2.0 * TIMES.isolate,
            0,
        );
    }
    for (part, remedy, work) in &works {
        let word = match remedy {
            Remedy::Repair => "repair",
            Remedy::Replace => "replace",
        };
        let what = format!("{word} {}", vehicle.parts[part.0].id);
        plan.add(&what, work.seconds, work.price.0);
    }
    match closed.truth.trouble() {
        Some(TankTrouble::Empty) => plan.add("fuel filled in", TIMES.fill.0, FUEL_PRICE),
        Some(TankTrouble::Water) => plan.add(
            "tank drained and filled, battery's negative clamp off and on",
            TIMES.fill.0 + TIMES.fill.1 + 2.0 * TIMES.isolate,
            FUEL_PRICE,
        ),
        None => {}
    }
    plan.add("road test", TIMES.clamp + TIMES.drive, 0);
    plan.add("handing over", TIMES.handover, 0);
    priced(closed, plan.lines)
}

/// The plan's lines summed up at the vehicle's own labour rate, beside what the attempt took.
fn priced(closed: &Closed, lines: Vec<BaselineLine>) -> Baseline {
    let vehicle = &closed.vehicle;
    let seconds: f64 = lines.iter().map(|line| line.seconds).sum();
    let goods: Money = lines.iter().map(|line| line.goods).sum();
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a day's labour in minor units is far below what i64 holds"
    )]
    let labour = libm::round(vehicle.labour_per_hour.0 as f64 * seconds / 3600.0) as i64;
    let last = closed.ledger.last();
    Baseline {
        plan: PLAN.to_owned(),
        lines,
        seconds,
        money: goods + Money(labour),
        clock_s: last.map_or(0.0, |entry| entry.clock_s),
        spent: last.map_or(Money(0), |entry| entry.spent),
        currency: vehicle.currency.clone(),
    }
}

#[derive(Default)]
struct Plan {
    lines: Vec<BaselineLine>,
}

impl Plan {
    /// Access with putting back, the pump switched on, and the readings that this opens up.
    fn open_and_read(&mut self, closed: &Closed, access: &[AccessId]) {
        let vehicle = &closed.vehicle;
        for id in access {
            let work = &vehicle.accesses[id.0];
            let what = format!("{}, and putting it back", work.name);
            self.add(&what, work.seconds * (1.0 + PUTTING_BACK_SHARE), 0);
        }
        let switching = TIMES.key + vehicle.prime_seconds + TIMES.tool_first;
        self.add("key on, pump run by service tool", switching, 0);
        let points = section_points(vehicle, told(closed), access);
        let name = |node: &NodeId| vehicle.nodes[node.0 as usize].name.as_str();
        let names: Vec<&str> = points.iter().map(name).collect();
        let what = format!(
            "longer lead, readings at {} against the negative post, a call each",
            names.join(", ")
        );
        let each = TIMES.tip + TIMES.read + TIMES.call;
        let seconds = TIMES.leads + TIMES.tip + each * points.len() as f64;
        self.add(&what, seconds, 0);
    }

    fn add(&mut self, what: &str, seconds: f64, goods: i64) {
        self.lines.push(BaselineLine {
            what: what.to_owned(),
            seconds,
            goods: Money(goods),
        });
    }
}

fn battery_access(vehicle: &Vehicle) -> Vec<AccessId> {
    let touch = vehicle.nodes[vehicle.reference.0 as usize].touch;
    touch.map_or_else(Vec::new, |touch| {
        vehicle.places[touch.place.0].needs.clone()
    })
}

/// The touchable point nearest the pump of each section of the pump's way, as far as some access work opens them.
fn section_points(vehicle: &Vehicle, pump: &PumpPart, access: &[AccessId]) -> Vec<NodeId> {
    let open: BTreeSet<AccessId> = access.iter().copied().collect();
    let touchable = |node: NodeId| {
        vehicle.nodes[node.0 as usize].touch.is_some_and(|touch| {
            let needs = vehicle.access_to(touch.place);
            touch.only_unplugged.is_none() && needs.iter().all(|need| open.contains(need))
        })
    };
    let way = vehicle.way_of(pump);
    let mut points: Vec<(Section, NodeId)> = Vec::new();
    for id in &way.elements {
        let element = &vehicle.elements[id.0];
        let ends = |nodes: &[NodeId]| -> Vec<NodeId> {
            nodes
                .iter()
                .copied()
                .filter(|&node| node == element.from || node == element.to)
                .collect()
        };
        let (there, back) = (ends(&way.there), ends(&way.back));
        // On the way there the later end is nearer the pump, on the way back the earlier one.
        let Some(&near) = there.last().or(back.first()) else {
            continue;
        };
        if !touchable(near) {
            continue;
        }
        match points
            .iter_mut()
            .find(|(section, _)| *section == element.section)
        {
            Some(found) if !there.is_empty() => found.1 = near,
            Some(_) => {}
            None => points.push((element.section, near)),
        }
    }
    let mut nodes: Vec<NodeId> = points.into_iter().map(|(_, node)| node).collect();
    nodes.dedup();
    nodes
}

pub(super) fn part(
    closed: &Closed,
    trace: &Trace,
    cures: &[Cure],
    result: &Result,
    baseline: &Baseline,
) -> Part {
    Part::new("cost", vec![mark(closed, trace, cures, result, baseline)])
}

fn mark(
    closed: &Closed,
    trace: &Trace,
    cures: &[Cure],
    result: &Result,
    baseline: &Baseline,
) -> Mark {
    let of = trace.weights.cost;
    let actions = vec![trace.end];
    let show = |money: Money| money.show(&baseline.currency);
    let figures = format!(
        "{} and {:.0} min, against a baseline of {} and {:.0} min",
        show(baseline.spent),
        baseline.clock_s / 60.0,
        show(baseline.money),
        baseline.seconds / 60.0
    );
    if !result.done(closed, cures) {
        let because = format!("{figures}. Cost earns nothing while the complaint is still there.");
        return Mark {
            points: Points(0),
            of,
            because,
            actions,
        };
    }
    let (spent, base) = (baseline.spent.0, baseline.money.0.max(1));
    // Full at the baseline, nothing at the stated multiple of it, straight in between.
    let left = (trace.weights.cost_ends_at * base - spent)
        .clamp(0, (trace.weights.cost_ends_at - 1) * base);
    let mut points = Points(of.0 * left / ((trace.weights.cost_ends_at - 1) * base));
    let mut because = if points == of {
        format!("{figures}. Up to the baseline it is full marks.")
    } else {
        format!(
            "{figures}. Full marks up to the baseline, none from {} on, straight in between: {} of {} is left of the way, {} of {}.",
            show(Money(trace.weights.cost_ends_at * base)),
            show(Money(left)),
            show(Money((trace.weights.cost_ends_at - 1) * base)),
            points.show(),
            of.show()
        )
    };
    let pointed = cures.iter().filter(|cure| cure.justified).count();
    if pointed < cures.len() {
        points = points.share(pointed, cures.len());
        because.push_str(
            " A repair that the readings did not speak for clearly enough is cheap by luck; that earns nothing here.",
        );
    }
    Mark {
        points,
        of,
        because,
        actions,
    }
}
