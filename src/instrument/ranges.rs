//! Ranges and accuracy of the meter: a 6000-count handheld of our own, of the accuracy usual for its class (makers'
//! manuals give 0.5 to 0.9 %).

/// One measuring range of the display.
pub(super) struct Range {
    /// Largest value shown, in the base unit.
    pub full: f64,
    /// Counts for one base unit: a display step is its inverse.
    pub per_unit: f64,
    /// Source resistance of the ohms function on this range, ohm; unused by the volts functions.
    pub source_ohms: f64,
    /// Decimals and divisor of the text, and its unit.
    pub text: (usize, f64, &'static str),
}

/// Accuracy and ranges of one function: `±(percent of reading + counts)`.
pub(super) struct Specification {
    pub name: &'static str,
    pub percent: f64,
    pub counts: f64,
    pub ranges: &'static [Range],
}

const fn volts(full: f64, per_unit: f64, decimals: usize) -> Range {
    Range {
        full,
        per_unit,
        source_ohms: 0.0,
        text: (decimals, 1.0, "V"),
    }
}

const fn ohms(
    full: f64,
    per_unit: f64,
    source_ohms: f64,
    text: (usize, f64, &'static str),
) -> Range {
    Range {
        full,
        per_unit,
        source_ohms,
        text,
    }
}

pub(super) const VOLTS: Specification = Specification {
    name: "volts",
    percent: 0.5,
    counts: 2.0,
    ranges: &[
        volts(6.0, 1000.0, 3),
        volts(60.0, 100.0, 2),
        volts(600.0, 10.0, 1),
    ],
};
pub(super) const LOW_VOLTS: Specification = Specification {
    name: "lowz",
    percent: 1.0,
    counts: 3.0,
    ranges: &[
        volts(6.0, 1000.0, 3),
        volts(60.0, 100.0, 2),
        volts(600.0, 10.0, 1),
    ],
};
pub(super) const MILLIVOLTS: Specification = Specification {
    name: "millivolts",
    percent: 0.5,
    counts: 3.0,
    ranges: &[Range {
        full: 0.6,
        per_unit: 10_000.0,
        source_ohms: 0.0,
        text: (1, 1e-3, "mV"),
    }],
};
/// Below 2.7 V open, 350 uA short on the lowest range and, to 600 kohm, 0.7 V at full scale (a maker's user manual).
pub(super) const OHMS: Specification = Specification {
    name: "ohms",
    percent: 0.9,
    counts: 2.0,
    ranges: &[
        ohms(600.0, 10.0, 7.5e3, (1, 1.0, "ohm")),
        ohms(6e3, 1.0, 16e3, (3, 1e3, "kohm")),
        ohms(60e3, 0.1, 160e3, (2, 1e3, "kohm")),
        ohms(600e3, 0.01, 1.6e6, (1, 1e3, "kohm")),
        ohms(6e6, 1e-3, 10e6, (3, 1e6, "Mohm")),
        ohms(60e6, 1e-4, 10e6, (2, 1e6, "Mohm")),
    ],
};
pub(super) const CONTINUITY: Specification = Specification {
    name: "continuity",
    percent: 0.9,
    counts: 3.0,
    ranges: &[ohms(600.0, 10.0, 7.5e3, (1, 1.0, "ohm"))],
};

/// Two ranges behind one shunt, which takes whatever flows: a range changes the display, not the circuit.
pub(super) const AMPS: Specification = Specification {
    name: "amps",
    percent: 1.0,
    counts: 3.0,
    ranges: &[
        Range {
            full: 6.0,
            per_unit: 1000.0,
            source_ohms: 0.0,
            text: (3, 1.0, "A"),
        },
        Range {
            full: 20.0,
            per_unit: 100.0,
            source_ohms: 0.0,
            text: (2, 1.0, "A"),
        },
    ],
};

/// Volts of the ohms function's own source.
pub(super) const OHMS_SOURCE_V: f64 = 2.5;
/// The buzzer sounds below this, ohm.
pub(super) const BUZZER_OHMS: f64 = 25.0;
