//! A certificate in words: what tests can tell the truth from, and what they cannot.

use super::text::{Line, Text, Tone};
use crate::certify::{Certificate, Road, Step};

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
    text.say(Tone::Muted, &format!("  {WHAT}"));
    text.say(Tone::Plain, &format!("  {}", open(certificate)));
    if certificate.redraws > 0 {
        text.say(
            Tone::Muted,
            &format!(
                "  {} thrown away before this job: nobody would have complained, or no tests would have told.",
                drafts(certificate.redraws)
            ),
        );
    }
    for step in &certificate.sequence {
        let told = format!("  {}: {}", step.test, step.found);
        text.push(Line::new(Tone::Reading, told).and(Tone::Plain, format!("; {}", after(step))));
        if let Some(repair) = &step.repair {
            text.say(Tone::Plain, &format!("    so: {repair}"));
        }
    }
    if certificate.provocations > 0 {
        let told = match certificate.provocations {
            1 => "  To be sure, the trouble is provoked once.".to_owned(),
            times => format!("  To be sure, the trouble is provoked {times} times."),
        };
        text.say(Tone::Plain, &told);
    }
    text.say(Tone::Plain, &format!("  {}", end(certificate)));
    for (other, share) in left(certificate) {
        let told = format!("  still possible: {other}, {share}");
        text.say(Tone::Hint, &told);
    }
    text
}

/// What a certificate is.
pub(super) const WHAT: &str = "How somebody who does not know what is hidden could test, as the program works it out; what each test shows here \
is what it truly shows on this vehicle.";

/// What is open once the customer has spoken.
pub(super) fn open(certificate: &Certificate) -> String {
    format!(
        "{} faults could explain the complaint; {:.1} bits are to be found (one bit halves what could still be wrong).",
        certificate.hypotheses, certificate.bits
    )
}

/// What a test takes, and how sure one is after it.
pub(super) fn after(step: &Step) -> String {
    format!(
        "{:.0} min, after which the likeliest repair is wrong in {} of 100",
        step.minutes,
        of_hundred(step.wrong)
    )
}

/// How it ends, and at what cost.
pub(super) fn end(certificate: &Certificate) -> String {
    let holds = if certificate.holds {
        "That is certain enough"
    } else {
        "These tests alone do not make it certain enough"
    };
    let repair = if certificate
        .sequence
        .iter()
        .any(|step| step.repair.is_some())
    {
        format!(
            "; with the repair {:.0} min, parts counted as the labour they would pay for",
            certificate.cost
        )
    } else {
        String::new()
    };
    format!(
        "{holds}: over vehicles with other tolerances the repair is wrong in {} of 100. The tests take {:.0} min{repair}. Putting back, a last road test \
and handing over are not counted here.",
        of_hundred(certificate.wrong),
        certificate.minutes
    )
}

/// What is still possible, each explanation once, with how many of 100 vehicles.
pub(super) fn left(certificate: &Certificate) -> Vec<(String, String)> {
    let mut together: Vec<(String, f64)> = Vec::new();
    for other in &certificate.left {
        let kind = other.hypothesis.kind.replace('-', " ");
        let name = match other.hypothesis.part.as_str() {
            "" => kind,
            part => format!("{kind} on {part}"),
        };
        match together.iter_mut().find(|(known, _)| *known == name) {
            Some((_, share)) => *share += other.probability,
            None => together.push((name, other.probability)),
        }
    }
    let told = |(name, share): (String, f64)| (name, format!("{} of 100", of_hundred(share)));
    together.into_iter().map(told).collect()
}

fn of_hundred(share: f64) -> String {
    format!("{:.1}", 100.0 * share)
}

fn road(road: &Road) -> String {
    match (road.starts, road.hottest_c.zip(road.heater_c)) {
        (true, Some((hottest, heater))) => {
            format!("coolant up to {hottest:.0} C, air from the heater at {heater:.0} C")
        }
        (false, Some(_)) => "does not start".to_owned(),
        (true, None) => format!(
            "{:.0} kPa at the end of the prime, {:.0} at idle, {:.0} under full load, {:.0} after an hour's rest",
            road.primed_kpa, road.idle_kpa, road.hill_kpa, road.held_kpa
        ),
        (false, None) => format!(
            "does not start; {:.0} kPa at the end of the prime",
            road.primed_kpa
        ),
    }
}

fn drafts(count: u32) -> String {
    if count == 1 {
        "1 draft was".to_owned()
    } else {
        format!("{count} drafts were")
    }
}
