//! Judgements of a section, and the reading each relies on.

use super::action::Cited;
use super::ledger::{Call, Entry, Fact};
use super::outcome::{Refusal, Step};
use super::{Bay, TIMES, Verdict};
use crate::instrument::Quantity;
use crate::vehicle::Section;

impl Bay {
    pub(super) fn judge(
        &mut self,
        section: Section,
        verdict: Verdict,
        cites: Option<&Cited>,
    ) -> Result<Step, Refusal> {
        let cites = cites.map(|cited| self.meant(section, cited));
        if let Some(cited) = cites
            .as_ref()
            .filter(|cited| !tells_of(section, cited.quantity))
        {
            return Err(no_evidence(section, cited));
        }
        let shown = cites.as_ref().and_then(|cited| self.shown_in(cited));
        let (relies_on, imagined_drop_v) = match &cites {
            Some(cited) if shown.is_none() => self.taken_off_in(cited).unzip(),
            _ => (shown, None),
        };
        let was_bad = self.rig.is_faulty(section);
        let call = Call {
            section,
            verdict,
            cites,
            relies_on,
            imagined_drop_v,
            was_bad,
        };
        let mut step = Step::taking(TIMES.call);
        step.say(format!("Noted: {}.", spoken_call(&call)));
        step.facts.push(Fact::Called(call));
        Ok(step)
    }

    /// What a figure without a unit is: volts, unless only some other reading that tells of the section showed it.
    fn meant(&self, section: Section, cited: &Cited) -> Cited {
        let Some(figure) = cited.bare() else {
            return cited.clone();
        };
        let volts = Cited {
            written: format!("{} V", cited.written),
            ..cited.clone()
        };
        if tells_of(section, volts.quantity) && self.shown_in(&volts).is_some() {
            return volts;
        }
        let allowed = 0.51 * last_digit(&cited.written);
        let readings = self.ledger.iter().rev().flat_map(|entry| &entry.readings);
        let mut near = readings.filter(|reading| {
            let shown = reading.shown.split_whitespace().next();
            let shown = shown.and_then(|number| number.parse::<f64>().ok());
            // An engine's speed is no evidence, and a pump's is not cited.
            let cited = !matches!(reading.quantity, Quantity::Speed | Quantity::Frequency);
            cited
                && tells_of(section, reading.quantity)
                && shown.is_some_and(|shown| {
                    libm::fabs(libm::fabs(shown) - libm::fabs(figure)) <= allowed
                })
        });
        let found = near.find_map(|reading| {
            Some(Cited {
                value: reading.value?,
                quantity: reading.quantity,
                written: reading.shown.clone(),
            })
        });
        found.unwrap_or(volts)
    }

    /// The last action that showed a cited value.
    fn shown_in(&self, cited: &Cited) -> Option<u32> {
        let off = |shown: f64| libm::fabs(libm::fabs(shown) - libm::fabs(cited.value));
        let allowed = rounding(cited);
        let shows = |entry: &&Entry| {
            let readings = entry.readings.iter();
            readings
                .filter(|reading| cited.quantity.may_mean(reading.quantity))
                .filter_map(|reading| reading.value)
                .any(|shown| off(shown) <= allowed)
        };
        self.ledger.iter().rev().find(shows).map(|e| e.number)
    }

    /// The last volts reading that a cited value falls short of by what the leads would drop if they carried the pump's
    /// current, and by how much.
    fn taken_off_in(&self, cited: &Cited) -> Option<(u32, f64)> {
        if cited.quantity != Quantity::Voltage {
            return None;
        }
        for entry in self.ledger.iter().rev() {
            for fact in &entry.facts {
                let Fact::Measured(measured) = fact else {
                    continue;
                };
                let Some(volts) = measured
                    .value
                    .filter(|_| measured.function.quantity() == Quantity::Voltage)
                else {
                    continue;
                };
                // The pump may have rested at this reading: the learner imagines the current it would draw.
                let amps = if measured.pump_amps > 1.0 {
                    measured.pump_amps
                } else {
                    self.rig.usual_amps()
                };
                let leads = measured.lead_ohms * amps;
                let wire = measured.added_ohms * amps;
                if let Some(short) = taken_off(volts, cited, leads, wire) {
                    return Some((entry.number, short));
                }
            }
        }
        None
    }
}

/// The volts taken off a reading by whoever cites what is left of it, if they are about what the `leads`, or only the
/// `wire` added to them, would drop.
fn taken_off(volts: f64, cited: &Cited, leads: f64, wire: f64) -> Option<f64> {
    /// Volts that many would call none, V.
    const NEXT_TO_NONE_V: f64 = 0.1;
    let (volts, left) = (libm::fabs(volts), libm::fabs(cited.value));
    let about = |taken: f64| {
        let drops = [leads, wire];
        drops
            .iter()
            .any(|drop| libm::fabs(taken - drop) <= 0.25 * drop)
    };
    let short = volts - left;
    if short > rounding(cited) && about(short) {
        return Some(short);
    }
    // A long thin wire is imagined to drop more than was shown: less than nothing is left of that, or nothing.
    if cited.value < 0.0 && leads > volts && about(volts + left) {
        return Some(volts + left);
    }
    let nothing_left = left <= rounding(cited) && volts > NEXT_TO_NONE_V && wire > volts;
    nothing_left.then_some(volts)
}

/// Whether a reading of this quantity can say anything of a section.
fn tells_of(section: Section, quantity: Quantity) -> bool {
    match section {
        // A pump is judged by what it takes and by what it gives.
        Section::Pump => true,
        Section::Hydraulic => matches!(
            quantity,
            Quantity::Pressure
                | Quantity::Flow
                | Quantity::Volume
                | Quantity::Current
                | Quantity::Speed
                | Quantity::Frequency
                | Quantity::Temperature
        ),
        _ => matches!(
            quantity,
            Quantity::Voltage | Quantity::Resistance | Quantity::Current | Quantity::Temperature
        ),
    }
}

fn no_evidence(section: Section, cited: &Cited) -> Refusal {
    let written = &cited.written;
    let error = format!(
        "{written} is a {}, which says nothing of the {section} section.",
        cited.quantity.name()
    );
    let hint = if section == Section::Hydraulic {
        format!(
            "It is judged by pressure or flow, with the unit: `call {section} bad 180 kPa`, `call {section} bad 60 L/h`."
        )
    } else {
        format!(
            "It is judged by volts, ohms or amperes: `call {section} bad 0.35`, which means volts; a pressure belongs to `call hydraulic`."
        )
    };
    Refusal::new(error, hint)
}

/// Half a step of the last digit a cited value was written with, and a little more for what floats do to it: a learner
/// may round what was shown.
fn rounding(cited: &Cited) -> f64 {
    let step = last_digit(&cited.written);
    // Nobody means a whole volt when writing a round one: one decimal at least.
    let step = if cited.quantity == Quantity::Voltage && step > 0.1 {
        0.1
    } else {
        step
    };
    // What one of the unit written is in SI, so that half a kilopascal counts as 500 Pa.
    let unit = match digits(&cited.written).parse::<f64>() {
        Ok(number) if number != 0.0 => libm::fabs(cited.value / number),
        _ => 1.0,
    };
    0.51 * step * unit
}

/// The figures of a number as it was written, without its sign and unit.
fn digits(written: &str) -> String {
    written
        .chars()
        .skip_while(|c| !c.is_ascii_digit())
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect()
}

/// A step of the last digit a number was written with.
fn last_digit(written: &str) -> f64 {
    let number = digits(written);
    let decimals = number.split_once('.').map_or(0, |(_, digits)| digits.len());
    (0..decimals).fold(1.0, |step, _| step / 10.0)
}

/// A judgement in words.
pub(super) fn spoken_call(call: &Call) -> String {
    let verdict = match call.verdict {
        Verdict::Good => "good",
        Verdict::Bad => "bad",
        Verdict::Unsure => "unsure",
    };
    let Some(cited) = &call.cites else {
        return format!("{} {verdict}", call.section);
    };
    let source = match call.relies_on.filter(|_| call.imagined_drop_v.is_none()) {
        Some(number) => format!("action {number}"),
        None => "no reading in the log shows that".to_owned(),
    };
    format!(
        "{} {verdict}, relying on {} ({source})",
        call.section, cited.written
    )
}
