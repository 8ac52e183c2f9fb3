//! Small pieces of wording shared by the terminal and the page.

use crate::score::review::{NextStep, Reviewed, Verdict};
use crate::score::{Debrief, Lost, Misstep, PumpFigures};
use crate::units::{Money, Pascal, System};

/// The words of the story of actions, each explained where it first stands.
pub(super) const TERMS: [&str; 3] = [
    "One bit is the answer to one fair yes-or-no question: it halves what could still be wrong. What a step could be expected to tell \
counts what was known before it; what it told is looked up afterwards.",
    "\"Surest repair now 60 %\": of 100 vehicles with this complaint and these readings, about 60 need the repair that is likeliest by \
then.",
    "The reference is the plan that this program works out from the same readings, without knowing what is hidden. \"Cost 5 min more\": \
by this step the job can be expected to take so much longer than by the reference's step; parts count as the labour they would pay \
for, and small differences are left out.",
];

/// What the words beside every figure of the vehicle mean.
pub(super) const SOUND: &str =
    "\"As it came\" is with what was hidden; \"sound\" is the same vehicle without it.";

/// When the figures of the volts and of the pumps hold.
pub(super) const SETTLED: &str =
    "With the pump switched on until everything is steady, and no instrument connected.";

/// When the figures of the rise hold, for whoever compares them with those of the pump running on.
pub(super) const FIRST_PRIME: &str = "The first prime: the pump's first run after standing, a second or two from turning the key. So these \
figures need not be those of the pump running on.";

/// Length of a full bar.
const BAR: u8 = 20;

/// Less than this rounds to nothing, bits.
const SMALL_BITS: f64 = 0.05;

/// `0.8 bits`, `1.0 bit`.
pub(super) fn bits(bits: f64) -> String {
    // Rounded first, so that nothing shows a minus sign before a zero.
    let tenths = libm::round(bits * 10.0) / 10.0 + 0.0;
    let noun = if tenths == 1.0 { "bit" } else { "bits" };
    format!("{tenths:.1} {noun}")
}

/// `46 %`.
pub(super) fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// What an action took: `3.0 min, 2.90 cr`.
pub(super) fn took(action: &Reviewed, currency: &str) -> String {
    let money = Money(action.money).show(currency);
    format!("{:.1} min, {money}", action.minutes)
}

/// What an action could tell and told, in the order one would ask; empty for what is no test.
pub(super) fn told(action: &Reviewed) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(expected) = action.expected_bits {
        said.push(if expected < SMALL_BITS {
            "could be expected to tell next to nothing".to_owned()
        } else {
            format!("could be expected to tell {}", bits(expected))
        });
    }
    if let Some(told) = action
        .told_bits
        .filter(|told| libm::fabs(*told) >= SMALL_BITS)
    {
        said.push(if told < 0.0 {
            format!("pointed away from the truth by {}", bits(-told))
        } else {
            format!("told {} towards the truth", bits(told))
        });
    }
    if let Some(counted) = action.counted_minutes.filter(|minutes| *minutes >= 0.5) {
        said.push(format!("cost {counted:.0} min more"));
    }
    said
}

/// The reference's step in words, with what it is worth where that says anything.
pub(super) fn referred(next: &NextStep) -> String {
    if next.worth_minutes < 0.5 {
        return format!("The reference's step: {}.", next.what);
    }
    format!(
        "The reference's step: {}. It saves {:.0} min against deciding at once.",
        next.what, next.worth_minutes
    )
}

/// Current, speed and pressure of a pump; one that stands still makes no pressure, and what the line still holds says nothing.
pub(super) fn pump(pump: PumpFigures, system: System) -> [String; 3] {
    let amps = format!("{:.1} A", libm::fabs(pump.amps));
    if pump.rpm < 0.5 {
        return [amps, "standing still".to_owned(), "no pressure".to_owned()];
    }
    let pressure = Pascal(pump.kpa * 1e3).show(system);
    [amps, format!("{:.0} rpm", pump.rpm), pressure]
}

/// The sections' volts added up: `0.009 V + 5.4 V = 5.41 V`; nothing where the circuit was cut.
pub(super) fn sum_of_lost(lost: &[Lost]) -> Option<String> {
    let came: Vec<f64> = lost.iter().map(|lost| lost.came_v).collect::<Option<_>>()?;
    let shown: Vec<String> = came.iter().map(|came| volts(Some(*came))).collect();
    Some(format!(
        "{} = {}: together they take all the battery has.",
        shown.join(" + "),
        volts(Some(came.iter().sum()))
    ))
}

/// What went wrong and is not explained as a mistaken idea: nothing is told twice.
pub(super) fn missteps(facts: &Debrief) -> impl Iterator<Item = &Misstep> {
    facts.missteps.iter().filter(|step| step.idea.is_none())
}

/// The word for a verdict.
pub(super) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Telling => "telling",
        Verdict::Redundant => "redundant",
        Verdict::Dear => "dear",
        Verdict::Justified => "justified",
        Verdict::Unjustified => "not justified",
        Verdict::Lucky => "lucky",
        Verdict::Unlucky => "unlucky",
    }
}

/// Volts as a meter would show them; words for a point that is cut off from the circuit.
pub(super) fn volts(volts: Option<f64>) -> String {
    match volts {
        None => "cut off".to_owned(),
        Some(volts) if libm::fabs(volts) < 6.0 => format!("{volts:.3} V"),
        Some(volts) => format!("{volts:.2} V"),
    }
}

/// As many signs as twentieths; the figure beside it says the same.
pub(super) fn bar(share: f64) -> String {
    let full = libm::round(f64::from(BAR) * share.clamp(0.0, 1.0));
    // Between nothing and twenty.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let full = full as usize;
    format!("[{:<width$}]", "#".repeat(full), width = usize::from(BAR))
}
