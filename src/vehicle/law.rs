//! How the electrical elements of a healthy vehicle behave, and the key positions that switch them.

use crate::circuit::NodeId;

/// How an electrical element behaves when it is healthy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// A joint, pin, stud or clamp.
    Contact {
        /// Resistance in ohms.
        ohms: f64,
    },
    /// Stranded copper wire.
    Copper {
        /// Resistance at 20 degrees Celsius in ohms.
        ohms_20: f64,
        /// Length in metres.
        length_m: f64,
        /// Nominal conductor area in square metres.
        area_m2: f64,
        /// Cross-section of one strand in square metres.
        strand_m2: f64,
        /// Number of strands.
        strands: u32,
    },
    /// A fuse element, without its terminals.
    Fuse {
        /// Cold resistance in ohms.
        ohms: f64,
        /// Rated current in amperes.
        rated_a: f64,
    },
    /// A relay coil.
    Coil {
        /// Resistance at 20 degrees Celsius in ohms.
        ohms_20: f64,
        /// The relay closes at this coil voltage, in volts.
        operate_v: f64,
        /// The relay opens below this coil voltage, in volts.
        release_v: f64,
    },
    /// The make contact moved by the [`Law::Coil`] of the same part.
    RelayContact {
        /// Resistance when closed, in ohms.
        ohms: f64,
    },
    /// A contact of the ignition switch.
    Switch {
        /// Resistance when closed, in ohms.
        ohms: f64,
        /// Key positions in which it is closed.
        closed: KeySet,
    },
    /// The control unit's low-side driver, closed while it commands the pump.
    Driver {
        /// Resistance when closed, in ohms.
        ohms: f64,
    },
    /// A consumer of constant resistance.
    Load {
        /// Resistance in ohms.
        ohms: f64,
        /// Key positions in which it is connected.
        on: KeySet,
    },
    /// Body or engine metal, or a strap.
    Metal {
        /// Resistance in ohms.
        ohms: f64,
    },
    /// The battery, from the negative to the positive post.
    Battery {
        /// Capacity in ampere-hours.
        amp_hours: f64,
        /// Internal resistance in ohms.
        ohms: f64,
    },
    /// A switch that the engine's oil pressure closes.
    OilSwitch {
        /// Resistance when closed, in ohms.
        ohms: f64,
    },
    /// The starter, connected while cranking.
    Starter {
        /// Resistance while it turns the engine, in ohms.
        ohms: f64,
    },
    /// The alternator: a source behind a resistance while the engine runs, `to` positive.
    Alternator {
        /// Regulated voltage in volts.
        volts: f64,
        /// Output resistance in ohms.
        ohms: f64,
    },
    /// The switch of a driver module, from its supply to its output, averaged over its cycle.
    Chopper {
        /// Resistance of either path, in ohms.
        ohms: f64,
        /// Where the freewheeling path leads back to.
        common: NodeId,
        /// Share of the cycle in which it is closed.
        duty: Duty,
    },
    /// A pressure sensor's output, from its ground to its signal terminal: a tenth of its supply without pressure,
    /// nine tenths at full pressure, behind a resistance.
    Signal {
        /// Output resistance in ohms.
        ohms: f64,
        /// Gauge pressure at which it gives nine tenths, in pascals.
        full_pa: f64,
        /// Its supply terminal.
        supply: NodeId,
    },
    /// A control unit's supply for sensors, while the unit is awake: `to` positive.
    Reference {
        /// Volts at no load.
        volts: f64,
        /// Output resistance in ohms.
        ohms: f64,
    },
    /// The pump's winding, from the positive terminal to the inner node; the back-EMF source
    /// follows from the inner node to the negative terminal. Its values are the pump unit's.
    Winding,
}

/// What a driver module's control unit asks for, as shares of the cycle from 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duty {
    /// While it primes, or a service tool commands the pump.
    pub prime: f64,
    /// While the starter turns the engine.
    pub crank: f64,
    /// With the engine running, if no pressure is known.
    pub run: f64,
    /// With the engine running and pressure in plenty.
    pub least: f64,
}

/// Positions of the key, together with what the engine does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Key {
    /// Key off.
    Off,
    /// Ignition on, engine at rest.
    On,
    /// The starter turns the engine.
    Crank,
    /// The engine runs.
    Run,
}

impl Key {
    /// All positions.
    pub const ALL: [Self; 4] = [Self::Off, Self::On, Self::Crank, Self::Run];

    /// The word for the position.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::On => "on",
            Self::Crank => "crank",
            Self::Run => "run",
        }
    }
}

/// A set of key positions.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct KeySet(u8);

impl KeySet {
    /// Ignition on, cranking, running: the positions that feed terminal 15.
    pub const IGNITION: Self = Self(0b1110);

    /// Every position.
    pub const ALWAYS: Self = Self(0b1111);

    /// The set with one more position.
    #[must_use]
    pub const fn with(self, key: Key) -> Self {
        Self(self.0 | (1 << key as u8))
    }

    /// Whether the position is in the set.
    #[must_use]
    pub const fn contains(self, key: Key) -> bool {
        self.0 & (1 << key as u8) != 0
    }
}
