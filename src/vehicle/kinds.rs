//! The sorts of part and the sections of the circuit, with their names.

use std::fmt;
use std::str::FromStr;

/// A stretch of the circuit a learner can judge.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Section {
    /// Battery, clamps and the way to the fuse box.
    Supply,
    /// From the pump fuse through the relay to the tank.
    Feed,
    /// Feed inside the tank.
    InTankFeed,
    /// The pump itself.
    Pump,
    /// Ground side inside the tank.
    InTankGround,
    /// From the tank to the ground point.
    GroundSide,
    /// From the ground point through the body to the negative post.
    BodyGround,
    /// Everything that decides whether the pump is switched on.
    Control,
    /// The side of what the pump moves.
    Hydraulic,
}

impl Section {
    /// All sections in the order of the current.
    pub const ALL: [Self; 9] = [
        Self::Supply,
        Self::Feed,
        Self::InTankFeed,
        Self::Pump,
        Self::InTankGround,
        Self::GroundSide,
        Self::BodyGround,
        Self::Control,
        Self::Hydraulic,
    ];

    /// Every section with the words that stand for it in files and at the prompt.
    pub const NAMES: [(Self, &'static str); 9] = [
        (Self::Supply, "supply"),
        (Self::Feed, "feed"),
        (Self::InTankFeed, "in-tank feed"),
        (Self::Pump, "pump"),
        (Self::InTankGround, "in-tank ground"),
        (Self::GroundSide, "ground side"),
        (Self::BodyGround, "body ground"),
        (Self::Control, "control"),
        (Self::Hydraulic, "hydraulic"),
    ];

    /// The words a learner uses.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(section, _)| *section == self)
            .map_or("", |(_, name)| name)
    }
}

impl Section {
    /// The section in a sentence, after "the".
    #[must_use]
    pub fn spoken(self) -> &'static str {
        match self {
            Section::Control => "control circuit",
            Section::Hydraulic => "hydraulic side",
            other => other.name(),
        }
    }
}

impl fmt::Display for Section {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// The text names no section.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is no section; sections are supply, feed, in-tank feed, pump, in-tank ground, ground side, body ground, control, hydraulic"
)]
pub struct UnknownSection(
    /// The text that was given.
    pub String,
);

impl FromStr for Section {
    type Err = UnknownSection;

    /// Case, hyphens and doubled spaces are forgiven; `ground` alone is the ground side.
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let plain = text.to_lowercase().replace(['-', '_'], " ");
        let words: Vec<&str> = plain.split_whitespace().collect();
        match words.as_slice() {
            ["supply"] => Ok(Self::Supply),
            ["feed"] => Ok(Self::Feed),
            ["in", "tank", "feed"] | ["tank", "feed"] => Ok(Self::InTankFeed),
            ["pump"] => Ok(Self::Pump),
            ["in", "tank", "ground"] | ["tank", "ground"] => Ok(Self::InTankGround),
            ["ground"] | ["ground", "side"] => Ok(Self::GroundSide),
            ["body"] | ["body", "ground"] => Ok(Self::BodyGround),
            ["control"] => Ok(Self::Control),
            ["hydraulic" | "hydraulics"] => Ok(Self::Hydraulic),
            _ => Err(UnknownSection(text.trim().to_owned())),
        }
    }
}

/// What a pump moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Medium {
    /// Fuel, from a tank to an engine's injectors.
    Fuel,
    /// Coolant, round a closed loop.
    Coolant,
}

impl Medium {
    /// Both with the words that stand for them in files and in sentences.
    pub const NAMES: [(Self, &'static str); 2] = [(Self::Fuel, "fuel"), (Self::Coolant, "coolant")];

    /// Its word.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Fuel => "fuel",
            Self::Coolant => "coolant",
        }
    }
}

/// What sort of thing a part is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Starter battery.
    Battery,
    /// Clamp on a battery post.
    Clamp,
    /// Fusible link.
    FusibleLink,
    /// Blade fuse with its two terminals.
    Fuse,
    /// Relay with its socket.
    Relay,
    /// Ignition switch.
    IgnitionSwitch,
    /// Engine control unit.
    ControlUnit,
    /// Wire or cable.
    Wire,
    /// Module that switches the pump's current for a share of each cycle.
    DriverModule,
    /// Sensor of the rail's pressure.
    PressureSensor,
    /// Switch that a jolt opens and a hand resets.
    CutOffSwitch,
    /// Switch that the engine's oil pressure closes.
    PressureSwitch,
    /// Plug and socket.
    Connector,
    /// Wires crimped together under tape.
    Splice,
    /// Ground point: eyelet on a stud, or a strap.
    Ground,
    /// Bare metal of body or engine.
    Body,
    /// A consumer of current other than the pump.
    Load,
    /// Starter motor.
    Starter,
    /// Alternator with its regulator.
    Alternator,
    /// The pump.
    Pump,
    /// Strainer or screen at the pump inlet.
    Strainer,
    /// Hose inside the tank.
    Hose,
    /// Check valve at the pump outlet.
    CheckValve,
    /// Filter behind the pump.
    Filter,
    /// Line from the pump to the engine.
    Line,
    /// Line from a lift pump to the pot the main pump draws from.
    LiftLine,
    /// Pressure regulator.
    Regulator,
    /// Line back to the tank.
    ReturnLine,
    /// Injectors.
    Injectors,
    /// Fuel tank.
    Tank,
    /// Radiator of a cooling circuit.
    Radiator,
    /// Thermostat of a cooling circuit.
    Thermostat,
    /// Expansion tank of a cooling circuit.
    ExpansionTank,
}

impl Kind {
    /// Every kind with the word that stands for it in files and in machine output.
    pub const NAMES: [(Self, &'static str); 33] = [
        (Self::Battery, "battery"),
        (Self::Clamp, "clamp"),
        (Self::FusibleLink, "fusible-link"),
        (Self::Fuse, "fuse"),
        (Self::Relay, "relay"),
        (Self::IgnitionSwitch, "ignition-switch"),
        (Self::ControlUnit, "control-unit"),
        (Self::Wire, "wire"),
        (Self::DriverModule, "driver-module"),
        (Self::PressureSensor, "pressure-sensor"),
        (Self::CutOffSwitch, "cut-off-switch"),
        (Self::PressureSwitch, "pressure-switch"),
        (Self::Connector, "connector"),
        (Self::Splice, "splice"),
        (Self::Ground, "ground"),
        (Self::Body, "body"),
        (Self::Load, "load"),
        (Self::Starter, "starter"),
        (Self::Alternator, "alternator"),
        (Self::Pump, "pump"),
        (Self::Strainer, "strainer"),
        (Self::Hose, "hose"),
        (Self::CheckValve, "check-valve"),
        (Self::Filter, "filter"),
        (Self::Line, "line"),
        (Self::LiftLine, "lift-line"),
        (Self::Regulator, "regulator"),
        (Self::ReturnLine, "return-line"),
        (Self::Injectors, "injectors"),
        (Self::Tank, "tank"),
        (Self::Radiator, "radiator"),
        (Self::Thermostat, "thermostat"),
        (Self::ExpansionTank, "expansion-tank"),
    ];

    /// Whether it is taken off and blown through to see how free it is.
    #[must_use]
    pub fn is_blown_through(self) -> bool {
        matches!(self, Self::Filter | Self::Strainer | Self::Radiator)
    }

    /// The word that stands for the kind in files and in machine output.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(kind, _)| *kind == self)
            .map_or("part", |(_, name)| name)
    }

    /// The places by name that a part of this kind has, besides a connector's, which are the numbers of its pins; none where
    /// a part has one place without a name.
    #[must_use]
    pub fn legs(self) -> &'static [&'static str] {
        match self {
            Self::Fuse => &["in", "element", "out"],
            Self::FusibleLink => &["element"],
            Self::Relay => &["30", "87", "86", "85", "contact", "coil"],
            Self::ControlUnit => &["own", "driver", "reference", "sensor ground", "input"],
            Self::DriverModule => &["own", "command", "output"],
            Self::PressureSensor => &["own", "signal"],
            Self::Pump => &["winding"],
            _ => &[],
        }
    }

    /// Whether a part of this kind may have a place of this name.
    #[must_use]
    pub fn has_leg(self, leg: &str) -> bool {
        let number = || !leg.is_empty() && leg.bytes().all(|digit| digit.is_ascii_digit());
        self.legs().contains(&leg) || self == Self::Connector && number()
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}
