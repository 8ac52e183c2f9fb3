//! What many codes came to, as tables of words.

use super::text::{Line, Text, Tone};
use crate::certify::{LevelTally, Tally};

/// A survey as text; `failed` are codes that gave nothing.
#[must_use]
pub fn text(tally: &Tally, failed: &[String]) -> Text {
    let mut text = Text::new();
    let codes = tally.codes;
    let thrown: u64 = tally.thrown_away.values().sum();
    text.say(
        Tone::Heading,
        &format!(
            "{codes} codes, {thrown} draws thrown away, at most {} for one code",
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
    text.say(
        Tone::Heading,
        "Levels: minutes of tests, bits to find, right by buying the dearest part, by buying a pump",
    );
    for (level, one) in &tally.levels {
        text.say(Tone::Plain, &format!("  {level}  {}", level_words(one)));
    }
    let (minutes, bits) = tally.rank_correlations();
    text.say(
        Tone::Plain,
        &format!("  rank correlation with the level: minutes {minutes:.2}, bits {bits:.2}"),
    );
    for line in failed {
        text.say(Tone::Caution, line);
    }
    text
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
        "{:>5.1} min  {:>4.1} bits  {:>4.1} %  {:>4.1} %",
        mean(&one.minutes),
        mean(&one.bits),
        share(one.dearest_right),
        share(one.pump_right)
    )
}
