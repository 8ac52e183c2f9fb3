//! How a display follows what changes: one conversion after another, and ranges hunted one at a time.
//!
//! A meter averages its input over a conversion and then shows the result, so what is read while something changes is
//! the mean of the last whole conversion. While it chooses its range by itself, a conversion that does not fit is spent
//! on going one range up or down, and shows nothing.

use super::meter::{Display, Function, Meter};

/// How long one conversion takes, s: handhelds renew their display three to four times a second (makers' manuals, from
/// memory).
pub const CONVERSION_S: f64 = 0.3;

/// Means of what an input sees over intervals of equal length, the last one ending with the last sample; what is left at
/// the beginning is too short and left out. Each sample is a time in s and what was seen, nothing on overload, which
/// spoils its interval.
#[must_use]
pub fn conversions(samples: &[(f64, Option<f64>)], interval_s: f64) -> Vec<Option<f64>> {
    /// Keeps a sample that lies on the border of an interval in the same one on every platform, s.
    const BORDER_S: f64 = 1e-6;
    let Some(&(end_s, _)) = samples.last() else {
        return Vec::new();
    };
    let begin_s = samples[0].0;
    let whole = libm::floor((end_s - begin_s) / interval_s + BORDER_S);
    let mut means = Vec::new();
    let mut left = whole;
    while left >= 1.0 {
        let until_s = end_s - (left - 1.0) * interval_s + BORDER_S;
        let since_s = until_s - interval_s;
        let inside = samples
            .iter()
            .filter(|&&(t_s, _)| t_s > since_s && t_s <= until_s);
        let seen: Vec<Option<f64>> = inside.map(|&(_, seen)| seen).collect();
        let sum: Option<f64> = seen.iter().copied().sum();
        means.push(sum.map(|sum| sum / seen.len().max(1) as f64));
        left -= 1.0;
    }
    means
}

impl Meter {
    /// What the display shows after conversions that follow each other, `seen` oldest first, on a function that measures
    /// without sending a current. `range` is where it stands before; where it stands afterwards comes back beside the
    /// display, which is nothing while the range is still being hunted.
    #[must_use]
    pub fn follow(
        &self,
        function: Function,
        range: usize,
        seen: &[Option<f64>],
        noise: f64,
    ) -> (usize, Option<Display>) {
        let (mut at, mut shown) = (range, None);
        for &seen in seen {
            let display = self.display(function, 0, seen, noise);
            let fits = self.fitting_range(function, seen);
            shown = (fits == at).then_some(display);
            at = match fits {
                finer if finer < at => at - 1,
                coarser if coarser > at => at + 1,
                _ => at,
            };
        }
        (at, shown)
    }
}
