//! The first screen: the work order, the cautions, and the five words a newcomer needs.

use crate::bay::Bay;
use crate::report::text::{Line, Text, Tone};
use crate::scenario::PAIRED_LEVEL;

/// The five words; the rest come with `help`.
const FIRST_WORDS: &str =
    "Five words to begin with: order look volts call help. Tab completes words, points and parts.";
/// What a level that hides two faults asks for.
const TWO: &str =
    "5: two things are wrong with it. A clean road test after the first does not prove the second.";
/// What stands above every maker's book.
const PRECEDENCE: &str = "The maker's instructions, local law and licensed practice come first.";

/// The work order, the cautions and the first five words.
#[must_use]
pub fn text(bay: &Bay) -> Text {
    let (order, vehicle) = (bay.work_order(), bay.vehicle());
    let mut text = Text::new();
    let code = bay
        .code()
        .map_or_else(String::new, |code| format!("   {code}"));
    text.push(
        Line::new(Tone::Heading, "WORK ORDER  ")
            .and(Tone::Plain, format!("{} \"{}\"", order.vehicle, order.name))
            .and(Tone::Muted, format!("{code}   level {}", bay.level())),
    );
    let mut row = |label: &str, body: String| {
        text.push(Line::new(Tone::Heading, format!("  {label:<10}")).and(Tone::Plain, body));
    };
    row("Customer", format!("\"{}\"", order.customer));
    row("Known", order.known.join(" "));
    if bay.level() == PAIRED_LEVEL {
        row("Level", TWO.to_owned());
    }
    let figures = if order.figures.is_empty() {
        "none to be had".to_owned()
    } else {
        order.figures.join("; ")
    };
    row("Figures", figures);
    let rate = vehicle.labour_per_hour.show(&vehicle.currency);
    row("Labour", format!("{rate} an hour; `prices` for parts"));
    for caution in &order.cautions {
        text.say(Tone::Caution, caution);
    }
    if !order
        .cautions
        .iter()
        .any(|caution| caution.contains("local law"))
    {
        text.say(Tone::Caution, PRECEDENCE);
    }
    text.say(Tone::Hint, FIRST_WORDS);
    text
}
