//! Judgements of a section, and the reading each relies on.

use super::action::Cited;
use super::ledger::{Call, Fact};
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
        if let Some(cited) = cites.filter(|cited| !tells_of(section, cited.quantity)) {
            return Err(no_evidence(section, cited));
        }
        let (relies_on, imagined_drop_v) =
            cites.map_or((None, None), |cited| self.find_cited(cited));
        let was_bad = self.rig.is_faulty(section);
        let call = Call {
            section,
            verdict,
            cites: cites.cloned(),
            relies_on,
            imagined_drop_v,
            was_bad,
        };
        let mut step = Step::taking(TIMES.call);
        step.say(format!("Noted: {}.", spoken_call(&call)));
        step.facts.push(Fact::Called(call));
        Ok(step)
    }

    /// The action whose reading a cited value is; failing that, the volts reading it falls short of by what the lead
    /// would drop if it carried the pump's current.
    fn find_cited(&self, cited: &Cited) -> (Option<u32>, Option<f64>) {
        let value = cited.value;
        let off = |shown: f64| libm::fabs(libm::fabs(shown) - libm::fabs(value));
        let allowed = rounding(cited);
        for entry in self.ledger.iter().rev() {
            let mut near = entry
                .readings
                .iter()
                .filter(|reading| reading.quantity == cited.quantity)
                .filter_map(|reading| reading.value);
            if near.any(|shown| off(shown) <= allowed) {
                return (Some(entry.number), None);
            }
        }
        if cited.quantity != Quantity::Voltage {
            return (None, None);
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
                let drop = measured.lead_ohms * amps;
                let short = libm::fabs(volts) - libm::fabs(value);
                if short > allowed && libm::fabs(short - drop) <= 0.25 * drop {
                    return (Some(entry.number), Some(short));
                }
            }
        }
        (None, None)
    }
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
    let number: String = cited
        .written
        .chars()
        .skip_while(|c| !c.is_ascii_digit())
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    let decimals = number.split_once('.').map_or(0, |(_, digits)| digits.len());
    let step = (0..decimals).fold(1.0, |step, _| step / 10.0);
    // Nobody means a whole volt when writing a round one: one decimal at least.
    let step = if cited.quantity == Quantity::Voltage && step > 0.1 {
        0.1
    } else {
        step
    };
    // What one of the unit written is in SI, so that half a kilopascal counts as 500 Pa.
    let unit = match number.parse::<f64>() {
        Ok(number) if number != 0.0 => libm::fabs(cited.value / number),
        _ => 1.0,
    };
    0.51 * step * unit
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
