//! What the debrief tells: what was hidden, where the volts went, what went wrong in the work, what to practise.

use serde::Serialize;

use super::calls::{self, Ground, Judged};
use super::evidence::{self, element_name};
use super::outcome::Result as Job;
use super::review::{Effort, Mistake, walk, walk::Walk};
use super::safety;
use super::severity::severity;
use super::sight::{Sight, volts_of};
use super::technique::{self, Misstep};
use super::trace::Trace;
use super::weights::WEIGHTS;
use crate::bay::{Action, Closed, Fact, Grade};
use crate::evidence::Pool;
use crate::fault::{self, Fault};
use crate::rig::{Ladder, LadderPump, Moment, RigError, TankTrouble};
use crate::scenario::PAIRED_LEVEL;
use crate::units::System;
use crate::vehicle::{Key, Kind, PumpPart, Section};

/// A fault that was hidden.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Hidden {
    /// What it was, such as `corroded ground point`.
    pub title: String,
    /// The part, and the element of it where that matters.
    pub part: String,
    /// The part's name as printed.
    pub part_title: String,
    /// Where it is.
    pub place: String,
    /// The section it lies in.
    pub section: &'static str,
    /// The section as one speaks of it.
    #[serde(skip)]
    pub spoken: &'static str,
    /// How bad, in plain words and figures.
    pub severity: String,
    /// The lesson.
    pub teaching: String,
    /// It was still there when the vehicle was given back.
    pub left: bool,
    /// The action that cured it.
    pub cured_by: Option<u32>,
    /// Actions before that which had pointed to it.
    pub pointed_by: Vec<u32>,
}

/// True volts of a point against the negative post with the pump switched on and no instrument connected.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PointVolts {
    /// Name of the point.
    pub point: String,
    /// The name spelt out.
    pub spoken: String,
    /// Without the hidden faults, V; nothing for a point cut off from the circuit.
    pub healthy_v: Option<f64>,
    /// As it came, V.
    pub came_v: Option<f64>,
}

/// Volts that a section takes with the pump switched on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Lost {
    /// The section; `pump` is what is left for the pump.
    pub section: &'static str,
    /// Without the hidden faults, V.
    pub healthy_v: f64,
    /// As it came, V; nothing where the circuit was cut.
    pub came_v: Option<f64>,
}

/// The pump with its circuit switched on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct PumpFigures {
    /// Current, A.
    pub amps: f64,
    /// Speed, revolutions a minute.
    pub rpm: f64,
    /// Pressure at the rail, kPa.
    pub kpa: f64,
}

/// Facts for the explanation after the work.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Debrief {
    /// What was hidden; empty if nothing was wrong.
    pub hidden: Vec<Hidden>,
    /// The lift pump, where points and losses are those of its way and not of the main pump's.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub way_of: Option<String>,
    /// The points of the pump's loop from the positive post to the negative.
    pub points: Vec<PointVolts>,
    /// Where the volts went.
    pub lost: Vec<Lost>,
    /// The pump of this vehicle without the faults.
    pub pump_healthy: PumpFigures,
    /// The pump as the vehicle came.
    pub pump_came: PumpFigures,
    /// A lift pump without the faults, and as the vehicle came; its pressure is that at its own outlet.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lift: Option<[PumpFigures; 2]>,
    /// What went wrong in the work.
    pub missteps: Vec<Misstep>,
    /// One thing to practise next.
    pub practise: String,
}

/// The facts of the debrief.
///
/// # Errors
/// [`RigError`] if the vehicle cannot be solved with or without its faults.
pub fn debrief(closed: &Closed, system: System) -> Result<Debrief, RigError> {
    let pool = Pool::shared(&closed.vehicle, &closed.truth.catalogue, closed.level)?;
    facts(
        closed,
        system,
        &walk::walk(closed, &pool, Effort::Conclusions),
    )
}

pub(super) fn facts(closed: &Closed, system: System, walk: &Walk) -> Result<Debrief, RigError> {
    let trace = Trace::of(closed, &WEIGHTS);
    let sight = Sight::of(closed)?;
    let cures = evidence::cures(closed, walk);
    let judged = calls::judged(closed, &trace, &sight);
    let hidden = closed
        .truth
        .came_with
        .iter()
        .enumerate()
        .map(|(index, fault)| {
            let cure = cures.iter().find(|cure| cure.fault == index);
            hidden(closed, fault, cure, system)
        });
    let in_tank = closed.truth.trouble().map(|trouble| {
        let cure = cures
            .iter()
            .find(|cure| cure.fault == closed.truth.came_with.len());
        hidden_in_tank(closed, trouble, cure)
    });
    let ladder = |faults: Vec<Fault>| -> Result<Ladder, RigError> {
        closed
            .truth
            .rig(&closed.vehicle, faults)?
            .ladder(Key::On, true, Moment::Settled)
    };
    let (healthy, came) = (ladder(Vec::new())?, ladder(closed.truth.came_with.clone())?);
    let missteps = missteps(closed, &trace, &judged, system);
    Ok(Debrief {
        hidden: hidden.chain(in_tank).collect(),
        points: points(closed, &healthy, &came),
        lost: lost(closed, &healthy, &came),
        way_of: Some(told(closed).part)
            .filter(|&part| closed.vehicle.is_lift(part))
            .map(|part| closed.vehicle.parts[part.0].id.clone()),
        pump_healthy: figures(&healthy),
        pump_came: figures(&came),
        lift: lift_figures(&healthy)
            .zip(lift_figures(&came))
            .map(Into::into),
        practise: practise(closed, &trace, &judged, &cures),
        missteps,
    })
}

fn hidden(closed: &Closed, fault: &Fault, cure: Option<&evidence::Cure>, system: System) -> Hidden {
    let vehicle = &closed.vehicle;
    let kind = &closed.truth.catalogue.kinds[fault.kind.0];
    let part = &vehicle.parts[fault.site.part.0];
    Hidden {
        title: kind.title.clone(),
        part: fault
            .site
            .element
            .map_or_else(|| part.id.clone(), |element| element_name(closed, element)),
        part_title: part.title.clone(),
        place: vehicle.places[part.place.0].name.clone(),
        section: fault::section(vehicle, fault).name(),
        spoken: fault::section(vehicle, fault).spoken(),
        severity: severity(kind, fault, system),
        teaching: kind.teaching.clone(),
        left: cure.is_none(),
        cured_by: cure.map(|cure| cure.action),
        pointed_by: cure.map_or_else(Vec::new, |cure| cure.evidence.clone()),
    }
}

/// What was in the tank, told like a fault.
fn hidden_in_tank(closed: &Closed, trouble: TankTrouble, cure: Option<&evidence::Cure>) -> Hidden {
    let tank = closed
        .vehicle
        .parts
        .iter()
        .find(|part| part.kind == Kind::Tank);
    let (title, severity, teaching) = match trouble {
        TankTrouble::Empty => (
            "empty tank",
            "nothing in it, while the float hangs and the gauge shows fuel".to_owned(),
            "A fuel gauge is one more instrument that can be wrong. A pump that runs light and gives no pressure asks for a look into the tank, or for ten litres from a can, before anything is bought.",
        ),
        TankTrouble::Water => (
            "water in the fuel",
            format!(
                "{:.0} parts of water in 100 at the strainer",
                100.0 * closed.truth.tank.water
            ),
            "Pressure and volts can be faultless and the engine still not fire: then ask what is being pumped. A glass of fuel, left to stand, shows water below and fuel above.",
        ),
    };
    Hidden {
        title: title.to_owned(),
        part: tank.map_or_else(String::new, |part| part.id.clone()),
        part_title: tank.map_or_else(String::new, |part| part.title.clone()),
        place: tank.map_or_else(String::new, |part| {
            closed.vehicle.places[part.place.0].name.clone()
        }),
        section: Section::Hydraulic.name(),
        spoken: Section::Hydraulic.spoken(),
        severity,
        teaching: teaching.to_owned(),
        left: cure.is_none(),
        cured_by: cure.map(|cure| cure.action),
        pointed_by: cure.map_or_else(Vec::new, |cure| cure.evidence.clone()),
    }
}

/// The pump whose way is told: that of a lift pump if what was wrong lies there and not on the main pump's way as well.
pub(super) fn told(closed: &Closed) -> &PumpPart {
    let vehicle = &closed.vehicle;
    let Some(lift) = &vehicle.lift else {
        return &vehicle.pump;
    };
    let [main, lifts] = [&vehicle.pump, &lift.pump].map(|pump| vehicle.way_of(pump).elements);
    let lies = |fault: &crate::fault::Fault| match fault.site.element {
        Some(element) => lifts.contains(&element) && !main.contains(&element),
        None => fault.site.part == lift.pump.part,
    };
    if closed.truth.came_with.iter().any(lies) {
        &lift.pump
    } else {
        &vehicle.pump
    }
}

fn points(closed: &Closed, healthy: &Ladder, came: &Ladder) -> Vec<PointVolts> {
    let vehicle = &closed.vehicle;
    let [healthy, came] = [healthy, came].map(|ladder| volts_of(vehicle, ladder));
    let point = |node: crate::circuit::NodeId| {
        let index = node.0 as usize;
        PointVolts {
            point: vehicle.nodes[index].name.clone(),
            spoken: vehicle.nodes[index].spoken.clone(),
            healthy_v: healthy[index],
            came_v: came[index],
        }
    };
    let points = vehicle.points_of_way(told(closed));
    points.into_iter().map(point).collect()
}

/// Volts across the elements of each section on the pump's way, in the order of the current.
fn lost(closed: &Closed, healthy: &Ladder, came: &Ladder) -> Vec<Lost> {
    let vehicle = &closed.vehicle;
    let pump = told(closed);
    let way = vehicle.way_of(pump);
    let volts = [healthy, came].map(|ladder| volts_of(vehicle, ladder));
    let across = |which: usize, a: crate::circuit::NodeId, b: crate::circuit::NodeId| {
        Some(libm::fabs(
            volts[which][a.0 as usize]? - volts[which][b.0 as usize]?,
        ))
    };
    Section::ALL
        .into_iter()
        .filter_map(|section| {
            let mut ends: Vec<_> = way
                .elements
                .iter()
                .map(|id| &vehicle.elements[id.0])
                .filter(|element| element.section == section)
                .map(|element| (element.from, element.to))
                .collect();
            if section == Section::Pump {
                ends.push((pump.plus, pump.minus));
            }
            let sum = |which| {
                ends.iter()
                    .map(|&(a, b)| across(which, a, b))
                    .sum::<Option<f64>>()
            };
            (!ends.is_empty()).then(|| Lost {
                section: section.name(),
                healthy_v: sum(0).unwrap_or(0.0),
                came_v: sum(1),
            })
        })
        .collect()
}

fn figures(ladder: &Ladder) -> PumpFigures {
    ladder.pumps.first().map(of_pump).unwrap_or_default()
}

fn lift_figures(ladder: &Ladder) -> Option<PumpFigures> {
    ladder.pumps.get(1).map(of_pump)
}

fn of_pump(pump: &LadderPump) -> PumpFigures {
    PumpFigures {
        amps: pump.amps,
        rpm: pump.rpm,
        kpa: pump.kpa,
    }
}

fn missteps(closed: &Closed, trace: &Trace, judged: &[Judged], system: System) -> Vec<Misstep> {
    let mut all: Vec<Misstep> = technique::subtractions(closed, trace, system)
        .into_iter()
        .chain(technique::misuses(closed, trace))
        .collect();
    for (call, taken, proved) in technique::near_zero(trace) {
        if !proved {
            let what = format!(
                "Next to no volts from {} were relied on, and nothing had shown that both tips touched. Put one tip where a volt or more must \
                 stand and leave the other where it is, or place it anew and read again.",
                technique::between(closed, taken)
            );
            all.push(Misstep {
                what,
                actions: vec![taken.number, call],
                idea: Some(Mistake::UncheckedZero),
            });
        }
    }
    for call in judged.iter().filter(|call| !call.right) {
        let was = if call.call.was_bad {
            "trouble lay there"
        } else {
            "it was sound"
        };
        let verdict = if call.call.was_bad { "good" } else { "bad" };
        let what = format!(
            "The {} was called {verdict}; {was}.",
            call.call.section.spoken()
        );
        all.push(Misstep {
            what,
            actions: call
                .call
                .relies_on
                .into_iter()
                .chain([call.number])
                .collect(),
            idea: None,
        });
    }
    for (number, _, price) in Job::of(closed)
        .remedies
        .iter()
        .filter(|(_, needed, _)| !needed)
    {
        let what = format!(
            "This work cured nothing: {} in parts.",
            price.show(&closed.vehicle.currency)
        );
        all.push(Misstep {
            what,
            actions: vec![*number],
            idea: None,
        });
    }
    for entry in &closed.ledger {
        for fact in &entry.facts {
            if let Fact::Comeback { what, .. } | Fact::Damaged { what, .. } = fact {
                let what = format!("The work itself left a trace: {what}.");
                all.push(Misstep {
                    what,
                    actions: vec![entry.number],
                    idea: None,
                });
            }
        }
    }
    all
}

/// The first of these that applies; the order is that of harm.
fn practise(closed: &Closed, trace: &Trace, judged: &[Judged], cures: &[evidence::Cure]) -> String {
    let job = Job::of(closed);
    let all_volts = technique::pairs(trace);
    let volts: Vec<_> = all_volts
        .iter()
        .filter(|taken| !technique::of_control(closed, taken))
        .collect();
    let unloaded = volts.iter().filter(|taken| !taken.under_load()).count();
    let line = if safety::grouped(closed)
        .iter()
        .any(|group| group.grade >= Grade::Serious)
    {
        "Before the next job, say what each access endangers, and do `protect`, `relieve`, `isolate` and `stands` before it."
    } else if !job.worked {
        "Start with one loaded reading: `key on`, `pump on`, then volts from a point near the pump to the negative post."
    } else if all_volts.is_empty() {
        "Before anything is bought, read the volts lost on the way to the pump and back with the pump running."
    } else if 2 * unloaded > volts.len() {
        "Read drops under load: switch the pump on first, then place the tips. Without current a bad joint loses nothing."
    } else if technique::near_zero(trace)
        .iter()
        .any(|(_, _, proved)| !proved)
    {
        "Prove a tip before you believe a zero: make it show a volt or more without moving it."
    } else if job.remedies.iter().any(|(_, needed, _)| !needed)
        || cures.iter().any(|cure| !cure.justified)
    {
        "Before each repair, name the reading that points there and nowhere else."
    } else if job.remedies.is_empty() && closed.truth.matters() > 0 {
        "Go on reading until one repair stands out, make it, and prove it on the road: a vehicle handed back as it came will be back."
    } else if judged
        .iter()
        .any(|call| !call.right || call.ground == Ground::Nothing)
    {
        "Rest each call on a reading and name its figure, as in `call ground side bad 6.54`; where no reading speaks yet, call `unsure`."
    } else if judged.iter().any(|call| call.ground == Ground::Blind) {
        "For each call, choose a reading whose two points have the section between them, with the pump running."
    } else if closed
        .ledger
        .iter()
        .any(|entry| matches!(entry.action, Action::Hint { .. }))
    {
        "Work another of this level without a hint: before asking, say to yourself which section is most in doubt, and why."
    } else if closed.truth.matters_left() == 0
        && job.symptoms.is_empty()
        && closed.level == PAIRED_LEVEL
    {
        "Work another of this level on a vehicle you know less: two faults, few figures, and the reading decides."
    } else if closed.truth.matters_left() == 0 && job.symptoms.is_empty() {
        "Take a level higher: fewer figures on the work order, and milder faults."
    } else {
        "Halve the loop: read its middle under load first, then only the half that loses too much."
    };
    line.to_owned()
}
