//! Marks for what became of the vehicle.

use super::card::{Mark, Part, Points};
use super::evidence::Cure;
use super::trace::{LOAD_A, Trace};
use crate::bay::{Action, Closed, Entry, Fact};
use crate::rig::Symptom;
use crate::units::Money;

/// Something was read, examined, opened up, tried or repaired; turning the key or waiting is not enough.
fn is_work(entry: &Entry) -> bool {
    !entry.readings.is_empty()
        || matches!(
            entry.action,
            Action::Look(_)
                | Action::Listen
                | Action::Feel(_)
                | Action::Wiggle(_)
                | Action::Access(_)
                | Action::Drive
                | Action::Swap { .. }
                | Action::Open(_)
                | Action::Load { .. }
                | Action::Lamp { .. }
                | Action::Jumper(_)
                | Action::Flow { .. }
                | Action::Sample
                | Action::Fill { .. }
                | Action::Repair(_)
                | Action::Replace(_)
        )
}

/// How the job stood when the vehicle was given back.
pub(super) struct Result {
    /// What its driver will notice.
    pub symptoms: Vec<Symptom>,
    /// Repairs and replacements: number, whether it cured something or had to be done with what did, price.
    pub remedies: Vec<(u32, bool, Money)>,
    /// Something was measured or tried on the vehicle.
    pub worked: bool,
}

impl Result {
    pub fn of(closed: &Closed) -> Result {
        let mut result = Result {
            symptoms: Vec::new(),
            remedies: Vec::new(),
            worked: false,
        };
        for entry in &closed.ledger {
            result.worked |= is_work(entry);
            for fact in &entry.facts {
                match fact {
                    Fact::HandedBack { symptoms, .. } => result.symptoms.clone_from(symptoms),
                    Fact::Remedied { cured, price, .. } => {
                        let needed = *cured || closed.renewed_a_fuse(entry.number);
                        result.remedies.push((entry.number, needed, *price));
                    }
                    Fact::Filled { cured: true } => {
                        // Fuel that was needed; what was not stays in the tank and on the bill.
                        result.remedies.push((entry.number, true, Money(0)));
                    }
                    _ => {}
                }
            }
        }
        result
    }

    /// The job is done: no complaint, and something was cured or there was nothing to cure.
    pub fn done(&self, closed: &Closed, cures: &[Cure]) -> bool {
        let nothing_wrong = closed.truth.matters() == 0;
        self.symptoms.is_empty()
            && if nothing_wrong {
                self.worked
            } else {
                !cures.is_empty()
            }
    }
}

pub(super) fn part(closed: &Closed, trace: &Trace, cures: &[Cure], result: &Result) -> Part {
    Part::new(
        "outcome",
        vec![
            complaint(closed, trace, cures, result),
            all_cured(closed, trace, cures, result),
            verified(closed, trace, cures, result),
            needless(closed, trace, cures, result),
        ],
    )
}

/// How much of a mark is left for want of evidence: half for each cure that nothing had pointed to.
fn on_evidence(points: Points, cures: &[Cure]) -> Points {
    let blind = cures.iter().filter(|cure| !cure.justified).count();
    points.share(2 * cures.len() - blind, 2 * cures.len())
}

/// How much of a mark is left where nothing was wrong: half if something was repaired or bought all the same.
fn on_a_sound_vehicle(points: Points, result: &Result) -> Points {
    if result.remedies.is_empty() {
        points
    } else {
        points.share(1, 2)
    }
}

/// The sentence about evidence that belongs to such a mark.
fn evidence_words(cures: &[Cure]) -> &'static str {
    match cures.iter().filter(|cure| !cure.justified).count() {
        0 => "",
        all if all == cures.len() => {
            " What had been read by then did not speak for it clearly enough, so this counts half."
        }
        _ => " Only part of it was decided on evidence; the rest counts half.",
    }
}

fn cure_actions(cures: &[Cure]) -> Vec<u32> {
    let mut actions: Vec<u32> = cures
        .iter()
        .flat_map(|cure| cure.evidence.iter().copied().chain([cure.action]))
        .collect();
    actions.sort_unstable();
    actions.dedup();
    actions
}

fn complaint(closed: &Closed, trace: &Trace, cures: &[Cure], result: &Result) -> Mark {
    let of = trace.weights.complaint_gone;
    if closed.truth.matters() == 0 {
        let points = if result.worked && result.symptoms.is_empty() {
            on_a_sound_vehicle(of, result)
        } else {
            Points(0)
        };
        let because = if !result.worked {
            "Nothing was wrong with the vehicle, but nothing was done to find that out."
        } else if result.remedies.is_empty() {
            "Nothing was wrong with the vehicle, and its driver will notice nothing."
        } else {
            "Nothing was wrong with the vehicle, and its driver will notice nothing. The customer paid for work that was not needed, so \
this counts half."
        };
        return Mark {
            points,
            of,
            because: because.into(),
            actions: vec![trace.end],
        };
    }
    if cures.is_empty() {
        let because = if result.remedies.is_empty() {
            "The vehicle went back as it came: nothing was repaired."
        } else {
            "What was repaired or replaced cured nothing."
        };
        let mut actions: Vec<u32> = result.remedies.iter().map(|remedy| remedy.0).collect();
        actions.push(trace.end);
        return Mark {
            points: Points(0),
            of,
            because: because.into(),
            actions,
        };
    }
    let mut actions = cure_actions(cures);
    actions.push(trace.end);
    if result.symptoms.is_empty() {
        let because = format!(
            "Its driver will notice nothing any more.{}",
            evidence_words(cures)
        );
        Mark {
            points: on_evidence(of, cures),
            of,
            because,
            actions,
        }
    } else {
        let because = format!(
            "Its driver will still notice: {}.",
            spoken(&result.symptoms)
        );
        Mark {
            points: Points(0),
            of,
            because,
            actions,
        }
    }
}

fn all_cured(closed: &Closed, trace: &Trace, cures: &[Cure], result: &Result) -> Mark {
    let of = trace.weights.all_cured;
    let faults = closed.truth.matters();
    if faults == 0 {
        let points = if result.worked {
            on_a_sound_vehicle(of, result)
        } else {
            Points(0)
        };
        return Mark {
            points,
            of,
            because: "There was no fault that could come back.".into(),
            actions: vec![trace.end],
        };
    }
    let mut actions = cure_actions(cures);
    actions.push(trace.end);
    let left = closed.truth.matters_left();
    let words = evidence_words(cures);
    let because = match (cures.len(), left) {
        (0, 1) => "The fault is still there.".to_owned(),
        (0, _) => format!("All {left} faults are still there."),
        (_, 0) if faults == 1 => {
            format!("The fault itself was put right, so it will not come back.{words}")
        }
        (_, 0) => format!(
            "All {faults} faults were put right, so the complaint will not come back.{words}"
        ),
        (cured, _) => format!(
            "Of {faults} faults {cured} {} put right; the complaint will come back.{words}",
            if cured == 1 { "was" } else { "were" }
        ),
    };
    Mark {
        points: on_evidence(of.share(cures.len(), faults), cures),
        of,
        because,
        actions,
    }
}

fn verified(closed: &Closed, trace: &Trace, cures: &[Cure], result: &Result) -> Mark {
    let of = trace.weights.verified;
    let last = result.remedies.last().map_or(0, |remedy| remedy.0);
    let none = |because: &str, actions: Vec<u32>| Mark {
        points: Points(0),
        of,
        because: because.into(),
        actions,
    };
    if cures.is_empty() && closed.truth.matters() > 0 {
        return none(
            "No repair took effect, so there was nothing to verify.",
            vec![trace.end],
        );
    }
    let after = || {
        closed
            .ledger
            .iter()
            .filter(move |entry| entry.number > last)
    };
    let drives = after().flat_map(|entry| {
        entry.facts.iter().filter_map(move |fact| match fact {
            Fact::Drove { symptoms } => Some((entry.number, symptoms)),
            _ => None,
        })
    });
    if let Some((number, symptoms)) = drives.last() {
        if symptoms.is_empty() {
            let because = format!("A road test{} found nothing.", after_what(last));
            return Mark {
                points: on_evidence_or_all(of, cures),
                of,
                because,
                actions: vec![number],
            };
        }
        let because = format!(
            "The road test still showed: {}. The vehicle went back all the same.",
            spoken(symptoms)
        );
        return none(&because, vec![number, trace.end]);
    }
    let reading = trace
        .taken
        .iter()
        .rev()
        .find(|taken| taken.number > last && taken.measured.pump_amps >= LOAD_A);
    match reading {
        Some(taken) => {
            let because = format!(
                "Read{} with {:.1} A through the pump.",
                after_what(last),
                taken.measured.pump_amps
            );
            Mark {
                points: on_evidence_or_all(of, cures),
                of,
                because,
                actions: vec![taken.number],
            }
        }
        None => none(
            "Nothing was tried after the last repair: neither a road test nor a reading with the pump running.",
            vec![last.max(1), trace.end],
        ),
    }
}

fn after_what(last: u32) -> &'static str {
    if last == 0 {
        ""
    } else {
        " after the last repair"
    }
}

fn on_evidence_or_all(points: Points, cures: &[Cure]) -> Points {
    if cures.is_empty() {
        points
    } else {
        on_evidence(points, cures)
    }
}

fn needless(closed: &Closed, trace: &Trace, cures: &[Cure], result: &Result) -> Mark {
    let of = trace.weights.nothing_needless;
    if !result.done(closed, cures) {
        return Mark {
            points: Points(0),
            of,
            because: "Sparing parts earns nothing while the complaint is still there.".into(),
            actions: vec![trace.end],
        };
    }
    let (damage, traces) = left_behind(trace);
    let wasted: Vec<&(u32, bool, Money)> = result
        .remedies
        .iter()
        .filter(|(_, needed, _)| !needed)
        .collect();
    if wasted.is_empty() && damage.is_empty() && traces.is_empty() {
        return Mark {
            points: on_evidence_or_all(of, cures),
            of,
            because: format!(
                "Nothing was repaired or bought that needed none.{}",
                evidence_words(cures)
            ),
            actions: vec![trace.end],
        };
    }
    let price: Money = wasted.iter().map(|remedy| remedy.2).sum();
    let jobs = |number: usize, one: &str, many: &str| match number {
        1 => format!("1 {one}"),
        n => format!("{n} {many}"),
    };
    let mut words = Vec::new();
    if !wasted.is_empty() {
        words.push(format!(
            "{} cured nothing and cost {} in parts.",
            jobs(wasted.len(), "job", "jobs"),
            price.show(&closed.vehicle.currency)
        ));
    }
    if !damage.is_empty() {
        words.push(format!(
            "The work itself broke something ({}).",
            jobs(damage.len(), "time", "times")
        ));
    }
    if !traces.is_empty() {
        words.push(format!(
            "{} of the work may bring the vehicle back.",
            jobs(traces.len(), "trace", "traces")
        ));
    }
    let points = of
        .less(trace.weights.each_needless, wasted.len())
        .less(trace.weights.each_damage, damage.len())
        .less(trace.weights.each_trace, traces.len());
    let mut actions: Vec<u32> = wasted
        .iter()
        .map(|remedy| remedy.0)
        .chain(damage)
        .chain(traces)
        .collect();
    actions.sort_unstable();
    actions.dedup();
    Mark {
        points: on_evidence_or_all(points, cures),
        of,
        because: words.join(" "),
        actions,
    }
}

/// Actions that broke something, and actions that left a trace.
fn left_behind(trace: &Trace) -> (Vec<u32>, Vec<u32>) {
    let (mut damage, mut traces) = (Vec::new(), Vec::new());
    for entry in trace.ledger {
        for fact in &entry.facts {
            match fact {
                Fact::Damaged { .. } => damage.push(entry.number),
                Fact::Comeback { .. } => traces.push(entry.number),
                _ => {}
            }
        }
    }
    (damage, traces)
}

/// What a driver notices, in plain words.
pub(super) fn spoken(symptoms: &[Symptom]) -> String {
    let words = |symptom: &Symptom| match symptom {
        Symptom::HardlyCranks => "the starter hardly turns",
        Symptom::CranksWithoutFiring => "it cranks and does not fire",
        Symptom::CutsOut => "it cuts out at steady speed",
        Symptom::FadesUnderLoad => "it fades on the hill",
        Symptom::RunsRich => "it runs rich",
        Symptom::LongCrankAfterStanding => "it cranks long after standing",
        Symptom::Whines => "the pump whines",
        Symptom::LongCrank => "it starts only after long cranking",
        Symptom::RunsOn => "the pump runs on with the key off",
        Symptom::BoilsOver => "the engine boils over",
        Symptom::RunsHot => "the temperature climbs on the hill",
        Symptom::HeaterCold => "the heater blows cold",
    };
    symptoms.iter().map(words).collect::<Vec<_>>().join(", ")
}
