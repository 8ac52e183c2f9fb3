//! Test leads and the contact their tips make.

use crate::circuit::conductor::{self, ConductorError, ConductorSize};
use crate::seed::Stream;
use crate::units::{Area, Metre, System};
use crate::vehicle::Tip;

/// One of the two leads.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Side {
    /// The meter's positive input.
    Red,
    /// The meter's common input.
    Black,
}

/// A wire added to a lead so that it reaches further.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Extension {
    /// Length, m.
    pub length_m: f64,
    /// Conductor size.
    pub size: ConductorSize,
}

impl Extension {
    /// `5.0 m of 1 mm2`; a size of the other system with what it is in the reader's own.
    #[must_use]
    pub fn show(&self, system: System) -> String {
        let length = Metre(self.length_m).show(system);
        let own = match (self.size, system) {
            (ConductorSize::SquareMillimetres(mm2), System::Us) => {
                format!(" ({})", Area(mm2 * 1e-6).show(system))
            }
            (ConductorSize::Awg(gauge), System::Metric) => {
                let radius = conductor::awg_diameter_m(gauge) / 2.0;
                let area = core::f64::consts::PI * radius * radius;
                format!(" ({})", Area(area).show(system))
            }
            _ => String::new(),
        };
        format!("{length} of {}{own}", self.size)
    }
}

/// One lead as the network sees it, tip left aside.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Lead {
    /// Resistance of the lead, its plug and its extension, ohm.
    pub ohms: f64,
    /// How far the tip reaches from the meter, m.
    pub reach_m: f64,
    /// What was added to it.
    pub extension: Option<Extension>,
}

/// The two leads of a meter.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct LeadSet {
    /// Red lead.
    pub red: Lead,
    /// Black lead.
    pub black: Lead,
}

impl LeadSet {
    /// Reach of a standard lead, m.
    pub const STANDARD_REACH_M: f64 = 1.2;
    /// Resistance of one standard lead, ohm: a pair is 0.2 to 0.5 ohm (a maker's measurement primer), tips included.
    const STANDARD_OHMS: (f64, f64) = (0.1, 0.2);
    /// The joint between lead and extension, ohm; ours, no source.
    const JOINT_OHMS: f64 = 0.01;

    /// The leads that came with the meter of this job.
    #[must_use]
    pub fn standard(seed: u64) -> LeadSet {
        let lead = |name| {
            let (low, high) = LeadSet::STANDARD_OHMS;
            let ohms = Stream::keyed(seed, "instruments", &["lead", name]).between(low, high);
            Lead {
                ohms,
                reach_m: LeadSet::STANDARD_REACH_M,
                extension: None,
            }
        };
        LeadSet {
            red: lead("red"),
            black: lead("black"),
        }
    }

    /// The same leads with one of them made longer; the copper is at ambient temperature.
    pub fn extended(
        self,
        side: Side,
        extension: Extension,
        ambient_c: f64,
    ) -> Result<LeadSet, ConductorError> {
        let copper = conductor::resistance(extension.size, extension.length_m, ambient_c)?;
        let longer = |lead: Lead| Lead {
            ohms: lead.ohms + LeadSet::JOINT_OHMS + copper,
            reach_m: lead.reach_m + extension.length_m,
            extension: Some(extension),
        };
        Ok(match side {
            Side::Red => LeadSet {
                red: longer(self.red),
                ..self
            },
            Side::Black => LeadSet {
                black: longer(self.black),
                ..self
            },
        })
    }

    /// What a wire table gives for the copper added to the leads, at the 20 degrees Celsius such tables are made for,
    /// ohm.
    #[must_use]
    pub fn added_ohms(&self) -> f64 {
        let added = [self.red, self.black]
            .into_iter()
            .filter_map(|lead| lead.extension);
        added
            .filter_map(|wire| conductor::resistance(wire.size, wire.length_m, 20.0).ok())
            .sum()
    }

    /// The lead of one side.
    #[must_use]
    pub fn side(&self, side: Side) -> &Lead {
        match side {
            Side::Red => &self.red,
            Side::Black => &self.black,
        }
    }
}

/// How a tip is put on a point.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Manner {
    /// As the point asks for: clip, probe or back-probe.
    Plain(Tip),
    /// A needle through the insulation of the wire: it touches nearly always, and leaves a hole.
    Needle,
    /// A probe on metal that was painted and has been scraped bright.
    Scraped,
}

impl Manner {
    /// The word for it in the log.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Manner::Plain(Tip::Clip) => "clip",
            Manner::Plain(Tip::Probe) => "probe",
            Manner::Plain(Tip::Painted) => "probe on paint",
            Manner::Plain(Tip::BackProbe) => "back-probe",
            Manner::Needle => "needle",
            Manner::Scraped => "probe, scraped",
        }
    }
}

/// Contact of the two tips pressed on each other, ohm: whoever zeroes a meter watches its display and presses until they
/// touch, so this contact is never a bad one.
#[must_use]
pub fn pressed_ohms(seed: u64) -> f64 {
    let mut stream = Stream::keyed(seed, "contact", &["tip", "tips together", "0"]);
    let (_, low, high) = CLIP;
    // The draw that decides on a bad contact elsewhere.
    let _ = stream.unit();
    stream.between(low, high)
}

/// How a tip has come to lie on its point.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Grip {
    /// Contact resistance, ohm; infinity when the tip touches nothing.
    pub ohms: f64,
}

/// Chance of a bad contact of a clip, and its ohms when it is good; ours, no source.
const CLIP: (f64, f64, f64) = (0.01, 0.004, 0.015);

/// Contact of a tip on a point: `placement` counts how often this tip has been put on it.
///
/// The chance of a bad contact grows from clip to probe to back-probe, and paint insulates; ours, no source. Placing
/// the tip anew draws anew, and nothing else does.
#[must_use]
pub fn grip_ohms(seed: u64, point: &str, placement: u32, manner: Manner) -> Grip {
    let mut stream = Stream::keyed(seed, "contact", &["tip", point, &placement.to_string()]);
    let (bad, low, high) = match manner {
        Manner::Plain(Tip::Clip) => CLIP,
        Manner::Plain(Tip::Probe) | Manner::Scraped => (0.03, 0.006, 0.03),
        Manner::Plain(Tip::Painted) => {
            return Grip {
                ohms: f64::INFINITY,
            };
        }
        Manner::Plain(Tip::BackProbe) => (0.08, 0.01, 0.05),
        Manner::Needle => (0.01, 0.01, 0.04),
    };
    let is_bad = stream.chance(bad);
    let good = stream.between(low, high);
    let is_open = stream.chance(0.6);
    let film = stream.log_between(20e3, 20e6);
    Grip {
        ohms: match (is_bad, is_open) {
            (false, _) => good,
            (true, true) => f64::INFINITY,
            (true, false) => film,
        },
    }
}
