//! Random vehicles, faults and states, the same for a number every time: shared by the laws and the outside checks.

use std::sync::Arc;

use hidden_ohm::fault::{Effect, Fault, KindId, sites};
use hidden_ohm::rig::{Conditions, Moment, Rig};
use hidden_ohm::scenario::Library;
use hidden_ohm::seed::Stream;
use hidden_ohm::vehicle::{Key, Law, Vehicle};

/// One vehicle with its faults, and the state to put it into.
pub struct Case {
    /// The vehicle, fresh from the yard.
    pub rig: Rig,
    /// Key position.
    pub key: Key,
    /// The service tool commands the pump.
    pub pump_on: bool,
    /// Prime or settled.
    pub moment: Moment,
    /// What it is, for a message.
    pub about: String,
}

/// How far the parts stray.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Spread {
    /// Values a real vehicle may have, damage included.
    Damaged,
    /// Anything from a perfect joint to an open one, several at once.
    Anything,
}

/// The case with this number.
pub fn case(library: &Library, spread: Spread, number: u64) -> Case {
    let mut draw = Stream::named(number, "case");
    let vehicle = draw.pick(&library.vehicles).expect("vehicles");
    let vehicle = Arc::new(altered(vehicle, &mut draw));
    let conditions = Conditions {
        ambient_c: draw.between(-30.0, 45.0),
        charge: draw.between(0.0, 1.0),
        fuel: if draw.chance(0.05) {
            0.0
        } else {
            draw.between(0.05, 1.0)
        },
    };
    let most = if spread == Spread::Anything { 8 } else { 3 };
    let mut faults = Vec::new();
    for _ in 0..draw.below(most) {
        faults.extend(fault(library, &vehicle, spread, &mut draw));
    }
    let key = *draw.pick(&Key::ALL).expect("keys");
    let pump_on = draw.chance(0.7);
    let moment = if draw.chance(0.3) {
        Moment::Prime
    } else {
        Moment::Settled
    };
    let told: Vec<String> = faults
        .iter()
        .map(|fault| {
            let part = &vehicle.parts[fault.site.part.0].id;
            format!(
                "{} at {part} {:e}",
                library.catalogue.kinds[fault.kind.0].id, fault.severity
            )
        })
        .collect();
    let about = format!(
        "case {number}: {} {key:?} pump {pump_on} {moment:?} {told:?}",
        vehicle.id
    );
    let rig = Rig::new(
        vehicle,
        Arc::clone(&library.catalogue),
        number,
        conditions,
        faults,
    )
    .unwrap_or_else(|error| panic!("{about}: {error}"));
    Case {
        rig,
        key,
        pump_on,
        moment,
        about,
    }
}

/// A vehicle of the same wiring with every resistance up to five times more or less.
fn altered(vehicle: &Vehicle, draw: &mut Stream) -> Vehicle {
    let mut vehicle = vehicle.clone();
    for element in &mut vehicle.elements {
        let factor = draw.log_between(0.2, 5.0);
        match &mut element.law {
            Law::Contact { ohms }
            | Law::Fuse { ohms, .. }
            | Law::RelayContact { ohms }
            | Law::Switch { ohms, .. }
            | Law::Driver { ohms }
            | Law::OilSwitch { ohms }
            | Law::Chopper { ohms, .. }
            | Law::Signal { ohms, .. }
            | Law::Reference { ohms, .. }
            | Law::Load { ohms, .. }
            | Law::Metal { ohms }
            | Law::Battery { ohms, .. }
            | Law::Starter { ohms }
            | Law::Alternator { ohms, .. } => *ohms *= factor,
            Law::Copper {
                ohms_20, length_m, ..
            } => {
                *ohms_20 *= factor;
                *length_m *= factor;
            }
            Law::Coil { ohms_20, .. } => *ohms_20 *= factor,
            Law::Winding => {}
        }
    }
    vehicle
}

/// A fault of any kind at any of its sites.
fn fault(library: &Library, vehicle: &Vehicle, spread: Spread, draw: &mut Stream) -> Option<Fault> {
    let places = sites(vehicle, &library.catalogue);
    let kind = usize::try_from(draw.below(places.len() as u64)).expect("small");
    let site = *draw.pick(&places[kind])?;
    let known = &library.catalogue.kinds[kind];
    let range = &known.severity;
    let ordinary = draw.between(range.min.min(range.max), range.min.max(range.max));
    let is_ohms = matches!(
        known.effect,
        Effect::AddOhms | Effect::ChafedShort | Effect::InternalOhms | Effect::BrushOhms
    );
    let severity = if spread == Spread::Anything && is_ohms {
        match draw.below(10) {
            0 => 0.0,
            1 if known.effect != Effect::BrushOhms => f64::INFINITY,
            _ => draw.log_between(1e-9, 1e12),
        }
    } else {
        ordinary
    };
    Some(Fault {
        kind: KindId(kind),
        site,
        severity,
    })
}
