//! The brushed permanent-magnet motor.

use super::{LIMITS, Supply};

/// Current from which the brush drop of a motor at rest is constant, A; ours. Below it the film under the brushes is a
/// resistance, 4 ohm for a drop of 0.4 V, and the motor stays at rest, so that a meter's ohms function sees some 5 ohm at rest in a motor whose winding has half an ohm
/// (a static reading of 5 ohm has been published; real ones wander with the place the armature stopped in).
pub const FILM_AMPS: f64 = 0.1;

/// A brushed permanent-magnet motor, seen from the pump's terminals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motor {
    /// Armature winding resistance, ohm.
    pub winding_ohms: f64,
    /// Brush and commutator resistance, ohm. Worn brushes raise it.
    pub brush_ohms: f64,
    /// Constant part of the brush drop, V. Turning, only as much is taken as the difference between supply and back-EMF
    /// offers; at rest it falls in proportion to a current below [`FILM_AMPS`] (see [`Motor::film_drop`]). So the drop never
    /// drives a current and the I-V law stays monotone.
    pub brush_volts: f64,
    /// Back-EMF and torque constant, V s/rad = N m/A.
    pub ke: f64,
    /// Armature inductance, H.
    pub inductance_h: f64,
    /// Moment of inertia of armature, element and the fuel that turns with them, kg m2.
    pub inertia_kg_m2: f64,
    /// Dry friction torque, N m; the same at rest and turning.
    pub dry_nm: f64,
    /// Viscous drag, N m s/rad.
    pub viscous_nm_s: f64,
    /// Commutator segments.
    pub segments: u32,
    /// Segments without connection to the winding. While a brush stands on one, no current flows;
    /// inertia carries the armature across.
    pub dead_segments: u32,
    /// The armature came to rest with a brush on a dead segment: an open circuit until somebody turns
    /// or knocks it. Only looked at when the motor is at rest.
    pub stopped_on_dead: bool,
    /// The armature cannot turn.
    pub seized: bool,
}

impl Motor {
    /// Winding and brush resistance together, ohm.
    #[must_use]
    pub fn ohms(&self) -> f64 {
        self.winding_ohms + self.brush_ohms
    }

    /// Fraction of a turn in which the brushes stand on live segments, 0 to 1.
    #[must_use]
    pub fn live_fraction(&self) -> f64 {
        if self.dead_segments == 0 {
            1.0
        } else if self.dead_segments >= self.segments {
            0.0
        } else {
            f64::from(self.segments - self.dead_segments) / f64::from(self.segments)
        }
    }

    /// Resistance of the whole loop as the *mean* current of a turning motor sees it, ohm.
    ///
    /// In the live part of a turn the current is (V - E - brush)/R, in the rest zero: the mean is that
    /// times the live fraction, as if R were larger by its inverse. The copper heat of the mean current
    /// in this larger resistance is the true heat of the pulsed current in R. A seized motor stands on a
    /// live segment, unless [`Motor::stopped_on_dead`] says otherwise.
    #[must_use]
    pub fn loop_ohms(&self, supply: &Supply) -> f64 {
        let live = match self.live_fraction() {
            part if self.seized && part > 0.0 => 1.0,
            part => part,
        };
        let ohms = (supply.ohms + self.ohms()).max(LIMITS.ohms);
        if live == 0.0 || ohms >= LIMITS.closed {
            f64::INFINITY
        } else {
            ohms / live
        }
    }

    /// Resistance of the film under the brushes at currents below [`FILM_AMPS`], ohm.
    #[must_use]
    pub fn film_ohms(&self) -> f64 {
        self.brush_volts / FILM_AMPS
    }

    /// Drop across the brushes of a motor at rest beside that of [`Motor::brush_ohms`], V: signed like the current.
    #[must_use]
    pub fn film_drop(&self, amps: f64) -> f64 {
        (self.film_ohms() * amps).clamp(-self.brush_volts, self.brush_volts)
    }

    /// Current with the armature held, A: signed like the supply.
    #[must_use]
    pub fn stall_amps(&self, supply: &Supply) -> f64 {
        let ohms = self.loop_ohms(supply);
        if self.rests_open() || ohms == f64::INFINITY {
            return 0.0;
        }
        let through_film = supply.volts / (ohms + self.film_ohms());
        if through_film.abs() < FILM_AMPS {
            through_film
        } else {
            excess(supply.volts, self.brush_volts) / ohms
        }
    }

    /// A motor at rest that carries `amps`, as a resistance in ohm followed by a source in V, both held: what stands in a
    /// network in its place.
    #[must_use]
    pub fn at_rest(&self, supply: &Supply, amps: f64) -> (f64, f64) {
        if self.rests_open() || self.live_fraction() == 0.0 {
            return (f64::INFINITY, 0.0);
        }
        let own = if self.seized || self.dead_segments == 0 || amps == 0.0 {
            self.ohms()
        } else {
            // The mean over the turn that it keeps trying to make: the whole loop's ohms less those of the supply.
            let live = self.live_fraction();
            self.ohms() / live + supply.ohms * (1.0 / live - 1.0)
        };
        if self.stays_on_film(amps) {
            (own + self.film_ohms(), 0.0)
        } else {
            (own, self.film_drop(amps))
        }
    }

    /// Standing, this current does not get past the film under the brushes.
    pub(crate) fn stays_on_film(&self, amps: f64) -> bool {
        self.brush_volts > 0.0 && amps.abs() < FILM_AMPS
    }

    /// It came to rest with a brush on a dead segment.
    pub(crate) fn rests_open(&self) -> bool {
        self.stopped_on_dead && self.dead_segments > 0
    }
}

/// What is left of a signed drive after a Coulomb-like opposition took all it could get.
pub(crate) fn excess(drive: f64, opposition: f64) -> f64 {
    if drive > opposition {
        drive - opposition
    } else if drive < -opposition {
        drive + opposition
    } else {
        0.0
    }
}

/// Net drive on a quantity that moves at `rate` against a Coulomb-like opposition.
pub(crate) fn net_drive(drive: f64, opposition: f64, rate: f64) -> f64 {
    if rate > 0.0 {
        drive - opposition
    } else if rate < 0.0 {
        drive + opposition
    } else {
        excess(drive, opposition)
    }
}
