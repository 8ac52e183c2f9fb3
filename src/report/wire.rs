//! The wire calculator: what a conductor drops when it carries load, and what the same conductor does in a meter lead.
//!
//! Resistance comes from [`circuit::conductor`](crate::circuit::conductor); the lead's effect on volts is the divider
//! `R / (R + meter)`. The length is that of the conductor itself, one way: a circuit that goes out and back through
//! two such wires has twice the resistance and twice the drop.

use crate::circuit::conductor::{ConductorError, ConductorSize, resistance};
use crate::units::{Amp, Area, Celsius, Metre, Ohm, System, Volt};

use super::text::{Line, Text, Tone};

/// Input resistance of a multimeter's ordinary volts function, ohm (usual value of the trade's meters).
const METER_OHMS: f64 = 10e6;
/// Input resistance of a low-impedance volts function, ohm (usual value of the trade's meters).
const LOW_IMPEDANCE_OHMS: f64 = 3e3;
/// Volts the lead comparison is made at: a charged battery.
const MEASURED_VOLTS: f64 = 12.6;

/// A conductor and what it is asked to carry.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Question {
    /// Length of the conductor, one way.
    pub length: Metre,
    /// Cross-section.
    pub area: Area,
    /// Current it carries, if that is asked.
    pub current: Option<Amp>,
    /// Temperature of the copper.
    pub temperature: Celsius,
}

/// What the conductor does.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Answer {
    /// What was asked.
    pub question: Question,
    /// Resistance of the conductor, one way.
    pub resistance: Ohm,
    /// Volts lost along it at the current asked for.
    pub drop: Option<Volt>,
    /// The same conductor as one lead of the ordinary volts function.
    pub lead: InLead,
    /// The same conductor as one lead of the low-impedance volts function.
    pub low_impedance_lead: InLead,
}

/// A conductor in series with a meter.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct InLead {
    /// The meter's input resistance.
    pub meter: Ohm,
    /// Current through lead and meter with 12.6 V across both.
    pub current: Amp,
    /// Volts lost in the lead, by which the reading is too small.
    pub lost: Volt,
    /// The same as a share of what is measured, from 0 to 1.
    pub share: f64,
}

/// Works the answer out.
///
/// # Errors
/// [`ConductorError`] for a size, length or temperature no copper wire has.
pub fn answer(question: Question) -> Result<Answer, ConductorError> {
    let ohms = resistance(
        size(question.area),
        question.length.0,
        question.temperature.0,
    )?;
    Ok(Answer {
        question,
        resistance: Ohm(ohms),
        drop: question.current.map(|current| current * Ohm(ohms)),
        lead: in_lead(ohms, METER_OHMS),
        low_impedance_lead: in_lead(ohms, LOW_IMPEDANCE_OHMS),
    })
}

/// The trade size of a cross-section: a gauge when it is exactly one, otherwise square millimetres.
#[must_use]
pub fn size(area: Area) -> ConductorSize {
    match area.nearest_awg() {
        Some((gauge, ratio)) if (ratio - 1.0).abs() < 1e-9 => ConductorSize::Awg(gauge),
        // Rounded to a millionth of a square millimetre, so that 1.5 mm2 finds its place in the table.
        _ => ConductorSize::SquareMillimetres(libm::round(area.0 * 1e12) / 1e6),
    }
}

fn in_lead(ohms: f64, meter: f64) -> InLead {
    let share = ohms / (ohms + meter);
    InLead {
        meter: Ohm(meter),
        current: Amp(MEASURED_VOLTS / (ohms + meter)),
        lost: Volt(MEASURED_VOLTS * share),
        share,
    }
}

impl Answer {
    /// The answer in words.
    #[must_use]
    pub fn text(&self, units: System) -> Text {
        let question = &self.question;
        let mut text = Text::new();
        text.push(
            Line::new(Tone::Reading, self.resistance.show(units))
                .and(Tone::Plain, "   ")
                .and(
                    Tone::Muted,
                    format!(
                        "{} of {} copper at {}, one way",
                        question.length.show(units),
                        shown_size(question.area, units),
                        question.temperature.show(units)
                    ),
                ),
        );
        if let (Some(current), Some(drop)) = (question.current, self.drop) {
            text.push(
                Line::new(Tone::Reading, drop.show(units)).and(Tone::Plain, "   ").and(
                    Tone::Muted,
                    format!("lost along it while it carries {}; out and back through two such wires, twice that", current.show(units)),
                ),
            );
        }
        text.say(
            Tone::Heading,
            &format!(
                "The same wire as a meter lead, {} measured:",
                Volt(MEASURED_VOLTS).show(units)
            ),
        );
        for (name, lead) in [("volts", self.lead), ("lowz", self.low_impedance_lead)] {
            text.push(
                Line::new(Tone::Plain, format!("  {name:<6} "))
                    .and(Tone::Reading, lead.lost.show(units))
                    .and(
                        Tone::Muted,
                        format!(
                            "   too small, {} %: {} through a {} meter",
                            percent(lead.share),
                            lead.current.show(units),
                            lead.meter.show(units)
                        ),
                    ),
            );
        }
        text.push(
            Line::new(Tone::Plain, "  ohms   ")
                .and(Tone::Reading, self.resistance.show(units))
                .and(Tone::Muted, "   too large, the whole of it"),
        );
        text
    }
}

/// The size as it was given, and beside it what it is in the other measure where the reader uses that.
fn shown_size(area: Area, units: System) -> String {
    let millimetres = area.show(System::Metric);
    match (units, area.nearest_awg()) {
        (System::Us, Some((gauge, ratio))) if (ratio - 1.0).abs() >= 1e-9 => {
            let gauge = Area::from_awg(gauge).unwrap_or(area).show(System::Us);
            format!("{millimetres} (about {gauge})")
        }
        (System::Metric, Some((_, ratio))) if (ratio - 1.0).abs() < 1e-9 => {
            format!("{} ({millimetres})", area.show(System::Us))
        }
        (System::Us, _) => area.show(System::Us),
        (System::Metric, _) => millimetres,
    }
}

/// A share as percent with two significant figures.
fn percent(share: f64) -> String {
    let percent = share * 100.0;
    if percent >= 10.0 {
        format!("{percent:.0}")
    } else {
        let mut places = 1;
        let mut left = percent;
        while left < 1.0 && places < 9 {
            left *= 10.0;
            places += 1;
        }
        format!("{percent:.places$}")
    }
}
