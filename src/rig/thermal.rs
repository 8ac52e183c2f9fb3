//! Self-heating: every joint, wire, fuse and coil warms with the current it carries, and its resistance follows.
//!
//! Each element is one lump of heat (a wire with a bad spot: two). With `t` the rise above the surroundings,
//!
//! ```text
//! tau dt/dt = Rth I^2 R(t) - t (1 + t/300 K),    R(t) = R0 (1 + a t)
//! ```
//!
//! The loss grows faster than the rise because natural convection and radiation do (textbook heat transfer); the
//! 300 K at which it has doubled is ours. As the loss is quadratic and the heat at a given current linear in `t`,
//! the rise is bounded whatever flows; [`TOP_K`] caps it besides.
//!
//! At a constant current this is a Riccati equation with constant coefficients, whose solution is known: one step is
//! exact, however long it is.

use std::sync::Arc;

use crate::circuit::conductor::{COPPER_PER_KELVIN, TABLE_CELSIUS};
use crate::vehicle::{Element, Kind, Law, Vehicle};

/// No part gets hotter than this above its surroundings, K: copper would run, and nothing here models that.
pub(super) const TOP_K: f64 = 900.0;
/// Rise at which the loss of heat is twice what it would be in proportion, K; ours.
const LOSS_DOUBLES_K: f64 = 300.0;
/// Share of the metal's temperature coefficient with which a contact's resistance rises: 2/3, since the metal is
/// hottest in the constriction itself (R. Holm, *Electric Contacts*; from memory).
const CONTACT_PER_KELVIN: f64 = COPPER_PER_KELVIN * 2.0 / 3.0;
/// Heat given off by a wire's surface, W/(m2 K): natural convection and radiation together (textbook figure for thin
/// wires in still air; the loom's other wires are left out).
const WIRE_W_M2_K: f64 = 12.0;
/// Thickness that the insulation adds to a wire's diameter, m: 0.35 mm a side, about the thick wall of ISO 6722.
const INSULATION_M: f64 = 0.7e-3;
/// Outer area of a strand bundle over its copper area.
const BUNDLE: f64 = 1.25;
/// Heat capacity by volume of copper and of insulation, J/(m3 K) (handbook values, rounded).
const COPPER_J_M3_K: f64 = 3.45e6;
const INSULATION_J_M3_K: f64 = 1.9e6;

/// How one lump warms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Heat {
    /// Rise for each watt, K/W, while small.
    pub kelvin_per_watt: f64,
    /// Time constant, s.
    pub seconds: f64,
    /// Change of resistance with the rise, 1/K.
    pub per_kelvin: f64,
}

impl Heat {
    /// Rise after `h` seconds with `amps` through `ohms` (its resistance when cold): with the two roots of the balance,
    /// `(t - hot)/(t - cold)` falls as one exponential.
    pub fn step(&self, rise_k: f64, amps: f64, ohms: f64, h: f64) -> f64 {
        let watts = if amps == 0.0 { 0.0 } else { amps * amps * ohms };
        let wanted = if watts.is_finite() {
            (self.kelvin_per_watt * watts).min(1e12)
        } else {
            1e12
        };
        // t^2/T + b t - w = 0, its roots written without cancellation.
        let b = 1.0 - wanted * self.per_kelvin;
        let root = (b * b + 4.0 * wanted / LOSS_DOUBLES_K).sqrt();
        let (hot, cold) = if b >= 0.0 {
            (
                2.0 * wanted / (b + root),
                -0.5 * LOSS_DOUBLES_K * (b + root),
            )
        } else {
            (
                0.5 * LOSS_DOUBLES_K * (root - b),
                -2.0 * wanted / (root - b),
            )
        };
        let fallen = (rise_k - hot) / (rise_k - cold) * libm::exp(-root * h / self.seconds);
        let end = (hot - cold * fallen) / (1.0 - fallen);
        end.clamp(0.0, TOP_K)
    }
}

/// Contacts by the size of what they sit in. Ours, no source: a small pin and its wires shed heat at some tens of
/// kelvin a watt, a clamp on a battery post at a few.
fn contact(kind: Kind) -> Heat {
    let (kelvin_per_watt, seconds) = match kind {
        Kind::Clamp => (3.0, 120.0),
        Kind::Ground => (4.0, 90.0),
        Kind::Body => (2.0, 300.0),
        Kind::FusibleLink => (6.0, 60.0),
        Kind::Relay => (15.0, 40.0),
        Kind::Wire => (25.0, 20.0),
        _ => (15.0, 25.0),
    };
    Heat {
        kelvin_per_watt,
        seconds,
        per_kelvin: CONTACT_PER_KELVIN,
    }
}

/// The lump of a conductor itself, if the element has one.
fn body(element: &Element) -> Option<Heat> {
    match element.law {
        Law::Copper {
            length_m, area_m2, ..
        } => {
            let bare = (4.0 * BUNDLE * area_m2 / core::f64::consts::PI).sqrt();
            let across = bare + INSULATION_M;
            let surface = core::f64::consts::PI * across * length_m;
            let insulation = core::f64::consts::FRAC_PI_4 * across * across - BUNDLE * area_m2;
            let capacity = (COPPER_J_M3_K * area_m2 + INSULATION_J_M3_K * insulation) * length_m;
            let kelvin_per_watt = 1.0 / (WIRE_W_M2_K * surface);
            Some(Heat {
                kelvin_per_watt,
                seconds: capacity * kelvin_per_watt,
                per_kelvin: COPPER_PER_KELVIN,
            })
        }
        // At its rated current a blade fuse has 1.3 to 1.7 times its cold resistance (check values of the field):
        // 1.5, so that it is 0.5/0.0042 = 119 K warmer; zinc has 0.0042/K (handbook value, from memory). The
        // resistance of a watt follows from 119 K (1 + 119/300) = Rth * 1.5 R I^2.
        Law::Fuse { ohms, rated_a } => {
            const ZINC_PER_KELVIN: f64 = 0.0042;
            const RATED_K: f64 = 0.5 / ZINC_PER_KELVIN;
            let lost = RATED_K * (1.0 + RATED_K / LOSS_DOUBLES_K);
            let kelvin_per_watt = lost / (1.5 * ohms * rated_a * rated_a);
            Some(Heat {
                kelvin_per_watt,
                seconds: 8.0,
                per_kelvin: ZINC_PER_KELVIN,
            })
        }
        // A coil of 1.6 W gets some 60 K warmer (relay makers' coil temperature rise, from memory).
        Law::Coil { .. } => Some(Heat {
            kelvin_per_watt: 40.0,
            seconds: 200.0,
            per_kelvin: COPPER_PER_KELVIN,
        }),
        _ => None,
    }
}

/// Resistance of copper at a temperature over that at 20 degrees Celsius.
pub(super) fn copper_factor(celsius: f64) -> f64 {
    1.0 + COPPER_PER_KELVIN * (celsius - TABLE_CELSIUS)
}

/// The winding, cooled by the fuel that runs past it; ours, no source.
pub(super) const WINDING: Heat = Heat {
    kelvin_per_watt: 1.0,
    seconds: 60.0,
    per_kelvin: COPPER_PER_KELVIN,
};

/// Ohms of an element split into its conductor and what is added at one spot: a contact, or a bad place in a wire.
fn split(element: &Element, own: f64) -> (f64, f64) {
    match element.law {
        // The table's value is an upper limit of sound wire, so whatever is above it is damage.
        Law::Copper { ohms_20, .. } => (own.min(ohms_20), (own - ohms_20).max(0.0)),
        Law::Fuse { .. } | Law::Coil { .. } => (own, 0.0),
        _ => (0.0, own),
    }
}

/// Whether an element's resistance follows its temperature at all.
fn warms(law: &Law) -> bool {
    !matches!(
        law,
        Law::Battery { .. }
            | Law::Alternator { .. }
            | Law::Starter { .. }
            | Law::Load { .. }
            | Law::Chopper { .. }
            | Law::Signal { .. }
            | Law::Reference { .. }
            | Law::Winding
    )
}

/// How one element warms, worked out once for a vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Warming {
    /// The conductor itself.
    body: Option<Heat>,
    /// A contact or a bad spot.
    spot: Heat,
}

impl Warming {
    /// Nothing for an element whose resistance does not follow its temperature.
    fn of(vehicle: &Vehicle, element: &Element) -> Option<Warming> {
        warms(&element.law).then(|| Warming {
            body: body(element),
            spot: contact(vehicle.parts[element.part.0].kind),
        })
    }
}

/// Rises of all elements above the surroundings.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Thermal {
    warming: Arc<[Option<Warming>]>,
    lumps: Vec<Lumps>,
    /// The pump's winding above the fuel, K.
    pub winding_k: f64,
    /// The same of a lift pump.
    pub lift_winding_k: f64,
}

#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Lumps {
    body_k: f64,
    spot_k: f64,
}

impl Thermal {
    /// Everything as warm as the air.
    pub fn cold(vehicle: &Vehicle) -> Thermal {
        let elements = vehicle.elements.iter();
        Thermal {
            warming: elements
                .map(|element| Warming::of(vehicle, element))
                .collect(),
            lumps: vec![Lumps::default(); vehicle.elements.len()],
            winding_k: 0.0,
            lift_winding_k: 0.0,
        }
    }

    /// A part that is new is cold again.
    pub fn cool(&mut self, element: usize) {
        self.lumps[element] = Lumps::default();
    }

    /// Rise of the hottest place of an element, K.
    pub fn rise_k(&self, element: usize) -> f64 {
        let lumps = self.lumps[element];
        lumps.spot_k.max(lumps.body_k)
    }

    /// Rise of the hottest place of all, K.
    pub fn hottest_k(&self) -> f64 {
        let windings_k = self.winding_k.max(self.lift_winding_k);
        self.lumps.iter().fold(windings_k, |top, lumps| {
            top.max(lumps.body_k).max(lumps.spot_k)
        })
    }

    /// Resistance now of an element whose cold resistance is `own`, ohm. Copper follows the air as well; contacts and
    /// fuses are stated at the temperature of the air.
    pub fn ohms(&self, index: usize, element: &Element, own: f64, ambient_c: f64) -> f64 {
        let Some(warming) = self.warming[index].filter(|_| own.is_finite()) else {
            return own;
        };
        let (conductor, spot) = split(element, own);
        let lumps = self.lumps[index];
        let air_k = match element.law {
            Law::Copper { .. } | Law::Coil { .. } => ambient_c - TABLE_CELSIUS,
            _ => 0.0,
        };
        let per_kelvin = warming.body.map_or(0.0, |heat| heat.per_kelvin);
        conductor * (1.0 + per_kelvin * (air_k + lumps.body_k))
            + spot * (1.0 + CONTACT_PER_KELVIN * lumps.spot_k)
    }

    /// Largest change of a temperature to another state, K.
    pub fn change(&self, next: &Thermal) -> f64 {
        let winding = libm::fabs(next.winding_k - self.winding_k)
            .max(libm::fabs(next.lift_winding_k - self.lift_winding_k));
        let pairs = self.lumps.iter().zip(&next.lumps);
        pairs.fold(winding, |most, (before, after)| {
            let body = libm::fabs(after.body_k - before.body_k);
            let spot = libm::fabs(after.spot_k - before.spot_k);
            most.max(body).max(spot)
        })
    }

    /// Everything but the winding `h` seconds later with these currents.
    pub fn after(&self, vehicle: &Vehicle, own: &[f64], amps: &[f64], h: f64) -> Thermal {
        let mut next = self.clone();
        for (index, element) in vehicle.elements.iter().enumerate() {
            let Some(warming) = self.warming[index] else {
                continue;
            };
            let before = self.lumps[index];
            if amps[index] == 0.0 && before == Lumps::default() {
                continue;
            }
            let (conductor, spot) = split(element, own[index]);
            let lumps = &mut next.lumps[index];
            if let Some(heat) = warming.body {
                lumps.body_k = heat.step(before.body_k, amps[index], conductor, h);
            }
            if spot > 0.0 || before.spot_k > 0.0 {
                lumps.spot_k = warming.spot.step(before.spot_k, amps[index], spot, h);
            }
        }
        next
    }
}
