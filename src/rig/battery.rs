//! The battery beyond its open-circuit table: cold, surface charge, sag and recovery.
//!
//! Two states stand between the table's rested voltage and what the posts offer: the charge drawn, and one
//! polarisation voltage `p` added to the rested voltage.
//!
//! - Charged (current into it), `p` rises over [`CELL`]`.charge_s` until the battery takes no more than what it accepts
//!   at its state of charge: a few amperes when full, more when low.
//! - A positive `p` is surface charge, and gassing what stands above [`CELL`]`.surface_v`. Gassing ends within
//!   [`CELL`]`.gassing_s`; surface charge fades over [`CELL`]`.surface_s` at rest, and any current drawn takes it off at
//!   [`CELL`]`.surface_f` coulombs for each volt; that is why head lamps are put on before a rest voltage is taken.
//! - Under load `p` falls towards `-sag_ohms * I` within [`CELL`]`.sag_s` (after the ohmic dip, which is at once) and
//!   comes back within [`CELL`]`.recovery_s` when the load is gone; charging never makes it slower than rest would.
//!
//! The shape (one RC beside the internal resistance) is the common equivalent circuit of a lead-acid cell; the values
//! are ours, chosen for a starter battery, no source.

/// Values of the equivalent circuit.
pub(super) struct CellLaw {
    /// Time in which a battery takes on the charging voltage, s.
    pub charge_s: f64,
    /// Current that a full battery still takes, as a share of its capacity in an hour, 1/h.
    pub tail_per_h: f64,
    /// What an empty one takes besides, 1/h: a sixth of its capacity is usual for a bulk charge.
    pub bulk_per_h: f64,
    /// Surface charge that stays when charging ends, V.
    pub surface_v: f64,
    /// Time in which what stands above it goes, s.
    pub gassing_s: f64,
    /// Time in which surface charge fades at rest, s.
    pub surface_s: f64,
    /// Surface charge held for each volt of it, C/V: ten amperes of head lamps take half a volt off in a minute.
    pub surface_f: f64,
    /// Further sag for each ampere drawn, ohm.
    pub sag_ohms: f64,
    /// Time in which it sags, s.
    pub sag_s: f64,
    /// Time in which it recovers, s.
    pub recovery_s: f64,
    /// Rise of internal resistance for each kelvin below 20 degrees Celsius, 1/K: a straight line from 6.5 mohm, the
    /// middle of what is common warm (3 to 10 mohm, common practice, no source), to the 9.0 mohm that 600 A of cold
    /// cranking current at -18 degrees means: (9.0/6.5 - 1)/38.
    pub cold_per_kelvin: f64,
}

pub(super) const CELL: CellLaw = CellLaw {
    charge_s: 20.0,
    tail_per_h: 0.02,
    bulk_per_h: 0.15,
    surface_v: 0.6,
    gassing_s: 10.0,
    surface_s: 900.0,
    surface_f: 1200.0,
    sag_ohms: 1.5e-3,
    sag_s: 5.0,
    recovery_s: 30.0,
    cold_per_kelvin: 0.0101,
};

/// Factor on the internal resistance at a temperature, 1 at 20 degrees Celsius; never below 0.7.
pub(super) fn cold_factor(celsius: f64) -> f64 {
    (1.0 + CELL.cold_per_kelvin * (20.0 - celsius)).max(0.7)
}

/// What charges the battery.
pub(super) struct Charging {
    /// Current that the battery accepts at its state of charge, A.
    pub accepted_a: f64,
    /// Resistance of the loop the charging current takes, ohm: how many volts a change of the current takes.
    pub loop_ohms: f64,
}

impl Charging {
    /// For a battery of `amp_hours` charged to this share.
    pub fn new(amp_hours: f64, charge: f64, loop_ohms: f64) -> Charging {
        let per_hour = CELL.tail_per_h + CELL.bulk_per_h * (1.0 - charge);
        Charging {
            accepted_a: per_hour * amp_hours,
            loop_ohms,
        }
    }
}

/// What the battery remembers.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Cell {
    /// Charge drawn since the work began, C; negative after charging.
    pub drawn_c: f64,
    /// Polarisation, V.
    pub polarised_v: f64,
}

/// What flows out of the battery over a stretch of time, and the polarisation at which that was so.
#[derive(Clone, Copy, Debug)]
pub(super) struct Drawn {
    /// Current drawn, A; negative while it is charged.
    pub amps: f64,
    /// Polarisation, V.
    pub at_v: f64,
}

impl Cell {
    /// The cell `h` seconds later while a current is drawn. Each stretch between the corners of its law is a single
    /// exponential, so that it comes to the same however a time of constant current is cut.
    pub fn after(self, drawn: &Drawn, charging: &Charging, h: f64) -> Cell {
        Cell {
            drawn_c: self.drawn_c + drawn.amps * h,
            polarised_v: if drawn.amps < 0.0 {
                self.charged(drawn, charging, h)
            } else {
                self.discharged(drawn.amps, h)
            },
        }
    }

    /// Towards the volts at which no more flows in than is accepted.
    fn charged(self, drawn: &Drawn, charging: &Charging, h: f64) -> f64 {
        let p = self.polarised_v;
        let over = (-drawn.amps - charging.accepted_a) * charging.loop_ohms;
        let target = drawn.at_v + over;
        if p >= 0.0 {
            return approach(p, target, CELL.charge_s, h).max(0.0);
        }
        if target >= 0.0 {
            let (at_v, left_s) = until(p, 0.0, target, CELL.sag_s, h);
            return approach(at_v, target, CELL.charge_s, left_s);
        }
        // It recovers at rest too, towards nothing: from where that is the faster, the current that flows in has no say.
        let mark = target / (1.0 - CELL.sag_s / CELL.recovery_s);
        let (at_v, left_s) = if p < mark {
            until(p, mark, target, CELL.sag_s, h)
        } else {
            (p, h)
        };
        approach(at_v, 0.0, CELL.recovery_s, left_s)
    }

    /// Gassing, then surface charge, then sag.
    fn discharged(self, amps: f64, h: f64) -> f64 {
        let (mut p, mut left_s) = (self.polarised_v, h);
        if p > CELL.surface_v {
            let falls = CELL.surface_v / CELL.surface_s + amps / CELL.surface_f;
            let target = CELL.surface_v - CELL.gassing_s * falls;
            (p, left_s) = until(p, CELL.surface_v, target, CELL.gassing_s, left_s);
        }
        if p > 0.0 {
            let target = -CELL.surface_s * amps / CELL.surface_f;
            (p, left_s) = until(p, 0.0, target, CELL.surface_s, left_s);
        }
        let sag = -CELL.sag_ohms * amps;
        let seconds = if sag < p { CELL.sag_s } else { CELL.recovery_s };
        if p > 0.0 {
            p
        } else {
            approach(p, sag, seconds, left_s)
        }
    }
}

fn approach(from: f64, to: f64, seconds: f64, h: f64) -> f64 {
    to + (from - to) * libm::exp(-h / seconds)
}

/// On the way to a target, up to a mark or for `h` seconds: where it stands then, and what is left of the time.
fn until(from: f64, mark: f64, target: f64, seconds: f64, h: f64) -> (f64, f64) {
    // The mark is passed only if it lies before the target.
    let reached_s = if (target - mark) * (mark - from) > 0.0 {
        seconds * libm::log((from - target) / (mark - target))
    } else {
        f64::INFINITY
    };
    if reached_s <= h {
        (mark, h - reached_s)
    } else {
        (approach(from, target, seconds, h), 0.0)
    }
}
