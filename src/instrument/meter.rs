//! The multimeter.

use super::leads::{Grip, LeadSet};
use super::ranges::{
    AMPS, BUZZER_OHMS, CONTINUITY, LOW_VOLTS, MILLIVOLTS, OHMS, OHMS_SOURCE_V, Range,
    Specification, VOLTS,
};
use super::reading::{Quantity, Reading};
use crate::rig::{Attachments, Instant, Tap, fuse_opens_after};
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
    /// Direct amperes through the meter's own shunt and fuse.
    Amps,
}

/// Rating of the fuse behind the amps jack, A.
const FUSE_A: f64 = 10.0;

impl Function {
    fn specification(self) -> &'static Specification {
        match self {
            Function::Volts => &VOLTS,
            Function::LowVolts => &LOW_VOLTS,
            Function::Millivolts => &MILLIVOLTS,
            Function::Ohms => &OHMS,
            Function::Continuity => &CONTINUITY,
            Function::Amps => &AMPS,
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
        match self {
            Function::Ohms | Function::Continuity => Quantity::Resistance,
            Function::Amps => Quantity::Current,
            Function::Volts | Function::LowVolts | Function::Millivolts => Quantity::Voltage,
        }
    }

    /// Whether the function sends a current of its own through the circuit.
    #[must_use]
    pub fn sends_current(self) -> bool {
        matches!(self, Function::Ohms | Function::Continuity)
    }

    /// Whether the function carries the circuit's current through the meter.
    #[must_use]
    pub fn carries_current(self) -> bool {
        self == Function::Amps
    }

    /// What stands between the meter's two jacks, ohm: the input resistance on volts; on amps shunt and fuse,
    /// 0.03 ohm as on a handheld's A range (source in `tests/data/physics/sheet.toml`). The ohms functions have a source
    /// there instead.
    #[must_use]
    pub fn input_ohms(self) -> f64 {
        match self {
            Function::LowVolts => 3e3,
            Function::Amps => 0.03,
            _ => 10e6,
        }
    }

    /// Number of ranges to try from the finest.
    #[must_use]
    pub fn ranges(self) -> usize {
        self.specification().ranges.len()
    }

    /// Full scales of the function's ranges, in the base unit, finest first.
    pub fn full_scales(self) -> impl Iterator<Item = f64> {
        self.specification().ranges.iter().map(|range| range.full)
    }

    /// Whether the function measures `quantity` and has a range of this full scale.
    #[must_use]
    pub fn has_range(self, quantity: Quantity, full: f64) -> bool {
        self.quantity() == quantity && self.full_scales().any(|scale| scale == full)
    }

    /// Largest error the maker states for a reading on a range, in the base unit: percent of reading plus counts.
    #[must_use]
    pub fn stated_error(self, range: usize, value: f64) -> f64 {
        let specification = self.specification();
        let step = 1.0 / specification.ranges[range].per_unit;
        specification.percent / 100.0 * libm::fabs(value) + specification.counts * step
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
    /// What the display showed when the tips were last held together on ohms, and takes off since, ohm.
    pub zero_ohms: f64,
    /// Range chosen by hand, by what it measures and its full scale in the base unit; nothing while the meter chooses.
    pub fixed_range: Option<(Quantity, f64)>,
    /// The fuse of the amps jack has gone.
    pub fuse_blown: bool,
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
        Meter {
            leads: LeadSet::standard(seed),
            zero_ohms: 0.0,
            fixed_range: None,
            fuse_blown: false,
            seed,
        }
    }

    /// Puts meter, leads and tips into the circuit. `range` matters to the functions that send a current.
    pub fn attach(&self, connection: &Connection, range: usize, to: &mut Attachments) -> Inputs {
        let (plus, minus) = (to.node(), to.node());
        to.resistor(
            connection.red,
            plus,
            connection.red_grip.ohms + self.leads.red.ohms,
        );
        to.resistor(
            connection.black,
            minus,
            connection.black_grip.ohms + self.leads.black.ohms,
        );
        if connection.function.sends_current() {
            let source_ohms = connection.function.specification().ranges[range].source_ohms;
            to.source(minus, plus, OHMS_SOURCE_V, source_ohms);
        } else if !(connection.function.carries_current() && self.fuse_blown) {
            to.resistor(plus, minus, connection.function.input_ohms());
        }
        Inputs { plus, minus }
    }

    /// What the meter's input sees, in volts or ohms, before the meter's own errors; nothing on overload.
    #[must_use]
    pub fn sees(
        &self,
        function: Function,
        range: usize,
        inputs: Inputs,
        instant: &Instant,
    ) -> Option<f64> {
        // Own terminals are always joined through the meter itself.
        let volts = instant.across(inputs.plus, inputs.minus).unwrap_or(0.0);
        if function.carries_current() {
            let through = if self.fuse_blown {
                0.0
            } else {
                volts / function.input_ohms()
            };
            return Some(through);
        }
        if !function.sends_current() {
            return Some(volts);
        }
        let source_ohms = function.specification().ranges[range].source_ohms;
        let headroom = OHMS_SOURCE_V - volts;
        (headroom > 0.0).then(|| source_ohms * volts / headroom)
    }

    /// Holds the tips together on ohms and takes what the display then shows off every later ohms reading: leads and tips,
    /// and this instrument's own offset with them. `noise` is in -1..=1. Gives what it showed, ohm.
    pub fn zero(&mut self, tips_ohms: f64, noise: f64) -> f64 {
        self.zero_ohms = 0.0;
        let together = self.leads.red.ohms + self.leads.black.ohms + tips_ohms;
        let (finest, _) = self.usable_ranges(Function::Ohms);
        let display = self.display(Function::Ohms, finest, Some(together), noise);
        self.zero_ohms = display.value.unwrap_or(0.0);
        self.zero_ohms
    }

    /// Passes what the input sees through the meter's errors onto its display. `range` limits the ohms functions; the
    /// volts functions range by themselves. `noise` is in -1..=1.
    #[must_use]
    pub fn display(
        &self,
        function: Function,
        range: usize,
        seen: Option<f64>,
        noise: f64,
    ) -> Display {
        self.counted(function, range, seen, noise, 0.0)
            .map_or(Display::OVERLOAD, |(range, counts)| show(range, counts))
    }

    /// A value for the recorder: as on the display, with `extra` counts of noise besides; nothing on overload.
    pub(super) fn kept(
        &self,
        function: Function,
        range: usize,
        seen: Option<f64>,
        noise: f64,
        extra: f64,
    ) -> Option<f64> {
        let (range, counts) = self.counted(function, range, seen, noise, extra)?;
        Some(counts / range.per_unit)
    }

    /// The range a value is shown on, and the counts there.
    fn counted(
        &self,
        function: Function,
        range: usize,
        seen: Option<f64>,
        noise: f64,
        extra: f64,
    ) -> Option<(&'static Range, f64)> {
        let specification = function.specification();
        let seen = seen?;
        let (gain, offset) = self.systematic(specification);
        let (ranges, zero) = if function.sends_current() {
            (&specification.ranges[range..=range], self.zero_ohms)
        } else {
            (specification.ranges, 0.0)
        };
        ranges
            .iter()
            .filter(|range| self.may_use(function, range.full))
            .find_map(|range| {
                let step = 1.0 / range.per_unit;
                // The counts have to hold the display's own rounding as well: half of one.
                let off =
                    step * (specification.counts * (0.75 * offset + 0.25 * noise) + extra * noise);
                let wrong = seen * (1.0 + specification.percent / 100.0 * gain) + off - zero;
                let counts = libm::round(wrong * range.per_unit);
                let fits = libm::fabs(counts) <= libm::round(range.full * range.per_unit);
                fits.then_some((range, counts))
            })
    }

    /// The range by its number on which a meter that measures without sending a current would show what it sees; the
    /// last one on overload.
    #[must_use]
    pub fn fitting_range(&self, function: Function, seen: Option<f64>) -> usize {
        let ranges = function.specification().ranges;
        let (first, last) = self.usable_ranges(function);
        let shown = self.counted(function, first, seen, 0.0, 0.0);
        let found = shown.and_then(|(shown, _)| ranges.iter().position(|r| r.full == shown.full));
        found.unwrap_or(last)
    }

    /// Numbers of the finest and the coarsest range that may be used: one and the same while a range is kept.
    #[must_use]
    pub fn usable_ranges(&self, function: Function) -> (usize, usize) {
        let ranges = function.specification().ranges;
        let usable = |range: &Range| self.may_use(function, range.full);
        let first = ranges.iter().position(usable).unwrap_or(0);
        let last = ranges.iter().rposition(usable).unwrap_or(0);
        (first, last)
    }

    /// Whether a range may be used: all of them while the meter chooses, or if the function has none of the chosen size.
    fn may_use(&self, function: Function, full: f64) -> bool {
        match self.fixed_range {
            Some((quantity, fixed)) if function.has_range(quantity, fixed) => full == fixed,
            _ => true,
        }
    }

    /// Shows a value the recorder has kept: it has passed the meter's errors already and is only rounded.
    #[must_use]
    pub fn display_recorded(&self, function: Function, kept: f64) -> Display {
        let rounded = |range: &Range| {
            let counts = libm::round(kept * range.per_unit);
            (libm::fabs(counts) <= libm::round(range.full * range.per_unit))
                .then(|| show(range, counts))
        };
        function
            .specification()
            .ranges
            .iter()
            .filter(|range| self.may_use(function, range.full))
            .find_map(rounded)
            .unwrap_or(Display::OVERLOAD)
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

    /// Noise of the values a recording keeps, one after another, each in -1..=1.
    pub fn noise_of_recording(
        &self,
        function: Function,
        red: &str,
        black: &str,
        repeat: u32,
    ) -> impl FnMut() -> f64 + use<> {
        let key = [
            "recording",
            function.name(),
            red,
            black,
            &repeat.to_string(),
        ];
        let mut stream = Stream::keyed(self.seed, "noise", &key);
        move || stream.between(-1.0, 1.0)
    }

    /// How much of the amps fuse's life `amps` takes in `seconds`: at 1 it is gone. A fast 10 A fuse, by the same
    /// gates as the vehicle's own (a meter's is no slower).
    #[must_use]
    pub fn fuse_wear(amps: f64, seconds: f64) -> f64 {
        seconds / fuse_opens_after(libm::fabs(amps) / FUSE_A)
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
    let value = if range.per_unit >= 1.0 {
        counts / range.per_unit
    } else {
        counts * (1.0 / range.per_unit)
    };
    let (decimals, divisor, unit) = range.text;
    Display {
        value: Some(value),
        shown: format!("{:.decimals$} {unit}", value / divisor),
    }
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
    const OVERLOAD: Display = Display {
        value: None,
        shown: String::new(),
    };

    /// The reading this display makes.
    #[must_use]
    pub fn reading(self, quantity: Quantity, how: String) -> Reading {
        let shown = if self.value.is_none() {
            "OL".to_owned()
        } else {
            self.shown
        };
        Reading {
            quantity,
            value: self.value,
            shown,
            how,
        }
    }
}
