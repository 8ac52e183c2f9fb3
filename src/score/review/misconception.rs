//! Wrong ideas that the work gives away, each with its explanation worked on the learner's own numbers.

use serde::{Deserialize, Serialize};

/// The mistaken ideas that are looked for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mistake {
    /// Volts taken for lost in the meter's own lead.
    LeadDrop,
    /// A section judged by volts that were read without current.
    UnloadedVolts,
    /// Ohms read on a circuit that stood under volts.
    OhmsUnderPower,
    /// A part replaced before the loop that feeds it had been proved.
    PartBeforeLoop,
    /// Next to no volts believed through a tip that may not have touched.
    UncheckedZero,
    /// The symptom mended and not its cause: a new fuse without the short.
    SymptomOnly,
}

/// A mistaken idea with where it showed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Misconception {
    /// Which.
    pub mistake: Mistake,
    /// Its name in plain words.
    pub name: String,
    /// What was done, with the figures.
    pub what: String,
    /// The physics in short sentences, worked on the same figures.
    pub explanation: String,
    /// What to do instead.
    pub instead: String,
    /// Numbers of the actions that show it.
    pub actions: Vec<u32>,
}

use crate::bay::{Closed, Entry, Fact};
use crate::fault::Effect;
use crate::instrument::Quantity;
use crate::score::WEIGHTS;
use crate::score::review::walk::Walk;
use crate::score::technique;
use crate::score::trace::{Taken, Trace};
use crate::units::{Amp, System, Volt};
use crate::vehicle::{Kind, Section};

/// Wire and joints from the battery to a short, roughly, ohm.
const WAY_OHMS: f64 = 0.05;
/// Volts across a good joint under load that stay unnoticed, V.
const SMALL_V: f64 = 0.1;

pub(in crate::score) fn found(closed: &Closed, system: System, walk: &Walk) -> Vec<Misconception> {
    let trace = Trace::of(closed, &WEIGHTS);
    [
        lead_drop(closed, &trace, system),
        symptom_only(closed),
        part_before_loop(closed, &trace, walk),
        unloaded(closed, &trace),
        unchecked_zero(closed, &trace),
        ohms_under_power(closed, &trace),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn points(closed: &Closed, taken: &Taken) -> String {
    technique::between(closed, taken)
}

fn lead_drop(closed: &Closed, trace: &Trace, system: System) -> Option<Misconception> {
    let subtracted = technique::subtractions(closed, trace, system);
    let first = subtracted.first()?;
    let relied = *first.actions.first()?;
    let taken = trace.taken.iter().find(|taken| taken.number == relied)?;
    let volts = libm::fabs(taken.measured.value?);
    let amps = volts / taken.measured.function.input_ohms();
    let pump = taken.measured.pump_amps.max(1.0);
    let ohms = taken.measured.lead_ohms;
    Some(Misconception {
        mistake: Mistake::LeadDrop,
        name: "taking a lead drop off a volts reading".to_owned(),
        what: format!(
            "A call stated less than the meter had shown from {}, by about what the lead would drop at the pump's current.",
            points(closed, taken)
        ),
        explanation: format!(
            "The pump's {} does not run through the meter's lead; only the meter's own current does. The meter lets {} through. \
A lead of {ohms:.2} ohm drops current times resistance: {} times {ohms:.2} ohm is {}, which no display shows. At the pump's {} it would \
have been {}, but that current takes another way. So the {} shown are all lost in the circuit.",
            Amp(pump).show(system),
            Amp(amps).show(system),
            Amp(amps).show(system),
            Volt(amps * ohms).show(system),
            Amp(pump).show(system),
            Volt(pump * ohms).show(system),
            Volt(volts).show(system)
        ),
        instead: "Write volts down as they are shown. Take the leads off ohms readings only."
            .to_owned(),
        actions: subtracted
            .iter()
            .flat_map(|misuse| misuse.actions.iter().copied())
            .collect(),
    })
}

/// Calls of wiring as good that rest on volts read while no current flowed.
fn unloaded(closed: &Closed, trace: &Trace) -> Option<Misconception> {
    let wire = |section: Section| {
        !matches!(
            section,
            Section::Control | Section::Pump | Section::Hydraulic
        )
    };
    let mut actions = Vec::new();
    let mut first: Option<&Taken> = None;
    for (number, call) in trace.calls() {
        let Some(taken) = trace.relied_meter(call) else {
            continue;
        };
        let volts = taken.measured.function.quantity() == Quantity::Voltage;
        if volts
            && wire(call.section)
            && call.verdict == crate::bay::Verdict::Good
            && !taken.under_load()
        {
            actions.extend([taken.number, number]);
            first = first.or(trace
                .taken
                .iter()
                .find(|known| known.number == taken.number));
        }
    }
    let taken = first?;
    let volts = libm::fabs(taken.measured.value?);
    Some(Misconception {
        mistake: Mistake::UnloadedVolts,
        name: "trusting volts without current".to_owned(),
        what: format!(
            "{volts:.2} V from {} were taken for a sign of sound wiring, and the pump took {:.1} A then.",
            points(closed, taken),
            taken.measured.pump_amps
        ),
        explanation: format!(
            "Volts are lost in a bad joint only while current runs through it: lost volts are current times resistance. A joint of 1 ohm, bad \
enough to starve a pump, loses 4 V when the pump takes 4 A. With {:.1} A it loses {:.2} V, so the {volts:.2} V would have been shown with the \
bad joint in the way just the same.",
            taken.measured.pump_amps, taken.measured.pump_amps
        ),
        instead: "Switch the pump on first, then read; judge by what is lost while it runs."
            .to_owned(),
        actions,
    })
}

fn ohms_under_power(closed: &Closed, trace: &Trace) -> Option<Misconception> {
    let live: Vec<&Taken> = trace
        .taken
        .iter()
        .filter(|taken| taken.measured.function.sends_current() && taken.measured.live)
        .collect();
    let first = live.first()?;
    let shown = first
        .measured
        .value
        .map_or("OL, more than it can show".to_owned(), |ohms| {
            format!("{ohms:.1} ohm")
        });
    Some(Misconception {
        mistake: Mistake::OhmsUnderPower,
        name: "ohms on a live circuit".to_owned(),
        what: format!("Ohms were read from {} while volts stood there; the meter showed {shown}.", points(closed, first)),
        explanation:
            "On ohms the meter sends a small current of its own and reads the volts that this makes: 0.001 A through 1 ohm makes \
0.001 V. Volts that stand there already are added to that; 1 V of them is a thousand times as much, a battery's 12 V twelve thousand times. \
The meter turns the sum into ohms: what it showed speaks of those volts and not of the resistance."
                .to_owned(),
        instead: "Key off, and the part unplugged on one side, before reading ohms; or leave it connected and read the volts it loses under load."
            .to_owned(),
        actions: live.iter().map(|taken| taken.number).collect(),
    })
}

fn unchecked_zero(closed: &Closed, trace: &Trace) -> Option<Misconception> {
    let doubtful: Vec<_> = technique::near_zero(trace)
        .into_iter()
        .filter(|(_, _, proved)| !proved)
        .collect();
    let (_, taken, _) = doubtful.first()?;
    let volts = libm::fabs(taken.measured.value?);
    Some(Misconception {
        mistake: Mistake::UncheckedZero,
        name: "believing a zero that nothing had checked".to_owned(),
        what: format!("{volts:.3} V from {} were taken for next to no loss, and nothing had shown that both tips touched.", points(closed, taken)),
        explanation: format!(
            "A tip that touches nothing shows next to nothing as well: the meter then sees no volts at all. So {volts:.3} V can mean a perfect \
joint (less than {SMALL_V} V lost) or a tip on paint. The reading alone cannot tell the two apart."
        ),
        instead: "Leave the doubtful tip where it is and put the other where a volt or more must stand; or place it anew and read again.".to_owned(),
        actions: doubtful.iter().flat_map(|(call, taken, _)| [taken.number, *call]).collect(),
    })
}

/// A pump, or another dear part of the fuel side, replaced while wiring was as likely.
fn part_before_loop(closed: &Closed, trace: &Trace, walk: &Walk) -> Option<Misconception> {
    let is_pump = |part| closed.vehicle.pumps().any(|pump| pump.part == part);
    let replaced = |entry: &&Entry| {
        entry.facts.iter().any(|fact| matches!(fact, Fact::Remedied { target, cured, .. } if is_pump(target.part) && !cured))
    };
    let entry = closed.ledger.iter().find(replaced)?;
    let decided = walk
        .conclusions
        .iter()
        .find(|made| made.action == entry.number)?;
    if decided.justified {
        return None;
    }
    let loaded = trace
        .volts()
        .filter(|(taken, _)| taken.number < entry.number && taken.under_load())
        .count();
    let percent = libm::round(decided.probability * 100.0);
    let price = entry.facts.iter().find_map(|fact| match fact {
        Fact::Remedied { price, .. } => Some(price.show(&closed.vehicle.currency)),
        _ => None,
    })?;
    Some(Misconception {
        mistake: Mistake::PartBeforeLoop,
        name: "a new part before the loop was proved".to_owned(),
        what: format!(
            "The pump was replaced for {price} after {loaded} volts readings under load; by what was known then a new one would have served about {percent:.0} of 100 such vehicles."
        ),
        explanation: "A pump turns only as fast as the volts at its own terminals let it. Volts lost on the way there or on the way back make a good pump as weak as a worn one, and look the same from the driver's seat. Two readings under load tell them apart: what is lost from the battery to the pump, and what is lost from the pump back to the battery. Only when both are small is it the pump's turn."
            .to_owned(),
        instead: "Read both sides of the loop under load, then the pump's pressure, and buy last.".to_owned(),
        actions: vec![entry.number],
    })
}

/// A new fuse, or another part, where a short had taken it.
fn symptom_only(closed: &Closed) -> Option<Misconception> {
    let catalogue = &closed.truth.catalogue;
    let short = closed
        .truth
        .left
        .iter()
        .find(|fault| catalogue.kinds[fault.kind.0].effect == Effect::ChafedShort)?;
    let fuse = closed.ledger.iter().find(|entry| {
        entry.facts.iter().any(
            |fact| matches!(fact, Fact::Remedied { target, .. } if closed.vehicle.parts[target.part.0].kind == Kind::Fuse),
        )
    })?;
    let ohms = short.severity;
    let part = &closed.vehicle.parts[short.site.part.0].id;
    Some(Misconception {
        mistake: Mistake::SymptomOnly,
        name: "mending the symptom and not its cause".to_owned(),
        what: format!("A new fuse went in, and {part}, which had blown the old one, was left touching the body."),
        explanation: format!(
            "A fuse does not tire; it melts because too much current runs. {part} touches the body through {ohms:.2} ohm: 12 V over {ohms:.2} ohm, and some {WAY_OHMS} ohm of wire on the way, let about {:.0} A run, which no fuse of a pump circuit stands. The new fuse will go the same way.",
            12.0 / (ohms + WAY_OHMS)
        ),
        instead: "Before a new fuse goes in, unplug what it feeds and read ohms from its outgoing side to the body; look for the place that touches.".to_owned(),
        actions: vec![fuse.number],
    })
}
