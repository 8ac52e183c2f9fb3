//! The filament test lamp: shows volts only as far as the circuit can carry its current.

use crate::rig::{Attachments, Filament, Instant, Tap};

use super::leads::Grip;

/// A test lamp of one job.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TestLamp {
    filament: Filament,
}

/// How the lamp looks.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Glow {
    /// No light.
    Dark,
    /// A red thread.
    Faint,
    /// Clearly weak.
    Dim,
    /// Somewhat yellow.
    Yellowish,
    /// As bright as straight across a battery.
    Full,
}

impl Glow {
    /// The look in words, of a `lamp` or a `bulb`.
    #[must_use]
    pub fn words(self, of: &str) -> String {
        let look = match self {
            Glow::Dark => "stays dark",
            Glow::Faint => "shows a faint red thread",
            Glow::Dim => "glows dimly",
            Glow::Yellowish => "lights, a little yellow",
            Glow::Full => "lights fully",
        };
        format!("The {of} {look}.")
    }
}

impl Default for TestLamp {
    fn default() -> TestLamp {
        TestLamp {
            filament: Filament {
                volts: 12.0,
                watts: 5.0,
            },
        }
    }
}

/// A bulb on two flying leads, a load of known size.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Bulb {
    /// An indicator bulb, 21 W at 12 V: about 1.75 A.
    Watts21,
    /// A headlamp bulb, 55 W at 12 V: about 4.6 A, what a pump takes.
    Watts55,
}

impl Bulb {
    /// Rated power, W.
    #[must_use]
    pub fn watts(self) -> f64 {
        match self {
            Bulb::Watts21 => 21.0,
            Bulb::Watts55 => 55.0,
        }
    }

    /// The bulb as a lamp on two leads.
    #[must_use]
    pub fn lamp(self) -> TestLamp {
        TestLamp {
            filament: Filament {
                volts: 12.0,
                watts: self.watts(),
            },
        }
    }
}

impl TestLamp {
    /// Puts the lamp into the circuit as it is in the first thousandths of a second: its filament cold.
    pub fn attach_cold(self, a: (Tap, Grip), b: (Tap, Grip), to: &mut Attachments) {
        let cold = self.filament.ohms(0.0) + 2.0 * Self::LEAD_OHMS;
        to.resistor(a.0, b.0, a.1.ohms + b.1.ohms + cold);
    }

    /// Resistance of its lead and clip, ohm; ours, no source.
    const LEAD_OHMS: f64 = 0.1;

    /// Puts the lamp into the circuit; the two terminals of the filament come back.
    pub fn attach(self, a: (Tap, Grip), b: (Tap, Grip), to: &mut Attachments) -> (Tap, Tap) {
        let (first, second) = (to.node(), to.node());
        to.resistor(a.0, first, a.1.ohms + Self::LEAD_OHMS);
        to.resistor(b.0, second, b.1.ohms + Self::LEAD_OHMS);
        to.filament(first, second, self.filament);
        (first, second)
    }

    /// How it looks at an instant.
    #[must_use]
    pub fn glow(self, terminals: (Tap, Tap), instant: &Instant) -> Glow {
        let volts = instant
            .heating_volts(terminals.0, terminals.1)
            .unwrap_or(0.0);
        let share = volts * volts / self.filament.ohms(volts) / self.filament.watts;
        match share {
            share if share < 0.02 => Glow::Dark,
            share if share < 0.12 => Glow::Faint,
            share if share < 0.45 => Glow::Dim,
            share if share < 0.8 => Glow::Yellowish,
            _ => Glow::Full,
        }
    }
}
