//! `wire`: the conductor calculator.

use serde_json::{Value, json};

use crate::report::wire::{Answer, InLead, Question, answer};
use crate::units::System;

use super::arguments::Wire;
use super::failure::{Failure, Kind};
use super::ui::Ui;

pub(super) fn run(wire: &Wire, units: System, ui: &mut Ui) -> Result<(), Failure> {
    let question = Question {
        length: wire.length,
        area: wire.size,
        current: wire.current,
        temperature: wire.temp,
    };
    let answer = answer(question).map_err(|error| {
        Failure::new(
            Kind::Usage,
            error.to_string(),
            "for example `hidden-ohm wire --size \"1.5 mm2\" --length \"5 m\"`",
        )
    })?;
    if wire.json {
        ui.json(&machine(&answer))
    } else {
        ui.show(&answer.text(units))
    }
}

fn machine(answer: &Answer) -> Value {
    let question = &answer.question;
    json!({
        "length_m": question.length.0,
        "area_mm2": question.area.0 * 1e6,
        "celsius": question.temperature.0,
        "amps": question.current.map(|current| current.0),
        "ohms": answer.resistance.0,
        "drop_v": answer.drop.map(|drop| drop.0),
        "volts_lead": in_lead(&answer.lead),
        "lowz_lead": in_lead(&answer.low_impedance_lead),
        "ohms_lead": { "added_ohms": answer.resistance.0 },
    })
}

fn in_lead(lead: &InLead) -> Value {
    json!({
        "meter_ohms": lead.meter.0,
        "amps": lead.current.0,
        "lost_v": lead.lost.0,
        "lost_percent": lead.share * 100.0,
    })
}
