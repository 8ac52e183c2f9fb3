//! What many codes came to, as tables of words.

use super::text::{Line, Text, Tone};
use crate::certify::{LevelTally, Tally};
use crate::fault::Catalogue;
use crate::scenario::Redraw;

/// A survey as text, over the kinds of fault of a catalogue; `failed` are codes that gave nothing.
#[must_use]
pub fn text(tally: &Tally, catalogue: &Catalogue, failed: &[String]) -> Text {
    let mut text = Text::new();
    let codes = tally.codes;
    let thrown: u64 = tally.thrown_away.values().sum();
    text.say(
        Tone::Heading,
        &format!(
            "{codes} codes, {} of them at the first draw; {thrown} draws thrown away, {:.2} a code, at most {} for one",
            tally.at_once,
            thrown as f64 / codes.max(1) as f64,
            tally.most_thrown_away
        ),
    );
    for (reason, times) in &tally.thrown_away {
        row(&mut text, reason.words(), *times, thrown);
    }
    text.say(Tone::Heading, "Vehicles");
    for (vehicle, count) in &tally.vehicles {
        row(&mut text, vehicle, *count, codes);
    }
    text.say(Tone::Heading, "Themes, and the faults of each");
    for (theme, count) in &tally.themes {
        row(&mut text, theme, *count, codes);
        faults(&mut text, tally, theme, *count);
    }
    let second: u64 = of_theme(tally, "second").map(|(_, count)| count).sum();
    if second > 0 {
        text.say(Tone::Plain, "second faults");
        faults(&mut text, tally, "second", second);
    }
    draws(&mut text, tally);
    largest(&mut text, tally);
    let never = tally.never_came(catalogue);
    let none = ["every one came"];
    let never = if never.is_empty() { &none[..] } else { &never };
    text.say(
        Tone::Plain,
        &format!("kinds of fault that never came: {}", never.join(", ")),
    );
    text.say(Tone::Heading, "Levels");
    text.say(
        Tone::Plain,
        "  level  tests  with repair  to find  right unseen by buying the dearest part, a pump, the part named",
    );
    for (level, one) in &tally.levels {
        text.say(Tone::Plain, &format!("  {level:>5}  {}", level_words(one)));
    }
    let found = tally.rank_correlations();
    text.say(
        Tone::Plain,
        &format!(
            "  rank correlation with the level: minutes of tests {:.2}, with repair {:.2}, bits {:.2}",
            found.minutes, found.cost, found.bits
        ),
    );
    habits(&mut text, tally);
    for line in failed {
        text.say(Tone::Caution, line);
    }
    text
}

/// What came of the draws of each kind of fault.
fn draws(text: &mut Text, tally: &Tally) {
    text.say(
        Tone::Heading,
        "Draws of each kind: offered; thrown away as not noticed, not to be told, not of the level",
    );
    for (kind, one) in &tally.draws {
        let away = |reason| one.thrown_away.get(&reason).copied().unwrap_or(0);
        let row = format!(
            "  {kind:<28}{:>7}  {:>7} {:>7} {:>7}",
            one.kept,
            away(Redraw::Silent),
            away(Redraw::Uncertain),
            away(Redraw::OffLevel)
        );
        text.say(Tone::Plain, &row);
    }
}

/// The commonest fault of each theme.
fn largest(text: &mut Text, tally: &Tally) {
    text.say(Tone::Heading, "Commonest fault of each theme");
    for theme in tally.themes.keys() {
        if let Some((kind, share)) = tally.commonest(theme) {
            let row = format!("  {theme:<12}{kind:<28}{:>6.1} %", 100.0 * share);
            text.say(Tone::Plain, &row);
        }
    }
}

/// For each vehicle and level the one piece of work that would have been right most often without a look.
fn habits(text: &mut Text, tally: &Tally) {
    text.say(
        Tone::Heading,
        "The same work on every vehicle, unseen: what is right most often",
    );
    for ((vehicle, level), habits) in &tally.habits {
        let (work, right) = habits.best();
        let share = 100.0 * right as f64 / habits.codes.max(1) as f64;
        let row = format!("  {vehicle:<20} level {level}  {work:<18}{share:>6.1} %");
        text.say(Tone::Plain, &row);
    }
}

fn faults(text: &mut Text, tally: &Tally, theme: &str, whole: u64) {
    for (kind, count) in of_theme(tally, theme) {
        row(text, &format!("  {kind}"), count, whole);
    }
}

fn of_theme<'t>(tally: &'t Tally, theme: &str) -> impl Iterator<Item = (&'t str, u64)> {
    let kinds = tally.kinds.iter();
    kinds
        .filter(move |((of, _), _)| *of == theme)
        .map(|((_, kind), count)| (kind.as_str(), *count))
}

fn row(text: &mut Text, words: &str, count: u64, whole: u64) {
    let share = 100.0 * count as f64 / whole.max(1) as f64;
    text.push(
        Line::new(Tone::Plain, format!("  {words:<28}"))
            .and(Tone::Reading, format!("{count:>8} {share:>6.1} %")),
    );
}

fn level_words(one: &LevelTally) -> String {
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len().max(1) as f64;
    let share = |count: u64| 100.0 * count as f64 / one.codes.max(1) as f64;
    format!(
        "{:>5.1} min {:>8.1} min {:>4.1} bits  {:>4.1} %  {:>4.1} %  {:>4.1} %",
        mean(&one.minutes),
        mean(&one.costs),
        mean(&one.bits),
        share(one.dearest_right),
        share(one.pump_right),
        share(one.named_right)
    )
}
