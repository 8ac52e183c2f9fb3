//! Faults that come and go: by hand, by warmth, by current, by water.

use super::Rig;
use crate::fault::{Activation, Fault, FaultKind};
use crate::vehicle::ElementId;

/// When faults that depend on it show.
struct Limits {
    /// A fault of a hot part shows from here, degrees Celsius; ours, no source: warm for a hand, usual for a coil that
    /// has been on for some minutes.
    hot_c: f64,
    /// It goes again below this.
    cooled_c: f64,
    /// Part of the current that shows a fault below which it goes again.
    let_go: f64,
    /// What spray has wetted dries within this time, s; ours, no source.
    dries_s: f64,
}

const LIMITS: Limits = Limits {
    hot_c: 45.0,
    cooled_c: 38.0,
    let_go: 0.05,
    dries_s: 1800.0,
};

/// A fault that is still there, with what handling has done to it for the moment.
#[derive(Clone, Copy, Debug)]
pub(super) struct Present {
    pub fault: Fault,
    /// A wiped contact carries only this share of its added resistance, until it is driven.
    pub share: f64,
    /// It shows just now.
    pub showing: bool,
    /// Seconds of running after which what a knock has freed sticks again; infinity for what was not.
    pub loose_s: f64,
}

impl Present {
    /// As the vehicle comes in: cold, and wet if it depends on that.
    pub fn new(fault: Fault, kind: &FaultKind) -> Present {
        Present {
            fault,
            share: 1.0,
            showing: !matches!(kind.activation, Activation::Hot | Activation::AboveAmps(_)),
            loose_s: f64::INFINITY,
        }
    }
}

impl Rig {
    /// The road shakes what is slack awake, wets what is open, and undoes what handling had wiped better.
    pub(super) fn shake(&mut self) {
        self.dry_s = 0.0;
        for present in &mut self.faults {
            present.share = 1.0;
            present.loose_s = f64::INFINITY;
            let kind = &self.catalogue.kinds[present.fault.kind.0];
            // What follows warmth or current comes by itself; the rest shows after any drive, a pump that a knock
            // had freed included.
            if !matches!(kind.activation, Activation::Hot | Activation::AboveAmps(_)) {
                present.showing = true;
            }
        }
        self.rebuild();
    }

    /// Lets faults that follow warmth, current or water come and go after a step with these currents. True if one did.
    pub(super) fn activate(&mut self, amps: &[f64], seconds: f64) -> bool {
        self.dry_s += seconds;
        let mut changed = false;
        for index in 0..self.faults.len() {
            if let Some(shows) = self.shows(&self.faults[index], amps) {
                changed |= shows != self.faults[index].showing;
                self.faults[index].showing = shows;
            }
        }
        if changed {
            self.rebuild();
        }
        changed
    }

    /// Whether one of them would come or go as things stand.
    pub(super) fn would_activate(&self, amps: &[f64]) -> bool {
        let differs = |present: &Present| {
            let shows = self.shows(present, amps);
            shows.is_some_and(|shows| shows != present.showing)
        };
        self.faults.iter().any(differs)
    }

    /// Whether a fault shows with these currents; nothing for one that does not depend on how things stand.
    fn shows(&self, present: &Present, amps: &[f64]) -> Option<bool> {
        let Present { fault, showing, .. } = *present;
        Some(match self.catalogue.kinds[fault.kind.0].activation {
            Activation::Always | Activation::Wiggle => return None,
            Activation::Hot => {
                let limit = if showing {
                    LIMITS.cooled_c
                } else {
                    LIMITS.hot_c
                };
                self.joint_celsius(fault.site.part) >= limit
            }
            Activation::AboveAmps(limit) => {
                let through = |id: ElementId| libm::fabs(amps[id.0]);
                let carried = fault.site.element.map_or(0.0, through);
                carried
                    >= if showing {
                        LIMITS.let_go * limit
                    } else {
                        limit
                    }
            }
            Activation::Wet => showing && self.dry_s < LIMITS.dries_s,
        })
    }

    /// How long what is wet still takes to dry, s.
    pub(super) fn dries_in(&self) -> f64 {
        let left_s = LIMITS.dries_s - self.dry_s;
        let wet = |present: &Present| {
            let kind = &self.catalogue.kinds[present.fault.kind.0];
            present.showing && kind.activation == Activation::Wet
        };
        if left_s > 0.0 && self.faults.iter().any(wet) {
            left_s
        } else {
            f64::INFINITY
        }
    }

    /// Lets a pump that was knocked free run for some seconds: what had come loose sticks again in the end.
    pub(super) fn run_loose(&mut self, seconds: f64) {
        let mut stuck = false;
        for present in &mut self.faults {
            if present.loose_s.is_finite() {
                present.loose_s -= seconds;
                if present.loose_s <= 0.0 {
                    present.loose_s = f64::INFINITY;
                    present.showing = true;
                    present.share = 1.0;
                    stuck = true;
                }
            }
        }
        if stuck {
            self.rebuild();
        }
    }

    /// How long the pump still runs before something in it sticks again, s.
    pub(super) fn loose_for(&self) -> f64 {
        self.faults
            .iter()
            .map(|present| present.loose_s)
            .fold(f64::INFINITY, f64::min)
    }
}
