//! Quantities inside a sentence, told in the reader's units.

use super::System;
use super::tables::{GALLON_M3, MILE_M, PSI_PA};

/// One US fluid ounce, m3 (exact by definition).
const FLUID_OUNCE_M3: f64 = GALLON_M3 / 128.0;

/// What one of a metric unit is in the US unit beside it, for the units that vehicles' figures and histories are given in.
fn us(unit: &str) -> Option<(f64, &'static str)> {
    match unit {
        "kPa" => Some((1e3 / PSI_PA, "psi")),
        "L" => Some((1e-3 / FLUID_OUNCE_M3, "fl oz")),
        "L/h" => Some((1e-3 / GALLON_M3, "gal/h")),
        "km" => Some((1e3 / MILE_M, "mi")),
        _ => None,
    }
}

/// A sentence with its metric pressures, volumes and distances told in a system of units: `300 kPa` as `43.5 psi`, `90 to 105
/// kPa` as `13.1 to 15.2 psi`, `162 000 km` as `101 000 mi`. Everything else stays as it is, and so does all of it in
/// the metric system.
#[must_use]
pub fn told(sentence: &str, system: System) -> String {
    if system == System::Metric {
        return sentence.to_owned();
    }
    let mut words: Vec<String> = sentence.split(' ').map(str::to_owned).collect();
    for at in 1..words.len() {
        let bare = words[at].trim_end_matches([',', ';', '.']);
        let end = words[at][bare.len()..].to_owned();
        let Some((factor, unit)) = us(bare) else {
            continue;
        };
        if thousands(&words, at) {
            let whole = format!("{}{}", words[at - 2], words[at - 1]);
            let Ok(value) = whole.parse::<f64>() else {
                continue;
            };
            words[at - 2] = format!("{:.0}", value * factor / 1e3);
            "000".clone_into(&mut words[at - 1]);
        } else {
            let Ok(value) = words[at - 1].parse::<f64>() else {
                continue;
            };
            words[at - 1] = three_figures(value * factor);
            if at >= 3
                && words[at - 2] == "to"
                && let Ok(from) = words[at - 3].parse::<f64>()
            {
                words[at - 3] = three_figures(from * factor);
            }
        }
        words[at] = format!("{unit}{end}");
    }
    words.join(" ")
}

/// Whether the number before a unit is written with a space between its thousands.
fn thousands(words: &[String], unit_at: usize) -> bool {
    let digits = |word: &str| !word.is_empty() && word.chars().all(|c| c.is_ascii_digit());
    unit_at >= 2
        && words[unit_at - 1].len() == 3
        && digits(&words[unit_at - 1])
        && digits(&words[unit_at - 2])
}

fn three_figures(value: f64) -> String {
    match value {
        value if value >= 99.95 => format!("{value:.0}"),
        value if value >= 9.995 => format!("{value:.1}"),
        _ => format!("{value:.2}"),
    }
}
