//! How far a vehicle has been driven and how old it is, and what that does to the odds of a fault.
//!
//! It stands on the work order, so that whoever reads it can reason from it; jobs written by hand say it in the same words.

use crate::fault::Grows;
use crate::seed::Stream;
use crate::vehicle::{Service, Vehicle};

/// Distance and age of one vehicle.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Usage {
    /// Distance driven, thousands of kilometres.
    pub thousand_km: f64,
    /// Age, years.
    pub years: f64,
}

/// Distance and age at which the catalogue's weights hold, of a vehicle of usual use; ours, no source.
const USUAL: Usage = Usage {
    thousand_km: 140.0,
    years: 11.0,
};
/// A weight grows in proportion to use, but no further than this factor either way; ours, no source.
const MOST: f64 = 2.5;

impl Usage {
    /// The usual one of a type of vehicle, at which the catalogue's weights hold for it: what is used little is built, kept
    /// and worn accordingly.
    #[must_use]
    pub fn usual(vehicle: &Vehicle) -> Usage {
        Usage {
            thousand_km: USUAL.thousand_km * share(vehicle),
            ..USUAL
        }
    }

    /// As fleets have them; ours, no source.
    pub(super) fn drawn(vehicle: &Vehicle, stream: &mut Stream) -> Usage {
        let years = libm::round(stream.between(3.0, 22.0));
        let thousand_km = libm::round(years * stream.log_between(7.0, 22.0));
        Usage {
            thousand_km: libm::round(thousand_km.clamp(20.0, 380.0) * share(vehicle)),
            years,
        }
    }

    /// What the lines of a work order say; what they do not say is taken as usual.
    #[must_use]
    pub fn told(vehicle: &Vehicle, known: &[String]) -> Usage {
        let usual = Usage::usual(vehicle);
        let before = |word: &str| known.iter().find_map(|line| number_before(line, word));
        Usage {
            thousand_km: before("km").map_or(usual.thousand_km, |km| km / 1e3),
            years: before("years").unwrap_or(usual.years),
        }
    }

    /// The line of the work order.
    pub(super) fn words(self) -> String {
        format!(
            "{:.0} 000 km, {:.0} years old.",
            self.thousand_km, self.years
        )
    }

    /// By how much a fault is commoner than on a vehicle of this type that is used as usual.
    #[must_use]
    pub fn factor(self, vehicle: &Vehicle, grows: Grows) -> f64 {
        let times = match grows {
            Grows::Never => 1.0,
            Grows::Distance => self.thousand_km / Usage::usual(vehicle).thousand_km,
            Grows::Years => self.years / USUAL.years,
        };
        times.clamp(1.0 / MOST, MOST)
    }
}

/// How far a type of vehicle is driven in a year, as a share of what is usual.
fn share(vehicle: &Vehicle) -> f64 {
    vehicle.service.km_a_year / Service::USUAL_KM
}

/// The number that stands before a word, its digits in groups or not.
fn number_before(line: &str, word: &str) -> Option<f64> {
    let words: Vec<&str> = line
        .split(|letter: char| letter.is_whitespace() || ",.;".contains(letter))
        .collect();
    let at = words.iter().position(|one| *one == word)?;
    let digits = |one: &&&str| !one.is_empty() && one.bytes().all(|byte| byte.is_ascii_digit());
    let mut groups: Vec<&str> = words[..at]
        .iter()
        .rev()
        .take_while(digits)
        .copied()
        .collect();
    groups.reverse();
    groups.concat().parse().ok()
}
