//! Scorecard and debrief in words. Every mark is shown with its reason and the actions it comes from.

use crate::score::{Debrief, Hidden, PumpFigures, Scorecard};
use crate::units::{System, Volt};

use super::text::{Line, Text, Tone};

/// The scorecard, mark by mark.
#[must_use]
pub fn marks(card: &Scorecard) -> Text {
    let mut text = Text::new();
    text.push(Line::new(Tone::Heading, "SCORECARD  ").and(
        Tone::Reading,
        format!("{} of {}", card.total.show(), card.of.show()),
    ));
    for part in &card.parts {
        text.push(Line::new(Tone::Heading, part.part).and(
            Tone::Plain,
            format!("  {} of {}", part.points.show(), part.of.show()),
        ));
        for mark in &part.marks {
            let points = format!("{} of {}", mark.points.show(), mark.of.show());
            text.push(
                Line::new(Tone::Plain, format!("  {points:<12}  "))
                    .and(Tone::Plain, mark.because.as_str())
                    .and(Tone::Muted, actions(&mark.actions)),
            );
        }
    }
    for danger in &card.hazards {
        text.push(
            Line::new(Tone::Caution, format!("{} danger: ", danger.grade))
                .and(Tone::Plain, danger.what.as_str())
                .and(Tone::Muted, actions(&danger.actions)),
        );
    }
    if let Some(cap) = &card.cap {
        text.push(
            Line::new(Tone::Caution, format!("At most {}: ", cap.at.show()))
                .and(Tone::Plain, cap.because.as_str())
                .and(Tone::Muted, actions(&cap.actions)),
        );
    }
    let base = &card.baseline;
    let money = |money: crate::units::Money| money.show(&base.currency);
    text.push(Line::new(Tone::Heading, "Cost").and(
        Tone::Plain,
        format!(
            "  {} in {}; the plan it is held against: {} in {}.",
            money(base.spent),
            minutes(base.clock_s),
            money(base.money),
            minutes(base.seconds)
        ),
    ));
    text.push(Line::new(Tone::Plain, format!("  {}", base.plan)));
    text
}

/// What was hidden, where the volts went, what went wrong in the work.
#[must_use]
pub fn explanation(debrief: &Debrief, units: System) -> Text {
    let mut text = Text::new();
    text.say(Tone::Heading, "WHAT WAS HIDDEN");
    for hidden in &debrief.hidden {
        text.append(one(hidden));
    }
    if debrief.hidden.is_empty() {
        text.say(Tone::Plain, "  Nothing was wrong.");
    }
    text.say(
        Tone::Heading,
        "WHERE THE VOLTS GO, pump switched on, no instrument connected",
    );
    text.push(Line::new(
        Tone::Drawing,
        "  section           healthy  as it came",
    ));
    for lost in &debrief.lost {
        let volts = |volts: Option<f64>| {
            volts.map_or("cut off".to_owned(), |volts| Volt(volts).show(units))
        };
        text.push(Line::new(
            Tone::Drawing,
            format!(
                "  {:<15} {:>9}   {:>9}",
                lost.section,
                volts(Some(lost.healthy_v)),
                volts(lost.came_v)
            ),
        ));
    }
    for (name, pump) in [
        ("pump, healthy", debrief.pump_healthy),
        ("pump, as it came", debrief.pump_came),
    ] {
        text.push(Line::new(
            Tone::Plain,
            format!("  {name:<16}  {}", figures(pump, units)),
        ));
    }
    if !debrief.missteps.is_empty() {
        text.say(Tone::Heading, "WORTH ANOTHER THOUGHT");
    }
    for misstep in &debrief.missteps {
        text.push(
            Line::new(Tone::Plain, format!("  {}", misstep.what))
                .and(Tone::Muted, actions(&misstep.actions)),
        );
    }
    text.push(Line::new(Tone::Heading, "Next  ").and(Tone::Plain, debrief.practise.as_str()));
    text
}

fn one(hidden: &Hidden) -> Text {
    let mut text = Text::new();
    text.push(
        Line::new(Tone::Heading, format!("  {}  ", hidden.part)).and(
            Tone::Plain,
            format!(
                "{}: {}, {}.",
                hidden.part_title, hidden.title, hidden.severity
            ),
        ),
    );
    text.push(Line::new(
        Tone::Plain,
        format!(
            "  It belongs to the section {} and is {}.",
            hidden.section, hidden.place
        ),
    ));
    let end = match hidden.cured_by {
        Some(action) => format!("Cured by action {action}."),
        None if hidden.left => "It is still there.".to_owned(),
        None => "It is gone.".to_owned(),
    };
    text.push(Line::new(Tone::Plain, format!("  {end}")));
    text.push(Line::new(Tone::Plain, format!("  {}", hidden.teaching)));
    text
}

fn figures(pump: PumpFigures, units: System) -> String {
    let pressure = crate::units::Pascal(pump.kpa * 1000.0).show(units);
    format!(
        "{}, {:.0} rpm, {pressure}",
        crate::units::Amp(pump.amps).show(units),
        pump.rpm
    )
}

/// ` (action 3)`, ` (actions 3, 5)`; nothing for none.
fn actions(numbers: &[u32]) -> String {
    let listed: Vec<String> = numbers.iter().map(u32::to_string).collect();
    match listed.as_slice() {
        [] => String::new(),
        [one] => format!("  (action {one})"),
        several => format!("  (actions {})", several.join(", ")),
    }
}

fn minutes(seconds: f64) -> String {
    format!("{:.0} min", libm::round(seconds / 60.0))
}
