//! The reasoning of an attempt in words: what each action told and cost, what could be believed, what to practise.

use crate::score::review::{BeliefStory, Misconception, Reviewed};

use super::rise::Rise;
use super::scorecard::actions;
use super::story::Story;
use super::text::{Line, Text, Tone};
use super::words::{FIRST_PRIME, TERMS, bits, percent, referred, told, took, verdict};
use crate::units::{Pascal, System};

/// The review as text, with the rise of pressure.
#[must_use]
pub fn text(story: &Story) -> Text {
    let review = &story.review;
    let mut text = Text::new();
    text.say(Tone::Heading, "Outcome and method");
    let marks = &review.marks;
    let row = |name: &str, points: f64, because: &str| {
        Line::new(Tone::Plain, format!("  {name} "))
            .and(Tone::Reading, format!("{points:.0} of 100"))
            .and(Tone::Plain, format!(": {because}"))
    };
    text.push(row("Outcome", marks.outcome, &marks.outcome_because));
    text.push(row("Method", marks.method, &marks.method_because));
    text.say(Tone::Plain, &format!("  {}", marks.says));
    text.blank();
    text.say(Tone::Heading, "What each action told and cost");
    for term in TERMS {
        text.say(Tone::Muted, &format!("  {term}"));
    }
    for action in &review.actions {
        action_text(action, &story.currency, &mut text);
    }
    text.blank();
    belief(&review.belief, &mut text);
    text.blank();
    text.say(Tone::Heading, "What the job should have cost");
    text.say(Tone::Plain, &format!("  {}", review.reference.says));
    if let Some(first) = &review.reference.first {
        text.say(
            Tone::Plain,
            &format!("  The reference would begin: {}.", first.what),
        );
    }
    if let Some(regret) = review.reference.regret_minutes {
        text.say(
            Tone::Plain,
            &format!("  All steps of this attempt together cost {regret:.0} min more than the reference's would have."),
        );
    }
    text.blank();
    rise(&story.rise, story.system, &mut text);
    if !review.misconceptions.is_empty() {
        text.blank();
        text.say(Tone::Heading, "Ideas to put right");
        for misconception in &review.misconceptions {
            misconceived(misconception, &mut text);
        }
    }
    text.blank();
    text.say(Tone::Heading, "Practise next");
    text.push(
        Line::new(Tone::Hint, format!("  {}", review.practise.what))
            .and(Tone::Muted, actions(&review.practise.actions)),
    );
    text.say(Tone::Muted, &format!("  {}", review.standing.says));
    text
}

fn action_text(action: &Reviewed, currency: &str, text: &mut Text) {
    let shown = if action.shown.is_empty() {
        String::new()
    } else {
        format!(": {}", action.shown)
    };
    text.push(
        Line::new(Tone::Plain, format!("  {}. {}", action.action, action.what))
            .and(Tone::Reading, shown)
            .and(Tone::Muted, format!(". {}", took(action, currency))),
    );
    let mut said = told(action);
    if !said.is_empty() {
        said.push(format!("surest repair now {}", percent(action.surest)));
        text.say(Tone::Muted, &format!("     {}.", capital(&said.join("; "))));
    }
    if !action.verdicts.is_empty() {
        let words: Vec<&str> = action.verdicts.iter().map(|v| verdict(*v)).collect();
        text.say(
            Tone::Plain,
            &format!("     {}: {}", capital(&words.join(", ")), action.why),
        );
    }
    if let Some(next) = &action.reference {
        text.say(Tone::Hint, &format!("     {}", referred(next)));
    }
}

fn belief(story: &BeliefStory, text: &mut Text) {
    text.say(
        Tone::Heading,
        "What could be believed: after the work order, at its highest, at the end",
    );
    text.say(
        Tone::Muted,
        "  Of 100 vehicles with this complaint and the readings up to then, so many need this repair.",
    );
    let (first, last) = (story.points.first(), story.points.last());
    for (index, repair) in story.repairs.iter().enumerate() {
        let at = |point: Option<&crate::score::review::BeliefPoint>| {
            point
                .and_then(|point| point.shares.get(index))
                .copied()
                .unwrap_or(0.0)
        };
        let highest = story
            .points
            .iter()
            .filter_map(|point| point.shares.get(index))
            .fold(0.0, |most: f64, share| most.max(*share));
        let right = if repair.right {
            " (this was right)"
        } else {
            ""
        };
        text.push(
            Line::new(Tone::Plain, format!("  {}{right}: ", repair.repair)).and(
                Tone::Reading,
                format!(
                    "{}, {}, {}",
                    percent(at(first)),
                    percent(highest),
                    percent(at(last))
                ),
            ),
        );
    }
    if let (Some(first), Some(last)) = (first, last) {
        text.say(
            Tone::Muted,
            &format!(
                "  Still unknown about the right repair: {} at first, {} at the end; 0 bits is certainty.",
                bits(first.bits),
                bits(last.bits)
            ),
        );
    }
}

fn rise(rise: &Rise, system: System, text: &mut Text) {
    let (came, healthy) = rise.ends();
    let show = |kpa: f64| Pascal(kpa * 1e3).show(system);
    let heading = format!("Pressure {} at the end of the first prime", rise.at);
    text.say(Tone::Heading, &heading);
    text.say(Tone::Muted, &format!("  {FIRST_PRIME}"));
    text.push(
        Line::new(Tone::Plain, "  As it came ")
            .and(Tone::Reading, show(came))
            .and(Tone::Muted, format!(", sound {}", show(healthy))),
    );
}

fn misconceived(found: &Misconception, text: &mut Text) {
    text.push(
        Line::new(Tone::Heading, format!("  {}", capital(&found.name)))
            .and(Tone::Plain, format!(". {}", found.what))
            .and(Tone::Muted, actions(&found.actions)),
    );
    if !found.explanation.is_empty() {
        text.say(Tone::Plain, &format!("    {}", found.explanation));
    }
    if !found.instead.is_empty() {
        text.say(Tone::Plain, &format!("    Instead: {}", found.instead));
    }
}

/// The same with a capital letter first.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
