//! The machine surface: the JSON shapes other programs rely on. They are spelt out here and nowhere else.

use serde_json::{Value, json};

use crate::bay::Outcome;
use crate::console::Reply;
use crate::instrument::Reading;
use crate::rig::Ladder;
use crate::units::Money;

/// One accepted line.
pub(super) fn accepted(reply: &Reply) -> Value {
    let Outcome { readings, said, .. } = &reply.outcome;
    json!({
        "action": reply.action,
        "line": reply.line,
        "clock_s": reply.clock_s,
        "spent": reply.spent.0,
        "ok": true,
        "readings": readings.iter().map(reading).collect::<Vec<Value>>(),
        "said": said,
    })
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

/// The truth with no instrument connected.
pub(super) fn ladder(ladder: &Ladder) -> Value {
    let nodes: serde_json::Map<String, Value> =
        ladder.nodes.iter().map(|(name, volts)| (name.clone(), json!(volts))).collect();
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
    })
}
