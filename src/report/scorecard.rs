//! The scorecard in words: one column, every mark with its reason and the actions it comes from.

use crate::score::{Baseline, Mark, Part, Scorecard};
use crate::units::Money;

use super::text::{Line, Text, Tone};

/// The scorecard as text.
#[must_use]
pub fn text(card: &Scorecard) -> Text {
    let mut text = Text::new();
    text.say(Tone::Heading, "SCORECARD");
    text.push(Line::new(
        Tone::Reading,
        format!("{} of {}", card.total.show(), card.of.show()),
    ));
    if let Some(cap) = &card.cap {
        text.push(Line::new(Tone::Caution, &cap.because).and(Tone::Muted, actions(&cap.actions)));
    }
    for part in &card.parts {
        text.blank();
        part_text(part, &mut text);
    }
    if !card.hazards.is_empty() {
        text.blank();
        text.say(Tone::Heading, "Dangers");
        for danger in &card.hazards {
            let line = format!("  {}: {}.", danger.grade, danger.what);
            text.push(Line::new(Tone::Caution, line).and(Tone::Muted, actions(&danger.actions)));
        }
    }
    text.blank();
    baseline(&card.baseline, &mut text);
    text
}

fn part_text(part: &Part, text: &mut Text) {
    let name: String = part
        .part
        .chars()
        .take(1)
        .flat_map(char::to_uppercase)
        .chain(part.part.chars().skip(1))
        .collect();
    text.push(Line::new(Tone::Heading, name).and(
        Tone::Plain,
        if part.of.0 == 0 {
            // A deduction has nothing it is out of.
            format!(": {} points", part.points.show())
        } else {
            format!(": {} of {}", part.points.show(), part.of.show())
        },
    ));
    for mark in &part.marks {
        text.push(mark_line(mark));
    }
}

fn mark_line(mark: &Mark) -> Line {
    let points = if mark.of.0 == 0 {
        // A deduction has nothing it is out of.
        format!("  {} points. ", mark.points.show())
    } else {
        format!("  {} of {}. ", mark.points.show(), mark.of.show())
    };
    Line::new(Tone::Reading, points)
        .and(Tone::Plain, &mark.because)
        .and(Tone::Muted, actions(&mark.actions))
}

/// ` (action 3)`, ` (actions 3, 5)`; long lists are cut short, the machine form has all of them.
pub(super) fn actions(numbers: &[u32]) -> String {
    const SHOWN: usize = 6;
    let list: Vec<String> = numbers.iter().take(SHOWN).map(u32::to_string).collect();
    match (numbers.len(), numbers.len().saturating_sub(SHOWN)) {
        (0, _) => String::new(),
        (1, _) => format!(" (action {})", list[0]),
        (_, 0) => format!(" (actions {})", list.join(", ")),
        (_, more) => format!(" (actions {} and {more} more)", list.join(", ")),
    }
}

fn baseline(baseline: &Baseline, text: &mut Text) {
    text.say(Tone::Heading, "Baseline for the cost");
    text.say(Tone::Plain, &baseline.plan);
    let minutes = |seconds: f64| format!("{:.0} min", seconds / 60.0);
    let money = |money: Money| money.show(&baseline.currency);
    for line in &baseline.lines {
        let goods = if line.goods.0 == 0 {
            String::new()
        } else {
            format!(" and {}", money(line.goods))
        };
        let what = format!("  {}: {}{goods}", line.what, minutes(line.seconds));
        text.push(Line::new(Tone::Muted, what));
    }
    text.push(Line::new(Tone::Plain, "  In all ").and(
        Tone::Reading,
        format!("{}, {}", money(baseline.money), minutes(baseline.seconds)),
    ));
    text.push(Line::new(Tone::Plain, "  This attempt ").and(
        Tone::Reading,
        format!("{}, {}", money(baseline.spent), minutes(baseline.clock_s)),
    ));
}
