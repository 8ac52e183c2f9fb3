//! When a fuse opens: the time-current gates of its standard, and the share of them already used up.

use std::collections::BTreeMap;

use super::attach::Attachments;
use super::{Rig, RigError};
use crate::fault::{Effect, Fault};
use crate::vehicle::{ElementId, Key};

/// Time in which an overloaded fuse that did not open is as good as cold again, s; ours, no source.
const COOLS_S: f64 = 30.0;

/// How long a chafed wire is fed before the vehicle comes in, s: long enough for what it blows at once; ours, no source.
const FED_S: f64 = 10.0;

/// Seconds after which a blade fuse opens at `ratio` times its rated current: the geometric middle of the gates of
/// ISO 8820-3 (as in a maker's data sheet of 35/40 A fuses), straight between them on logarithmic axes; never below
/// 110 %, where the standard asks for at least 100 hours at 100 %.
#[must_use]
pub fn fuse_opens_after(ratio: f64) -> f64 {
    /// Current ratio and the middle of its gate, s: sqrt(0.75 * 600), sqrt(0.25 * 50), sqrt(0.15 * 5), sqrt(0.08 * 0.5).
    const GATES: [(f64, f64); 5] = [
        (1.1, 360_000.0),
        (1.35, 21.2),
        (1.6, 3.54),
        (2.0, 0.866),
        (3.5, 0.2),
    ];
    if ratio < GATES[0].0 || ratio.is_nan() {
        return f64::INFINITY;
    }
    let pair = GATES.windows(2).find(|pair| ratio <= pair[1].0);
    match pair {
        Some(&[(r0, t0), (r1, t1)]) => {
            let share = libm::log(ratio / r0) / libm::log(r1 / r0);
            t0 * libm::pow(t1 / t0, share)
        }
        // Beyond the last gate the same heat opens the fuse: time falls with the square of the current.
        _ => 0.2 * (3.5 / ratio) * (3.5 / ratio),
    }
}

/// How much of its time each fuse has used up: a marginal short may take several goes.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Wear {
    used: BTreeMap<ElementId, f64>,
}

impl Wear {
    /// Seconds until the fuse opens at this current.
    pub fn opens_in(&self, fuse: ElementId, ratio: f64) -> f64 {
        let whole = fuse_opens_after(ratio);
        if whole.is_finite() {
            whole * (1.0 - self.used(fuse)).max(0.0)
        } else {
            f64::INFINITY
        }
    }

    /// Lets `h` seconds pass at this current.
    pub fn pass(&mut self, fuse: ElementId, ratio: f64, h: f64) {
        let whole = fuse_opens_after(ratio);
        let used = self.used(fuse);
        let now = if whole.is_finite() {
            used + h / whole
        } else {
            used * libm::exp(-h / COOLS_S)
        };
        if now > 0.0 {
            self.used.insert(fuse, now.min(1.0));
        }
    }

    /// A new fuse.
    pub fn renew(&mut self, fuse: ElementId) {
        self.used.remove(&fuse);
    }

    fn used(&self, fuse: ElementId) -> f64 {
        self.used.get(&fuse).copied().unwrap_or(0.0)
    }
}

impl Rig {
    /// What a chafed wire blows it has blown before the vehicle comes in: the customer has turned the key as well.
    pub(super) fn come_in(&mut self) -> Result<(), RigError> {
        let kinds = &self.catalogue.kinds;
        let chafed = |fault: &Fault| kinds[fault.kind.0].effect == Effect::ChafedShort;
        if self.came_with.iter().any(chafed) {
            let mut tried = self.clone();
            tried.stand(Key::On, true);
            tried.wait(FED_S, &Attachments::none())?;
            self.blown = tried.blown;
            self.rebuild();
        }
        Ok(())
    }
}
