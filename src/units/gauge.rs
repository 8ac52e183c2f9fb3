//! American wire gauge: `d = 0.127 mm * 92^((36 - n) / 39)` (ASTM B258), where 1/0 is n = 0 and 4/0
//! is n = -3.

use std::f64::consts::PI;

use super::Area;

/// The thickest gauge that has a number, 4/0.
const THICKEST: i32 = -3;
/// The thinnest gauge anybody makes wire in.
const THINNEST: i32 = 40;

impl Area {
    /// Cross-section of a solid round wire of American gauge `number`; 0 stands for 1/0 and -3 for
    /// 4/0. `None` outside 4/0 to 40.
    #[must_use]
    pub fn from_awg(number: i32) -> Option<Area> {
        if !(THICKEST..=THINNEST).contains(&number) {
            return None;
        }
        let diameter_m = 0.127e-3 * libm::pow(92.0, f64::from(36 - number) / 39.0);
        Some(Area(PI / 4.0 * diameter_m * diameter_m))
    }

    /// The gauge number nearest to this cross-section (by ratio), and this area divided by that
    /// gauge's. `None` when the area lies outside 4/0 to 40 by more than half a gauge.
    #[must_use]
    pub fn nearest_awg(self) -> Option<(i32, f64)> {
        let far = |ratio: f64| if ratio < 1.0 { 1.0 / ratio } else { ratio };
        let (number, ratio) = (THICKEST..=THINNEST)
            .filter_map(|number| Some((number, self.0 / Area::from_awg(number)?.0)))
            .filter(|(_, ratio)| *ratio > 0.0)
            .min_by(|a, b| far(a.1).total_cmp(&far(b.1)))?;
        // Neighbouring gauges differ by a factor 1.261 in area, so half a gauge is 1.123.
        (far(ratio) < 1.123).then_some((number, ratio))
    }
}

/// Reads `14`, `0`, `4/0` or `0000` as a gauge number.
pub(super) fn number(text: &str) -> Option<i32> {
    let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
    if let Some(noughts) = text.strip_suffix("/0") {
        return digits(noughts)
            .then(|| noughts.parse().ok())?
            .filter(|n| (1..=4).contains(n))
            .map(|n: i32| 1 - n);
    }
    if !digits(text) {
        return None;
    }
    if text.len() > 1 && text.bytes().all(|b| b == b'0') {
        return (text.len() <= 4).then_some(1 - i32::try_from(text.len()).ok()?);
    }
    text.parse().ok().filter(|n| (0..=THINNEST).contains(n))
}

/// Writes a gauge number the way it is printed on reels: `14`, `1/0`, `4/0`.
pub(super) fn label(number: i32) -> String {
    if number > 0 {
        number.to_string()
    } else {
        format!("{}/0", 1 - number)
    }
}
