//! What hangs on the vehicle's network from outside: meters, lamps, leads, as resistors and sources of their own.

use crate::circuit::NodeId;

/// A terminal that an attachment connects to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Tap {
    /// A node of the vehicle.
    Node(NodeId),
    /// A node of the attachment itself, by number.
    Own(usize),
}

/// A lamp whose filament resistance follows its own temperature.
///
/// Above a glimmer, current grows with about the 0.55th power of the volts (common practice for tungsten filaments,
/// no source); below it the filament stays at its cold resistance.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Filament {
    /// Rated volts.
    pub volts: f64,
    /// Rated power, watt.
    pub watts: f64,
}

impl Filament {
    /// Cold resistance over hot resistance at rated volts; a tenth is usual for tungsten (common practice, no source).
    const COLD_SHARE: f64 = 0.1;

    /// Resistance in ohm with `volts` across the filament, either sign.
    #[must_use]
    pub fn ohms(&self, volts: f64) -> f64 {
        let hot = self.volts * self.volts / self.watts;
        let share = libm::pow(libm::fabs(volts) / self.volts, 0.45);
        hot * if share > Self::COLD_SHARE {
            share
        } else {
            Self::COLD_SHARE
        }
    }
}

/// A set of instruments as the network sees it.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Attachments {
    pub(super) own_nodes: usize,
    pub(super) resistors: Vec<(Tap, Tap, f64)>,
    pub(super) sources: Vec<(Tap, Tap, f64, f64)>,
    pub(super) filaments: Vec<(Tap, Tap, Filament)>,
}

impl Attachments {
    /// Nothing attached.
    #[must_use]
    pub fn none() -> Attachments {
        Attachments::default()
    }

    /// The vehicle's nodes that something is put on.
    pub(super) fn touched(&self) -> impl Iterator<Item = Tap> {
        let ends = self
            .resistors
            .iter()
            .filter(|(_, _, ohms)| ohms.is_finite())
            .flat_map(|&(a, b, _)| [a, b]);
        ends.filter(|tap| matches!(tap, Tap::Node(_)))
    }

    /// A new terminal inside the attachment.
    pub fn node(&mut self) -> Tap {
        self.own_nodes += 1;
        Tap::Own(self.own_nodes - 1)
    }

    /// A resistance of `ohms` between two terminals; infinity means open.
    pub fn resistor(&mut self, a: Tap, b: Tap, ohms: f64) {
        self.resistors.push((a, b, ohms));
    }

    /// A source that would hold `plus` at `volts` above `minus` at no load, behind `ohms`.
    pub fn source(&mut self, minus: Tap, plus: Tap, volts: f64, ohms: f64) {
        self.sources.push((minus, plus, volts, ohms));
    }

    /// A lamp between two terminals.
    pub fn filament(&mut self, a: Tap, b: Tap, filament: Filament) {
        self.filaments.push((a, b, filament));
    }
}
