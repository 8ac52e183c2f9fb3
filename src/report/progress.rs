//! A learner's history in words.

use super::review::capital;
use super::text::{Line, Text, Tone};
use super::words::{bar, percent};
use crate::progress::{History, Spot};

/// Kinds of fault listed: the weakest.
const KINDS: usize = 5;

/// The history as text; `bars` draws the shares as well.
#[must_use]
pub fn text(history: &History, bars: bool) -> Text {
    let mut text = Text::new();
    let (all, rated) = (history.jobs().len(), history.rated().count());
    let unrated = match all - rated {
        0 => String::new(),
        1 => "; one more was guided or met before".to_owned(),
        more => format!("; {more} more were guided or met before"),
    };
    let noun = if rated == 1 { "job" } else { "jobs" };
    text.push(
        Line::new(Tone::Heading, "PROGRESS  ").and(Tone::Plain, format!("{rated} {noun}{unrated}")),
    );
    if rated == 0 {
        text.say(
            Tone::Hint,
            "  Nothing to go by yet: `hidden-ohm practice` begins a job.",
        );
        return text;
    }
    let (standing, rating) = (history.standing(), history.rating());
    text.push(Line::new(Tone::Plain, format!("  {}", standing.says)));
    text.push(
        Line::new(
            Tone::Plain,
            "  Half of the points are to be expected at level ",
        )
        .and(Tone::Reading, format!("{:.1}", rating.level()))
        .and(
            Tone::Muted,
            format!(
                ", give or take {:.1} (one standard error; levels are ordered, not calibrated)",
                rating.level_error()
            ),
        ),
    );
    block("By part of the marks", &history.parts(), bars, &mut text);
    block(
        "By place of the trouble, weakest first",
        &history.themes(),
        bars,
        &mut text,
    );
    let mut kinds = history.kinds();
    kinds.truncate(KINDS);
    block("By kind of fault, weakest first", &kinds, bars, &mut text);
    let next = history.next();
    text.say(Tone::Heading, "Practise next");
    let due = match next.themes.len() {
        0 => "nothing is due, so that it may be about anything".to_owned(),
        1 => "it may be about something whose time has come".to_owned(),
        count => format!("it may be about one of {count} things whose time has come"),
    };
    text.say(
        Tone::Hint,
        &format!(
            "  `hidden-ohm practice` picks a job at level {}; {due}.",
            next.level
        ),
    );
    text
}

fn block(heading: &str, spots: &[Spot], bars: bool, text: &mut Text) {
    if spots.is_empty() {
        return;
    }
    text.say(Tone::Heading, heading);
    for spot in spots {
        let noun = if spot.jobs == 1 { "job" } else { "jobs" };
        let when = match spot.due_in {
            None => String::new(),
            Some(days) if days <= 0 => ", due now".to_owned(),
            Some(1) => ", due tomorrow".to_owned(),
            Some(days) => format!(", due in {days} days"),
        };
        let mut line = Line::new(Tone::Plain, format!("  {}  ", capital(&spot.name)))
            .and(Tone::Reading, percent(spot.share));
        if bars {
            line = line.and(Tone::Muted, format!(" {}", bar(spot.share)));
        }
        text.push(line.and(Tone::Muted, format!(" {} {noun}{when}", spot.jobs)));
    }
}
