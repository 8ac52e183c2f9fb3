//! What a display shows.

/// What was measured.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Quantity {
    /// Potential difference, V.
    Voltage,
    /// Resistance, ohm.
    Resistance,
    /// Current, A.
    Current,
    /// Gauge pressure, Pa.
    Pressure,
    /// What a control unit makes of its pressure sensor's line, Pa: no gauge.
    SensedPressure,
    /// Volume caught, m3.
    Volume,
    /// Volume by the time it took, m3/s.
    Flow,
    /// Temperature, degrees Celsius.
    Temperature,
    /// Frequency, Hz.
    Frequency,
    /// Shaft speed, revolutions a minute.
    Speed,
}

impl Quantity {
    /// The word used in machine output.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Quantity::Voltage => "voltage",
            Quantity::Resistance => "resistance",
            Quantity::Current => "current",
            Quantity::Pressure => "pressure",
            Quantity::SensedPressure => "sensed pressure",
            Quantity::Volume => "volume",
            Quantity::Flow => "flow",
            Quantity::Temperature => "temperature",
            Quantity::Frequency => "frequency",
            Quantity::Speed => "speed",
        }
    }

    /// Whether somebody who cites a figure of this quantity may mean a reading of another.
    #[must_use]
    pub fn may_mean(self, read: Quantity) -> bool {
        self == read || (self, read) == (Quantity::Pressure, Quantity::SensedPressure)
    }

    /// The SI unit of [`Reading::value`].
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Quantity::Voltage => "V",
            Quantity::Resistance => "ohm",
            Quantity::Current => "A",
            Quantity::Pressure | Quantity::SensedPressure => "Pa",
            Quantity::Volume => "m3",
            Quantity::Flow => "m3/s",
            Quantity::Temperature => "C",
            Quantity::Frequency => "Hz",
            Quantity::Speed => "rpm",
        }
    }
}

/// One reading.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// What was measured.
    pub quantity: Quantity,
    /// What the display shows, in the SI unit of the quantity; nothing when it shows an overload.
    pub value: Option<f64>,
    /// The display itself, such as `0.243 V` or `OL`.
    pub shown: String,
    /// How it was taken.
    pub how: String,
}
