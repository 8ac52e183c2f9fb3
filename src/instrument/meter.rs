//! The multimeter.

use super::leads::{Grip, LeadSet};
use super::reading::{Quantity, Reading};
use crate::rig::{Attachments, Instant, Tap};
use crate::seed::Stream;

/// What the meter is switched to.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Function {
    /// Direct volts, 10 Mohm input.
    Volts,
    /// Direct volts with about 3 kohm input, which drains ghost volts.
    LowVolts,
    /// Direct millivolts, 10 Mohm input, one range.
    Millivolts,
    /// Resistance.
    Ohms,
    /// Resistance with a buzzer below a limit.
    Continuity,
}

/// One measuring range of the display.
struct Range {
    /// Largest value shown, in the base unit.
    full: f64,
    /// Counts for one base unit: a display step is its inverse.
    per_unit: f64,
    /// Source resistance of the ohms function on this range, ohm; unused by the volts functions.
    source_ohms: f64,
    /// Decimals and divisor of the text, and its unit.
    text: (usize, f64, &'static str),
}

/// Accuracy and ranges of one function: `±(percent of reading + counts)`.
struct Specification {
    name: &'static str,
    percent: f64,
    counts: f64,
    ranges: &'static [Range],
}

const fn volts(full: f64, per_unit: f64, decimals: usize) -> Range {
    Range { full, per_unit, source_ohms: 0.0, text: (decimals, 1.0, "V") }
}

const fn ohms(full: f64, per_unit: f64, source_ohms: f64, text: (usize, f64, &'static str)) -> Range {
    Range { full, per_unit, source_ohms, text }
}

/// A 6000-count handheld meter of our own, of the accuracy usual for its class (makers' manuals give 0.5 to 0.9 %).
const VOLTS: Specification = Specification {
    name: "volts",
    percent: 0.5,
    counts: 2.0,
    ranges: &[volts(6.0, 1000.0, 3), volts(60.0, 100.0, 2), volts(600.0, 10.0, 1)],
};
const LOW_VOLTS: Specification = Specification {
    name: "lowz",
    percent: 1.0,
    counts: 3.0,
    ranges: &[volts(6.0, 1000.0, 3), volts(60.0, 100.0, 2), volts(600.0, 10.0, 1)],
};
const MILLIVOLTS: Specification = Specification {
    name: "millivolts",
    percent: 0.5,
    counts: 3.0,
    ranges: &[Range { full: 0.6, per_unit: 10_000.0, source_ohms: 0.0, text: (1, 1e-3, "mV") }],
};
/// Below 2.7 V open and 350 uA short on the lowest range (a maker's user manual).
const OHMS: Specification = Specification {
    name: "ohms",
    percent: 0.9,
    counts: 2.0,
    ranges: &[
        ohms(600.0, 10.0, 7.5e3, (1, 1.0, "ohm")),
        ohms(6e3, 1.0, 15e3, (3, 1e3, "kohm")),
        ohms(60e3, 0.1, 150e3, (2, 1e3, "kohm")),
        ohms(600e3, 0.01, 1.5e6, (1, 1e3, "kohm")),
        ohms(6e6, 1e-3, 10e6, (3, 1e6, "Mohm")),
        ohms(60e6, 1e-4, 10e6, (2, 1e6, "Mohm")),
    ],
};
const CONTINUITY: Specification = Specification {
    name: "continuity",
    percent: 0.9,
    counts: 3.0,
    ranges: &[ohms(600.0, 10.0, 7.5e3, (1, 1.0, "ohm"))],
};

/// Volts of the ohms function's own source.
const OHMS_SOURCE_V: f64 = 2.5;
/// The buzzer sounds below this, ohm.
const BUZZER_OHMS: f64 = 25.0;

impl Function {
    fn specification(self) -> &'static Specification {
        match self {
            Function::Volts => &VOLTS,
            Function::LowVolts => &LOW_VOLTS,
            Function::Millivolts => &MILLIVOLTS,
            Function::Ohms => &OHMS,
            Function::Continuity => &CONTINUITY,
        }
    }

    /// The word for the function.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.specification().name
    }

    /// What the function measures.
    #[must_use]
    pub fn quantity(self) -> Quantity {
        if self.sends_current() { Quantity::Resistance } else { Quantity::Voltage }
    }

    /// Whether the function sends a current of its own through the circuit.
    #[must_use]
    pub fn sends_current(self) -> bool {
        matches!(self, Function::Ohms | Function::Continuity)
    }

    /// Input resistance of the volts functions, ohm.
    #[must_use]
    pub fn input_ohms(self) -> f64 {
        match self {
            Function::LowVolts => 3e3,
            _ => 10e6,
        }
    }

    /// Number of ranges to try from the finest.
    #[must_use]
    pub fn ranges(self) -> usize {
        self.specification().ranges.len()
    }
}

/// A meter with its two tips on two points.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Connection {
    /// What it is switched to.
    pub function: Function,
    /// Where the red tip is.
    pub red: Tap,
    /// Where the black tip is.
    pub black: Tap,
    /// Contact of the red tip.
    pub red_grip: Grip,
    /// Contact of the black tip.
    pub black_grip: Grip,
}

/// The meter of one job: its leads, its zero and its own errors.
#[derive(Clone, PartialEq, Debug)]
pub struct Meter {
    /// Its leads.
    pub leads: LeadSet,
    /// Subtracted from ohms since the leads were last held together, ohm.
    pub zero_ohms: f64,
    seed: u64,
}

/// Where the meter's two inputs ended up in the attachments.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Inputs {
    plus: Tap,
    minus: Tap,
}

impl Meter {
    /// The meter that belongs to a job's seed.
    #[must_use]
    pub fn new(seed: u64) -> Meter {
        Meter { leads: LeadSet::standard(seed), zero_ohms: 0.0, seed }
    }

    /// Puts meter, leads and tips into the circuit. `range` matters to the functions that send a current.
    pub fn attach(&self, connection: &Connection, range: usize, to: &mut Attachments) -> Inputs {
        let (plus, minus) = (to.node(), to.node());
        to.resistor(connection.red, plus, connection.red_grip.ohms + self.leads.red.ohms);
        to.resistor(connection.black, minus, connection.black_grip.ohms + self.leads.black.ohms);
        if connection.function.sends_current() {
            let source_ohms = connection.function.specification().ranges[range].source_ohms;
            to.source(minus, plus, OHMS_SOURCE_V, source_ohms);
        } else {
            to.resistor(plus, minus, connection.function.input_ohms());
        }
        Inputs { plus, minus }
    }

    /// What the meter's input sees, in volts or ohms, before the meter's own errors; nothing on overload.
    #[must_use]
    pub fn sees(&self, function: Function, range: usize, inputs: Inputs, instant: &Instant) -> Option<f64> {
        // Own terminals are always joined through the meter itself.
        let volts = instant.across(inputs.plus, inputs.minus).unwrap_or(0.0);
        if !function.sends_current() {
            return Some(volts);
        }
        let source_ohms = function.specification().ranges[range].source_ohms;
        let headroom = OHMS_SOURCE_V - volts;
        (headroom > 0.0).then(|| source_ohms * volts / headroom - self.zero_ohms)
    }

    /// Passes what the input sees through the meter's errors onto its display. `range` limits the ohms functions; the
    /// volts functions range by themselves. `noise` is in -1..=1.
    #[must_use]
    pub fn display(&self, function: Function, range: usize, seen: Option<f64>, noise: f64) -> Display {
        let specification = function.specification();
        let Some(seen) = seen else { return Display::OVERLOAD };
        let (gain, offset) = self.systematic(specification);
        let ranges = if function.sends_current() {
            &specification.ranges[range..=range]
        } else {
            specification.ranges
        };
        for range in ranges {
            let step = 1.0 / range.per_unit;
            let off = specification.counts * step * (offset + 0.35 * noise);
            let wrong = seen * (1.0 + specification.percent / 100.0 * gain) + off;
            let counts = libm::round(wrong * range.per_unit);
            if libm::fabs(counts) <= libm::round(range.full * range.per_unit) {
                return show(range, counts);
            }
        }
        Display::OVERLOAD
    }

    /// Shows a value the recorder has kept: it has passed the meter's errors already and is only rounded.
    #[must_use]
    pub fn display_recorded(&self, function: Function, kept: f64) -> Display {
        let rounded = |range: &Range| {
            let counts = libm::round(kept * range.per_unit);
            (libm::fabs(counts) <= libm::round(range.full * range.per_unit)).then(|| show(range, counts))
        };
        function.specification().ranges.iter().find_map(rounded).unwrap_or(Display::OVERLOAD)
    }

    /// This instrument's own share of its stated accuracy, each in -0.6..=0.6: of the percentage and of the counts.
    fn systematic(&self, specification: &Specification) -> (f64, f64) {
        let mut stream = Stream::keyed(self.seed, "instruments", &["meter", specification.name]);
        (stream.between(-0.6, 0.6), stream.between(-0.6, 0.6))
    }

    /// Noise of one reading in -1..=1, keyed by what is measured and how often it has been.
    #[must_use]
    pub fn noise(&self, function: Function, red: &str, black: &str, repeat: u32) -> f64 {
        let key = ["meter", function.name(), red, black, &repeat.to_string()];
        Stream::keyed(self.seed, "noise", &key).between(-1.0, 1.0)
    }

    /// Whether the buzzer sounds.
    #[must_use]
    pub fn buzzes(function: Function, value: Option<f64>) -> bool {
        function == Function::Continuity && value.is_some_and(|ohms| ohms < BUZZER_OHMS)
    }
}

/// Counts on a range as a display.
fn show(range: &Range, counts: f64) -> Display {
    // Zero has no sign on a display.
    let counts = if counts == 0.0 { 0.0 } else { counts };
    let value = if range.per_unit >= 1.0 { counts / range.per_unit } else { counts * (1.0 / range.per_unit) };
    let (decimals, divisor, unit) = range.text;
    Display { value: Some(value), shown: format!("{:.decimals$} {unit}", value / divisor) }
}

/// A display before it is told how it was taken.
#[derive(Clone, PartialEq, Debug)]
pub struct Display {
    /// Value in SI, nothing on overload.
    pub value: Option<f64>,
    /// The text.
    pub shown: String,
}

impl Display {
    const OVERLOAD: Display = Display { value: None, shown: String::new() };

    /// The reading this display makes.
    #[must_use]
    pub fn reading(self, quantity: Quantity, how: String) -> Reading {
        let shown = if self.value.is_none() { "OL".to_owned() } else { self.shown };
        Reading { quantity, value: self.value, shown, how }
    }
}
