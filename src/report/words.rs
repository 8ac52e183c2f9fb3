//! Small pieces of wording shared by the terminal and the page.

use crate::score::review::{Reviewed, Verdict};
use crate::units::Money;

/// What a bit is, for somebody who has never met one.
pub(super) const ONE_BIT: &str =
    "One bit is the answer to one fair yes-or-no question: it halves what could still be wrong.";

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
            "could be expected to tell nothing new".to_owned()
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
    if let Some(regret) = action.regret_minutes.filter(|minutes| *minutes >= 0.5) {
        said.push(format!(
            "cost {regret:.0} min more than the best step known"
        ));
    }
    said
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
