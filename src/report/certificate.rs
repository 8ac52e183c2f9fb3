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
            "  {} explanations count once the customer has spoken; {:.1} bits to find. {} thrown away before.",
            certificate.hypotheses,
            certificate.bits,
            draws(certificate.redraws)
        ),
    );
    for step in &certificate.sequence {
        let told = format!("  {}: {}", step.test, step.found);
        text.push(Line::new(Tone::Reading, told).and(
            Tone::Plain,
            format!(
                "; {:.0} min, then {:.1} % wrong",
                step.minutes,
                100.0 * step.wrong
            ),
        ));
        if let Some(repair) = &step.repair {
            text.say(Tone::Plain, &format!("    so: {repair}"));
        }
    }
    if certificate.provocations > 0 {
        let told = match certificate.provocations {
            1 => "  To be sure it is provoked once.".to_owned(),
            times => format!("  To be sure it is provoked {times} times."),
        };
        text.say(Tone::Plain, &told);
    }
    let (minutes, cost, wrong) = (
        certificate.minutes,
        certificate.cost,
        100.0 * certificate.wrong,
    );
    let holds = if certificate.holds {
        "The right repair is certain enough"
    } else {
        "The right repair cannot be told well enough"
    };
    text.say(
        Tone::Plain,
        &format!("  {holds}: {wrong:.1} % wrong over tolerances, after {minutes:.0} min; {cost:.0} min with the repair and its parts."),
    );
    for other in &certificate.left {
        let share = 100.0 * other.probability;
        let told = format!("  still possible: {} ({share:.1} %)", other.hypothesis);
        text.say(Tone::Hint, &told);
    }
    text
}

fn road(road: &Road) -> String {
    match (road.starts, road.hottest_c.zip(road.heater_c)) {
        (true, Some((hottest, heater))) => {
            format!("coolant up to {hottest:.0} C, air from the heater at {heater:.0} C")
        }
        (false, Some(_)) => "does not start".to_owned(),
        (true, None) => format!(
            "{:.0} kPa primed, {:.0} at idle, {:.0} under full load, {:.0} after an hour",
            road.primed_kpa, road.idle_kpa, road.hill_kpa, road.held_kpa
        ),
        (false, None) => format!(
            "does not start; {:.0} kPa at the end of the prime",
            road.primed_kpa
        ),
    }
}

fn draws(count: u32) -> String {
    if count == 1 {
        "1 draw was".to_owned()
    } else {
        format!("{count} draws were")
    }
}
