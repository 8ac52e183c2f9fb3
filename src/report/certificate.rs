//! A certificate in words: what tests can tell the truth from, and what they cannot.

use super::text::{Line, Text, Tone};
use crate::certify::{Certificate, Road};

/// The certificate as text.
#[must_use]
pub fn text(certificate: &Certificate) -> Text {
    let mut text = Text::new();
    text.say(Tone::Heading, "Certificate");
    let complaint = &certificate.complaint;
    text.say(
        Tone::Plain,
        &format!("  sound     {}", road(&complaint.healthy)),
    );
    text.say(
        Tone::Plain,
        &format!("  as it is  {}", road(&complaint.faulty)),
    );
    text.say(
        Tone::Plain,
        &format!(
            "  {} other explanations; {} of them the same repair would cure.",
            certificate.hypotheses, certificate.same_repair
        ),
    );
    for test in &certificate.separating {
        let told = format!("{} is {:.3} {}", test.test, test.value, test.unit);
        text.push(Line::new(Tone::Reading, format!("  {told}")).and(
            Tone::Plain,
            format!(": rules out {} of them", test.separates),
        ));
    }
    if certificate.indistinguishable.is_empty() {
        text.say(Tone::Plain, "  Nothing else is left.");
    }
    for other in &certificate.indistinguishable {
        let told = format!(
            "  not told apart by these tests: {} on {}",
            other.kind, other.part
        );
        text.say(Tone::Hint, &told);
    }
    text
}

fn road(road: &Road) -> String {
    if !road.starts {
        return format!(
            "does not start; {:.0} kPa at the end of the prime",
            road.primed_kpa
        );
    }
    format!(
        "{:.0} kPa primed, {:.0} at idle, {:.0} under full load, {:.0} after an hour",
        road.primed_kpa, road.idle_kpa, road.hill_kpa, road.held_kpa
    )
}
