//! Quantity to text: three or four significant figures, plain ASCII, a space before the unit.
//!
//! Digits come from the standard library's exact decimal formatting and the point is moved in the
//! text, so that what is shown is the correctly rounded value on every platform.

use super::tables::{CIRCULAR_MIL_M2, FOOT_M, GALLON_M3, INCH_M, MILE_M, PSI_PA};
use super::{
    Amp, Area, Celsius, Flow, Metre, Ohm, Pascal, Seconds, System, Volt, Volume, Watt, gauge,
};

/// How far a conductor may be from a gauge and still be called by its number.
const GAUGE_TOLERANCE: f64 = 0.06;

impl Volt {
    /// `12.58 V`, `0.243 V`, `85.0 mV`; the same in both systems.
    #[must_use]
    pub fn show(self, _system: System) -> String {
        let size = self.0.abs();
        if size == 0.0 {
            "0.00 V".into()
        } else if size < 0.0999_5 {
            engineering(self.0, "V", &[(-3, "m"), (-6, "u"), (-9, "n")])
        } else if size < 0.9995 {
            format!("{:.3} V", self.0)
        } else if size < 999.995 {
            format!("{:.2} V", self.0)
        } else {
            engineering(self.0, "V", &[(0, ""), (3, "k")])
        }
    }
}

impl Amp {
    /// `4.01 A`, `250 mA`, `1.25 uA`; the same in both systems.
    #[must_use]
    pub fn show(self, _system: System) -> String {
        engineering(
            self.0,
            "A",
            &[(0, ""), (-3, "m"), (-6, "u"), (-9, "n"), (3, "k")],
        )
    }
}

impl Ohm {
    /// `37.7 mohm`, `2.20 ohm`, `10.0 Mohm`, `open` for infinity; the same in both systems.
    #[must_use]
    pub fn show(self, _system: System) -> String {
        if self.0 == f64::INFINITY {
            return "open".into();
        }
        engineering(
            self.0,
            "ohm",
            &[(0, ""), (-3, "m"), (-6, "u"), (3, "k"), (6, "M"), (9, "G")],
        )
    }
}

impl Watt {
    /// `55.0 W`, `1.20 kW`; the same in both systems.
    #[must_use]
    pub fn show(self, _system: System) -> String {
        engineering(self.0, "W", &[(0, ""), (-3, "m"), (-6, "u"), (3, "k")])
    }
}

impl Metre {
    /// `5.0 m`, `250 mm`, `148 000 km`; `16.4 ft`, `10.0 in`, `3.11 mi`.
    #[must_use]
    pub fn show(self, system: System) -> String {
        let size = self.0.abs();
        match system {
            System::Metric if size >= 1000.0 => format!("{} km", figures(self.0 / 1e3, 1)),
            System::Metric if size >= 1.0 || size == 0.0 => format!("{} m", figures(self.0, 1)),
            System::Metric => format!("{} mm", figures(self.0 * 1e3, 1)),
            System::Us if size >= MILE_M => format!("{} mi", figures(self.0 / MILE_M, 1)),
            System::Us if size >= FOOT_M || size == 0.0 => {
                format!("{} ft", figures(self.0 / FOOT_M, 1))
            }
            System::Us => format!("{} in", figures(self.0 / INCH_M, 1)),
        }
    }
}

impl Area {
    /// `1.0 mm2`, `0.35 mm2`; in US units the gauge (`14 AWG`) when one lies within 6 %, else
    /// circular mils (`2960 cmil`), the trade's measure for sizes without a number.
    #[must_use]
    pub fn show(self, system: System) -> String {
        match (system, self.nearest_awg()) {
            (System::Metric, _) => format!("{} mm2", figures(self.0 * 1e6, 1)),
            (System::Us, Some((number, ratio))) if (ratio - 1.0).abs() <= GAUGE_TOLERANCE => {
                format!("{} AWG", gauge::label(number))
            }
            (System::Us, _) => format!("{} cmil", figures(self.0 / CIRCULAR_MIL_M2, 0)),
        }
    }
}

impl Pascal {
    /// `350 kPa`, `-20.5 kPa`, `120 Pa`; `50.8 psi`.
    #[must_use]
    pub fn show(self, system: System) -> String {
        let size = self.0.abs();
        match system {
            System::Metric if size >= 1e7 => format!("{} MPa", figures(self.0 / 1e6, 1)),
            System::Metric if size >= 1e3 || size == 0.0 => {
                format!("{} kPa", figures(self.0 / 1e3, 0))
            }
            System::Metric => format!("{} Pa", figures(self.0, 0)),
            System::Us => format!("{} psi", figures(self.0 / PSI_PA, 1)),
        }
    }
}

impl Flow {
    /// The same in litres an hour.
    #[must_use]
    pub fn litres_an_hour(self) -> f64 {
        self.0 * 3.6e6
    }

    /// `108 L/h`; `28.5 gal/h` (US gallons).
    #[must_use]
    pub fn show(self, system: System) -> String {
        match system {
            System::Metric => format!("{} L/h", figures(self.litres_an_hour(), 0)),
            System::Us => format!("{} gal/h", figures(self.0 * 3600.0 / GALLON_M3, 0)),
        }
    }
}

impl Volume {
    /// `1.5 L`, `500 mL`; `1.06 gal`, `16.9 fl oz`.
    #[must_use]
    pub fn show(self, system: System) -> String {
        match system {
            System::Metric if self.0 >= 1e-3 || self.0 == 0.0 => {
                format!("{} L", figures(self.0 * 1e3, 1))
            }
            System::Metric => format!("{} mL", figures(self.0 * 1e6, 0)),
            System::Us if self.0 >= GALLON_M3 || self.0 == 0.0 => {
                format!("{} gal", figures(self.0 / GALLON_M3, 1))
            }
            System::Us => format!("{} fl oz", figures(self.0 / GALLON_M3 * 128.0, 0)),
        }
    }
}

impl Seconds {
    /// `350 ms`, `2 s`, `12.5 min`, `2.5 h`; the same in both systems.
    #[must_use]
    pub fn show(self, _system: System) -> String {
        match self.0.abs() {
            size if size >= 7200.0 => format!("{} h", figures(self.0 / 3600.0, 0)),
            size if size >= 120.0 => format!("{} min", figures(self.0 / 60.0, 0)),
            size if size >= 1.0 || size == 0.0 => format!("{} s", figures(self.0, 0)),
            _ => engineering(self.0, "s", &[(-3, "m"), (-6, "u")]),
        }
    }
}

impl Celsius {
    /// `20 C`, `21.5 C`; `68 F`. One decimal at most.
    #[must_use]
    pub fn show(self, system: System) -> String {
        let (degrees, unit) = match system {
            System::Metric => (self.0, "C"),
            System::Us => (self.0 * 9.0 / 5.0 + 32.0, "F"),
        };
        format!("{} {unit}", trim(unsigned_zero(format!("{degrees:.1}")), 0))
    }
}

/// Three significant figures with the prefix, out of `prefixes` (power of ten, name), that leaves
/// one to three digits before the point. Zero takes the first prefix; sizes beyond the list take
/// the nearest one.
fn engineering(value: f64, unit: &str, prefixes: &[(i32, &str)]) -> String {
    let exponent = decimal_exponent(value, 3);
    let wanted = if value == 0.0 {
        prefixes[0].0
    } else {
        exponent.div_euclid(3) * 3
    };
    let (power, name) = prefixes
        .iter()
        .min_by_key(|(power, _)| (power - wanted).abs())
        .copied()
        .unwrap_or((0, ""));
    format!("{} {name}{unit}", positional(value, 3, power))
}

/// Three significant figures without a prefix, trailing zeros dropped down to `decimals` digits
/// after the point; whole numbers from 1000 up, in groups of three from 10 000 up.
fn figures(value: f64, decimals: usize) -> String {
    if decimal_exponent(value, 3) < 3 {
        return trim(positional(value, 3, 0), decimals);
    }
    grouped(&format!("{value:.0}"), 5)
}

/// Power of ten of the first digit once `value` is rounded to `digits` significant ones.
fn decimal_exponent(value: f64, digits: usize) -> i32 {
    let scientific = format!("{value:.*e}", digits - 1);
    scientific
        .split_once('e')
        .and_then(|(_, exponent)| exponent.parse().ok())
        .unwrap_or(0)
}

/// `value / 10^power` in `digits` significant figures, the division done by moving the point in the
/// text.
fn positional(value: f64, digits: usize, power: i32) -> String {
    let scientific = format!("{value:.*e}", digits - 1);
    let Some((mantissa, exponent)) = scientific.split_once('e') else {
        // Infinity and not-a-number have no digits to arrange.
        return scientific;
    };
    let sign = if mantissa.starts_with('-') && value != 0.0 {
        "-"
    } else {
        ""
    };
    let figures: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let point = exponent.parse().unwrap_or(0) + 1 - power;
    match usize::try_from(point) {
        Ok(point) if point >= figures.len() => format!("{sign}{figures:0<point$}"),
        Ok(point) if point > 0 => format!("{sign}{}.{}", &figures[..point], &figures[point..]),
        _ => format!(
            "{sign}0.{}{figures}",
            "0".repeat(point.unsigned_abs() as usize)
        ),
    }
}

/// Drops trailing zeros after the point until `decimals` digits are left there.
fn trim(mut text: String, decimals: usize) -> String {
    let Some(point) = text.find('.') else {
        return text;
    };
    while text.ends_with('0') && text.len() - point - 1 > decimals {
        text.pop();
    }
    if text.ends_with('.') {
        text.pop();
    }
    text
}

fn unsigned_zero(text: String) -> String {
    if text.bytes().any(|b| (b'1'..=b'9').contains(&b)) {
        text
    } else {
        text.replace('-', "")
    }
}

/// Sets the whole part of a number in groups of three, when it has at least `from` digits.
pub(super) fn grouped(number: &str, from: usize) -> String {
    let (sign, rest) = number
        .strip_prefix('-')
        .map_or(("", number), |rest| ("-", rest));
    let (whole, tail) = rest
        .find('.')
        .map_or((rest, ""), |point| rest.split_at(point));
    let mut out = sign.to_owned();
    for (index, digit) in whole.char_indices() {
        if whole.len() >= from && index > 0 && (whole.len() - index).is_multiple_of(3) {
            out.push(' ');
        }
        out.push(digit);
    }
    out + tail
}
