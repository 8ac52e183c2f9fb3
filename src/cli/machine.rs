//! The machine surface: the JSON shapes other programs rely on. They are spelt out here and nowhere else.

use serde_json::{Value, json};

use crate::bay::Outcome;
use crate::console::Reply;
use crate::instrument::Reading;
use crate::report::truth::{Told, ToldCure};
use crate::rig::Ladder;
use crate::units::Money;

/// One accepted line.
pub(super) fn accepted(reply: &Reply) -> Value {
    let Outcome {
        readings,
        said,
        trace,
        ..
    } = &reply.outcome;
    let mut answer = json!({
        "action": reply.action,
        "line": reply.line,
        "clock_s": reply.clock_s,
        "spent": reply.spent.0,
        "ok": true,
        "readings": readings.iter().map(reading).collect::<Vec<Value>>(),
        "said": said,
    });
    // Only a look at the screen has samples; every other answer keeps its shape.
    if let Some(trace) = trace {
        answer["waveform"] = json!({ "step_s": trace.step_s, "amps": trace.amps });
    }
    answer
}

/// One refused line. Clock and money stand as they were.
pub(super) fn refused(line: &str, clock_s: f64, spent: Money, error: &str, hint: &str) -> Value {
    json!({
        "action": null,
        "line": line,
        "clock_s": clock_s,
        "spent": spent.0,
        "ok": false,
        "error": error,
        "hint": hint,
    })
}

fn reading(reading: &Reading) -> Value {
    json!({
        "quantity": reading.quantity.name(),
        "value": reading.value,
        "unit": reading.quantity.unit(),
        "shown": reading.shown,
    })
}

/// A fault that was hidden; the unit of its severity is that of its effect.
pub(super) fn fault(told: &Told<'_>) -> Value {
    json!({
        "kind": told.kind.id,
        "title": told.kind.title,
        "part": told.part,
        "leg": told.leg,
        "section": told.section.name(),
        "effect": told.kind.effect.name(),
        "severity": told.severity,
    })
}

/// Something that cures a fault, with the prompt line that does it.
pub(super) fn cure(cure: &ToldCure<'_>) -> Value {
    json!({ "remedy": cure.remedy, "part": cure.part, "leg": cure.leg, "line": cure.line() })
}

/// The truth with no instrument connected.
pub(super) fn ladder(ladder: &Ladder) -> Value {
    let nodes: serde_json::Map<String, Value> = ladder
        .nodes
        .iter()
        .map(|(name, volts)| (name.clone(), json!(volts)))
        .collect();
    let branches = ladder.branches.iter().map(|branch| {
        json!({
            "part": branch.part,
            "kind": branch.kind,
            "from": branch.from,
            "to": branch.to,
            "ohms": branch.ohms,
            "amps": branch.amps,
        })
    });
    let sources = ladder.sources.iter().map(|source| {
        json!({
            "part": source.part,
            "from": source.from,
            "to": source.to,
            "volts": source.volts,
            "ohms": source.ohms,
            "amps": source.amps,
        })
    });
    let pumps = ladder.pumps.iter().map(|pump| {
        json!({
            "part": pump.part,
            "amps": pump.amps,
            "rpm": pump.rpm,
            "kpa": pump.kpa,
            "lph": pump.lph,
        })
    });
    json!({
        "nodes": nodes,
        "branches": branches.collect::<Vec<Value>>(),
        "sources": sources.collect::<Vec<Value>>(),
        "pumps": pumps.collect::<Vec<Value>>(),
        "floating": ladder.floating,
        "reference": ladder.reference,
        "chattering": ladder.chattering,
    })
}
