//! The debrief in words: what was hidden, where the volts went, what went wrong in the work.

use crate::score::{Debrief, Hidden, PumpFigures};
use crate::units::System;

use super::scorecard::actions;
use super::text::{Line, Text, Tone};
use super::words::{self, SETTLED, SOUND, bar, volts as volts_shown};

/// The debrief as text; `bars` draws the lost volts as well.
#[must_use]
pub fn text(debrief: &Debrief, system: System, bars: bool) -> Text {
    let mut text = Text::new();
    text.say(Tone::Heading, "WHAT WAS WRONG");
    if debrief.hidden.is_empty() {
        text.say(Tone::Plain, "Nothing was wrong with this vehicle.");
    }
    for hidden in &debrief.hidden {
        hidden_text(hidden, &mut text);
    }
    text.blank();
    volts(debrief, system, bars, &mut text);
    if words::missteps(debrief).next().is_some() {
        text.blank();
        text.say(Tone::Heading, "What went wrong in the work");
        for misstep in words::missteps(debrief) {
            text.push(
                Line::new(Tone::Plain, format!("  {}", misstep.what))
                    .and(Tone::Muted, actions(&misstep.actions)),
            );
        }
    }
    text
}

fn hidden_text(hidden: &Hidden, text: &mut Text) {
    text.push(Line::new(Tone::Heading, &hidden.part).and(
        Tone::Plain,
        format!(
            ": {}, {}, in the {} ({}).",
            hidden.title, hidden.severity, hidden.spoken, hidden.part_title
        ),
    ));
    text.say(Tone::Plain, &format!("  Place: {}.", hidden.place));
    let state = match (hidden.cured_by, hidden.pointed_by.is_empty()) {
        (None, _) => "  It is still there.".to_owned(),
        (Some(number), true) => {
            format!("  Put right in action {number}; nothing done before had pointed to it.")
        }
        (Some(number), false) => format!(
            "  Put right in action {number}; what had been found before pointed to it{}.",
            actions(&hidden.pointed_by)
        ),
    };
    text.say(Tone::Plain, &state);
    text.say(Tone::Plain, &format!("  {}", hidden.teaching));
}

fn volts(debrief: &Debrief, system: System, bars: bool, text: &mut Text) {
    let way = debrief.way_of.as_ref().map_or_else(String::new, |lift| {
        format!(" on the way to the lift pump {lift} and back")
    });
    text.say(Tone::Heading, &format!("Where the volts went{way}"));
    text.say(Tone::Muted, &format!("  {SETTLED} {SOUND}"));
    let whole: f64 = debrief.lost.iter().filter_map(|lost| lost.came_v).sum();
    for lost in &debrief.lost {
        let drawn = match lost.came_v {
            Some(volts) if bars && whole > 0.0 => format!(" {}", bar(volts / whole)),
            _ => String::new(),
        };
        let verb = if lost.section == "pump" {
            "gets"
        } else {
            "loses"
        };
        text.push(
            Line::new(Tone::Plain, format!("  {} {verb} ", lost.section))
                .and(Tone::Reading, volts_shown(lost.came_v))
                .and(
                    Tone::Muted,
                    format!("{drawn}, sound {}", volts_shown(Some(lost.healthy_v))),
                ),
        );
    }
    if let Some(sum) = words::sum_of_lost(&debrief.lost) {
        text.say(Tone::Plain, &format!("  {sum}"));
    }
    text.say(
        Tone::Heading,
        "Volts along the loop against the negative post",
    );
    text.say(
        Tone::Muted,
        "  From the battery's positive post to the pump and back. Where the figure falls and there is no pump between, volts are lost.",
    );
    for point in &debrief.points {
        text.push(
            Line::new(Tone::Plain, format!("  {} ", point.point))
                .and(Tone::Reading, volts_shown(point.came_v))
                .and(
                    Tone::Muted,
                    format!(", sound {}", volts_shown(point.healthy_v)),
                ),
        );
    }
    let main = [
        ("The pump as it came", debrief.pump_came),
        ("The pump, sound", debrief.pump_healthy),
    ];
    let lift = debrief.lift.map(|[sound, came]| {
        [
            ("The lift pump as it came", came),
            ("The lift pump, sound", sound),
        ]
    });
    for (name, pump) in main.into_iter().chain(lift.into_iter().flatten()) {
        text.push(
            Line::new(Tone::Plain, format!("  {name}: ")).and(Tone::Reading, figures(pump, system)),
        );
    }
}

fn figures(pump: PumpFigures, system: System) -> String {
    words::pump(pump, system).join(", ")
}
