//! What had been hidden, told once it may be: the faults and what cures each.

use crate::fault::{Catalogue, Cure, Fault, FaultKind, Remedy, section};
use crate::vehicle::{Section, Vehicle};

use super::text::{Line, Text, Tone};

/// One fault, spelt out.
#[derive(Clone, PartialEq, Debug)]
pub struct Told<'a> {
    /// Its kind.
    pub kind: &'a FaultKind,
    /// Identifier of the part it sits on.
    pub part: &'a str,
    /// Name of that part.
    pub title: &'a str,
    /// Leg of the part; empty for the part as a whole.
    pub leg: &'a str,
    /// Section it belongs to.
    pub section: Section,
    /// How bad it is, in the unit of the kind's effect.
    pub severity: f64,
    /// Everything that cures it.
    pub cures: Vec<ToldCure<'a>>,
}

/// One thing that cures a fault.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ToldCure<'a> {
    /// `repair` or `replace`.
    pub remedy: &'static str,
    /// Identifier of the part it is done to.
    pub part: &'a str,
    /// Leg of the part; empty for the part as a whole.
    pub leg: &'a str,
}

/// Spells a fault out.
#[must_use]
pub fn told<'a>(vehicle: &'a Vehicle, catalogue: &'a Catalogue, fault: &Fault) -> Told<'a> {
    let kind = &catalogue.kinds[fault.kind.0];
    let part = &vehicle.parts[fault.site.part.0];
    let leg = fault
        .site
        .element
        .map_or("", |element| vehicle.elements[element.0].leg.as_str());
    let cure = |cure: &'a Cure| ToldCure {
        remedy: match cure.remedy {
            Remedy::Repair => "repair",
            Remedy::Replace => "replace",
        },
        part: cure.part.as_deref().unwrap_or(&part.id),
        // A leg can be repaired by itself; a new part has all of its legs.
        leg: if cure.remedy == Remedy::Repair && cure.part.is_none() {
            leg
        } else {
            ""
        },
    };
    Told {
        kind,
        part: &part.id,
        title: &part.title,
        leg,
        section: section(vehicle, fault),
        severity: fault.severity,
        cures: kind.cures.iter().map(cure).collect(),
    }
}

impl ToldCure<'_> {
    /// The line that does it at the prompt.
    #[must_use]
    pub fn line(&self) -> String {
        let ToldCure { remedy, part, leg } = self;
        if leg.is_empty() {
            format!("{remedy} {part}")
        } else {
            format!("{remedy} {part} {leg}")
        }
    }
}

impl Told<'_> {
    /// The fault in words: where, what, what cures it, and what it teaches.
    #[must_use]
    pub fn text(&self) -> Text {
        let mut text = Text::new();
        let leg = if self.leg.is_empty() {
            String::new()
        } else {
            format!(" {}", self.leg)
        };
        text.push(
            Line::new(Tone::Heading, format!("{}{leg}  ", self.part)).and(
                Tone::Plain,
                format!("{}, {}: {}", self.title, self.section, self.kind.title),
            ),
        );
        let cures: Vec<String> = self.cures.iter().map(ToldCure::line).collect();
        text.push(Line::new(
            Tone::Plain,
            format!("  cured by {}", cures.join(" or ")),
        ));
        text.push(Line::new(Tone::Plain, format!("  {}", self.kind.teaching)));
        text
    }
}
